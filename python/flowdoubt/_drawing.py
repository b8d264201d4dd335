"""What the figures share."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def axes_of(ax: Axes | None, width: float, height: float) -> Axes:
    """Return the axes given, or those of a new figure of that size in inches."""
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    _, new = plt.subplots(figsize=(width, height), layout="constrained")
    return new


def plain_frame(ax: Axes) -> None:
    """Leave the frame out where it is no axis."""
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
