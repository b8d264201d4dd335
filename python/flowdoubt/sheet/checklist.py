"""Lists with boxes to tick, in pages: sections of items, what each should show, lines to write on.

Nothing in here knows what is listed. Words of users are cleaned here, so that callers need not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from flowdoubt.sheet.drawing import DARK, PALE, Box, Drawing, Line, Words, clean, shortened
from flowdoubt.sheet.pages import PrintedPage
from flowdoubt.sheet.tiles import HEADER, MARGIN, Page


@dataclass(frozen=True)
class Entry:
    """A line to write on."""

    words: str
    """What is written there."""
    expected: str = ""
    """What it should be."""
    unit: str = ""
    """Its unit, printed at the end of the line."""


@dataclass(frozen=True)
class Item:
    """A box to tick."""

    words: str
    """What to do, or what to have."""
    entries: tuple[Entry, ...] = ()
    """What is to be noted."""
    expected: str = ""
    """What it should show, in bold beneath the words."""
    note: str = ""
    """Small print: where a number comes from."""


@dataclass(frozen=True)
class Section:
    """Items under a heading, which stays with the first of them."""

    title: str
    items: tuple[Item, ...]
    words: str = ""
    """A paragraph beneath the heading."""


@dataclass(frozen=True)
class Checklist:
    """What is printed."""

    title: str
    """What the list is for, in large letters on its first page."""
    subject: str
    """What it belongs to, at the head of every page: the name of the site."""
    reference: str
    """What tells it from others, at the head of every page: the digest of the site file."""
    sections: tuple[Section, ...]
    lead: tuple[str, ...] = ()
    """Paragraphs beneath the title."""
    cautions: str = ""
    """What must be read before the work, between rules beneath the title."""
    warnings: tuple[str, ...] = ()
    """In bold beneath the cautions."""
    signed: tuple[str, ...] = ("done by", "signature", "date and time")
    """Lines at the end, side by side."""


# Sizes of letters and distances, in mm.
_TEXT, _SMALL = 2.9, 2.3
_BOX, _INDENT = 3.6, 6.5
# A hand writes in a line of this height.
_HANDWRITING = 7.0
# Where what is expected and the line to write on begin, of the width beside the box.
_EXPECTED_AT, _LINE_AT = 0.31, 0.72
# Bold letters are so much wider than others.
_BOLD = 1.15
_FOOT = 4.0
# A section that takes no more of a page than this is on one page.
_TOGETHER = 0.4


# Letters of a paragraph, of an entry and of a heading, so that no block is higher than a page.
_LETTERS, _OF_ENTRY, _OF_HEADING = 800, 300, 200


def _printed(text: str, letters: int = _LETTERS) -> str:
    """Return text fit to be printed, cut where nobody would read on."""
    text = clean(text)
    return text if len(text) <= letters else f"{text[:letters]} ..."


class _Block:
    """What must not be torn apart between two pages: shapes from ``y = 0`` down to a height."""

    def __init__(self, width: float) -> None:
        self.drawing = Drawing(Box(0.0, 0.0, width, 0.0))
        self.height = 0.0

    @property
    def width(self) -> float:
        """Room from left to right."""
        return self.drawing.box.width

    def paragraph(
        self, text: str, size: float, *, indent: float = 0.0, bold: bool = False, after: float = 0.6
    ) -> None:
        """Add text in lines below what there is."""
        x, y = indent, self.height + size
        text = _printed(text, _OF_HEADING if size > _TEXT else _LETTERS)
        y = self.drawing.paragraph(x, y, self.width - indent, text, size, bold=bold)
        self.height = y - size + after

    def rule(self, grey: float = PALE) -> None:
        """Add a line from side to side."""
        self.drawing.add(Line(0.0, self.height, self.width, self.height, 0.2, grey))
        self.height += 1.2

    def below(self, other: _Block) -> None:
        """Add another block."""
        self.drawing.add(*(shape.moved(0.0, self.height) for shape in other.drawing.shapes))
        self.height += other.height


def checklist_pages(
    checklist: Checklist, page: Page, *, before: int = 0, after: int = 0
) -> list[PrintedPage]:
    """Return the pages of a list; so many pages of the same file come before and after them."""
    width = page.width - 2.0 * MARGIN
    top, bottom = MARGIN + HEADER + 4.0, page.height - MARGIN - _FOOT
    printed: list[PrintedPage] = []
    y = bottom
    for group in _groups(checklist, width):
        height = sum(block.height for block in group)
        # what is short is not torn apart
        if height <= _TOGETHER * (bottom - top) and y + height > bottom:
            y = bottom
        for block in group:
            if not printed or y + block.height > bottom:
                printed.append(PrintedPage(page))
                y = top
            printed[-1].own.add(*(shape.moved(MARGIN, y) for shape in block.drawing.shapes))
            y += block.height
    count = before + len(printed) + after
    for number, own in enumerate(printed, before + 1):
        _head(own, checklist, number, count)
    return printed


def _head(printed: PrintedPage, checklist: Checklist, number: int, count: int) -> None:
    """Draw what every page has, where the pages of the mark-out have it."""
    left, right = MARGIN, printed.page.width - MARGIN
    place = f"{_printed(checklist.title, 40)}; page {number} of {count}"
    room = right - left - 2.0 * len(place)
    printed.own.add(
        Words(left, MARGIN + 3.4, shortened(clean(checklist.subject), room, 3.2), 3.2, bold=True),
        Words(right, MARGIN + 3.4, place, 3.0, "end"),
        Words(left, MARGIN + 7.4, clean(checklist.reference), 2.2, grey=DARK),
    )


def _groups(checklist: Checklist, width: float) -> Iterator[list[_Block]]:
    """Yield the opening, each section and the lines to sign on, in pieces that are not torn."""
    yield list(_opening(checklist, width))
    for section in checklist.sections:
        heading = _Block(width)
        heading.height = 2.0
        heading.paragraph(section.title, 3.8, bold=True, after=1.0)
        if section.words:
            heading.paragraph(section.words, _TEXT, after=1.2)
        group = [heading]
        for number, item in enumerate(section.items):
            first, *others = _item(item, width)
            if number == 0:
                heading.below(first)
            else:
                group.append(first)
            group += others
        yield group
    if checklist.signed:
        yield [_signed(checklist.signed, width)]


def _opening(checklist: Checklist, width: float) -> Iterator[_Block]:
    block = _Block(width)
    block.paragraph(checklist.title, 6.0, bold=True, after=1.0)
    for words in checklist.lead:
        block.paragraph(words, _TEXT)
    if checklist.cautions:
        block.height += 1.0
        block.rule(DARK)
        block.paragraph(" ".join(checklist.cautions.split()), 2.6, after=0.4)
        block.rule(DARK)
    yield block
    for words in checklist.warnings:
        block = _Block(width)
        block.paragraph(words, 2.6, bold=True)
        yield block


def _item(item: Item, width: float) -> list[_Block]:
    """Return the box with its words and the first line to write on, then the other lines."""
    first = _Block(width)
    first.height = 0.6
    _square(first, 0.0, first.height)
    first.paragraph(item.words, _TEXT, indent=_INDENT)
    if item.expected:
        first.paragraph(item.expected, _TEXT, indent=_INDENT, bold=True)
    # a box is no higher than its item
    first.height = max(first.height, 0.6 + _BOX)
    blocks = [first]
    for number, entry in enumerate(item.entries):
        if number == 0:
            first.below(_entry(entry, width))
        else:
            blocks.append(_entry(entry, width))
    if item.note:
        blocks[-1].height += 0.4
        blocks[-1].paragraph(item.note, _SMALL, indent=_INDENT)
    blocks[-1].height += 1.4
    return blocks


def _square(block: _Block, x: float, y: float) -> None:
    corners = [(x, y), (x + _BOX, y), (x + _BOX, y + _BOX), (x, y + _BOX)]
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        block.drawing.add(Line(x1, y1, x2, y2, 0.3))


def _entry(entry: Entry, width: float) -> _Block:
    """Return words, what is expected and the line to write on, side by side."""
    room = width - _INDENT
    middle, last = _INDENT + _EXPECTED_AT * room, _INDENT + _LINE_AT * room
    block = _Block(width)
    baseline = 0.75 * _HANDWRITING
    below = block.drawing.paragraph(
        _INDENT, baseline, middle - _INDENT - 2.0, _printed(entry.words, _OF_ENTRY), _TEXT
    )
    # without a number of its own the line is longer
    start = middle
    if entry.expected:
        start = last
        below = max(
            below,
            block.drawing.paragraph(
                middle,
                baseline,
                (last - middle) / _BOLD,
                _printed(entry.expected, _OF_ENTRY),
                _TEXT,
                bold=True,
            ),
        )
    unit = _printed(entry.unit, 8)
    end = width - (12.0 if unit else 0.0)
    block.drawing.add(Line(start, baseline + 0.8, end, baseline + 0.8, 0.2, DARK))
    if unit:
        block.drawing.add(Words(end + 1.2, baseline, unit, _TEXT))
    block.height = max(_HANDWRITING, below - _TEXT + 0.6)
    return block


def _signed(names: tuple[str, ...], width: float) -> _Block:
    block = _Block(width)
    block.height = 12.0
    step = width / len(names)
    for number, name in enumerate(names):
        x = number * step
        block.drawing.add(
            Line(x, block.height, x + step - 4.0, block.height, 0.2, DARK),
            Words(x, block.height + 3.4, clean(name), 2.4, grey=DARK),
        )
    block.height += 5.0
    return block
