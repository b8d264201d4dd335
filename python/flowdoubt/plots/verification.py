"""The chart of a verification."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from flowdoubt.display.language import Theirs, spoken
from flowdoubt.display.words import suffix_of, unit_of
from flowdoubt.plots.drawing import DARK, INK, axes_of, plain_frame

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flowdoubt._core import VerificationResult
    from flowdoubt.edge.arrays import FloatArray

_MARKERS = "os^vDP<>"
_PERCENT = 100.0
_MOST_LETTERS = 16


def _column(rows: list[dict[str, Any]], name: str) -> FloatArray:
    return np.array([np.nan if row[name] is None else row[name] for row in rows], dtype=float)


def _plain(text: str) -> str:
    """Return words of a user, short enough for a legend, in which nothing is mathematics."""
    short = (
        text
        if len(text) <= _MOST_LETTERS
        else text[: _MOST_LETTERS - 1] + "\N{HORIZONTAL ELLIPSIS}"
    )
    return short.replace("$", r"\$")


def _limits(ax: Axes, flow: FloatArray, points: list[dict[str, Any]]) -> None:
    """Draw permissible and acceptance limits from point to point, to both edges of the axes."""
    order = np.argsort(flow)
    low, high = ax.get_xlim()
    x = np.concatenate([[low], flow[order], [high]])
    kinds = (
        ("permissible", "permissible_error", "-", 1.6),
        ("acceptance", "acceptance_limit", (0, (6, 2)), 1.0),
    )
    for kind, words, style, width in kinds:
        named = False
        for side in ("lower", "upper"):
            limit = _PERCENT * _column(points, f"{kind}_{side}")[order]
            if not np.any(np.isfinite(limit)):
                continue
            y = np.concatenate([limit[:1], limit, limit[-1:]])
            ax.plot(
                x,
                y,
                linestyle=style,
                color=INK,
                linewidth=width,
                label=None if named else spoken()(f"figures.{words}"),
            )
            named = True


def _undecided(result: VerificationResult) -> str:
    """Return at which points no error is accepted, and which uncertainty would do."""
    say = spoken()
    by_need: dict[str, list[str]] = {}
    for point, (_, needed) in zip(result.points, result._point_decisions_told(), strict=True):
        if needed is not None:
            by_need.setdefault(say.told(needed), []).append(_plain(point["point"]))
    each = [
        say("figures.no_error_accepted", points=Theirs(", ".join(names)), needed=Theirs(needed))
        for needed, names in by_need.items()
    ]
    return "".join(f"\n{words}" for words in each)


def verification(result: VerificationResult, ax: Axes | None = None) -> Axes:
    """Draw the errors of runs and flow points with their expanded uncertainties against the flow.

    Each placement of the sensors has a marker of its own; limits of permissible error, guarded
    acceptance limits and the line through the points are drawn where there are any. Where no error
    is accepted, the expanded uncertainty that would be needed is said instead of limits.

    Parameters
    ----------
    result
        The verification to draw.
    ax
        Axes to draw on; new ones if not given.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> result = site.verify("notebooks/demo/verification.toml")
    >>> ax = fd.plots.verification(result)
    >>> type(ax).__name__
    'Axes'
    """
    ax = axes_of(ax, 7.0, 4.2)
    say = spoken()
    runs, points = result.runs, result.points
    end = suffix_of(result.flow_unit)
    run_flow = _column(runs, f"reference_flow_{end}")
    flow = _column(points, f"flow_{end}")
    placements = list(dict.fromkeys(run["placement"] for run in runs))
    for place, placement in enumerate(placements):
        own = np.array([run["placement"] == placement for run in runs])
        chosen = [run for run in runs if run["placement"] == placement]
        ax.errorbar(
            run_flow[own],
            _PERCENT * _column(chosen, "error"),
            yerr=_PERCENT * _column(chosen, "error_expanded"),
            fmt=_MARKERS[place % len(_MARKERS)],
            color="0.4",
            markerfacecolor="white",
            markersize=6,
            elinewidth=0.7,
            capsize=2,
            # symbols over the bars of their flow point, which are wider
            zorder=5,
            label=say("figures.runs_of_placement", placement=Theirs(_plain(placement)))
            if placement
            else say("figures.runs"),
        )
    ax.errorbar(
        flow,
        _PERCENT * _column(points, "error"),
        yerr=_PERCENT * _column(points, "error_expanded"),
        fmt="_",
        color=INK,
        markersize=22,
        markeredgewidth=2.4,
        elinewidth=2.0,
        capsize=6,
        capthick=1.6,
        zorder=4,
        label=say("figures.flow_points"),
    )
    every = np.concatenate([run_flow, flow])
    room = 0.08 * float(np.ptp(every)) or 0.05 * float(np.max(np.abs(every)))
    ax.set_xlim(float(np.min(every)) - room, float(np.max(every)) + room)
    _limits(ax, flow, points)
    line = result.line
    if line is not None:
        low, high = line[f"range_{end}"]
        along = np.linspace(low, high, 101)
        at = result.line_at(along)
        if at is not None:
            error, u = (_PERCENT * values for values in at)
            x = along
            ax.plot(x, error, "-.", color=DARK, linewidth=1.2, label=say("figures.line"))
            ax.fill_between(
                x,
                error - u,
                error + u,
                color="0.88",
                label=say("figures.line_uncertainty"),
                zorder=0,
            )
    ax.axhline(0, color=INK, linewidth=0.6)
    ax.set_xlabel(say("figures.reference_flow_axis", unit=unit_of(result.flow_unit)))
    ax.set_ylabel(say(f"figures.{suffix_of(result.question)}_axis"))
    p = _PERCENT * result.coverage_probability
    bars = say("figures.bars", p=f"{p:g} %")
    ax.set_title(bars + _undecided(result), fontsize=9, loc="left")
    ax.legend(frameon=False, fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.19), ncols=2)
    plain_frame(ax)
    return ax
