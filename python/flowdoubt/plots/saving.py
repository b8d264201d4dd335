"""Figures as files, at the width at which they are printed."""

from __future__ import annotations

import io
import os
import re
from typing import TYPE_CHECKING, Any

from flowdoubt._core import InputError, write_whole
from flowdoubt.edge.errors import refuse

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# The widths of text and of one of two columns on A4 with margins of 20 mm (common practice, no
# source), in mm.
WIDTHS = {"page": 170.0, "column": 81.0}
_SUFFIXES = (".pdf", ".png", ".svg")
# a column is too narrow for a figure to stay as flat as on a page
_LEAST_HEIGHT = 60.0
_MM = 1 / 25.4
_DOTS_PER_INCH = 300
_PASSES = 6
# The width in mm for which figures are designed, and how much smaller they may become.
_DESIGNED, _SMALLEST = 150.0, 0.65


def save(
    ax: Axes,
    *paths: str | os.PathLike[str],
    width: str | float = "page",
    overwrite: bool = False,
) -> None:
    """Write the figure of some axes, in one form or several, as wide as it will be printed.

    Letters keep their size at the width of a page and get smaller down to a column. The same
    figure gives the same bytes; in SVG letters are outlines, in PDF their font is embedded, PNG
    has 300 dots per inch.

    Parameters
    ----------
    ax
        What a function of this module returned.
    paths
        Files that end in ``.svg``, ``.pdf`` or ``.png``.
    width
        ``"page"`` (170 mm), ``"column"`` (81 mm), or a number in mm, 40 to 500.
    overwrite
        Whether files that exist may be replaced. Each is written whole or not at all.

    Raises
    ------
    InputError
        Another suffix, no file at all, another width; a file that cannot be written.
    RecordError
        A file that exists, unless `overwrite` is asked for: then none is written.
    ModuleNotFoundError
        Without the packages matplotlib and pypdf, which the extra ``flowdoubt[plots]`` brings.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> import os, tempfile
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     ax = fd.plots.contributions(evaluation.budget)
    ...     fd.plots.save(ax, f"{folder}/budget.svg", f"{folder}/budget.png", width="column")
    ...     sorted(os.listdir(folder))
    ['budget.png', 'budget.svg']
    """
    millimetres = _width(width)
    if not paths:
        raise InputError("paths: found none; allowed: a file or several to write the figure to")
    forms = [_form(path) for path in paths]
    if not overwrite:
        for path in paths:
            if os.path.lexists(path):
                write_whole(path, b"", False)
    files = _drawn(ax, millimetres, forms)
    for path, data in zip(paths, files, strict=True):
        write_whole(path, data, overwrite)


def _width(width: Any) -> float:
    allowed = f"{', '.join(map(repr, WIDTHS))}, or a number of mm from 40 to 500"
    found = WIDTHS.get(width, width) if isinstance(width, str) else width
    if isinstance(found, (int, float)) and not isinstance(found, bool) and 40 <= found <= 500:
        return float(found)
    raise refuse(f"width: found {width!r}; allowed: {allowed}", field="width", allowed=allowed)


def _form(path: str | os.PathLike[str]) -> str:
    suffix = os.path.splitext(path)[1].lower()
    if suffix not in _SUFFIXES:
        allowed = f"names that end in {', '.join(_SUFFIXES[:-1])} or {_SUFFIXES[-1]}"
        raise InputError(f"paths: found {os.fspath(path)!r}; allowed: {allowed}")
    return suffix[1:]


def _drawn(ax: Axes, millimetres: float, forms: list[str]) -> list[bytes]:
    """Draw the figure in each form at its width, and leave it as it was."""
    import matplotlib
    from matplotlib.figure import Figure

    figure = ax.get_figure() if hasattr(ax, "get_figure") else None
    if not isinstance(figure, Figure):
        allowed = "what a function of plots returned"
        message = f"ax: found {type(ax).__name__} without a figure of its own; allowed: {allowed}"
        raise refuse(message, code="wrong-type", field="ax", allowed=allowed)
    before, engine = figure.get_size_inches().copy(), figure.get_layout_engine()
    # drawn wider and made smaller as a whole, so that words keep their room
    scale = min(1.0, max(_SMALLEST, millimetres / _DESIGNED))
    width = millimetres / scale
    height = max(width * before[1] / before[0], min(_LEAST_HEIGHT, millimetres) / scale)
    settings: Any = {"svg.hashsalt": "flowdoubt", "svg.fonttype": "path", "pdf.fonttype": 42}
    files = []
    try:
        figure.set_size_inches(width * _MM, height * _MM)
        with matplotlib.rc_context(settings):
            _settle(figure)
            for form in forms:
                data = io.BytesIO()
                dots = _DOTS_PER_INCH * scale
                figure.savefig(data, format=form, dpi=dots, metadata=_without_date(form))
                files.append(_smaller(form, data.getvalue(), scale))
    finally:
        figure.set_size_inches(*before)
        figure.set_layout_engine(engine)
        for own in figure.axes:
            own.set_in_layout(True)
    return files


def _smaller(form: str, data: bytes, scale: float) -> bytes:
    """Return a drawing made smaller; dots have the size that they should have already."""
    if form == "svg":

        def size(found: re.Match[bytes]) -> bytes:
            return b'%s="%.5fpt"' % (found[1], scale * float(found[2]))

        head, end, rest = data.partition(b"viewBox")
        return re.sub(rb"\b(width|height)=\"([\d.]+)pt\"", size, head) + end + rest
    if form == "pdf" and scale < 1:
        from pypdf import PdfReader, PdfWriter

        writer = PdfWriter()
        writer.add_page(PdfReader(io.BytesIO(data)).pages[0]).scale_by(scale)
        small = io.BytesIO()
        writer.write(small)
        return small.getvalue()
    return data


def _settle(figure: Figure) -> None:
    """Put the axes where they belong at this size, to a millionth, so that bytes repeat.

    A layout comes closer to its end with every pass, and starts from where the last one left it.
    """
    for _ in range(_PASSES):
        figure.draw_without_rendering()
    figure.set_layout_engine("none")
    for own in figure.axes:
        x, y, wide, high = own.get_position(original=True).bounds
        own.set_position((round(x, 6), round(y, 6), round(wide, 6), round(high, 6)))


def _without_date(form: str) -> dict[str, Any]:
    return {
        "svg": {"Date": None, "Creator": None},
        "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
        "png": {"Software": None},
    }[form]
