"""The view of a form with entries. It needs the package anywidget."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import anywidget
import traitlets

_VIEW = "application/vnd.jupyter.widget-view+json"


class View(anywidget.AnyWidget):
    """Entries that come from a form and go back to it; script and style are part of the package."""

    _esm = (files("flowdoubt.forms") / "form.js").read_text(encoding="utf-8")
    _css = (files("flowdoubt.forms") / "form.css").read_text(encoding="utf-8")

    state = traitlets.Dict().tag(sync=True)
    asked = traitlets.Dict().tag(sync=True)

    def __init__(self, form: Any) -> None:
        self._form = form
        self._sent, self._answered = "", 0
        super().__init__(state=self._told())
        form._listeners.append(self._listen)
        self.observe(self._answer, names="asked")

    def view_bundle(self) -> dict[str, Any]:
        """Return what shows the entries in a notebook."""
        bundle: Any = self._repr_mimebundle_()
        # with metadata, or without
        data = bundle[0] if isinstance(bundle, tuple) else bundle or {}
        return {_VIEW: data[_VIEW]} if _VIEW in data else {}

    def _told(self) -> dict[str, Any]:
        state: dict[str, Any] = self._form._state()
        return state | {"sent": self._sent, "answered": self._answered}

    def _listen(self) -> None:
        self.state = self._told()

    def _answer(self, change: Any) -> None:
        asked = change["new"]
        path, text = str(asked.get("path", "")), str(asked.get("text", ""))
        # after all was taken back every entry is written anew
        self._sent, self._answered = path or "*", asked.get("number", 0)
        if path == "":
            self._form.take_back()
        else:
            self._form.change(path, text)
        self._sent = ""


def view(form: Any) -> View:
    """Return the view of a form."""
    return View(form)
