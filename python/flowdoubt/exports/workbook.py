"""Tables as a workbook (.xlsx): numbers as numbers with sixteen digits, shown rounded."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from flowdoubt.exports.table import Cell, Table

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell as SheetCell

# letters that the name of a sheet cannot have
_NOT_IN_NAMES = re.compile(r"[\[\]:*?/\\']")
# in letters, and the height of a line in points
_WIDEST, _LINE = 48, 14.0


def workbook_of(tables: Sequence[Table]) -> bytes:
    """Return a workbook with a sheet for each table."""
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    tables = [table for table in tables if table.only != "document"]
    book = Workbook()
    book.remove(book.worksheets[0])
    for table, name in zip(tables, _names(tables), strict=True):
        sheet = book.create_sheet(name)
        for place, (heading, number) in enumerate(
            zip(table.headings, table.numbers, strict=True), 1
        ):
            head = sheet.cell(1, place)
            _write_text(head, heading)
            head.font = Font(bold=True)
            aside = "right" if number else "left"
            head.alignment = Alignment(horizontal=aside, vertical="top", wrap_text=True, indent=1)
            widths = [len(heading) / 2, *(len(row[place - 1].text) for row in table.rows)]
            sheet.column_dimensions[get_column_letter(place)].width = min(max(widths) + 3, _WIDEST)
        for line, row in enumerate(table.rows, 2):
            lines = max((-(-len(own.text) // _WIDEST) for own in row), default=1)
            sheet.row_dimensions[line].height = _LINE * max(lines, 1)
            for place, own in enumerate(row, 1):
                target = sheet.cell(line, place)
                _write(target, own)
                aside = "right" if table.numbers[place - 1] else "left"
                target.alignment = Alignment(
                    horizontal=aside,
                    vertical="top",
                    wrap_text=len(own.text) > _WIDEST,
                    indent=1,
                )
        sheet.row_dimensions[1].height = 2 * _LINE
        sheet.freeze_panes = "A2"
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        sheet.print_title_rows = "1:1"
        for line, note in enumerate(table.notes, len(table.rows) + 3):
            _write_text(sheet.cell(line, 1), note)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def _names(tables: Sequence[Table]) -> list[str]:
    """Return names of sheets: 31 letters at most, each once whatever the case."""
    names: list[str] = []
    for table in tables:
        plain = _NOT_IN_NAMES.sub(" ", table.title).strip()[:31] or "table"
        name, count = plain, 1
        while name.casefold() in {other.casefold() for other in names}:
            count += 1
            name = f"{plain[: 30 - len(str(count))]} {count}"
        names.append(name)
    return names


def _write(target: SheetCell, own: Cell) -> None:
    if isinstance(own.value, str):
        _write_text(target, own.value)
    elif own.value is not None:
        target.value = own.value
        if isinstance(own.value, float):
            target.number_format = _format_as(own.text)


def _write_text(target: SheetCell, text: str) -> None:
    """Write text that stays text: what begins like a formula is none."""
    target.value = text
    target.data_type = "s"
    if text[:1] in {"=", "+", "-", "@"}:
        target.quotePrefix = True


def _format_as(text: str) -> str:
    """Return the format that shows a number as its rounded text does."""
    found = re.fullmatch(r"-?\d+(?:\.(\d+))?( %)?", text)
    if found:
        decimals = f".{'0' * len(found[1])}" if found[1] else ""
        return f"0{decimals}%" if found[2] else f"0{decimals}"
    return "0.0E+00" if text else "General"
