"""Tables as a document (.docx)."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from flowdoubt.exports.table import Table

if TYPE_CHECKING:
    from docx.table import _Cell, _Row

# beyond so many columns a page is turned
_UPRIGHT = 6


def document_of(tables: Sequence[Table]) -> bytes:
    """Return a document on A4 with each table below its title, with its notes."""
    from docx import Document
    from docx.enum.section import WD_ORIENT
    from docx.shared import Mm, Pt

    tables = [table for table in tables if table.only != "workbook"]
    document = Document()
    section = document.sections[0]
    wide = any(len(table.headings) > _UPRIGHT for table in tables)
    long, short = Mm(297), Mm(210)
    section.page_width, section.page_height = (long, short) if wide else (short, long)
    section.orientation = WD_ORIENT.LANDSCAPE if wide else WD_ORIENT.PORTRAIT
    section.left_margin = section.right_margin = Mm(18)
    section.top_margin = section.bottom_margin = Mm(18)
    size = Pt(7.5 if wide else 10)
    # of the width of a letter, bold ones among them
    letter = 0.6 * size
    document.styles["Normal"].font.size = size
    for table in tables:
        document.add_heading(table.title[:1].upper() + table.title[1:], level=2)
        if table.headings:
            made = document.add_table(rows=1, cols=len(table.headings))
            made.style = "Table Grid"
            made.autofit = False
            _repeat_on_each_page(made.rows[0])
            for target, heading, number in zip(
                made.rows[0].cells, table.headings, table.numbers, strict=True
            ):
                _write(target, heading, number, bold=True)
            for row in table.rows:
                added = made.add_row()
                _keep_on_one_page(added)
                for target, own, number in zip(added.cells, row, table.numbers, strict=True):
                    _write(target, own.text, number, under=own.under)
            room = section.page_width - section.left_margin - section.right_margin
            for column, share in zip(made.columns, _shares(table, room / letter), strict=True):
                column.width = int(share * room)
                for target in column.cells:
                    target.width = int(share * room)
        for note in table.notes:
            document.add_paragraph(note)
    data = io.BytesIO()
    document.save(data)
    return data.getvalue()


def _shares(table: Table, letters: float) -> list[float]:
    """Return the shares of the width of the columns on a line of so many letters.

    Each has room for its longest word, and what is left goes to those with long texts.
    """
    least, wanted = [], []
    for place, heading in enumerate(table.headings):
        cells = [row[place] for row in table.rows]
        texts = [heading, *(text for own in cells for text in (own.text, own.under))]
        longest_word = max(len(word) for text in texts for word in text.split() or [""])
        least.append(min(longest_word, 23) + 3.0)
        is_to_be_filled = heading != "" and not any(texts[1:])
        wanted.append(
            max(least[-1], min(max(map(len, texts)), 50), 16.0 if is_to_be_filled else 0.0)
        )
    rest = max(0.0, letters - sum(least))
    more = [want - need for want, need in zip(wanted, least, strict=True)]
    total = sum(more) or 1.0
    widths = [need + rest * own / total for need, own in zip(least, more, strict=True)]
    return [width / sum(widths) for width in widths]


def _write(target: _Cell, text: str, number: bool, bold: bool = False, under: str = "") -> None:
    from docx.enum.text import WD_ALIGN_PARAGRAPH
    from docx.shared import Pt

    paragraph = target.paragraphs[0]
    # a number stays with its unit
    paragraph.add_run(text.replace(" %", "\N{NO-BREAK SPACE}%")).bold = bold
    if under:
        paragraph.add_run(f"\n{under}").font.size = Pt(6)
    if number:
        paragraph.alignment = WD_ALIGN_PARAGRAPH.RIGHT


def _repeat_on_each_page(row: _Row) -> None:
    _mark(row, "w:tblHeader")


def _keep_on_one_page(row: _Row) -> None:
    _mark(row, "w:cantSplit")


def _mark(row: _Row, name: str) -> None:
    from docx.oxml import OxmlElement

    row._tr.get_or_add_trPr().append(OxmlElement(name))
