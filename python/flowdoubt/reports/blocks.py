"""The parts of a report, without a form: what HTML and PDF are both made from.

Every text here is plain text. The renderers escape it; nothing is ever markup.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeAlias


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of words."""

    text: str
    strong: bool = False


@dataclass(frozen=True)
class Notice:
    """Words that nobody may overlook, with a heading, in a frame."""

    heading: str
    texts: Sequence[str]


@dataclass(frozen=True)
class Items:
    """A list of short texts."""

    texts: Sequence[str]


@dataclass(frozen=True)
class Listing:
    """Lines to be typed or compared letter by letter."""

    lines: Sequence[str]


@dataclass(frozen=True)
class Group:
    """Rows of a table under a heading of their own."""

    rows: Sequence[Sequence[str]]
    heading: str = ""
    total: str = ""


@dataclass(frozen=True)
class Table:
    """A table; `columns` are headings with what they hold: ``name``, ``number`` or ``words``.

    What follows an end of line in a cell is small.
    """

    columns: Sequence[tuple[str, str]]
    groups: Sequence[Group]
    caption: str = ""
    # shares of the width, for columns that wrap
    widths: Sequence[float] = field(default=())


@dataclass(frozen=True)
class Figure:
    """A picture as SVG, with what it shows in words."""

    svg: str
    caption: str
    width: float = 1.0


Block: TypeAlias = Paragraph | Notice | Items | Listing | Table | Figure


@dataclass(frozen=True)
class Section:
    """A numbered section."""

    heading: str
    blocks: Sequence[Block]


@dataclass(frozen=True)
class Attachment:
    """A file that the report carries along."""

    name: str
    media_type: str
    text: str
    words: str


@dataclass(frozen=True)
class Content:
    """A whole report."""

    title: str
    subject: str
    result: str
    made_by: str
    digest: str
    cautions: str
    sections: Sequence[Section]
    attachments: Sequence[Attachment]
    signatures: Sequence[str]


def pairs(rows: Sequence[tuple[str, str]], caption: str = "") -> Table:
    """Return a table of two columns without headings."""
    return Table(
        columns=(("", "name"), ("", "words")),
        groups=(Group(rows=rows),),
        caption=caption,
        widths=(1.0, 2.2),
    )
