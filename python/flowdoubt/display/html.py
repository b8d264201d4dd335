"""The parts of HTML tables. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from flowdoubt.edge.text import escape

NUMBER = "text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums"
NAME = "text-align:left;white-space:nowrap"
WORDS = "text-align:left"
# wide enough for a sentence, also beside many columns of numbers
EVIDENCE = f"{WORDS};min-width:12em"
COMPONENT = "border-top:1px solid;font-weight:bold"


def cell(text: str, style: str, tag: str = "td", span: int = 1) -> str:
    """Return a cell with text, over so many columns; what follows an end of line is small."""
    wide = f' colspan="{span}"' if span > 1 else ""
    first, *more = text.split("\n")
    small = "".join(f"<br><small>{escape(line)}</small>" for line in more)
    return f'<{tag}{wide} style="{style}">{escape(first)}{small}</{tag}>'


def row(cells: Iterable[str]) -> str:
    """Return a row of cells."""
    return f"<tr>{''.join(cells)}</tr>"


def table(rows: Sequence[str]) -> str:
    """Return a table of rows."""
    # a wide one is scrolled, and not cut off
    return f'<div style="overflow-x:auto"><table>{"".join(rows)}</table></div>'


def heading(columns: Iterable[tuple[str, str]]) -> str:
    """Return the row of headings, from name and style of each column."""
    # headings may wrap, or the table gets wider than its numbers need
    return row(cell(name, style.replace("white-space:nowrap", ""), "th") for name, style in columns)


def pairs(rows: Iterable[tuple[str, str]]) -> str:
    """Return a table of names and what is said of each."""
    return table([row((cell(name, NAME), cell(words, WORDS))) for name, words in rows])


def title(name: str, words: str) -> str:
    """Return a name in bold over a line of words."""
    return f"<p><b>{escape(name)}</b><br>{escape(words)}</p>"
