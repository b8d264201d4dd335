"""The sheet that is wrapped round the pipe, to scale.

The exit point of sensor A is the origin; x runs along the pipe with the flow, y round it. Where
the sheet is cut along the closing line at ``y = circumference``, the cut meets the centre line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

from flowdoubt._core import CAUTIONS, inch_fraction
from flowdoubt.sheet.drawing import (
    DARK,
    INK,
    Anchor,
    Box,
    Drawing,
    Line,
    Polygon,
    Ring,
    Words,
    arrow_head,
    clean,
    scale_bars,
    shortened,
)

if TYPE_CHECKING:
    from flowdoubt._core import MarkOut

# Paper beyond the exit points and beyond the lines where nothing else asks for more.
_LEAD, _HEAD, _TAIL = 30.0, 24.0, 8.0
# Width and height of the words beside the name of a mark.
_BESIDE, _TIER = 54.0, 8.0
# Half the width in which the outline of a sensor is drawn: only its length is known.
_OUTLINE = 12.0
# A dimension longer than that is named near both ends, at that distance, so that the pages of the
# marks show it.
_LONG_ALONG, _NEAR_ALONG = 180.0, 60.0

# What stands below the line of a mark: the dimension, and the arrow of the flow.
_BELOW = 34.0
# How near a joint of pages may come to a cross.
_CLEAR = 15.0

_CENTRE_LINE = (8.0, 1.5, 1.0, 1.5)
_THIN_DASH = (2.5, 1.5)


def both_units(length_m: float) -> str:
    """Return a length in mm and in inches to 1/32."""
    text = f"{1e3 * length_m:.1f} mm ({inch_fraction(length_m, 32)})"
    # not to be torn at the end of a line, but before the inches
    return text.replace(" ", "\N{NO-BREAK SPACE}").replace("\N{NO-BREAK SPACE}(", " (")


Span: TypeAlias = "tuple[float, float]"
"""From where to where, in mm."""


@dataclass(frozen=True)
class Places:
    """Where everything lies on the sheet, in mm."""

    spacing: float
    circumference: float
    offset: float
    lead: float
    """Paper before A."""
    trail: float
    """Paper beyond B."""
    head: float
    """Paper above the centre line of A."""
    sensor: float
    """Half the length of a sensor, or zero where it is not known."""

    below: float = _BELOW
    """What stands below the line of a mark."""

    @classmethod
    def of(cls, mark_out: MarkOut) -> Places:
        """Return the places of a mark-out."""
        lead = _LEAD
        if mark_out.sensor_length_m is not None:
            lead = max(lead, 500.0 * mark_out.sensor_length_m + 8.0)
        spacing, offset = 1e3 * mark_out.spacing_m, 1e3 * mark_out.offset_round_pipe_m
        return cls(
            spacing=spacing,
            circumference=1e3 * mark_out.circumference_m,
            offset=offset,
            lead=lead,
            # the words of B stand to its left where there is room for those of both marks
            trail=lead if spacing >= 2.0 * _BESIDE else max(lead, _BESIDE),
            # and above those of A where not even those of A have room
            head=_HEAD if offset or spacing >= _BESIDE else _HEAD + _TIER,
            sensor=500.0 * (mark_out.sensor_length_m or 0.0),
        )

    @property
    def box(self) -> Box:
        """The paper that is wrapped."""
        right, bottom = self.spacing + self.trail, self.circumference + _TAIL
        return Box(-self.lead, -self.head, right, bottom)

    @property
    def leftwards(self) -> bool:
        """Whether the words of B stand to its left."""
        return self.spacing >= 2.0 * _BESIDE

    @property
    def kept_down(self) -> tuple[list[Span], list[Span]]:
        """What no joint along the pipe should cross: with the words of the marks, and without."""
        lines = sorted({0.0, self.offset})
        closing = (self.circumference - 5.0, self.circumference + 2.0)
        words = [*((y - self.head - 2.0, y + self.below) for y in lines), closing]
        return words, [(y - _CLEAR, y + _CLEAR) for y in lines]

    @property
    def kept_along(self) -> tuple[list[Span], list[Span]]:
        """What no joint round the pipe should cross: with the words of the marks, and without."""
        near, far = max(_CLEAR, self.sensor + 3.0), max(_BESIDE + 10.0, self.sensor + 3.0)
        a = (-near, far)
        b = (self.spacing - far, self.spacing + near)
        if not self.leftwards:
            b = (self.spacing - near, self.spacing + far)
        marks = [(x - _CLEAR, x + _CLEAR) for x in (0.0, self.spacing)]
        return [a, b], marks


def wrap_sheet(
    mark_out: MarkOut, *, shared: tuple[Sequence[Span], Sequence[Span]] = ((), ())
) -> Drawing:
    """Draw the paper that is wrapped round the pipe.

    Parameters
    ----------
    mark_out
        What is drawn.
    shared
        Where pages lie over each other, along and round the pipe: words keep clear of that.
    """
    at = Places.of(mark_out)
    drawing = Drawing(at.box)
    left, right = at.box.x1, at.box.x2
    top, bottom = at.box.y1, at.box.y2
    _lines(drawing, at, at.box)
    closing = at.circumference
    words = "closing line: cut here; on the pipe the cut must meet the centre line of A"
    drawing.add(*_legible(Words(left + 1.5, closing - 1.2, words, 2.2, grey=DARK)))
    _marks(drawing, at, mark_out, shared[0])
    if at.offset:
        _dimension_round(drawing, at, mark_out, shared[1])
    drawing.add(Line(left, closing, right, closing, 0.35, name="closing-line"))
    for x in (left, right):
        drawing.add(Line(x, top, x, bottom, 0.2, name="edge-left" if x == left else "edge-right"))
    return drawing


def strip_sheet(mark_out: MarkOut, seen: Box) -> Drawing:
    """Draw what a strip shows: the lines go on to its edges, since the pipe does."""
    at = Places.of(mark_out)
    drawing = Drawing(seen)
    _lines(drawing, at, seen)
    _marks(drawing, at, mark_out, (), twice=seen.width < at.spacing)
    return drawing


def _lines(drawing: Drawing, at: Places, box: Box) -> None:
    """Draw the circles round the pipe through the exit points, and the lines along it."""
    for name, x in (("A", 0.0), ("B", at.spacing)):
        drawing.add(Line(x, box.y1, x, box.y2, 0.15, DARK, _THIN_DASH, f"station-{name}"))
    drawing.add(Line(box.x1, 0.0, box.x2, 0.0, 0.25, INK, _CENTRE_LINE, "centre-line"))
    if at.offset:
        name = "half-circumference-line"
        drawing.add(Line(box.x1, at.offset, box.x2, at.offset, 0.25, INK, _CENTRE_LINE, name))


def _marks(
    drawing: Drawing,
    at: Places,
    mark_out: MarkOut,
    shared: Sequence[Span],
    *,
    twice: bool = False,
) -> None:
    """Draw the marks with the dimension between them and the direction of the flow.

    A dimension is named twice where no page shows all of it.
    """
    along = "on the centre line, along the pipe"
    opposite = "on the half-circumference line" if at.offset else along
    _mark(drawing, "A", (0.0, 0.0), ("exit point, upstream sensor", along), mark_out)
    _mark(
        drawing,
        "B",
        (at.spacing, at.offset),
        ("exit point, downstream sensor", opposite),
        mark_out,
        leftwards=at.leftwards,
        raised=at.head - _HEAD,
    )
    _dimension_along(drawing, at, mark_out, shared, twice=twice)
    for y in sorted({0.0, at.offset}):
        _flow_arrow(drawing, at, y, shared)


def _mark(
    drawing: Drawing,
    name: str,
    at: tuple[float, float],
    words: tuple[str, str],
    mark_out: MarkOut,
    *,
    leftwards: bool = False,
    raised: float = 0.0,
) -> None:
    """Draw the cross at an exit point, with the outline of the sensor as far as it is known."""
    x, y = at
    above = y - _OUTLINE - 1.6 - raised
    anchor: Anchor
    beside, anchor = (x - 1.4, "end") if leftwards else (x + 8.0, "start")
    drawing.add(
        Line(x - 7, y, x + 7, y, 0.3),
        Line(x, y - 7, x, y + 7, 0.3),
        Ring(x, y, 3.0, 0.3, name=f"mark-{name}"),
        Words(x + 1.4, above, name, 7.0, bold=True),
        *_legible(Words(beside, above - 3.0, words[0], 2.4, anchor)),
        *_legible(Words(beside, above, words[1], 2.0, anchor, grey=DARK)),
    )
    if mark_out.sensor_length_m is not None:
        half = 500.0 * mark_out.sensor_length_m
        x1, x2, y1, y2 = x - half, x + half, y - _OUTLINE, y + _OUTLINE
        for ends in ((x1, y1, x2, y1), (x2, y1, x2, y2), (x2, y2, x1, y2), (x1, y2, x1, y1)):
            drawing.add(Line(*ends, 0.15, DARK, (1.0, 1.0)))


def _legible(words: Words) -> tuple[Polygon, Words]:
    """Return words on white, so that no line goes through them."""
    x1, x2 = words.extent()
    y1, y2 = words.y - 0.9 * words.size, words.y + 0.25 * words.size
    return Polygon(((x1, y1), (x2, y1), (x2, y2), (x1, y2)), 1.0), words


def _named_along(length: float) -> tuple[float, ...]:
    return (0.5 * length,) if length <= _LONG_ALONG else (_NEAR_ALONG, length - _NEAR_ALONG)


def _clear_of(wanted: float, half: float, within: Span, shared: Sequence[Span]) -> float:
    """Return the nearest place for words of that half length where one page alone has them.

    If there is none, one at which no page is cut through them.
    """
    first, last = within[0] + half, within[1] - half
    for spans in (shared, [(start, start) for start, _ in shared]):
        low_high = [(start - half - 1.0, end + half + 1.0) for start, end in spans]
        tried = [wanted, *(end for span in low_high for end in span)]
        free = [
            place
            for place in tried
            if not any(low + 1e-9 < place < high - 1e-9 for low, high in low_high)
            and (first <= place <= last or place == wanted)
        ]
        if free:
            return min(free, key=lambda place: abs(place - wanted))
    return wanted


def _dimension_along(
    drawing: Drawing, at: Places, mark_out: MarkOut, shared: Sequence[Span], *, twice: bool
) -> None:
    words = f"axial spacing {both_units(mark_out.spacing_m)}"
    for y0 in sorted({0.0, at.offset}):
        y = y0 + 17.0
        drawing.add(
            Line(0.0, y, at.spacing, y, 0.15, name="axial-spacing" if y0 == 0.0 else ""),
            arrow_head(0.0, y, -1, 0),
            arrow_head(at.spacing, y, 1, 0),
        )
        for x in _named_along(at.spacing) if twice else (0.5 * at.spacing,):
            own = Words(x, y + 4.0, words, 2.6, "middle")
            x = _clear_of(x, 0.5 * own.box().width, (at.box.x1, at.box.x2), shared)
            drawing.add(*_legible(replace(own, x=x)))


def _dimension_round(
    drawing: Drawing, at: Places, mark_out: MarkOut, shared: Sequence[Span]
) -> None:
    """Draw half the circumference, once, before A: clear of the words of both marks."""
    words = f"half circumference {both_units(mark_out.half_circumference_m)}"
    x = -12.0
    own = Words(x - 1.5, 0.0, words, 2.6, "middle", turned=True)
    y = _clear_of(0.5 * at.offset, 0.5 * own.box().height, (0.0, at.offset), shared)
    drawing.add(
        Line(x, 0.0, x, at.offset, 0.15, name="half-circumference"),
        arrow_head(x, 0.0, 0, -1),
        arrow_head(x, at.offset, 0, 1),
        replace(own, y=y),
    )


def _flow_arrow(drawing: Drawing, at: Places, y0: float, shared: Sequence[Span]) -> None:
    for place in _named_along(at.spacing):
        x, y = _clear_of(place, 16.0, (at.box.x1, at.box.x2), shared), y0 + 29.0
        drawing.add(
            Line(x - 16, y, x + 10, y, 0.9),
            arrow_head(x + 16, y, 1, 0, 7.0),
            Words(x, y - 2.6, "flow", 3.2, "middle"),
        )


# What may be printed beside the marks of a sheet that stands alone.
ON_THE_SHEET = (
    "Print at 100 %: the bars must measure 100 mm and 4 in. Compare the circumference with a tape.",
    "Wrap the sheet round the pipe with the arrow along the flow: the cut along the closing line "
    "must meet the centre line of A all along, then the sheet lies square.",
    "Punch the marks through, take the sheet off, and set the exit point of each sensor, known "
    "from its drawing, on its mark.",
    "Horizontal pipe: sensors at the sides, not at top (gas) or bottom (sediment); common "
    "practice.",
)


def whole_sheet(mark_out: MarkOut) -> Drawing:
    """Draw the sheet with a block of words and bars that is cut off along the closing line."""
    drawing = wrap_sheet(mark_out)
    inner = drawing.box
    # a short sheet must still have room for the bars
    right = max(inner.x2, inner.x1 + 130.0)
    x, y = inner.x1 + 3.0, inner.y2 + 4.0
    width = right - x - 3.0
    drawing.add(Words(x, y, shortened(clean(mark_out.site), width, 4.0), 4.0, bold=True))
    y = drawing.paragraph(
        x, y + 5.0, width, f"mark-out sheet 1:1, site file SHA-256 {mark_out.site_digest}", 2.4
    )
    for words in (*ON_THE_SHEET, " ".join(CAUTIONS.split())):
        y = drawing.paragraph(x, y + 1.0, width, words, 2.6)
    drawing.add(*scale_bars(x, y + 1.0))
    drawing.box = Box(inner.x1, inner.y1, right, y + 14.0)
    box = drawing.box
    corners = ((box.x1, box.y1), (box.x2, box.y1), (box.x2, box.y2), (box.x1, box.y2))
    drawing.shapes.insert(0, Polygon(corners, 1.0, 0.0, "paper"))
    return drawing
