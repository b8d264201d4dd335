"""The first page: the numbers, the sheet in small, and what to do with it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from flowdoubt._core import CAUTIONS
from flowdoubt.sheet.drawing import (
    DARK,
    INK,
    PALE,
    Box,
    Drawing,
    Line,
    Polygon,
    Ring,
    Words,
    arrow_head,
    clean,
)
from flowdoubt.sheet.tiles import FOOTER, HEADER, MARGIN, Tiling
from flowdoubt.sheet.wrap import Places, both_units

if TYPE_CHECKING:
    from flowdoubt._core import MarkOut


def cover(drawing: Drawing, mark_out: MarkOut, tiling: Tiling) -> None:
    """Draw the first page."""
    left, right = MARGIN, drawing.box.x2 - MARGIN
    width = right - left
    y = MARGIN + HEADER + 8.0
    drawing.add(Words(left, y, "Where the sensors go", 6.0, bold=True))
    y = drawing.paragraph(left, y + 6.0, width, clean(mark_out.site)[:200], 3.4)
    y = drawing.paragraph(left, y, width, f"site file SHA-256 {mark_out.site_digest}", 2.2)
    y = _table(drawing, mark_out, Box(left, y + 1.0, right, y))
    small = Box(left, y + 3.0, left + 0.6 * width, y + 57.0)
    _in_small(drawing, mark_out, tiling, small)
    _end_view(drawing, mark_out, Box(left + 0.64 * width, y + 3.0, right, y + 57.0))
    y = small.y2 + 6.0
    for number, words in enumerate(_steps(mark_out, tiling), 1):
        drawing.add(Words(left, y, f"{number}.", 3.0, bold=True))
        y = drawing.paragraph(left + 6.0, y, width - 6.0, words, 3.0) + 0.8
    y = drawing.paragraph(left, y + 0.4, width, " ".join(CAUTIONS.split()), 2.6)
    _warnings(drawing, mark_out, Box(left, y + 0.6, right, drawing.box.y2 - MARGIN - FOOTER))


def _warnings(drawing: Drawing, mark_out: MarkOut, room: Box) -> None:
    """Draw what the mark-out warns of, as far as there is room for it above the bars."""
    size = 2.6
    y = room.y1
    for n, (code, text) in enumerate(mark_out.warnings):
        words = Drawing(room)
        below = words.paragraph(
            room.x1, y, room.width, f"warning ({code}): {text}", size, bold=True
        )
        # a line is left for what has no room
        last = n == len(mark_out.warnings) - 1
        if below - 1.35 * size > room.y2 - (0.0 if last else 1.35 * size):
            rest = len(mark_out.warnings) - n
            more = f"{rest} more warnings: see the text of the mark-out"
            drawing.add(Words(room.x1, y, more, size, bold=True))
            return
        drawing.add(*words.shapes)
        y = below + 0.4


def _table(drawing: Drawing, mark_out: MarkOut, box: Box) -> float:
    """Draw every number in both systems of units, and return where the table ends."""
    size, step = 2.8, 4.5
    y = box.y1 + 3.0
    middle, last = box.x1 + 0.42 * box.width, box.x1 + 0.68 * box.width
    drawing.add(Line(box.x1, y - 3.4, box.x2, y - 3.4, 0.3))
    for words, *figures in mark_out.lines:
        si, inch = map(_with_signs, figures)
        strong = words.startswith(
            ("axial spacing of", "half circ") if mark_out.direct else "axial spacing of"
        )
        drawing.add(
            Words(box.x1, y, words, size, bold=strong),
            Words(middle, y, si, size, bold=strong),
            Words(last, y, inch, size, bold=strong),
        )
        y += step
    drawing.add(Line(box.x1, y - 2.4, box.x2, y - 2.4, 0.3))
    return y


def _with_signs(text: str) -> str:
    """Return figures with the degree sign."""
    for plain, printed in ((" degC", " °C"), (" degF", " °F"), (" deg", "°")):
        text = text.replace(plain, printed)
    return text


def _in_small(drawing: Drawing, mark_out: MarkOut, tiling: Tiling, box: Box) -> None:
    """Draw the sheet unrolled, with the pages that show parts of it; not to scale."""
    at = Places.of(mark_out)
    sheet = at.box
    seen = [tile.seen for tile in tiling.tiles]
    parts = [sheet, *seen]
    whole = Box(
        min(part.x1 for part in parts),
        min(part.y1 for part in parts),
        max(part.x2 for part in parts),
        max(part.y2 for part in parts),
    )
    # a sheet that is longer round the pipe than along it lies on its side, the flow downwards
    turned = whole.height > whole.width
    long, short = sorted((whole.width, whole.height), reverse=True)
    scale = min((box.width - 2.0) / long, (box.height - 6.0) / short)

    def place(x: float, y: float) -> tuple[float, float]:
        along, across = scale * (x - whole.x1), scale * (y - whole.y1)
        dx, dy = (across, along) if turned else (along, across)
        return box.x1 + 1.0 + dx, box.y1 + 3.0 + dy

    def line(x1: float, y1: float, x2: float, y2: float, *style: Any) -> None:
        drawing.add(Line(*place(x1, y1), *place(x2, y2), *style))

    flow = "downwards" if turned else "to the right"
    title = f"the sheet unrolled, with its pages (not to scale; flow {flow})"
    drawing.add(Words(box.x1, box.y1, title, 2.4, grey=DARK))
    for tile, part in zip(tiling.tiles, seen, strict=True):
        corners = ((part.x1, part.y1), (part.x2, part.y1), (part.x2, part.y2), (part.x1, part.y2))
        points = tuple(place(*corner) for corner in corners)
        drawing.add(Polygon(points, 1.0 if tiling.pasted else 0.93, 0.12))
        frame = Polygon(points).box()
        if min(frame.width, frame.height) > 6.0:
            # clear of the marks, which lie off the middle of strips
            y = frame.y1 + 2.4 if tiling.pasted else 0.5 * (frame.y1 + frame.y2)
            drawing.add(Words(frame.x1 + 0.8, y, f"p. {tile.page + 2}", 2.0, grey=DARK))
    edge = [(sheet.x1, 0.0), (sheet.x2, 0.0)]
    edge += [(x, at.circumference) for x, _ in reversed(edge)]
    for start, end in zip(edge, edge[1:] + edge[:1], strict=True):
        line(*start, *end, 0.3)
    for y in {0.0, at.offset}:
        line(sheet.x1, y, sheet.x2, y, 0.2, INK, (3.0, 0.8, 0.6, 0.8))
    for x in (0.0, at.spacing):
        line(x, 0.0, x, at.circumference, 0.15, DARK, (1.2, 0.8))
    for name, mark in (("A", (0.0, 0.0)), ("B", (at.spacing, at.offset))):
        x, y = place(*mark)
        drawing.add(Polygon(_disc(x, y, 0.9)), Words(x + 1.3, y + 3.6, name, 3.2, bold=True))


def _disc(x: float, y: float, radius: float) -> tuple[tuple[float, float], ...]:
    turns = [2.0 * math.pi * n / 24 for n in range(24)]
    return tuple((x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns)


def _end_view(drawing: Drawing, mark_out: MarkOut, box: Box) -> None:
    """Draw the pipe as the flow sees it, with the sides where sensors of a horizontal pipe go."""
    title = "horizontal pipe, seen along the flow"
    drawing.add(Words(box.x1, box.y1, title, 2.4, grey=DARK))
    x, y = 0.5 * (box.x1 + box.x2), box.y1 + 25.0
    outer, inner = 16.0, 13.6
    for middle, words, where in (
        (-0.5 * math.pi, "not here: gas", y - outer - 2.0),
        (0.5 * math.pi, "not here: sediment", y + outer + 4.2),
    ):
        turns = [middle + math.radians(d) for d in range(-45, 46, 5)]
        arc = [(x + outer * math.cos(t), y + outer * math.sin(t)) for t in turns]
        back = [(x + inner * math.cos(t), y + inner * math.sin(t)) for t in reversed(turns)]
        drawing.add(Polygon((*arc, *back), PALE), Words(x, where, words, 2.4, "middle"))
    drawing.add(Ring(x, y, outer, 0.3), Ring(x, y, inner, 0.2))
    sides = (("A", -1), ("B", 1)) if mark_out.direct else (("A, B", -1),)
    for name, side in sides:
        at = x + side * (outer + 1.6)
        corners = ((at - 1.6, y - 3), (at + 1.6, y - 3), (at + 1.6, y + 3), (at - 1.6, y + 3))
        drawing.add(
            Polygon(corners, DARK),
            Words(at + side * 3.0, y + 1.0, name, 3.0, "end" if side < 0 else "start", bold=True),
        )
    advice = ("common practice: within 45° of the", "horizontal, away from welds and dents")
    for n, line in enumerate(advice):
        drawing.add(Words(x, y + outer + 8.6 + 3.4 * n, line, 2.4, "middle"))
    drawing.add(
        Line(x - 5.0, y, x + 3.0, y, 0.2, DARK) if mark_out.direct else Ring(x, y, 0.8, 0.2, DARK)
    )
    if mark_out.direct:
        drawing.add(
            Line(x - inner, y, x + inner, y, 0.2, DARK, (1.0, 1.0)), arrow_head(x + 3.0, y, 1, 0)
        )


def _steps(mark_out: MarkOut, tiling: Tiling) -> list[str]:
    """Say what to do, briefly."""
    along = both_units(mark_out.spacing_m)
    half = both_units(mark_out.half_circumference_m)
    uncertainty = 2e3 * mark_out.circumference_standard_uncertainty_m
    steps = [
        "Print all pages at 100 % and check the bars with a rule.",
        f"Measure the circumference where the sensors go: {both_units(mark_out.circumference_m)}. "
        f"If the tape differs by more than {max(1.0, uncertainty):.1f} mm, put the site file right "
        "and print again.",
    ]
    if tiling.pasted and len(tiling.tiles) > 1:
        steps.append(
            "Cut the pages along the upper and the left side of their frames, but for those of the "
            "first row and column, and paste each over its neighbours, crosses on crosses."
        )
    if tiling.pasted:
        steps += [
            "Cut along the closing line. Wrap the sheet round the pipe, arrow along the flow: the "
            "cut meets the centre line of A all along, then the sheet lies square.",
            "Punch the crosses through and draw the lines on the pipe.",
        ]
    else:
        several = len(tiling.tiles) > 1
        strips, first = ("strips", "the strip of A") if several else ("strip", "the strip")
        crosses = "cross" if several else "crosses"
        steps.append(
            f"Cut the {strips} out along the frame. Draw a line along the pipe at its side, with a "
            f"level or a taut string. Lay {first} on it, arrow along the flow, centre line on the "
            f"line, and punch the {crosses} through."
        )
        if mark_out.direct:
            steps.append(
                "Wrap a belt of paper round the pipe through A; it lies square where its edges "
                f"meet. Half its turn, {half}, is on the opposite side: draw the second line "
                "along the pipe there."
            )
        if not tiling.together:
            steps.append(
                f"Measure {along} along the {'second ' if mark_out.direct else ''}line with the "
                "flow, by tape; lay the strip of B there and punch the cross through."
            )
        elif mark_out.direct:
            steps.append(
                "Lay the strip of B on the second line, with its circle through A on the belt, and "
                "punch the cross through."
            )
    last = (
        "Set the exit point of each sensor, known from its drawing, on its cross, A upstream. With "
        "the sensors on, measure the spacing once more and note it as path.spacing."
    )
    if mark_out.sensor_length_m is not None:
        last += " The dashed outlines are those of sensors with the exit point in their middle."
    steps.append(last)
    return steps
