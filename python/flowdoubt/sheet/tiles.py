"""Which parts of the sheet are printed on which pages."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flowdoubt._core import RangeError
from flowdoubt.edge.errors import refuse
from flowdoubt.sheet.drawing import Box
from flowdoubt.sheet.wrap import Places

PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}
"""Width and height in mm, upright."""

TILES = ("strips", "all")

# Paper that printers leave white, and the room of the lines above and below the window.
MARGIN, HEADER, FOOTER = 8.0, 10.0, 16.0
# How far tiles lie over each other.
OVERLAP = 10.0
# What a strip shows beyond the exit points at least.
_BEYOND = 12.0
# A whole sheet on so few pages is pasted rather than replaced by a tape.
_FEW = 2
# More pages than anybody pastes; a plotter prints the SVG.
_MOST = 200


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
    """A part of the sheet, as large as the window of its page."""

    name: str
    x: float
    y: float
    row: int = 0
    column: int = 0

    def seen(self, page: Page) -> Box:
        """Return the part of the sheet that is seen."""
        window = page.window
        return Box(self.x, self.y, self.x + window.width, self.y + window.height)


@dataclass(frozen=True)
class Tiling:
    """All pages of a sheet."""

    page: Page
    tiles: tuple[Tile, ...]
    pasted: bool
    """Whether the tiles are pasted together; else each lies alone and a tape joins them."""
    together: bool
    """Whether a tile shows the whole spacing."""


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
    fewest = min((across, upright), key=lambda page: math.prod(_counts(places.box, page)))
    rows, columns = _counts(places.box, fewest)
    if tiles == "all" or (tiles is None and rows * columns <= _FEW):
        if rows * columns > _MOST:
            raise refuse(
                f"tiles: all of the sheet takes {rows * columns} pages of {paper}; allowed: "
                f'{_MOST} at most; take tiles="strips", larger paper, or the SVG and a plotter',
                code="out-of-range",
                field="tiles",
                value=f"{rows * columns} pages",
                allowed=f"{_MOST} pages at most",
                kind=RangeError,
            )
        return Tiling(fewest, _all(places.box, fewest), pasted=True, together=True)
    return _strips(places, across)


def _counts(box: Box, page: Page) -> tuple[int, int]:
    def pieces(length: float, window: float) -> int:
        return max(1, math.ceil((length - OVERLAP) / (window - OVERLAP) - 1e-9))

    return pieces(box.height, page.window.height), pieces(box.width, page.window.width)


def _all(box: Box, page: Page) -> tuple[Tile, ...]:
    rows, columns = _counts(box, page)
    step_x, step_y = page.window.width - OVERLAP, page.window.height - OVERLAP
    return tuple(
        Tile(
            f"row {row + 1} of {rows}, column {column + 1} of {columns}"
            if rows * columns > 1
            else "whole sheet",
            box.x1 + column * step_x,
            box.y1 + row * step_y,
            row,
            column,
        )
        for row in range(rows)
        for column in range(columns)
    )


def _strips(places: Places, page: Page) -> Tiling:
    """Return a tile on each line along the pipe, or at each mark where the spacing is too long."""
    window = page.window
    together = places.spacing + 2.0 * _BEYOND <= window.width

    def at(name: str, x: float, y: float) -> Tile:
        return Tile(name, x - 0.5 * window.width, y - 0.5 * window.height)

    middle = 0.5 * places.spacing
    tiles: tuple[Tile, ...]
    if not together:
        tiles = (at("sensor A", 0.0, 0.0), at("sensor B", places.spacing, places.offset))
    elif places.offset:
        tiles = (
            at("sensor A, with the circle through B", middle, 0.0),
            at("sensor B, with the circle through A", middle, places.offset),
        )
    else:
        tiles = (at("sensors A and B", middle, 0.0),)
    return Tiling(page, tiles, pasted=False, together=together)
