"""A table without a form: what a workbook, a document and Markdown are all made from.

Every text is plain text; what writes a form escapes it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from numbers import Integral, Real
from typing import Any, Literal, TypeAlias

from flowdoubt._core import rounded
from flowdoubt.edge.text import shown

Value: TypeAlias = str | int | float | bool | None

# of a number of which no uncertainty is known
_DIGITS = 5


@dataclass(frozen=True)
class Cell:
    """A value as it is, for a workbook, and as people read it."""

    value: Value
    text: str
    # a second, small line
    under: str = ""


@dataclass(frozen=True)
class Table:
    """A table with its headings; `numbers` tells which columns are set to the right."""

    title: str
    headings: Sequence[str]
    numbers: Sequence[bool]
    rows: Sequence[Sequence[Cell]]
    notes: Sequence[str] = field(default=())
    # "workbook" for every number that there is, "document" for what is laid out to be read
    only: Literal["", "workbook", "document"] = ""


def cell(value: Any, text: str | None = None) -> Cell:
    """Return the cell of a value, rounded to five digits for people where no `text` is given."""
    if value is None:
        return Cell(None, "")
    if isinstance(value, bool):
        return Cell(value, text or ("yes" if value else "no"))
    if isinstance(value, Integral):
        return Cell(int(value), text or str(value))
    if isinstance(value, Real):
        number = float(value)
        if math.isnan(number):
            return Cell(None, "")
        if math.isinf(number):
            words = "infinite" if number > 0 else "-infinite"
            return Cell(words, words)
        return Cell(number, _rounded(number) if text is None else text)
    if isinstance(value, Mapping):
        words = ", ".join(f"{name} {cell(each).text}" for name, each in value.items())
    elif isinstance(value, str) or not isinstance(value, Iterable):
        words = str(value)
    else:
        words = ", ".join(cell(each).text for each in value)
    return Cell(shown(words), shown(words) if text is None else text)


def _rounded(number: float) -> str:
    if number == int(number) and abs(number) < 1e5:
        return str(int(number))
    return rounded(number, _DIGITS)


def _is_number(value: Value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def texts(
    title: str, headings: Sequence[str], rows: Iterable[Sequence[str]], notes: Sequence[str] = ()
) -> Table:
    """Return a table of words and of numbers that have been rounded."""
    cells = [[Cell(shown(text), shown(text)) for text in row] for row in rows]
    return Table(title, headings, [False] * len(headings), cells, notes)


def table_of(
    title: str,
    rows: Iterable[Mapping[str, Any]],
    notes: Sequence[str] = (),
    *,
    words: bool = True,
    only: Literal["", "workbook", "document"] = "",
) -> Table:
    """Return the table of rows by name; a column that only some rows have is empty in the others.

    Where `words` is true, the names are keys of this package, whose low lines are spaces in print.
    """
    rows = list(rows)
    names = list(dict.fromkeys(name for row in rows for name in row))
    cells = [[cell(row.get(name)) for name in names] for row in rows]
    columns = zip(*cells, strict=True) if cells else iter([()] * len(names))
    numbers = [_holds_numbers(column) for column in columns]
    headings = [shown(str(name).replace("_", " ") if words else str(name)) for name in names]
    return Table(title, headings, numbers, cells, notes, only)


def _holds_numbers(column: Iterable[Cell]) -> bool:
    values = [each.value for each in column if each.value is not None]
    return bool(values) and all(_is_number(value) or value == "infinite" for value in values)


def from_columns(
    title: str,
    columns: Mapping[str, Iterable[Any]],
    notes: Sequence[str] = (),
    *,
    words: bool = True,
    only: Literal["", "workbook", "document"] = "",
) -> Table:
    """Return the table of columns by name."""
    names = list(columns)
    rows = (dict(zip(names, cells, strict=True)) for cells in zip(*columns.values(), strict=True))
    return table_of(title, rows, notes, words=words, only=only)
