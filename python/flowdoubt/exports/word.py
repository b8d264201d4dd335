"""Tables as a document (.docx)."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from flowdoubt.exports.table import Table

if TYPE_CHECKING:
    from docx.table import _Cell

# beyond so many columns a page is turned
_UPRIGHT = 6


def document_of(tables: Sequence[Table]) -> bytes:
    """Return a document on A4 with each table below its title, with its notes."""
    from docx import Document
    from docx.enum.section import WD_ORIENT
    from docx.shared import Mm, Pt

    document = Document()
    section = document.sections[0]
    wide = any(len(table.headings) > _UPRIGHT for table in tables)
    long, short = Mm(297), Mm(210)
    section.page_width, section.page_height = (long, short) if wide else (short, long)
    section.orientation = WD_ORIENT.LANDSCAPE if wide else WD_ORIENT.PORTRAIT
    section.left_margin = section.right_margin = Mm(18)
    section.top_margin = section.bottom_margin = Mm(18)
    document.styles["Normal"].font.size = Pt(8 if wide else 10)
    for table in tables:
        document.add_heading(table.title[:1].upper() + table.title[1:], level=2)
        if table.headings:
            made = document.add_table(rows=1, cols=len(table.headings))
            made.style = "Light Grid"
            _repeat_on_each_page(made.rows[0])
            for target, heading, number in zip(
                made.rows[0].cells, table.headings, table.numbers, strict=True
            ):
                _write(target, heading, number, bold=True)
            for row in table.rows:
                cells = made.add_row().cells
                for target, own, number in zip(cells, row, table.numbers, strict=True):
                    _write(target, own.text, number)
        for note in table.notes:
            document.add_paragraph(note)
    data = io.BytesIO()
    document.save(data)
    return data.getvalue()


def _write(target: _Cell, text: str, number: bool, bold: bool = False) -> None:
    from docx.enum.text import WD_ALIGN_PARAGRAPH

    paragraph = target.paragraphs[0]
    paragraph.add_run(text).bold = bold
    if number:
        paragraph.alignment = WD_ALIGN_PARAGRAPH.RIGHT


def _repeat_on_each_page(row: object) -> None:
    from docx.oxml import OxmlElement

    row._tr.get_or_add_trPr().append(OxmlElement("w:tblHeader"))  # type: ignore[attr-defined]
