// The form of a site in a notebook. It shows texts that come from the package and sends texts back: no
// number is computed here.

let made = 0;

function element(tag, attributes = {}, children = []) {
  const own = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) own.setAttribute(name, value);
  for (const child of children) own.append(child);
  return own;
}

// what decides whether the inputs can stay and only their texts change
function shape(state) {
  return JSON.stringify(
    state.sections.map((section) => [
      section.name,
      section.fields.map((field) => [
        field.words,
        field.parts.map((part) => [part.path, part.words, part.options, part.rungs.length > 0]),
      ]),
    ]),
  );
}

function render({ model, el }) {
  const view = `fd-form-${(made += 1)}`;
  const title = element("p", { class: "fd-title" });
  const entries = element("div", { class: "fd-entries" });
  const headline = element("p", { class: "fd-headline", "aria-live": "polite" });
  const result = element("div", { class: "fd-result" });
  const columns = element("div", { class: "fd-columns" }, [entries, result]);
  const parts = [title, headline, columns];
  // keys belong to the form while it has the focus, and not to the shortcuts of a notebook
  const own = { class: "fd-form", "aria-label": "site", "data-lm-suppress-shortcuts": "true" };
  const root = element("section", own, parts);
  root.addEventListener("keydown", (event) => event.stopPropagation());
  el.append(root);

  let drawn = "";
  let asked = 0;
  let inputs = new Map();
  let alerts = new Map();

  function ask(path, text) {
    asked += 1;
    model.set("asked", { path, text, number: asked });
    model.save_changes();
  }

  function partRow(field, part, id) {
    const words = part.words === "" ? field.words : part.words;
    const label = element("label", { for: id, class: part.words === "" ? "" : "fd-part" });
    label.append(words);
    if (part.words === "") label.append(element("small", {}, [field.path]));
    let box;
    if (part.options.length > 0) {
      box = element("select", { id });
      for (const option of part.options) box.append(element("option", {}, [option]));
      box.addEventListener("change", () => ask(part.path, box.value));
    } else {
      box = element(part.words === "readings" ? "textarea" : "input", { id, autocomplete: "off" });
      if (box.tagName === "INPUT") box.setAttribute("type", "text");
      else box.setAttribute("rows", "2");
      box.addEventListener("change", () => ask(part.path, box.value));
    }
    const cells = [label, box];
    let slider = null;
    if (part.rungs.length > 0) {
      const name = part.words === "" ? field.words : `${field.words}, ${part.words}`;
      slider = element("input", {
        type: "range",
        min: "0",
        step: "1",
        "aria-label": `slider: ${name}`,
      });
      slider.addEventListener("input", () => {
        const text = inputs.get(part.path).rungs[slider.valueAsNumber];
        box.value = text;
        slider.setAttribute("aria-valuetext", text);
        ask(part.path, text);
      });
      cells.push(slider);
    }
    inputs.set(part.path, { box, slider, rungs: part.rungs });
    const wide = box.tagName === "TEXTAREA" ? " fd-wide" : "";
    return element("div", { class: `fd-row${wide}` }, cells);
  }

  function fieldBlock(field, number) {
    const block = element("div", { class: "fd-field" });
    const first = field.parts[0];
    if (first === undefined || first.words !== "") {
      const path = element("small", {}, [field.path]);
      block.append(element("p", { class: "fd-name" }, [field.words, path]));
    }
    field.parts.forEach((part, place) => {
      block.append(partRow(field, part, `${view}-${number}-${place}`));
    });
    const alert = element("p", { class: "fd-error", role: "alert", id: `${view}-${number}-error` });
    block.append(alert);
    alerts.set(field.path, alert);
    return block;
  }

  function build(state) {
    const opened = new Map();
    for (const own of entries.querySelectorAll("details")) opened.set(own.dataset.name, own.open);
    const focused = [...inputs].find(([, own]) => own.box === document.activeElement)?.[0];
    inputs = new Map();
    alerts = new Map();
    let number = 0;
    entries.replaceChildren(
      ...state.sections.map((section) => {
        const heading = element("summary", {}, [section.name]);
        const own = element("details", { "data-name": section.name }, [heading]);
        own.open = opened.get(section.name) ?? section.open;
        for (const field of section.fields) own.append(fieldBlock(field, (number += 1)));
        return own;
      }),
    );
    const back = element("button", { type: "button" }, ["Take all changes back"]);
    back.addEventListener("click", () => ask("", ""));
    entries.append(back);
    if (focused !== undefined) inputs.get(focused)?.box.focus();
  }

  function update() {
    const state = model.get("state");
    title.textContent = state.title;
    headline.textContent = state.headline;
    if (shape(state) !== drawn) {
      build(state);
      drawn = shape(state);
    }
    for (const field of state.sections.flatMap((section) => section.fields)) {
      const alert = alerts.get(field.path);
      alert.textContent = field.error;
      for (const part of field.parts) {
        const own = inputs.get(part.path);
        own.rungs = part.rungs;
        // what somebody is writing is left alone, until it was sent
        const writing = own.box === document.activeElement && own.box.tagName !== "SELECT";
        if (!writing || ["*", part.path].includes(state.sent)) own.box.value = part.text;
        if (field.error === "") own.box.removeAttribute("aria-invalid");
        else own.box.setAttribute("aria-invalid", "true");
        own.box.setAttribute("aria-describedby", alert.id);
        if (own.slider !== null) {
          own.slider.max = String(part.rungs.length - 1);
          own.slider.value = String(part.rungs.indexOf(part.text));
          own.slider.setAttribute("aria-valuetext", part.text);
        }
      }
      if (field.error !== "") alert.closest("details").open = true;
    }
    // markup of the package, in which all that a user wrote is escaped
    const open = result.querySelector("details")?.open ?? false;
    result.innerHTML = state.result;
    const lines = result.querySelector("details");
    if (lines !== null) lines.open = open;
    root.dataset.answered = String(state.answered);
  }

  model.on("change:state", update);
  update();
  // the page for where nothing runs
  const name = model.get("state").name;
  for (const still of document.querySelectorAll(`[data-flowdoubt-form="${name}"]`)) {
    still.style.display = "none";
  }
  return () => model.off("change:state", update);
}

export default { render };
