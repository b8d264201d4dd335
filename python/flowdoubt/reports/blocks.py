"""The parts of a report, without a form: what HTML and PDF are both made from.

Every text here is plain text. The renderers escape it; nothing is ever markup.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias


@dataclass(frozen=True)
class Named:
    """Words, and below them in small print the path of a key."""

    text: str
    path: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Lines:
    """Words of several lines, as of an address."""

    lines: Sequence[str]

    def __str__(self) -> str:
        return ", ".join(self.lines)


Cell: TypeAlias = str | Named | Lines


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

    rows: Sequence[Sequence[Cell]]
    heading: str = ""
    total: str = ""


@dataclass(frozen=True)
class Table:
    """A table; `columns` are headings with what they hold: ``name``, ``number`` or ``words``."""

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
class Picture:
    """A picture over the report: ``png``, ``jpg`` or ``svg``, its bytes in base64."""

    kind: str
    media_type: str
    data: str


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
    language: str
    # words of the form: figure, table, page, of, record, signature, saved_by
    labels: Mapping[str, str]
    letterhead: Picture | None = None
    # number, date and customer beside the title
    marks: Sequence[tuple[str, str]] = ()


def pairs(rows: Sequence[tuple[Cell, Cell]], caption: str = "") -> Table:
    """Return a table of two columns without headings."""
    return Table(
        columns=(("", "name"), ("", "words")),
        groups=(Group(rows=rows),),
        caption=caption,
        widths=(1.0, 2.2),
    )
