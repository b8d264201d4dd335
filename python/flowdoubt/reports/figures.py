"""Figures as SVG, with the same bytes on every run."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from flowdoubt.plots.drawing import apart_from_pyplot

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def svg_of(draw: Callable[[], Axes]) -> str:
    """Draw a figure and return it as SVG without declaration, letters as outlines.

    The style is matplotlib's own whatever the user's settings, and the user's figures are left
    alone.
    """
    import matplotlib
    from matplotlib.figure import Figure

    settings = {
        key: value
        for key, value in matplotlib.rcParamsDefault.items()
        if not key.startswith(("backend", "toolbar", "interactive", "webagg"))
    }
    settings.update({"svg.hashsalt": "flowdoubt", "svg.fonttype": "path", "hatch.linewidth": 0.5})
    with matplotlib.rc_context(settings), apart_from_pyplot():
        figure = draw().figure
        if not isinstance(figure, Figure):
            message = "a figure of its own is needed, not a part of one"
            raise TypeError(message)
        text = io.StringIO()
        figure.savefig(
            text,
            format="svg",
            bbox_inches="tight",
            pad_inches=0.02,
            metadata={"Date": None, "Creator": None},
        )
    svg = text.getvalue()
    # what is left in the metadata names the kind of file
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    return svg[svg.index("<svg") :].strip()
