"""What a sheet is drawn with: shapes in millimetres, x to the right and y downwards."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

Anchor: TypeAlias = Literal["start", "middle", "end"]

INK, DARK, PALE = 0.0, 0.35, 0.75
"""Shades of grey from black (0) to white (1)."""

# Width of a letter over its size, a little above the mean of DejaVu Sans.
_LETTER = 0.54
# The same of its bold letters.
_BOLD_LETTER = 0.64


@dataclass(frozen=True)
class Line:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.2
    grey: float = INK
    dashes: tuple[float, ...] = ()
    name: str = ""

    def moved(self, dx: float, dy: float) -> Line:
        """Return the line elsewhere."""
        x1, y1, x2, y2 = self.x1 + dx, self.y1 + dy, self.x2 + dx, self.y2 + dy
        return replace(self, x1=x1, y1=y1, x2=x2, y2=y2)

    def box(self) -> Box:
        """Return the rectangle that it is in."""
        x1, x2 = sorted((self.x1, self.x2))
        y1, y2 = sorted((self.y1, self.y2))
        return Box(x1, y1, x2, y2)


@dataclass(frozen=True)
class Ring:
    """A circle."""

    x: float
    y: float
    radius: float
    width: float = 0.2
    grey: float = INK
    name: str = ""

    def moved(self, dx: float, dy: float) -> Ring:
        """Return the circle elsewhere."""
        return replace(self, x=self.x + dx, y=self.y + dy)

    def box(self) -> Box:
        """Return the rectangle that it is in."""
        r = self.radius
        return Box(self.x - r, self.y - r, self.x + r, self.y + r)


@dataclass(frozen=True)
class Polygon:
    """A filled area, with a border if it has a width."""

    points: tuple[tuple[float, float], ...]
    fill: float = INK
    width: float = 0.0
    name: str = ""

    def moved(self, dx: float, dy: float) -> Polygon:
        """Return the area elsewhere."""
        return replace(self, points=tuple((x + dx, y + dy) for x, y in self.points))

    def box(self) -> Box:
        """Return the rectangle that it is in."""
        xs, ys = zip(*self.points, strict=True)
        return Box(min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True)
class Words:
    """One line of text; `x` and `y` are those of its baseline. Turned, it reads upwards."""

    x: float
    y: float
    text: str
    size: float = 3.0
    anchor: Anchor = "start"
    bold: bool = False
    grey: float = INK
    turned: bool = False
    name: str = ""

    def moved(self, dx: float, dy: float) -> Words:
        """Return the text elsewhere."""
        return replace(self, x=self.x + dx, y=self.y + dy)

    def extent(self) -> tuple[float, float]:
        """Return about where a line that is not turned begins and ends."""
        long = _LETTER * self.size * len(self.text)
        x1 = self.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * long
        return x1, x1 + long

    def box(self) -> Box:
        """Return the rectangle that it is in, with room to spare."""
        long = 1.2 * _LETTER * self.size * len(self.text)
        before = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * long
        if self.turned:
            y2 = self.y + before
            return Box(self.x - self.size, y2 - long, self.x + self.size, y2)
        x1 = self.x - before
        return Box(x1, self.y - self.size, x1 + long, self.y + self.size)


Shape: TypeAlias = Line | Ring | Polygon | Words


@dataclass(frozen=True)
class Box:
    """A rectangle."""

    x1: float
    y1: float
    x2: float
    y2: float

    @property
    def width(self) -> float:
        """Extent from left to right."""
        return self.x2 - self.x1

    @property
    def height(self) -> float:
        """Extent from top to bottom."""
        return self.y2 - self.y1

    def holds(self, other: Box) -> bool:
        """Whether the other rectangle lies inside."""
        across = self.x1 <= other.x1 and other.x2 <= self.x2
        return across and self.y1 <= other.y1 and other.y2 <= self.y2

    def meets(self, other: Box) -> bool:
        """Whether the rectangles have points in common."""
        across = self.x1 <= other.x2 and other.x1 <= self.x2
        return across and self.y1 <= other.y2 and other.y1 <= self.y2


@dataclass
class Drawing:
    """Shapes within a rectangle."""

    box: Box
    shapes: list[Shape] = field(default_factory=list)

    def add(self, *shapes: Shape) -> None:
        """Draw further shapes, over those there are."""
        self.shapes += shapes

    def paragraph(
        self, x: float, y: float, width: float, text: str, size: float = 3.0, *, bold: bool = False
    ) -> float:
        """Draw text in lines of at most `width`, and return the baseline of the next line."""
        letter = (_BOLD_LETTER if bold else _LETTER) * size
        for line in textwrap.wrap(text, max(8, int(width / letter))):
            self.add(Words(x, y, line, size, bold=bold))
            y += 1.35 * size
        return y


def clean(text: str) -> str:
    """Return text of a user without line breaks and what cannot be printed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def shortened(text: str, width: float, size: float) -> str:
    """Return text cut to a width in mm at a size in mm."""
    return textwrap.shorten(text, max(4, int(width / (_LETTER * size))), placeholder=" ...") or (
        text[: max(4, int(width / (_LETTER * size)) - 4)] + " ..." if text else ""
    )


def arrow_head(x: float, y: float, dx: float, dy: float, size: float = 2.5) -> Polygon:
    """Return a head at a point, that looks along one of the axes."""
    base_x, base_y = x - size * dx, y - size * dy
    side_x, side_y = 0.3 * size * dy, 0.3 * size * dx
    return Polygon(((x, y), (base_x + side_x, base_y + side_y), (base_x - side_x, base_y - side_y)))


def scale_bars(x: float, y: float) -> list[Shape]:
    """Return bars of 100 mm and of 4 in that begin at `x`, to check a print with a rule."""
    shapes: list[Shape] = []
    for top, length, parts, unit, name in (
        (y, 100.0, 10, "100 mm", "scale-100-mm"),
        (y + 6.0, 101.6, 4, "4 in", "scale-4-in"),
    ):
        part = length / parts
        for n in range(0, parts, 2):
            left, right = x + n * part, x + (n + 1) * part
            corners = ((left, top), (right, top), (right, top + 1.2), (left, top + 1.2))
            shapes.append(Polygon(corners, DARK))
        shapes.append(Line(x, top + 1.2, x + length, top + 1.2, 0.15, name=name))
        shapes += [Line(at, top - 1.0, at, top + 2.2, 0.15) for at in (x, x + length)]
        shapes.append(Words(x + length + 2.0, top + 1.9, unit, 2.6))
    return shapes
