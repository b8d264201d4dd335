"""A mark-out as HTML."""

from __future__ import annotations

from flowdoubt import _core
from flowdoubt._core import CAUTIONS
from flowdoubt.display import html
from flowdoubt.edge.text import escape, small_print


def mark_out_html(mark_out: _core.MarkOut) -> str:
    """Return every number of a mark-out in both systems of units, with warnings and cautions."""
    styles = (html.WORDS, html.NAME, html.NAME)
    rows = [html.row(map(html.cell, line, styles)) for line in mark_out.lines]
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in mark_out.warnings
    )
    advice = "".join(
        f"<li>mounting (common practice): {escape(words)}</li>" for words in mark_out.advice
    )
    title = f"<p><b>{escape(mark_out.site)}</b><br>where the sensors go</p>"
    cautions = small_print(CAUTIONS)
    return f"{title}{html.table(rows)}{warnings}<ul>{advice}</ul>{cautions}"
