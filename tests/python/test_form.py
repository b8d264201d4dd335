"""The form of a site: what it holds, and how it is used in a browser."""

import json
import shutil
import sys
import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

import flowdoubt as fd

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"
READINGS = DEMO / "readings.csv"
REMOUNTING = "installation.remounting.standard_uncertainty"
FORMS = Path(fd.__file__).parent / "forms"
CHROMIUM = any(map(shutil.which, ("chromium", "chromium-browser", "google-chrome")))


@pytest.fixture
def site():
    return fd.Site.load(DEMO / "site.toml")


@pytest.fixture
def form(site):
    return fd.form(site, READINGS)


def of_budget(budget):
    return budget.estimate, budget.standard_uncertainty


def entry(form, path):
    """The field and the part of a path."""
    for section in form._state()["sections"]:
        for field in section["fields"]:
            for part in field["parts"]:
                if part["path"] == path:
                    return field, part
    raise AssertionError(path)


def test_an_entry_gives_what_the_changed_file_gives(site, form):
    assert of_budget(form.budget) == of_budget(site.evaluate(READINGS).budget)
    assert form.change(REMOUNTING, "0.9 %")
    text = site.text.replace('"0.38 %"', '"0.9 %"')
    by_hand = fd.Site.from_toml(text).evaluate(READINGS)
    assert of_budget(form.budget) == of_budget(by_hand.budget)
    assert form.site.to_toml() == text
    assert form.evaluation.headline == by_hand.headline
    assert form.changes == {REMOUNTING: "0.9 %"}
    assert of_budget(form.budget) != of_budget(site.evaluate(READINGS).budget)
    assert by_hand.headline.replace("+/-", "±") in form._repr_html_().replace("+/-", "±")
    form.take_back()
    assert (form.site.text, form.changes) == (site.text, {})


def test_a_foreseen_flow_gives_what_the_plan_gives(site):
    form = fd.form(site, flow="1000 m3/h", temperature="8 degC")
    assert form.change("flow", "500 m3/h")
    assert form.change("path.traverses", "1")
    changed = fd.Site.from_toml(site.text.replace("traverses = 2", "traverses = 1"))
    plan = changed.plan("500 m3/h", "8 degC")
    assert of_budget(form.budget) == of_budget(plan.budget(0))
    assert plan.shown()[0][4] in form._result["headline"]
    assert not form.change("flow", "500")
    assert "not a quantity" in form.error
    assert not form.change("flow", "")
    assert form.error.startswith("flow: missing")
    assert of_budget(form.budget) == of_budget(plan.budget(0))


def test_a_wrong_entry_keeps_the_last_good_result(form):
    before = of_budget(form.budget)
    assert not form.change("pipe.wall.instrument.half_width", "0.1 ns")
    assert of_budget(form.budget) == before
    field, part = entry(form, "pipe.wall.instrument.half_width")
    assert field["error"] == form.error
    assert form.error.startswith("pipe.wall.instrument.half_width: ")
    assert part["text"] == "0.1 ns"
    assert "last entries that fit together" in form._state()["result"]
    # another entry waits for it
    assert not form.change("path.traverses", "4")
    assert entry(form, "pipe.wall.instrument.half_width")[0]["error"]
    assert form.change("pipe.wall.instrument.half_width", "0.1 mm")
    assert form.error == ""
    assert form.changes == {
        "path.traverses": "4",
        "pipe.wall.instrument.half_width": "0.1 mm",
    }


def test_what_a_choice_needs_is_asked_for(form):
    assert not form.change("liquid.kind", "sea water")
    field, part = entry(form, "liquid.salinity")
    assert "salinity" in field["error"]
    assert part["text"] == ""
    assert form.change("liquid.salinity", "35 g/kg")
    assert form.evaluation.how_read == [] or form.evaluation.estimate > 0
    assert 'kind = "sea water"' in form.site.text
    assert not form.change("liquid.kind", "water")
    assert form.change("liquid.salinity", "")
    assert "salinity" not in form.site.text


def test_a_slider_stays_on_its_scale(form):
    path = "pipe.roughness.half_width"
    rungs = entry(form, path)[1]["rungs"]
    # preferred numbers of ISO 3, series R10, a decade to either side
    assert rungs[:4] == ["0.01 mm", "0.0125 mm", "0.016 mm", "0.02 mm"]
    assert rungs[10] == "0.10 mm"
    assert rungs[-1] == "1 mm"
    for text in (rungs[3], rungs[12]):
        assert form.change(path, text)
        assert entry(form, path)[1]["rungs"] == rungs
    assert form.change(path, "0.133 mm")
    assert "0.133 mm" in entry(form, path)[1]["rungs"]
    # an uncertainty that is in the calibration factor has none
    field, part = entry(form, "path.wedge_angle.half_width")
    assert part["rungs"] == []
    assert "in the calibration factor" in field["words"]


