"""Which parts of the sheet are printed on which pages."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from flowdoubt._core import RangeError
from flowdoubt.edge.errors import refuse
from flowdoubt.sheet.drawing import Box
from flowdoubt.sheet.wrap import Places, Span

PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}
"""Width and height in mm, upright."""

TILES = ("strips", "all")

# Paper that printers leave white, and the room of the lines above and below the window.
MARGIN, HEADER, FOOTER = 8.0, 10.0, 16.0
# How far tiles lie over each other at least.
OVERLAP = 10.0
# What a strip shows beyond the exit points at least, and beyond the lines that it lies along.
_BEYOND = 12.0
# Between strips on one page, and the line below them that says what a tape measures.
_GAP, TAPE = 5.0, 11.0
# A whole sheet on so few pages is pasted rather than replaced by a tape, if it takes at least that
# much of them.
_FEW, _HALF = 2, 0.6
# More pages than anybody pastes; a plotter prints the SVG.
_MOST = 200
# More pages than needed, in one direction, that a joint beside the marks is worth.
_MORE = 3


@dataclass(frozen=True)
class Page:
    """The paper of a page and the window in it through which the sheet is seen, in mm."""

    width: float
    height: float

    @property
    def window(self) -> Box:
        """The window on the page."""
        right, bottom = self.width - MARGIN, self.height - MARGIN - FOOTER
        return Box(MARGIN, MARGIN + HEADER, right, bottom)


@dataclass(frozen=True)
class Tile:
    """A part of the sheet, seen through a window of a page."""

    name: str
    x: float
    y: float
    window: Box
    page: int
    """The number of its page, from 0, after the cover."""
    row: int = 0
    column: int = 0

    @property
    def seen(self) -> Box:
        """The part of the sheet that is seen."""
        return Box(self.x, self.y, self.x + self.window.width, self.y + self.window.height)


@dataclass(frozen=True)
class Tiling:
    """All pages of a sheet."""

    page: Page
    tiles: tuple[Tile, ...]
    pasted: bool
    """Whether the tiles are pasted together; else each lies alone and a tape joins them."""
    together: bool
    """Whether a tile shows the whole spacing."""

    @property
    def pages(self) -> int:
        """Number of pages with parts of the sheet."""
        return 1 + max(tile.page for tile in self.tiles)

    @property
    def shared(self) -> tuple[list[Span], list[Span]]:
        """Where pages that are pasted lie over each other, along the pipe and round it.

        Each begins where the upper page was cut.
        """
        if not self.pasted:
            return [], []

        def spans(starts: set[float], length: float) -> list[Span]:
            return [(n, one + length) for one, n in itertools.pairwise(sorted(starts))]

        window = self.page.window
        return (
            spans({tile.x for tile in self.tiles}, window.width),
            spans({tile.y for tile in self.tiles}, window.height),
        )


def page_of(paper: str, *, upright: bool) -> Page:
    """Return a page of a paper by name."""
    by_name = {name.lower(): size for name, size in PAPERS.items()}
    size = by_name.get(str(paper).lower())
    if size is None:
        allowed = ", ".join(PAPERS)
        raise refuse(
            f"paper: found `{paper}`; allowed: {allowed}",
            code="unknown-name",
            field="paper",
            value=paper,
            allowed=allowed,
        )
    short, long = size
    return Page(short, long) if upright else Page(long, short)


def tiling(places: Places, paper: str, tiles: str | None) -> Tiling:
    """Choose pages: ``"all"`` of the sheet, the ``"strips"`` with the marks, or what suits."""
    upright, across = page_of(paper, upright=True), page_of(paper, upright=False)
    if tiles not in (None, *TILES):
        allowed = ", ".join(TILES)
        raise refuse(
            f"tiles: found `{tiles}`; allowed: {allowed}",
            code="unknown-name",
            field="tiles",
            value=tiles,
            allowed=allowed,
        )
    if tiles == "strips":
        return _strips(places, upright, across)
    # as few pages as will do, and of equals those of which the sheet takes more
    laid = [(page, _starts(places, page)) for page in (across, upright)]
    page, (rows, columns) = min(
        laid, key=lambda one: (len(one[1][0]) * len(one[1][1]), -_covered(places, one[0]))
    )
    count = len(rows) * len(columns)
    area = count * page.window.width * page.window.height
    few = count == 1 or (count <= _FEW and places.box.width * places.box.height >= _HALF * area)
    if tiles is None and not few:
        return _strips(places, upright, across)
    if count > _MOST:
        raise refuse(
            f"tiles: all of the sheet takes {count} pages of {paper}; allowed: "
            f'{_MOST} at most; take tiles="strips", larger paper, or the SVG and a plotter',
            code="out-of-range",
            field="tiles",
            value=f"{count} pages",
            allowed=f"{_MOST} pages at most",
            kind=RangeError,
        )
    return Tiling(page, _all(page, rows, columns), pasted=True, together=True)


def _covered(places: Places, page: Page) -> float:
    """Return how much of a window the sheet takes where a page holds the whole width or height."""
    box, window = places.box, page.window
    return min(1.0, box.width / window.width) * min(1.0, box.height / window.height)


def _starts(places: Places, page: Page) -> tuple[list[float], list[float]]:
    """Return the upper sides of the rows and the left sides of the columns of pages."""
    box, window = places.box, page.window
    return (
        _spread(box.y1, box.y2, window.height, places.kept_down),
        _spread(box.x1, box.x2, window.width, places.kept_along),
    )


def _spread(
    first: float, last: float, window: float, kept: tuple[list[Span], list[Span]]
) -> list[float]:
    """Return where pages begin, spread evenly so that none is left half empty.

    No page begins within what is to be kept whole, with the words around it if that can be done
    with as many pages, else with more; and in any case not within the marks themselves.
    """
    fewest = max(1, math.ceil((last - first - OVERLAP) / (window - OVERLAP) - 1e-9))
    words, marks = kept
    for spans in (words, marks):
        for count in range(fewest, fewest + _MORE):
            starts = _spread_over(first, last, window, spans, count)
            if starts is not None:
                return starts
    # spans of marks are shorter than any page: only pages of less than their width end up here
    return [first + n * (window - OVERLAP) for n in range(fewest)]


def _spread_over(
    first: float, last: float, window: float, spans: list[Span], count: int
) -> list[float] | None:
    step = window - OVERLAP
    starts = [first]
    for n in range(1, count):
        wanted = first + n * (last - window - first) / (count - 1)
        lowest = max(starts[-1] + OVERLAP, last - window - (count - 1 - n) * step)
        highest = starts[-1] + step
        ends = [end for span in spans for end in span]
        allowed = [
            start
            for start in (wanted, lowest, highest, *ends)
            if lowest - 1e-9 <= start <= highest + 1e-9
            and not any(low < start < high for low, high in spans)
        ]
        if not allowed:
            return None
        starts.append(min(allowed, key=lambda start: abs(start - wanted)))
    return starts


def _all(page: Page, rows: list[float], columns: list[float]) -> tuple[Tile, ...]:
    count = len(rows) * len(columns)
    return tuple(
        Tile(
            f"row {row + 1} of {len(rows)}, column {column + 1} of {len(columns)}"
            if count > 1
            else "whole sheet",
            x,
            y,
            page.window,
            row * len(columns) + column,
            row,
            column,
        )
        for row, y in enumerate(rows)
        for column, x in enumerate(columns)
    )


def _strips(places: Places, upright: Page, across: Page) -> Tiling:
    """Return one page with a strip along each line, or one at each mark if the spacing is long.

    An upright page has the room round the pipe, and a page across that along it.
    """
    needed = places.spacing + 2.0 * _BEYOND
    together = needed <= across.window.width
    narrow = places.box.width <= upright.window.width
    page = upright if together and places.offset and narrow else across
    whole = page.window
    count = 1 if together and not places.offset else 2
    height = (whole.height - TAPE - (count - 1) * _GAP) / count
    windows = [
        Box(whole.x1, top, whole.x2, top + height)
        for top in (whole.y1 + n * (height + _GAP) for n in range(count))
    ]
    # between what stands above a line and what stands below it
    above = 0.5 * (places.head - places.below)

    def at(name: str, middle: float, y: float, window: Box) -> Tile:
        x1, y1 = middle - 0.5 * window.width, y - above - 0.5 * window.height
        return Tile(name, x1, y1, window, 0)

    middle = 0.5 * places.spacing
    if places.box.width <= whole.width:
        middle = 0.5 * (places.box.x1 + places.box.x2)
    tiles: tuple[Tile, ...]
    if not together:
        # each shows what is between the marks rather than what is beyond them
        inwards = 0.5 * whole.width - places.lead - 2.0
        a = at("sensor A", inwards, 0.0, windows[0])
        b = at("sensor B", places.spacing - inwards, places.offset, windows[1])
        tiles = (a, b)
    elif places.offset:
        tiles = (
            at("sensor A, with the circle through B", middle, 0.0, windows[0]),
            at("sensor B, with the circle through A", middle, places.offset, windows[1]),
        )
    else:
        tiles = (at("sensors A and B", middle, 0.0, windows[0]),)
    return Tiling(page, tiles, pasted=False, together=together)
