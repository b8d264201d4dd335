"""Pages as PDF, at their size to the point."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from flowdoubt.edge.errors import refuse
from flowdoubt.sheet.drawing import Drawing, Line, Polygon, Ring, Words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flowdoubt.sheet.pages import PrintedPage

_POINTS = 72.0 / 25.4
_ANCHORS = {"start": "left", "middle": "center", "end": "right"}


def pdf_of(pages: Sequence[PrintedPage], title: str) -> bytes:
    """Return the bytes of a PDF file, the same for the same pages."""
    try:
        import matplotlib as mpl
        from matplotlib.backends.backend_pdf import PdfPages
        from matplotlib.figure import Figure
    except ImportError as error:
        raise refuse(
            "matplotlib: missing; needed: matplotlib to write PDF "
            "(pip install 'flowdoubt[plots]'); SVG needs none",
            code="missing",
            field="matplotlib",
        ) from error
    stream = io.BytesIO()
    # no date and no name of a library: the same site gives the same bytes
    about: dict[str, Any] = {
        "Title": title,
        "Creator": "flowdoubt",
        "Producer": None,
        "CreationDate": None,
    }
    with mpl.rc_context():
        mpl.rcdefaults()
        # outlines of letters as they are, so that words can be searched and copied
        mpl.rcParams["pdf.fonttype"] = 42
        printable = _printable()
        with PdfPages(stream, metadata=about) as file:
            for page in pages:
                width, height = page.page.width, page.page.height
                figure = Figure(figsize=(width / 25.4, height / 25.4))
                axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
                axes.set_xlim(0.0, width)
                axes.set_ylim(height, 0.0)
                axes.set_axis_off()
                above = 0
                for window in page.windows:
                    _draw(axes, window, printable, above, clipped=True)
                    above += len(window.shapes)
                _draw(axes, page.own, printable, above, clipped=False)
                file.savefig(figure)
    return stream.getvalue()


def _printable() -> frozenset[int]:
    """Return the characters that the font of the pages has."""
    from matplotlib.font_manager import findfont, get_font

    return frozenset(get_font(findfont("DejaVu Sans")).get_charmap())


def _draw(
    axes: Axes, drawing: Drawing, printable: frozenset[int], first: int, *, clipped: bool
) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Circle, Rectangle
    from matplotlib.patches import Polygon as Area
    from matplotlib.text import Text

    clip = None
    if clipped:
        box = drawing.box
        clip = Rectangle((box.x1, box.y1), box.width, box.height, transform=axes.transData)
    for order, shape in enumerate(drawing.shapes):
        made: Line2D | Circle | Area | Text
        match shape:
            case Line():
                points = shape.width * _POINTS
                made = Line2D(
                    (shape.x1, shape.x2),
                    (shape.y1, shape.y2),
                    linewidth=points,
                    color=str(shape.grey),
                    solid_capstyle="butt",
                    dash_capstyle="butt",
                )
                if shape.dashes:
                    # matplotlib counts dashes in widths of the line
                    made.set_dashes([length / shape.width for length in shape.dashes])
                axes.add_line(made)
            case Ring():
                points = shape.width * _POINTS
                made = Circle(
                    (shape.x, shape.y),
                    shape.radius,
                    fill=False,
                    edgecolor=str(shape.grey),
                    linewidth=points,
                )
                axes.add_patch(made)
            case Polygon():
                made = Area(
                    shape.points,
                    facecolor=str(shape.fill),
                    edgecolor="0" if shape.width else "none",
                    linewidth=shape.width * _POINTS,
                )
                axes.add_patch(made)
            case Words():
                text = "".join(
                    c if ord(c) in printable else "\N{REPLACEMENT CHARACTER}" for c in shape.text
                )
                made = axes.text(
                    shape.x,
                    shape.y,
                    text,
                    fontsize=shape.size * _POINTS,
                    fontweight="bold" if shape.bold else "normal",
                    color=str(shape.grey),
                    horizontalalignment=_ANCHORS[shape.anchor],
                    verticalalignment="baseline",
                    rotation=90 if shape.turned else 0,
                    rotation_mode="anchor",
                    # a dollar sign in the name of a site is no formula
                    parse_math=False,
                )
        # what is drawn later lies above, whatever it is
        made.set_zorder(first + order)
        if clip is not None:
            made.set_clip_path(clip)
            made.set_clip_on(True)