def test_arguments_say_what_is_allowed(site):
    for wrong in ({}, {"readings": READINGS, "flow": "1 m3/h"}):
        with pytest.raises(fd.InputError, match="allowed: readings, or a flow"):
            fd.form(site, **wrong)
    with pytest.raises(fd.InputError, match="allowed: a Site"):
        fd.form("site.toml", READINGS)
    with pytest.raises(fd.InputError, match="with flow alone"):
        fd.form(site, READINGS, temperature="8 degC")
    with pytest.raises(fd.InputError, match="text: found 3"):
        fd.form(site, READINGS).change("pipe.wall", 3)


def test_without_anywidget_the_state_is_a_page(form, monkeypatch):
    monkeypatch.setitem(sys.modules, "anywidget", None)
    monkeypatch.delitem(sys.modules, "flowdoubt.forms.widget", raising=False)
    bundle = form._repr_mimebundle_()
    assert set(bundle) == {"text/plain", "text/html"}
    assert "<svg" in bundle["text/html"]
    assert "39.6 deg" in bundle["text/html"]


def test_a_notebook_gets_the_page_before_the_entries(form, monkeypatch):
    """What shows a saved notebook would prefer a view that it cannot run."""
    display = pytest.importorskip("IPython.display")
    pytest.importorskip("anywidget")
    shown = []
    monkeypatch.setattr(display, "display", lambda bundle, raw: shown.append(bundle))
    form._ipython_display_()
    still, live = shown
    assert set(still) == {"text/plain", "text/html"}
    assert set(live) == {"application/vnd.jupyter.widget-view+json", "text/html"}
    assert live["text/html"] == ""
    # the entries hide the page by its name
    name = form._widget.state["name"]
    assert f'data-flowdoubt-form="{name}"' in still["text/html"]
    form._widget.close()


def test_with_anywidget_there_are_entries_beside_the_page(form):
    pytest.importorskip("anywidget")
    bundle = form._repr_mimebundle_()
    assert set(bundle) == {"text/plain", "text/html", "application/vnd.jupyter.widget-view+json"}
    assert form._widget.state["headline"] == form.evaluation.headline
    form._widget.asked = {"path": REMOUNTING, "text": "0.9 %", "number": 1}
    assert form.changes == {REMOUNTING: "0.9 %"}
    assert form._widget.state["answered"] == 1
    # shown again it is the same view
    assert form._repr_mimebundle_()["text/html"] != bundle["text/html"]
    form._widget.close()


def test_what_a_user_wrote_is_no_markup(site):
    evil = "<img src=x onerror=alert(1)>"
    text = site.text.replace("twelve years in service", evil).replace(
        'name = "Harrowmere', f'name = "{evil} Harrowmere'
    )
    form = fd.form(fd.Site.from_toml(text), READINGS)
    form.change("path.wedge_angle.half_width", evil)
    assert "<img" not in form._repr_html_()
    assert "<img" not in form._state()["result"]


PAGE = """<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width"><title>form</title>
<link rel="stylesheet" href="form.css"><body>
<div id="still">page of the state</div><main id="place"></main>
<script type="module">
import form from "./form.js";
const state = await (await fetch("state")).json();
const held = { state, asked: {} };
const listeners = [];
const model = {
  get: (name) => held[name],
  set: (name, value) => { held[name] = value; },
  on: (_, call) => listeners.push(call),
  off: () => {},
  save_changes: async () => {
    const answer = await fetch("asked", { method: "POST", body: JSON.stringify(held.asked) });
    held.state = await answer.json();
    for (const call of listeners) call();
  },
};
document.getElementById("still").dataset.flowdoubtForm = state.name;
form.render({ model, el: document.getElementById("place") });
// a notebook takes keys for its shortcuts
document.addEventListener("keydown", (event) => event.preventDefault());
window.ready = true;
</script>"""


