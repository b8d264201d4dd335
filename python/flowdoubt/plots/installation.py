"""Figures of disturbed profiles and of what they do to a path."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flowdoubt import installation
from flowdoubt.edge.errors import refuse
from flowdoubt.plots.drawing import axes_of, plain_frame

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

_INK, _DARK, _MID, _LIGHT = "0.1", "0.35", "0.55", "0.85"
_STYLES = ("-", "--", "-.", ":")


def _words(fitting: str) -> str:
    return fitting.replace("_", " ").capitalize()


def error_against_orientation(
    fitting: str,
    ax: Axes | None = None,
    *,
    straight_runs: Sequence[float] = (2.0, 5.0, 10.0, 20.0),
) -> Axes:
    """Draw the error of one diametral path, and of two crossed planes, against orientation.

    Parameters
    ----------
    fitting
        One of `flowdoubt.installation.FITTINGS`.
    ax
        Axes to draw on; new ones if not given.
    straight_runs
        Up to four straight runs in inside diameters, each with a line style of its own.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    InputError
        Another fitting, or more than four straight runs.
    RangeError
        A straight run outside 1 to 1000.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> ax = fd.plots.error_against_orientation("single_bend")
    >>> type(ax).__name__
    'Axes'
    """
    if len(straight_runs) > len(_STYLES):
        allowed = f"1 to {len(_STYLES)}"
        raise refuse(
            f"straight_runs: found {len(straight_runs)} values; allowed: {allowed}",
            code="length",
            field="straight_runs",
            value=len(straight_runs),
            allowed=allowed,
        )
    ax = axes_of(ax, 7.0, 3.8)
    degrees = np.linspace(0.0, 180.0, 181)
    radians = np.radians(degrees)
    for run, style in zip(straight_runs, _STYLES, strict=False):
        for planes, colour, width in ((1, _INK, 1.4), (2, _MID, 2.6)):
            error = installation.path_error(
                fitting, straight_run=run, orientation=radians, planes=planes
            )
            label = f"{run:g} D" if planes == 1 else None
            ax.plot(degrees, 100 * np.asarray(error), style, color=colour, lw=width, label=label)
    ax.plot([], [], "-", color=_MID, lw=2.6, label="two crossed planes\n(same line styles)")
    ax.axhline(0.0, color=_INK, linewidth=0.6)
    ax.set_xlim(0.0, 180.0)
    ax.set_xticks(range(0, 181, 30))
    ax.set_xlabel("angle between path plane and plane of the bend / deg")
    ax.set_ylabel("error of the indicated flow / %")
    ax.set_title(f"{_words(fitting)}: error by orientation", fontsize=9, loc="left")
    ax.legend(
        frameon=False,
        fontsize=8,
        title="straight run",
        title_fontsize=8,
        loc="center left",
        bbox_to_anchor=(1.0, 0.5),
    )
    plain_frame(ax)
    return ax


def error_against_straight_run(
    fitting: str, ax: Axes | None = None, *, longest: float = 40.0
) -> Axes:
    """Draw the range of errors over all orientations, and that of two planes, over the run.

    The band around zero is what the half-width allows after correction in one plane.

    Parameters
    ----------
    fitting
        One of `flowdoubt.installation.FITTINGS`.
    ax
        Axes to draw on; new ones if not given.
    longest
        The longest straight run, in inside diameters.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    InputError
        Another fitting.
    RangeError
        A straight run outside 1 to 1000.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> ax = fd.plots.error_against_straight_run("single_bend")
    >>> type(ax).__name__
    'Axes'
    """
    ax = axes_of(ax, 7.0, 3.8)
    run = np.linspace(1.0, longest, 400)
    angles = np.radians(np.arange(0.0, 180.0, 3.0))
    errors = 100 * np.asarray(
        installation.path_error(fitting, straight_run=run[:, None], orientation=angles)
    )
    crossed = installation.path_error(fitting, straight_run=run, orientation=0.0, planes=2)
    allowed = 100 * np.asarray(
        installation.half_width(fitting, straight_run=run, orientation=np.pi / 2)
    )
    ax.fill_between(run, -allowed, allowed, color=_LIGHT, label="half-width of the correction")
    ax.plot(run, errors.min(axis=1), "-", color=_INK, label="one plane, least and most")
    ax.plot(run, errors.max(axis=1), "-", color=_INK)
    ax.plot(run, 100 * np.asarray(crossed), "--", color=_DARK, lw=2.2, label="two crossed planes")
    least, most = installation.straight_run_in_practice(fitting).upstream
    ax.axvline(least, color=_INK, linestyle=":", linewidth=1.0)
    practice = f"{least:g} D" if least == most else f"{least:g} to {most:g} D"
    ax.annotate(
        f"common practice {practice}",
        (least, 0.02),
        xycoords=("data", "axes fraction"),
        xytext=(4, 0),
        textcoords="offset points",
        fontsize=8,
    )
    ax.axhline(0.0, color=_INK, linewidth=0.6)
    ax.set_xlim(1.0, longest)
    ax.set_xlabel("straight run downstream of the fitting / D")
    ax.set_ylabel("error of the indicated flow / %")
    ax.set_title(f"{_words(fitting)}: error over straight run", fontsize=9, loc="left")
    ax.legend(frameon=False, fontsize=8, loc="upper right")
    plain_frame(ax)
    return ax


def disturbed_profile(
    fitting: str,
    ax: Axes | None = None,
    *,
    straight_run: float,
    orientation: float | None = None,
) -> Axes:
    """Draw the velocity over a cross-section: axial in grey, across as arrows, and the path.

    Parameters
    ----------
    fitting
        One of `flowdoubt.installation.FITTINGS`.
    ax
        Axes to draw on; new ones if not given.
    straight_run
        In inside diameters.
    orientation
        Angle of the path in radians; the recommended one, or 0, if not given.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    InputError
        Another fitting.
    RangeError
        A straight run outside 1 to 1000.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> ax = fd.plots.disturbed_profile("single_bend", straight_run=10.0)
    >>> type(ax).__name__
    'Axes'
    """
    from matplotlib import colormaps

    ax = axes_of(ax, 5.0, 4.4)
    greys = colormaps["Greys_r"].with_extremes(under="0.3")
    field = installation.profile(fitting, straight_run=straight_run, points=161)
    # below half the mean velocity lies the layer at the wall
    levels = np.arange(0.5, max(1.3, np.nanmax(field.axial)) + 0.05, 0.05)
    drawn = ax.contourf(field.x, field.y, field.axial, levels, cmap=greys, vmin=0.0, extend="min")
    # the lines crowd at the wall, where nobody can read them
    core = np.where(np.hypot(field.x, field.y) < 0.93, field.axial, np.nan)
    lines = ax.contour(field.x, field.y, core, levels[::2], colors=_INK, linewidths=0.5)
    ax.clabel(lines, fmt="%.1f", fontsize=7)
    ax.figure.colorbar(drawn, ax=ax, label="axial velocity / mean velocity", shrink=0.85)

    some = installation.profile(fitting, straight_run=straight_run, points=15)
    near_wall = np.hypot(some.x, some.y) > 0.92
    cross_x, cross_y = (np.where(near_wall, np.nan, c) for c in (some.cross_x, some.cross_y))
    speed = np.hypot(cross_x, cross_y)
    fastest = float(np.nanmax(speed))
    if fastest > 1e-3:
        scale = 7.0 * fastest
        ax.quiver(
            some.x,
            some.y,
            cross_x,
            cross_y,
            scale=scale,
            scale_units="width",
            width=0.004,
            color=_INK,
            edgecolor="white",
            linewidth=0.4,
        )
        across = f"arrows: cross flow in the core, up to {100 * fastest:.2g} % of the mean velocity"
    else:
        across = "no cross flow to speak of"

    if orientation is None:
        orientation = installation.recommended_orientation(fitting).orientation or 0.0
    end = (1.12 * float(np.cos(orientation)), 1.12 * float(np.sin(orientation)))
    ax.plot([-end[0], end[0]], [-end[1], end[1]], color="white", linewidth=4.0)
    ax.plot([-end[0], end[0]], [-end[1], end[1]], color=_INK, linewidth=1.8, linestyle=(0, (6, 2)))
    ax.annotate("path", end, xytext=(5, 2), textcoords="offset points", fontsize=8, color=_INK)
    turn = np.linspace(0.0, 2.0 * np.pi, 361)
    ax.plot(np.cos(turn), np.sin(turn), color=_INK, linewidth=1.5)
    ax.set_xlim(-1.25, 1.3)
    ax.set_ylim(-1.3, 1.25)
    ax.set_aspect("equal")
    ax.set_axis_off()
    side = "outer side" if "bend" in fitting else "angle zero"
    ax.annotate(f"{side} \N{RIGHTWARDS ARROW}", (0.72, -1.12), fontsize=8)
    ax.annotate(across, (-1.2, -1.27), fontsize=8)
    ax.set_title(f"{_words(fitting)}, {straight_run:g} D upstream", fontsize=9, loc="left")
    return ax
