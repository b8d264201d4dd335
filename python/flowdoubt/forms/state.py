"""What a form holds: a site, the texts that were entered, and the last good result."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flowdoubt._core import FlowdoubtError
from flowdoubt.edge.errors import refuse
from flowdoubt.forms.panel import form_html, result_html
from flowdoubt.models import Budget
from flowdoubt.site import Evaluation, Site
from flowdoubt.site.plan import Amount
from flowdoubt.site.readings import Readings

_SECTIONS = ("pipe", "liquid", "path", "meter", "profile", "installation")
# those that are open at first; the others are one click away
_OPEN = ("foreseen", "pipe", "liquid", "path", "installation")


class Form:
    """A site as a form: what `form` returns.

    It is no more than its entries and the last good result, and needs no notebook: ``change`` does
    what an entry does.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> form = fd.form(site, "notebooks/demo/readings.csv")
    >>> form.change("installation.straight_run.value", "40 D")
    True
    >>> form.change("installation.straight_run.value", "40 ns")
    False
    >>> print(form.error.partition(";")[0])
    installation.straight_run: `40 ns` is of kind time, not length
    >>> form.changes
    {'installation.straight_run.value': '40 D'}
    """

    def __init__(
        self,
        site: Site,
        readings: Readings | None = None,
        *,
        flow: Amount | None = None,
        temperature: Amount | None = None,
    ) -> None:
        _check(site, readings, flow, temperature)
        self._begun = self._site = site
        self._readings = readings
        self._foreseen = {"flow": flow, "temperature": temperature}
        self._begun_with = dict(self._foreseen)
        self._pending: dict[str, str] = {}
        self._changes: dict[str, str] = {}
        self._rungs: dict[str, list[str]] = {}
        self._error: FlowdoubtError | None = None
        self._at = ""
        self._listeners: list[Callable[[], None]] = []
        self._widget: Any = None
        self._name = f"{id(self):x}"
        self._result = self._evaluated(site, self._foreseen)

    @property
    def site(self) -> Site:
        """The site with all changes that fit together; ``site.to_toml()`` is its text."""
        return self._site

    @property
    def evaluation(self) -> Evaluation | None:
        """The last good result, where there are readings."""
        found: Evaluation | None = self._result["evaluation"]
        return found

    @property
    def budget(self) -> Budget:
        """The budget of the last good result, at the flow that is foreseen or with the readings."""
        budget: Budget = self._result["budget"]
        return budget

    @property
    def error(self) -> str:
        """What is wrong with what was entered last; empty where nothing is."""
        return "" if self._error is None else _words_of(self._error)

    @property
    def changes(self) -> dict[str, str]:
        """What was changed since the form was opened: texts by the paths of their entries."""
        return dict(self._changes)

    def change(self, path: str, text: str) -> bool:
        """Enter a text.

        Parameters
        ----------
        path
            The path in the site file, such as ``"pipe.wall.value"`` or
            ``"path.wedge_angle.half_width"``; ``"flow"`` or ``"temperature"`` for what is foreseen.
        text
            As the file has it, such as ``"7.1 mm"``; readings are parted by commas, and an empty
            text takes out what is there.

        Returns
        -------
        bool
            Whether it gives a result. If not, `error` says why, the last good result stays, and
            the text is tried again with the next one: some entries fit only together.

        Raises
        ------
        InputError
            Where path or text are no text.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> form = fd.form(site, flow="1000 m3/h", temperature="8 degC")
        >>> form.change("installation.remounting.standard_uncertainty", "0.1 %")
        True
        """
        for name, value in (("path", path), ("text", text)):
            if not isinstance(value, str):
                raise refuse(
                    f"{name}: found {value!r}; allowed: text",
                    code="wrong-type",
                    field=name,
                    value=value,
                    allowed="text",
                )
        self._pending.pop(path, None)
        self._pending[path] = text
        self._at = path
        try:
            site, foreseen = self._entered()
            result = self._evaluated(site, foreseen)
        except FlowdoubtError as error:
            self._error = error
        else:
            self._site, self._foreseen, self._result = site, foreseen, result
            self._changes |= self._pending
            self._pending = {}
            self._error = None
        self._tell()
        return self._error is None

    def take_back(self) -> None:
        """Take all changes back.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> site = fd.Site.load("notebooks/demo/site.toml")
        >>> form = fd.form(site, flow="1000 m3/h", temperature="8 degC")
        >>> changed = form.change("site.name", "another pipe")
        >>> form.take_back()
        >>> form.site.name == site.name
        True
        """
        self._site, self._foreseen = self._begun, dict(self._begun_with)
        self._pending, self._changes, self._error = {}, {}, None
        self._result = self._evaluated(self._site, self._foreseen)
        self._tell()

    def _entered(self) -> tuple[Site, dict[str, Any]]:
        """Return the site, and what is foreseen, with all that was entered and not yet taken."""
        foreseen = {key: self._pending.get(key, own) for key, own in self._foreseen.items()}
        foreseen = {key: own if own != "" else None for key, own in foreseen.items()}
        texts = [(path, text) for path, text in self._pending.items() if path not in foreseen]
        return self._site._with_texts(texts) if texts else self._site, foreseen

    def _evaluated(self, site: Site, foreseen: dict[str, Any]) -> dict[str, Any]:
        if self._readings is not None:
            evaluation = site.evaluate(self._readings)
            return {
                "evaluation": evaluation,
                "headline": evaluation.headline,
                "budget": evaluation.budget,
                "layout": evaluation.path_layout,
                "warnings": evaluation.warnings,
            }
        if foreseen["flow"] is None:
            raise refuse(
                "flow: missing; needed: the volume flow that is foreseen, such as '100 m3/h'",
                code="missing",
                field="flow",
                allowed="a volume flow such as '100 m3/h'",
            )
        plan = site.plan(foreseen["flow"], foreseen["temperature"])
        point = plan.points[0]
        flow, temperature, velocity, _, expanded = plan.shown()[0]
        if not point["feasible"]:
            raise refuse(str(point["reason"]), code="infeasible", field="flow")
        at = ", ".join(part for part in (flow, temperature) if part)
        return {
            "evaluation": None,
            "headline": f"expected at {at} ({velocity} m/s): expanded uncertainty {expanded}",
            "budget": plan.budget(0),
            "layout": site.evaluate(plan.rehearsal(0)).path_layout,
            "warnings": plan.warnings(0),
        }

    def _tell(self) -> None:
        for listener in self._listeners:
            listener()

    def _state(self) -> dict[str, Any]:
        """Return what is shown: entries by section, and the result as a piece of HTML."""
        by_section: dict[str, list[dict[str, Any]]] = {name: [] for name in _SECTIONS}
        for field in self._site._fields():
            by_section[field["section"]].append(field)
        if self._error is not None and self._error.code == "missing":
            self._add_missing(by_section)
        sections: list[dict[str, Any]] = [
            {"name": name, "fields": fields, "open": name in _OPEN}
            for name, fields in by_section.items()
            if fields
        ]
        if self._readings is None:
            sections.insert(0, {"name": "foreseen", "fields": self._fields_of_flow(), "open": True})
        fields = [field for section in sections for field in section["fields"]]
        where = self._place_of_error(fields)
        for field in fields:
            field["error"] = self.error if field["path"] == where else ""
            for part in field["parts"]:
                part["text"] = self._pending.get(part["path"], part["text"])
                kept = self._rungs.get(part["path"], [])
                if part["text"] in kept:
                    # a slider that is moved stays on its scale
                    part["rungs"] = kept
                elif part["text"] in part["rungs"]:
                    self._rungs[part["path"]] = part["rungs"]
                else:
                    part["rungs"] = kept
        return {
            "name": self._name,
            "title": self._site.name,
            "headline": self._result["headline"],
            "sections": sections,
            "result": result_html(self._result, self._changes, stale=self._error is not None),
        }

    def _fields_of_flow(self) -> list[dict[str, Any]]:
        words = {"flow": "volume flow", "temperature": "temperature of the liquid"}
        return [
            {
                "section": "foreseen",
                "path": key,
                "words": words[key],
                "evidence": "",
                "parts": [_text_part(key, "" if own is None else str(own))],
            }
            for key, own in self._foreseen.items()
            if key == "flow" or own is not None or self._error is not None
        ]

    def _add_missing(self, by_section: dict[str, list[dict[str, Any]]]) -> None:
        """Make room for what was asked for, and for what was entered of it before."""
        asked = "" if self._error is None else self._error.field or ""
        known = {field["path"] for fields in by_section.values() for field in fields}
        for path in dict.fromkeys((*self._pending, asked)):
            section, _, key = path.partition(".")
            if section in by_section and key and "." not in key and path not in known:
                words = key.replace("_", " ")
                by_section[section].append(
                    {
                        "section": section,
                        "path": path,
                        "words": words,
                        "evidence": "",
                        "parts": [_text_part(path, "")],
                    }
                )

    def _place_of_error(self, fields: list[dict[str, Any]]) -> str:
        """Return the path of the field beside which the error stands."""
        if self._error is None:
            return ""
        paths = [field["path"] for field in fields]
        for named in (self._error.field or "", self._at):
            own = [path for path in paths if named == path or named.startswith(f"{path}.")]
            if own:
                return str(own[-1])
        return str(paths[0])

    def _repr_html_(self) -> str:
        page = form_html(self._state())
        # the view with entries hides it by this name
        return f'<div data-flowdoubt-form="{self._name}">{page}</div>'

    def _ipython_display_(self) -> None:
        """Show the page of the state, and after it the entries, which take its place.

        What shows a saved notebook prefers a view that it cannot run to a page beside it.
        """
        from IPython.display import display

        show: Any = display
        bundle = self._repr_mimebundle_()
        live = {kind: own for kind, own in bundle.items() if not kind.startswith("text/")}
        still = {kind: own for kind, own in bundle.items() if kind not in live}
        show(still, raw=True)
        if live:
            # nothing to be seen where the page is all there is
            show(live | {"text/html": ""}, raw=True)

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, Any]:
        """Return the form with entries, and a page of its state for where nothing runs."""
        bundle = {"text/plain": repr(self), "text/html": self._repr_html_()}
        try:
            from flowdoubt.forms.widget import view
        except ModuleNotFoundError:
            return bundle
        if self._widget is None:
            self._widget = view(self)
        live: dict[str, Any] = self._widget.view_bundle()
        return bundle | live

    def __repr__(self) -> str:
        return f"<Form of {self._site.name!r}: {self._result['headline']}>"


def _text_part(path: str, text: str) -> dict[str, Any]:
    return {"path": path, "words": "", "text": text, "rungs": [], "options": []}


def _words_of(error: FlowdoubtError) -> str:
    """Return the words of an error without file and line, which nobody sees here."""
    words = str(error)
    if error.file is not None and error.line is not None:
        words = words.removeprefix(f"{error.file}:{error.line}: ")
    return words


def _check(site: Any, readings: Any, flow: Any, temperature: Any) -> None:
    if not isinstance(site, Site):
        allowed = "a Site, as Site.load(path) returns it"
        raise refuse(
            f"site: found {site!r}; allowed: {allowed}",
            code="wrong-type",
            field="site",
            value=site,
            allowed=allowed,
        )
    if (readings is None) == (flow is None):
        found = "neither readings nor flow" if flow is None else "readings and flow"
        raise refuse(
            f"readings, flow: found {found}; allowed: readings, or a flow such as '100 m3/h'",
            field="readings",
            value=found,
            allowed="one of readings and flow",
        )
    if readings is not None and temperature is not None:
        raise refuse(
            "temperature: found beside readings; allowed: with flow alone",
            field="temperature",
            value=temperature,
            allowed="with flow alone",
        )