@contextmanager
def served(widget):
    """The address of a page with the view of a form, whose entries reach the form."""

    class Handler(BaseHTTPRequestHandler):
        def _send(self, kind, text):
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.end_headers()
            self.wfile.write(text.encode())

        def do_GET(self):
            name = self.path.strip("/")
            kinds = {
                "": ("text/html", PAGE),
                "state": ("application/json", json.dumps(widget.state)),
            }
            kinds["form.js"] = ("text/javascript", widget._esm)
            kinds["form.css"] = ("text/css", widget._css)
            if name in kinds:
                self._send(*kinds[name])
            else:
                self.send_error(404)

        def do_POST(self):
            length = int(self.headers["Content-Length"])
            widget.asked = json.loads(self.rfile.read(length))
            self._send("application/json", json.dumps(widget.state))

        def log_message(self, *_):
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}/"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


FIND = """(() => {
  const words = %s;
  const label = [...document.querySelectorAll("label")].find((own) => {
    const row = own.closest(".fd-field").textContent;
    return row.includes(words[0]) && own.textContent.startsWith(words[1]);
  });
  const box = document.getElementById(label.htmlFor);
  box.closest("details").open = true;
  box.focus();
  if (box.select) box.select();
  return box.value;
})()"""


def focus(browser, path, words):
    """Put the focus on the entry of a path that a label names, and return its text."""
    return browser.run(FIND % json.dumps([path, words]))


@pytest.mark.skipif(not CHROMIUM, reason="no Chromium")
def test_in_a_browser_an_entry_changes_the_uncertainty(site, form, tmp_path):
    pytest.importorskip("anywidget")
    from browser import Browser

    from flowdoubt.forms.widget import view

    with served(view(form)) as address, Browser() as browser:
        browser.open(address, "window.ready === true")
        still = "getComputedStyle(document.getElementById('still')).display"
        assert browser.run(still) == "none"
        headline = "document.querySelector('.fd-headline').innerText"
        assert browser.run(headline) == site.evaluate(READINGS).headline
        # by the keyboard: the text of an uncertainty
        assert focus(browser, "installation.remounting", "standard") == "0.38 %"
        browser.type("1.5 %")
        answered = "document.querySelector('.fd-form').dataset.answered === '{}'"
        browser.wait_for(answered.format(1))
        text = site.text.replace('"0.38 %"', '"1.5 %"')
        by_hand = fd.Site.from_toml(text).evaluate(READINGS)
        assert browser.run(headline) == by_hand.headline != site.evaluate(READINGS).headline
        assert form.site.to_toml() == text
        # the shares of the components are those of the same budget
        bars = browser.run("document.querySelector('.fd-bars').innerText")
        for component, share in by_hand.budget.components().items():
            assert component in bars
            assert f"{100 * share:.1f} %" in bars

        # a slider, two steps to the left
        slider = """document.querySelector(
            'input[aria-label*="mounting"][aria-label$="uncertainty"]')"""
        rungs = entry(form, REMOUNTING)[1]["rungs"]
        browser.run(f"{slider}.focus()")
        assert browser.run(f"{slider}.value") == str(rungs.index("1.5 %"))
        browser.press("ArrowLeft", 37)
        browser.press("ArrowLeft", 37)
        browser.wait_for(answered.format(3))
        after = rungs[rungs.index("1.5 %") - 2]
        assert browser.run(f"{slider}.getAttribute('aria-valuetext')") == after
        text = text.replace('"1.5 %"', json.dumps(after))
        by_hand = fd.Site.from_toml(text).evaluate(READINGS)
        assert browser.run(headline) == by_hand.headline

        # a wrong entry: the error beside it, and the last good result
        focus(browser, "path.wedge_angle", "angle of the ray")
        browser.type("39.6 mm")
        alert = "[...document.querySelectorAll('.fd-error')].find((own) => own.innerText)"
        browser.wait_for(f"Boolean({alert})")
        assert browser.run(f"{alert}.innerText") == form.error
        assert "path.wedge_angle" in browser.run(f"{alert}.closest('.fd-field').innerText")
        assert browser.run("document.activeElement.getAttribute('aria-invalid')") == "true"
        assert browser.run(headline) == by_hand.headline
        # every entry has a label, a choice its list
        unnamed = """[...document.querySelectorAll('input, select, textarea')].filter(
            (own) => !own.labels?.length && !own.getAttribute('aria-label')).length"""
        assert browser.run(unnamed) == 0

        browser.run("[...document.querySelectorAll('button')].at(-1).click()")
        browser.wait_for(f"{headline} === {json.dumps(site.evaluate(READINGS).headline)}")
        assert form.site.text == site.text
        assert browser.run("document.activeElement.value") == "39.6 deg"
        for width in (1200, 420):
            browser.resize(width, 900)
            wider = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            assert browser.run(wider) <= 0
            browser.run("document.activeElement.blur(); window.scrollTo(0, 0)")
            browser.picture(tmp_path / f"form-{width}.png")
