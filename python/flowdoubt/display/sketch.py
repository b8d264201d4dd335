"""Small pictures as SVG for notebooks, without matplotlib. They hold no words of a user.

Lines have the colour of the text around them, so that they are seen on light and dark pages.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from flowdoubt.edge.arrays import FloatArray

_WIDTH = 420.0


def _polyline(points: Iterable[tuple[float, float]], style: str) -> str:
    corners = " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
    return f'<polyline points="{corners}" fill="none" stroke="currentColor" {style}/>'


def _text(x: float, y: float, words: str, anchor: str = "start") -> str:
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" text-anchor="{anchor}" font-family="sans-serif" '
        f'font-size="11" fill="currentColor" stroke="none">{words}</text>'
    )


def _svg(width: float, height: float, says: str, parts: Iterable[str]) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" '
        'style="display:block;margin:8px 0;max-width:100%;height:auto" '
        f'aria-label="{says}" '
        f'width="{width:.0f}" height="{height:.0f}" viewBox="0 0 {width:.2f} {height:.2f}">'
        f"{''.join(parts)}</svg>"
    )


def path_sketch(layout: dict[str, Any]) -> str:
    """Draw the sound path along the pipe to scale, with spacing and inside diameter."""
    ray: FloatArray = layout["ray_m"]
    outer = layout["outside_diameter_m"] / 2
    bore = layout["inside_diameter_m"] / 2
    wedge = 0.28 * outer
    left, right = -outer - 1.3 * wedge, float(ray[-1, 0]) + 1.3 * wedge + 0.4 * outer
    scale = min(_WIDTH / (right - left), 190.0 / (2 * outer))
    top = outer + wedge + 22.0 / scale

    def at(x: float, y: float) -> tuple[float, float]:
        return scale * (x - left), scale * (top - y)

    parts = []
    for side in (1, -1):
        x, y = at(left, outer if side == 1 else -bore)
        parts.append(
            f'<rect x="{x:.2f}" y="{y:.2f}" width="{scale * (right - left):.2f}" '
            f'height="{scale * (outer - bore):.2f}" fill="currentColor" fill-opacity="0.3"/>'
        )
        for height in (outer, bore):
            edge = [at(left, side * height), at(right, side * height)]
            parts.append(_polyline(edge, 'stroke-width="1"'))
    for point, along in ((ray[0], -1), (ray[-1], 1)):
        up = 1 if point[1] > 0 else -1
        foot, x = float(point[1]), float(point[0])
        outline = [
            (x + along * wedge, foot),
            (x + along * wedge, foot + up * 0.35 * wedge),
            (x + along * 0.35 * wedge, foot + up * wedge),
            (x - along * 0.4 * wedge, foot + up * wedge),
            (x - along * 0.4 * wedge, foot),
        ]
        parts.append(_polyline((at(*corner) for corner in outline), 'stroke-width="1.2"'))
    parts.append(_polyline((at(*corner) for corner in ray), 'stroke-width="2"'))
    level = outer + wedge + 5.0 / scale
    (x1, y1), (x2, _) = at(float(ray[0, 0]), level), at(float(ray[-1, 0]), level)
    parts.append(_polyline([(x1, y1 - 4), (x1, y1 + 4)], 'stroke-width="1"'))
    parts.append(_polyline([(x2, y1 - 4), (x2, y1 + 4)], 'stroke-width="1"'))
    parts.append(_polyline([(x1, y1), (x2, y1)], 'stroke-width="1"'))
    spacing = f"spacing {1e3 * layout['spacing_m']:.1f} mm"
    parts.append(_text((x1 + x2) / 2, y1 - 5, spacing, "middle"))
    x, y = at(left + 0.12 * outer, 0.25 * outer)
    parts += [_text(x, y, "inside"), _text(x, y + 14, f"{2e3 * bore:.2f} mm")]
    tail, tip = at(left + 0.12 * outer, -0.45 * outer), at(left + 0.75 * outer, -0.45 * outer)
    parts.append(_polyline([tail, tip], 'stroke-width="1.5"'))
    head = [(tip[0] - 6, tip[1] - 4), tip, (tip[0] - 6, tip[1] + 4)]
    parts.append(_polyline(head, 'stroke-width="1.5"'))
    parts.append(_text(tail[0], tail[1] + 14, "flow"))
    height = scale * (top + outer + (0.0 if ray[-1, 1] > 0 else wedge)) + 2.0
    way = "direct" if layout["is_direct"] else "reflected"
    says = f"{way} sound path to scale, {layout['traverses']} traverses, {spacing}"
    return _svg(scale * (right - left), height, says, parts)


def histogram_sketch(values: FloatArray, low: float, high: float) -> str:
    """Draw a histogram with a bar below it from `low` to `high`, the coverage interval."""
    width, height = _WIDTH, 90.0
    counts, edges = np.histogram(values, bins=80)
    span = float(edges[-1] - edges[0]) or 1.0

    def across(value: float) -> float:
        return 2.0 + (width - 4.0) * (value - float(edges[0])) / span

    tallest = float(np.max(counts)) or 1.0
    parts = []
    for count, start, end in zip(counts, edges[:-1], edges[1:], strict=True):
        bar = 70.0 * float(count) / tallest
        x = across(float(start))
        parts.append(
            f'<rect x="{x:.2f}" y="{72.0 - bar:.2f}" width="{across(float(end)) - x:.2f}" '
            f'height="{bar:.2f}" fill="currentColor" fill-opacity="0.45"/>'
        )
    parts.append(_polyline([(2.0, 72.0), (width - 2.0, 72.0)], 'stroke-width="0.7"'))
    x1, x2 = across(low), across(high)
    parts.append(_polyline([(x1, 81.0), (x2, 81.0)], 'stroke-width="1.5"'))
    for x in (x1, x2):
        parts.append(_polyline([(x, 77.0), (x, 85.0)], 'stroke-width="1.5"'))
    return _svg(width, height, "histogram of the trials with the coverage interval", parts)
