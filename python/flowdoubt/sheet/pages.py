"""The pages of a printed sheet: a cover that says what to do, then the tiles."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from flowdoubt.sheet.cover import cover
from flowdoubt.sheet.drawing import (
    DARK,
    PALE,
    Box,
    Drawing,
    Line,
    Ring,
    Words,
    clean,
    scale_bars,
    shortened,
)
from flowdoubt.sheet.tiles import MARGIN, TAPE, Page, Tile, Tiling
from flowdoubt.sheet.wrap import both_units, strip_sheet, wrap_sheet

if TYPE_CHECKING:
    from flowdoubt._core import MarkOut

# Digits of the digest that tell sheets apart on every page; the cover has all.
_DIGITS = 16


class PrintedPage:
    """What is on one page: shapes of the page itself, and of the sheet seen through windows."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.own = Drawing(Box(0.0, 0.0, page.width, page.height))
        self.windows: list[Drawing] = []


def printed_pages(mark_out: MarkOut, tiling: Tiling, upright: Page) -> list[PrintedPage]:
    """Return the cover and the tiles."""
    count = 1 + tiling.pages
    first = PrintedPage(upright)
    cover(first.own, mark_out, tiling)
    _furniture(first.own, upright, mark_out, "cover", 1, count)
    pages = [first]
    sheet = wrap_sheet(mark_out, shared=tiling.shared)
    registers = _registers(sheet, tiling) if tiling.pasted else []
    for number in range(tiling.pages):
        own = [tile for tile in tiling.tiles if tile.page == number]
        name = own[0].name if len(own) == 1 else "strips of A and B"
        printed = PrintedPage(tiling.page)
        _furniture(printed.own, tiling.page, mark_out, name, number + 2, count)
        for tile in own:
            if tiling.pasted:
                _window(printed, sheet, tile, cut_words=True)
                _register_marks(printed, tile, registers)
            else:
                _window(printed, strip_sheet(mark_out, tile.seen), tile, cut_words=False)
                if len(own) > 1:
                    _name(printed, tile)
            _frame(printed, tile)
        if not tiling.pasted:
            _by_tape(printed, mark_out)
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
    window, seen = Drawing(tile.window), tile.seen
    dx, dy = tile.window.x1 - seen.x1, tile.window.y1 - seen.y1
    for shape in sheet.shapes:
        whole = isinstance(shape, Words) and not cut_words
        if seen.holds(shape.box()) if whole else seen.meets(shape.box()):
            window.add(shape.moved(dx, dy))
    printed.windows.append(window)


def _frame(printed: PrintedPage, tile: Tile) -> None:
    box = tile.window
    corners = [(box.x1, box.y1), (box.x2, box.y1), (box.x2, box.y2), (box.x1, box.y2)]
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        printed.own.add(Line(x1, y1, x2, y2, 0.15, PALE))


def _name(printed: PrintedPage, tile: Tile) -> None:
    """Write what a part of the sheet is, since the line above the window is cut off."""
    box = tile.window
    printed.own.add(Words(box.x1 + 1.5, box.y2 - 1.5, tile.name, 2.2, grey=DARK))


# Half the width of a register cross with a little room, and how far it keeps from a mark, so that
# nobody takes one for the other.
_REGISTER, _FROM_MARK = 4.5, 25.0
# Places for register crosses are tried at these steps.
_STEP = 4.0


def _registers(sheet: Drawing, tiling: Tiling) -> list[tuple[float, float]]:
    """Return where crosses show that two pages lie right over each other, on the sheet."""
    marks = [
        (shape.x, shape.y)
        for shape in sheet.shapes
        if isinstance(shape, Ring) and shape.name.startswith("mark-")
    ]
    taken = [shape.box() for shape in sheet.shapes]
    places: list[tuple[float, float]] = []
    by_place = {(tile.row, tile.column): tile.seen for tile in tiling.tiles}
    for (row, column), seen in by_place.items():
        above, before = by_place.get((row - 1, column)), by_place.get((row, column - 1))
        for other, level in ((above, True), (before, False)):
            if other is None:
                continue
            both = Box(
                max(seen.x1, other.x1, sheet.box.x1),
                max(seen.y1, other.y1, sheet.box.y1),
                min(seen.x2, other.x2, sheet.box.x2),
                min(seen.y2, other.y2, sheet.box.y2),
            )
            there = [place for place in places if both.holds(_around(place))]
            places += _far_apart(both, level, marks, taken, there)
    return places


