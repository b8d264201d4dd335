"""What the figures share."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, DARK, LIGHT = "0.1", "0.35", "0.8"

_apart: ContextVar[bool] = ContextVar("apart", default=False)


@contextmanager
def apart_from_pyplot() -> Iterator[None]:
    """Make new figures that no notebook and no window shows by itself."""
    token = _apart.set(True)
    try:
        yield
    finally:
        _apart.reset(token)


def axes_of(ax: Axes | None, width: float, height: float) -> Axes:
    """Return the axes given, or those of a new figure of that size in inches."""
    if ax is not None:
        return ax
    if _apart.get():
        from matplotlib.figure import Figure

        return Figure(figsize=(width, height), layout="constrained").subplots()
    import matplotlib.pyplot as plt

    _, new = plt.subplots(figsize=(width, height), layout="constrained")
    return new


def plain_frame(ax: Axes) -> None:
    """Leave the frame out where it is no axis."""
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def dimension(
    ax: Axes,
    start: tuple[float, float],
    end: tuple[float, float],
    text: str,
    *,
    away: float,
    level: bool = True,
) -> None:
    """Draw a dimension line with its two extension lines.

    Parameters
    ----------
    ax
        Axes to draw on.
    start, end
        The points that are `text` apart, in the units of the axes.
    text
        What is written beside the line.
    away
        Where the line goes: its height for a level one, else its horizontal position.
    level
        Whether the distance is taken along the horizontal axis.
    """
    if level:
        first, second = (start[0], away), (end[0], away)
    else:
        first, second = (away, start[1]), (away, end[1])
    for point, foot in ((start, first), (end, second)):
        ax.plot((point[0], foot[0]), (point[1], foot[1]), color=INK, linewidth=0.6)
    ax.annotate(
        "",
        first,
        second,
        arrowprops={"arrowstyle": "<|-|>", "color": INK, "lw": 0.6, "shrinkA": 0, "shrinkB": 0},
    )
    ax.annotate(
        text,
        ((first[0] + second[0]) / 2, (first[1] + second[1]) / 2),
        xytext=(0, 3) if level else (4, 0),
        textcoords="offset points",
        fontsize=8,
        rotation=0 if level else 90,
        ha="center" if level else "left",
        va="bottom" if level else "center",
        # nothing that lies beneath goes through the words
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
    )
