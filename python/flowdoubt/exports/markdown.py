"""Tables as Markdown."""

from __future__ import annotations

import re
from collections.abc import Sequence

from flowdoubt.exports.table import Cell, Table

# what Markdown would take for more than a letter; a line of a table ends at a line
_MARKUP = re.compile(r"([\\`*_\[\]<>|#~])")


def _escaped(text: str) -> str:
    return _MARKUP.sub(r"\\\1", text)


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _cell(own: Cell) -> str:
    under = f" (`{own.under.replace('`', '').replace('|', '')}`)" if own.under else ""
    return _escaped(own.text) + under


def markdown_of(tables: Sequence[Table]) -> bytes:
    """Return the tables, each below its title, with its notes."""
    parts = []
    for table in tables:
        if table.only == "workbook":
            continue
        lines = [f"## {_escaped(table.title)}", ""]
        if table.headings:
            lines += [
                _line([_escaped(heading) for heading in table.headings]),
                _line(["---:" if number else "---" for number in table.numbers]),
                *(_line([_cell(each) for each in row]) for row in table.rows),
                "",
            ]
        lines += [part for note in table.notes for part in (_escaped(note), "")]
        parts.append("\n".join(lines))
    return "\n".join(parts).encode()
