"""Figures as SVG, with the same bytes on every run."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from flowdoubt.display.language import Language, speaking
from flowdoubt.plots.drawing import apart_from_pyplot

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as AnyFigure


def svg_of(draw: Callable[[], Axes], say: Language) -> str:
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
    with matplotlib.rc_context(settings), apart_from_pyplot(), speaking(say):
        figure = draw().figure
        if not isinstance(figure, Figure):
            message = "a figure of its own is needed, not a part of one"
            raise TypeError(message)
        _write_numbers(figure, say)
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


def _write_numbers(figure: AnyFigure, say: Language) -> None:
    """Write the numbers at the axes as the language does."""
    from matplotlib.ticker import FixedFormatter, FuncFormatter, ScalarFormatter

    for ax in figure.axes:
        for axis in (ax.xaxis, ax.yaxis):
            own = axis.get_major_formatter()
            if isinstance(own, ScalarFormatter):
                # asks the formatter where the ticks are, once they are placed
                figure.draw_without_rendering()
                labels = [label.get_text() for label in axis.get_ticklabels()]
                axis.set_ticks(axis.get_ticklocs(), list(map(say.number, labels)))
            elif isinstance(own, FuncFormatter) and not isinstance(own, FixedFormatter):
                continue
