"""The list of commissioning, and what was found, as HTML."""

from __future__ import annotations

from typing import Any

from flowdoubt import _core
from flowdoubt._core import CAUTIONS
from flowdoubt.display import html
from flowdoubt.display.words import typographic
from flowdoubt.edge.text import escape, small_print

_BOX = "\N{BALLOT BOX}"
_SIGNS = {
    "as it should be": "\N{BALLOT BOX WITH CHECK}",
    "done": "\N{BALLOT BOX WITH CHECK}",
    "not as it should be": "\N{BALLOT BOX WITH X}",
    "not done": _BOX,
}


def commissioning_html(commissioning: _core.Commissioning) -> str:
    """Return the steps with what each should show, with warnings and cautions."""
    styles = (html.NAME, html.EVIDENCE, html.EVIDENCE)
    rows = [html.heading(zip(("", "to do", "should show"), styles, strict=True))]
    for number, step in enumerate(commissioning.steps, 1):
        shows = [f"{_BOX} {words}" for _, words in step["questions"]]
        shows += [f"{_BOX} {_expected(entry)}" for entry in step["entries"]]
        rows.append(
            html.row(
                (
                    html.cell(f"{_BOX} {number}. {step['title']}", html.NAME),
                    html.cell(step["words"], html.EVIDENCE),
                    _lines(shows),
                )
            )
        )
    words = "commissioning"
    if commissioning.foreseen:
        words += f"; foreseen: {typographic(commissioning.foreseen)}"
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(text)}</p>"
        for code, text in commissioning.warnings
    )
    title = html.title(commissioning.site, words)
    return f"{title}{warnings}{html.table(rows)}{small_print(CAUTIONS)}"


def commissioned_html(found: _core.Commissioned) -> str:
    """Return what each step came to, with the sound-speed check and cautions."""
    rows = [
        html.row(
            (
                html.cell(f"{_SIGNS[step['outcome']]} {step['title']}", html.NAME),
                html.cell(step["outcome"], html.NAME),
                _lines(step["remarks"]),
            )
        )
        for step in found.steps
    ]
    said = "; ".join(part for part in (found.date, found.by) if part) or "no name and no date"
    title = html.title(found.site, f"commissioning, {said}")
    speed = "" if found.sound_speed is None else _paragraph(str(found.sound_speed))
    offered = ""
    if found.offered:
        paths = ", ".join(found.offered)
        offered = f"<p>can be taken over into the site file: {escape(paths)}</p>"
    return f"{title}{html.table(rows)}{speed}{offered}{small_print(CAUTIONS)}"


def _expected(entry: dict[str, Any]) -> str:
    words = entry["words"]
    return (
        f"{words}: {typographic(entry['in_words'])}"
        if entry["in_words"]
        else f"{words}: to be noted"
    )


def _paragraph(text: str) -> str:
    """Return text of lines."""
    return f"<p>{'<br>'.join(map(escape, text.splitlines()))}</p>"


def _lines(texts: Any) -> str:
    """Return a cell of several lines."""
    inner = "<br>".join(map(escape, texts))
    return f'<td style="{html.EVIDENCE}">{inner}</td>'
