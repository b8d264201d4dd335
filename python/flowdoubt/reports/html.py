"""A report as one page of HTML that needs nothing from elsewhere."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Mapping
from importlib.resources import files
from itertools import count
from string import Template

from flowdoubt.edge.text import escape
from flowdoubt.reports.blocks import (
    Attachment,
    Block,
    Cell,
    Content,
    Figure,
    Group,
    Items,
    Lines,
    Listing,
    Named,
    Notice,
    Paragraph,
    Section,
    Table,
)

# columns, and rows, from which on a table is set smaller and may break
_WIDE, _LONG = 6, 14


class _Page:
    """Numbers figures and tables while it writes blocks."""

    def __init__(self, labels: Mapping[str, str]) -> None:
        self.table_word, self.figure_word = escape(labels["table"]), escape(labels["figure"])
        self.figures, self.tables = count(1), count(1)

    def paragraph(self, block: Paragraph) -> str:
        words = _held(escape(block.text))
        return f"<p><strong>{words}</strong></p>" if block.strong else f"<p>{words}</p>"

    def notice(self, block: Notice) -> str:
        texts = "".join(f"<p>{_held(escape(text))}</p>" for text in block.texts)
        return f'<div class="notice"><strong>{escape(block.heading)}</strong>{texts}</div>'

    def items(self, block: Items) -> str:
        return f"<ul>{''.join(f'<li>{_held(escape(text))}</li>' for text in block.texts)}</ul>"

    def listing(self, block: Listing) -> str:
        lines = "\n".join(
            f'<code class="digest">{line}</code>' if _DIGEST.fullmatch(line) else escape(line)
            for line in block.lines
        )
        return f"<pre>{lines}</pre>"

    def table(self, block: Table) -> str:
        kinds = [kind for _, kind in block.columns]
        caption = ""
        if block.caption:
            number = next(self.tables)
            caption = (
                f"<caption><b>{self.table_word} {number}.</b> {escape(block.caption)}</caption>"
            )
        total = sum(block.widths)
        widths = "".join(f'<col style="width:{100 * w / total:.3g}%">' for w in block.widths)
        heading = ""
        if any(name for name, _ in block.columns):
            cells = (
                f'<th scope="col" class="{kind}">{escape(name)}</th>'
                for name, kind in block.columns
            )
            heading = f"<thead><tr>{''.join(cells)}</tr></thead>"
        bodies = "".join(self._group(group, kinds) for group in block.groups)
        long = sum(len(group.rows) for group in block.groups) > _LONG
        size = f"{'wide' if len(kinds) > _WIDE else ''} {'' if long else 'short'}".strip()
        # a table that needs more room than a narrow screen has moves within it
        return (
            f'<div class="scroll"><table class="{size}">{caption}<colgroup>{widths}</colgroup>'
            f"{heading}{bodies}</table></div>"
        )

    def _group(self, group: Group, kinds: list[str]) -> str:
        rows = ""
        if group.heading:
            heading, total = escape(group.heading), escape(group.total)
            rows = (
                f'<tr class="group"><th scope="rowgroup" colspan="{len(kinds) - 1}">{heading}</th>'
                f'<th class="number">{total}</th></tr>'
            )
        for row in group.rows:
            cells = (
                f'<td class="{kind}">{_cell(cell)}</td>'
                for kind, cell in zip(kinds, row, strict=True)
            )
            rows += f"<tr>{''.join(cells)}</tr>"
        return f"<tbody>{rows}</tbody>"

    def figure(self, block: Figure) -> str:
        number = next(self.figures)
        caption = escape(block.caption)
        # width and height are in the view box too; the page decides on the size
        svg = re.sub(r'^<svg ([^>]*?)width="[^"]*" ?', r"<svg \1", block.svg)
        svg = re.sub(r'^<svg ([^>]*?)height="[^"]*" ?', r"<svg \1", svg)
        svg = svg.replace(
            "<svg ",
            f'<svg role="img" aria-label="{caption}" style="width:{100 * block.width:g}%" ',
            1,
        )
        svg = _own_names(svg, f"f{number}-")
        said = f"<b>{self.figure_word} {number}.</b> {caption}"
        return f"<figure>{svg}<figcaption>{said}</figcaption></figure>"

    def block(self, block: Block) -> str:
        writers: dict[type, Callable[..., str]] = {
            Paragraph: self.paragraph,
            Notice: self.notice,
            Items: self.items,
            Listing: self.listing,
            Table: self.table,
            Figure: self.figure,
        }
        return writers[type(block)](block)

    def section(self, number: int, section: Section) -> str:
        blocks = "\n".join(map(self.block, section.blocks))
        return f"<section>\n<h2>{number} {escape(section.heading)}</h2>\n{blocks}\n</section>"


def _cell(cell: Cell) -> str:
    if isinstance(cell, Named):
        return f'{_breakable(cell.text)}<br><small class="path">{_breakable(cell.path)}</small>'
    if isinstance(cell, Lines):
        return "<br>".join(map(_breakable, cell.lines))
    return _breakable(cell)


def _breakable(text: str) -> str:
    """Return escaped text that may break within names."""
    return _held(re.sub(r"(?<=\w)([._])(?=[^\W\d])", r"\1<wbr>", escape(text)))


# a number with its unit, and a power of ten
_QUANTITY = re.compile(
    r"[-+\u2212]?\d[\d.]*(?: (?:%|\N{DEGREE SIGN}C|\N{MICRO SIGN}?[smL]\b|ns|"
    r"mm[\u00b2\u00b3]?(?:/s)?|m[\u00b2\u00b3]?(?:/[sh])?|L/(?:min|s|h)|K|bar|D)(?![\w/])|/\d+)"
)
_DIGEST = re.compile("[0-9a-f]{64}")


def _held(page: str) -> str:
    """Return escaped text whose numbers stay with their units at the end of a line."""
    return _QUANTITY.sub(r'<span class="held">\g<0></span>', page)


def _own_names(svg: str, prefix: str) -> str:
    """Return a picture whose names are its own on the page."""
    svg = re.sub(r'\bid="', f'id="{prefix}', svg)
    svg = re.sub(r'href="#', f'href="#{prefix}', svg)
    return svg.replace("url(#", f"url(#{prefix}")


def _attachment(file: Attachment) -> str:
    data = base64.b64encode(file.text.encode()).decode()
    name = escape(file.name)
    return (
        f'<p><a download="{name}" href="data:{file.media_type};base64,{data}">{name}</a>: '
        f"{escape(file.words)}</p>"
    )


def _css(words: str) -> str:
    """Return words for a text within a style sheet."""
    return "".join(c if c.isalnum() or c == " " else f"\\{ord(c):x} " for c in words)


def html_of(content: Content) -> str:
    """Write a report as a page of HTML, the same text for the same content."""
    page = _Page(content.labels)
    template = Template(files("flowdoubt.reports").joinpath("page.html").read_text("utf-8"))
    sections = [page.section(n, s) for n, s in enumerate(content.sections, 1)]
    sections += map(_attachment, content.attachments)
    labels = content.labels
    signatures = (
        f"<p>{escape(words)}: {escape(labels['signature'])}</p>" for words in content.signatures
    )
    marks = "".join(f"<p>{escape(name)}: {escape(text)}</p>" for name, text in content.marks)
    picture = content.letterhead
    letterhead = ""
    if picture is not None:
        # a picture by its bytes: nothing in an SVG runs or is looked up in this place
        source = f"data:{picture.media_type};base64,{picture.data}"
        letterhead = f'<img class="letterhead" src="{source}" alt="">'
    return template.substitute(
        title=escape(content.title),
        subject=escape(content.subject),
        result=escape(content.result),
        cautions=escape(content.cautions),
        made_by=escape(content.made_by),
        digest=escape(content.digest),
        sections="\n".join(sections),
        language=content.language,
        record=escape(labels["record"]),
        page_word=_css(labels["page"]),
        of_word=_css(labels["of"]),
        marks=f'<div class="marks">{marks}</div>' if marks else "",
        letterhead=letterhead,
        signatures="".join(signatures),
    )
