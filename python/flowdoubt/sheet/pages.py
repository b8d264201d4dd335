"""The pages of a printed sheet: a cover that says what to do, then the tiles."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flowdoubt.sheet.cover import cover
from flowdoubt.sheet.drawing import (
    DARK,
    PALE,
    Box,
    Drawing,
    Line,
    Polygon,
    Ring,
    Words,
    clean,
    scale_bars,
    shortened,
)
from flowdoubt.sheet.tiles import MARGIN, OVERLAP, Page, Tile, Tiling
from flowdoubt.sheet.wrap import both_units, wrap_sheet

if TYPE_CHECKING:
    from flowdoubt._core import MarkOut

# Digits of the digest that tell sheets apart on every page; the cover has all.
_DIGITS = 16


class PrintedPage:
    """What is on one page: shapes of the page itself, and of the sheet seen through a window."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.own = Drawing(Box(0.0, 0.0, page.width, page.height))
        self.through_window = Drawing(page.window)


def printed_pages(mark_out: MarkOut, tiling: Tiling, upright: Page) -> list[PrintedPage]:
    """Return the cover and the tiles."""
    sheet = wrap_sheet(mark_out, edges=tiling.pasted)
    count = 1 + len(tiling.tiles)
    first = PrintedPage(upright)
    cover(first.own, mark_out, tiling)
    _furniture(first.own, upright, mark_out, "cover", 1, count)
    pages = [first]
    for number, tile in enumerate(tiling.tiles, 2):
        printed = PrintedPage(tiling.page)
        _furniture(printed.own, tiling.page, mark_out, tile.name, number, count)
        _window(printed, sheet, tile, cut_words=tiling.pasted)
        if tiling.pasted:
            _register_marks(printed, tiling, tile)
        else:
            _by_tape(printed, mark_out)
        _frame(printed)
        pages.append(printed)
    return pages


def _furniture(
    drawing: Drawing, page: Page, mark_out: MarkOut, name: str, number: int, count: int
) -> None:
    """Draw what every page has: what it is part of, its place, the bars."""
    left, right = MARGIN, page.width - MARGIN
    place = f"{name}; page {number} of {count}"
    room = right - left - 2.0 * len(place)
    drawing.add(
        Words(left, MARGIN + 3.4, shortened(clean(mark_out.site), room, 3.2), 3.2, bold=True),
        Words(right, MARGIN + 3.4, place, 3.0, "end"),
        Words(
            left,
            MARGIN + 7.4,
            f"mark-out sheet, site file SHA-256 {mark_out.site_digest[:_DIGITS]}",
            2.2,
            grey=DARK,
        ),
        Words(right, MARGIN + 7.4, "1:1, print at 100 %, no fitting to the page", 2.2, "end"),
        *scale_bars(left, page.height - MARGIN - FOOTER_BARS),
    )
    beside = left + 116.0
    y = page.height - MARGIN - FOOTER_BARS + 2.0
    for words in (
        "check the print with a rule:",
        "100 mm and 4 in within 0.5 mm,",
        "or the marks are wrong",
    ):
        drawing.add(Words(beside, y, words, 2.4, grey=DARK))
        y += 3.4


# From the lower margin up to the bars.
FOOTER_BARS = 10.0


def _window(printed: PrintedPage, sheet: Drawing, tile: Tile, *, cut_words: bool) -> None:
    """Draw the part of the sheet that is seen; words whole or, on request, cut at its edge."""
    window, seen = printed.page.window, tile.seen(printed.page)
    dx, dy = window.x1 - seen.x1, window.y1 - seen.y1
    for shape in sheet.shapes:
        whole = isinstance(shape, Words) and not cut_words
        if seen.holds(shape.box()) if whole else seen.meets(shape.box()):
            printed.through_window.add(shape.moved(dx, dy))


def _frame(printed: PrintedPage) -> None:
    box = printed.page.window
    corners = [(box.x1, box.y1), (box.x2, box.y1), (box.x2, box.y2), (box.x1, box.y2)]
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        printed.own.add(Line(x1, y1, x2, y2, 0.15, PALE))


def _register_marks(printed: PrintedPage, tiling: Tiling, tile: Tile) -> None:
    """Draw crosses in the overlap, each of which lies on one of the neighbouring tile."""
    window, half = printed.page.window, 0.5 * OVERLAP
    rows = {t.row for t in tiling.tiles}
    columns = {t.column for t in tiling.tiles}
    xs = [
        x
        for x, neighbour in (
            (window.x1 + half, tile.column - 1),
            (window.x2 - half, tile.column + 1),
        )
        if neighbour in columns
    ]
    ys = [
        y
        for y, neighbour in ((window.y1 + half, tile.row - 1), (window.y2 - half, tile.row + 1))
        if neighbour in rows
    ]
    thirds = [window.y1 + window.height * part for part in (0.2, 0.8)]
    places = [(x, y) for x in xs for y in thirds]
    thirds = [window.x1 + window.width * part for part in (0.2, 0.8)]
    places += [(x, y) for y in ys for x in thirds]
    for x, y in places:
        printed.own.add(
            Ring(x, y, 1.5, 0.15, DARK),
            Line(x - 3.5, y, x + 3.5, y, 0.12),
            Line(x, y - 3.5, x, y + 3.5, 0.12),
        )
    # the line above the window is cut off
    printed.own.add(
        Words(window.x1 + 1.5, window.y2 - 1.5, tile.name, 2.2, grey=DARK),
    )


def _by_tape(printed: PrintedPage, mark_out: MarkOut) -> None:
    """Draw what a tape measures between this tile and the next."""
    window = printed.page.window
    words = f"from A to B: {both_units(mark_out.spacing_m)} along the pipe with the flow"
    if mark_out.direct:
        words += (
            f", and half the circumference round it, {both_units(mark_out.offset_round_pipe_m)}"
        )
    else:
        words += ", on one line"
    top, bottom = window.y2 - 7.0, window.y2
    corners = ((window.x1, top), (window.x2, top), (window.x2, bottom), (window.x1, bottom))
    printed.own.add(
        Polygon(corners, 1.0),
        Line(window.x1, top, window.x2, top, 0.15, PALE),
        Words(window.x1 + 3.0, bottom - 2.4, words, 2.8, bold=True),
    )
