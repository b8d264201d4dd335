"""The result of a form, and the whole of its last state where nothing can be entered, as HTML."""

from __future__ import annotations

from typing import Any

from flowdoubt._core import CAUTIONS
from flowdoubt.display.budget import budget_html
from flowdoubt.display.sketch import path_sketch
from flowdoubt.display.words import percent
from flowdoubt.edge.text import escape, small_print

_BAR = "display:block;height:0.9em;background:#5a5a5a;min-width:1px"
_CELL = "padding:1px 8px 1px 0;text-align:left;vertical-align:middle"
_TABLE = "width:100%;table-layout:fixed;border-collapse:collapse"
_NAME = "width:50%;font-weight:normal;overflow-wrap:anywhere"
_SIDE_BY_SIDE = (
    "display:grid;grid-template-columns:repeat(auto-fit,minmax(min(22em,100%),1fr));gap:0 2em"
)


def result_html(result: dict[str, Any], changes: dict[str, str], *, stale: bool) -> str:
    """Return sound path, shares of the components and what was changed."""
    said = "<p>This is the result of the last entries that fit together.</p>" if stale else ""
    layout = result["layout"]
    said += "" if layout is None else path_sketch(layout)
    said += _bars(result["budget"].components())
    said += "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in result["warnings"]
    )
    if changes:
        each = "".join(
            f"<li><code>{escape(path)}</code>: {escape(text) or 'taken out'}</li>"
            for path, text in changes.items()
        )
        said += f'<p>changed since the form was opened</p><ul class="fd-changes">{each}</ul>'
    lines = budget_html(result["budget"])
    said += f"<details><summary>all inputs of the budget</summary>{lines}</details>"
    return said + small_print(CAUTIONS)


def _bars(shares: dict[str, float]) -> str:
    """Return the shares of the components in the variance as bars, the largest first."""
    rows = []
    for component, share in sorted(shares.items(), key=lambda item: -item[1]):
        text = percent(share)
        rows.append(
            f'<tr><th scope="row" style="{_CELL};font-weight:normal">'
            f"{escape(component or 'input')}</th>"
            f'<td style="{_CELL};width:45%"><span style="{_BAR};width:{text.replace(" ", "")}">'
            f'</span></td><td style="{_CELL};text-align:right;white-space:nowrap">{text}</td></tr>'
        )
    return (
        '<table class="fd-bars" style="width:100%;max-width:420px;border-collapse:collapse">'
        '<caption style="text-align:left">shares in the variance of the flow</caption>'
        f"{''.join(rows)}</table>"
    )


def form_html(state: dict[str, Any]) -> str:
    """Return the state of a form as a page without entries."""
    sections = []
    for section in state["sections"]:
        rows = []
        for field in section["fields"]:
            texts = [
                escape(part["text"]) + (f" ({escape(part['words'])})" if part["words"] else "")
                for part in field["parts"]
                if part["text"]
            ]
            rows.append(
                f'<tr><th scope="row" style="{_CELL};{_NAME}">{escape(field["words"])}'
                f'<br><small style="color:#595959"><code>{escape(field["path"])}</code></small>'
                "</th>"
                f'<td style="{_CELL}">{"<br>".join(texts)}</td></tr>'
            )
        sections.append(
            f"<p><b>{escape(section['name'])}</b></p>"
            f'<table style="{_TABLE}">{"".join(rows)}</table>'
        )
    return (
        f"<section><p><b>{escape(state['title'])}</b></p>"
        f'<div style="{_SIDE_BY_SIDE}"><div>{"".join(sections)}</div>'
        f"<div><p><b>{escape(state['headline'])}</b></p>{state['result']}</div></div></section>"
    )