def _around(place: tuple[float, float]) -> Box:
    x, y = place
    return Box(x - _REGISTER, y - _REGISTER, x + _REGISTER, y + _REGISTER)


def _far_apart(
    both: Box,
    level: bool,
    marks: list[tuple[float, float]],
    taken: list[Box],
    there: list[tuple[float, float]],
) -> list[tuple[float, float]]:
    """Return a place near each end of what two pages have in common, clear of what is drawn.

    Those that are there already, of other pages, are not doubled.
    """
    inner = Box(both.x1 + _REGISTER, both.y1 + _REGISTER, both.x2 - _REGISTER, both.y2 - _REGISTER)
    along = _tried(inner.x1, inner.x2) if level else _tried(inner.y1, inner.y2)
    # first in the middle of what lies over each other
    across = _tried(inner.y1, inner.y2) if level else _tried(inner.x1, inner.x2)
    middle = 0.5 * (across[0] + across[-1])
    across.sort(key=lambda place: abs(place - middle))
    found: list[tuple[float, float]] = []
    ends = (inner.x1, inner.x2) if level else (inner.y1, inner.y2)
    third = (ends[1] - ends[0]) / 3.0
    for end, tried in zip(ends, (along, along[::-1]), strict=True):
        if any(abs((x if level else y) - end) < third for x, y in there):
            continue
        places = [(a, b) if level else (b, a) for a in tried for b in across]
        places = [
            place
            for place in places
            if all(math.dist(place, mark) >= _FROM_MARK for mark in (*marks, *there, *found))
        ]
        clear = (p for p in places if not any(_around(p).meets(box) for box in taken))
        # over a line rather than not at all
        place = next(clear, places[0] if places else None)
        if place is not None:
            found.append(place)
    return found


def _tried(first: float, last: float) -> list[float]:
    count = max(1, math.floor((last - first) / _STEP) + 1)
    if last <= first:
        return [0.5 * (first + last)]
    return [first + n * (last - first) / max(1, count - 1) for n in range(count)]


def _register_marks(printed: PrintedPage, tile: Tile, registers: list[tuple[float, float]]) -> None:
    """Draw the crosses that the tile shows, each of which lies on one of a neighbour."""
    window, seen = tile.window, tile.seen
    for x, y in registers:
        if not seen.holds(_around((x, y))):
            continue
        at_x, at_y = window.x1 + x - seen.x1, window.y1 + y - seen.y1
        printed.own.add(
            Ring(at_x, at_y, 1.5, 0.15, DARK),
            Line(at_x - 3.5, at_y, at_x + 3.5, at_y, 0.12),
            Line(at_x, at_y - 3.5, at_x, at_y + 3.5, 0.12),
        )
    _name(printed, tile)


def _by_tape(printed: PrintedPage, mark_out: MarkOut) -> None:
    """Write below the strips what a tape measures between the marks."""
    window = printed.page.window
    lines = [f"from A to B: {both_units(mark_out.spacing_m)} along the pipe with the flow"]
    if mark_out.direct:
        half = both_units(mark_out.offset_round_pipe_m)
        lines.append(f"and half the circumference round it: {half}")
    else:
        lines[0] += ", on one line"
    y = window.y2 - TAPE + 5.0
    for line in lines:
        printed.own.add(Words(window.x1 + 1.5, y, line, 2.8, bold=True))
        y += 4.0
