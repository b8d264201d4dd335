"""The figure of a plan; part of `flowdoubt.plots`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from flowdoubt import _core
from flowdoubt.display.plan import component_of
from flowdoubt.display.words import suffix_of, unit_of
from flowdoubt.edge.arrays import FloatArray
from flowdoubt.edge.errors import refuse
from flowdoubt.plots.drawing import axes_of, plain_frame

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flowdoubt._core import Plan

_INK = "0.1"
# grey and hatching of the bands, from the bottom
_BANDS = (
    ("0.6", ""),
    ("0.9", "////"),
    ("0.75", ""),
    ("0.97", "...."),
    ("0.82", "\\\\\\\\"),
    ("0.92", ""),
)
_OTHERS = ("white", "xxxx")
_LINES: tuple[str | tuple[int, tuple[int, ...]], ...] = (
    "--",
    "-.",
    ":",
    (0, (6, 2, 1, 2, 1, 2)),
    (0, (1, 3)),
)
# where there are more alternatives than kinds of lines
_MARKERS = ("", "s", "^", "v", "D")
_SHARE = "share_"


def _chosen(plan: Plan, name: str, values: list[Any], wanted: Any) -> Any:
    """Return the value asked for, or the first there is."""
    if wanted is None:
        return values[0]
    if wanted in values:
        return wanted
    allowed = ", ".join(str(value) for value in values)
    raise refuse(
        f"{name}: found {wanted!r}; allowed: {allowed}",
        code="unknown-name",
        field=name,
        value=wanted,
        allowed=allowed,
    )


def _curve(points: list[dict[str, Any]], flow: str) -> tuple[FloatArray, FloatArray]:
    """Return flows by their name and expanded uncertainties in percent, NaN without result."""
    flows = np.array([p[flow] for p in points], dtype=float)
    uncertainties = [p["relative_expanded_uncertainty"] for p in points]
    percent = np.array([np.nan if u is None else 100 * u for u in uncertainties], dtype=float)
    return flows, percent


def _with_what_it_comes_to(
    labels: list[str], percent: dict[str, FloatArray], limit: FloatArray | None, plan: Plan
) -> dict[str, str]:
    """Return the labels with whether the alternative reaches the target, and whether it fits."""
    fits = {row["alternative"]: row["fits"] for row in plan.comparison.rows()}
    full = {}
    for label in labels:
        said = []
        if limit is not None:
            met, flows = int(np.sum(percent[label] <= limit)), limit.size
            if met == flows:
                said.append("reaches the target")
            else:
                said.append(f"target at {met} of {flows} flows" if met else "misses the target")
        if fits[label] is False:
            said.append("does not fit")
        full[label] = f"{label}: {', '.join(said)}" if said else label
    return full


def _legend_below(ax: Axes) -> None:
    """Write below the axes what the lines are, and beside it what the bands are, top down."""
    from matplotlib.collections import PolyCollection
    from matplotlib.lines import Line2D
    from matplotlib.transforms import ScaledTranslation

    handles, words = ax.get_legend_handles_labels()
    named = list(zip(handles, words, strict=True))
    bands = [own for own in reversed(named) if isinstance(own[0], PolyCollection)]
    lines = [own for own in named if not isinstance(own[0], PolyCollection)]
    nothing = (Line2D([], [], linestyle="none"), "")
    rows = max(len(lines), len(bands))
    both = [
        own for column in (lines, bands) for own in (*column, *[nothing] * (rows - len(column)))
    ]
    figure = ax.get_figure(root=True)
    if figure is None:
        return
    # room for the numbers and the name of the axis, whatever the size of the figure
    below = ScaledTranslation(0.0, -0.5, figure.dpi_scale_trans)
    ax.legend(
        *zip(*both, strict=True),
        ncols=2,
        columnspacing=1.0,
        handlelength=1.6,
        frameon=False,
        fontsize=8,
        loc="upper left",
        borderpad=0.0,
        bbox_to_anchor=(0.0, 0.0),
        bbox_transform=ax.transAxes + below,
    )


def _draw_target(ax: Axes, flows: FloatArray, limit: FloatArray, words: str) -> None:
    """Draw what is wanted as a line with its words, over everything else."""
    from matplotlib.patheffects import withStroke

    halo = [withStroke(linewidth=4.0, foreground="white")]
    if np.ptp(limit) > 1e-9 * limit.max():
        # one flow is another share of each flow: a curve, and not a line from point to point
        fine = np.geomspace(flows[0], flows[-1], 200)
        flows, limit = fine, limit[0] * flows[0] / fine
    ax.plot(flows, limit, color=_INK, linewidth=2.6, path_effects=halo, zorder=5)
    ax.annotate(
        words,
        (flows[-1], limit[-1]),
        xytext=(5, 0),
        textcoords="offset points",
        va="center",
        fontsize=9,
        fontweight="bold",
        annotation_clip=False,
    )


def uncertainty_against_flow(
    plan: Plan,
    ax: Axes | None = None,
    *,
    alternative: str | None = None,
    temperature: str | None = None,
    most: int = 5,
) -> Axes:
    """Draw the expected expanded uncertainty against the flow, leading components stacked.

    The height of a band is the component's share of the variance times the expanded uncertainty,
    so that the bands add up to it. The other alternatives of the plan are lines. Flows at which
    nothing can be measured are gaps with a cross on the axis.

    Parameters
    ----------
    plan
        What `Site.plan` returned, with two flows at least.
    ax
        Axes to draw on; new ones if not given.
    alternative
        The alternative whose components are stacked, by its label; the first if not given.
    temperature
        Temperature where the plan has several, as it shows them, such as ``"8 degC"``; the first if
        not given.
    most
        Number of components with a band of their own; the rest share one.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    InputError
        Another alternative or temperature; a plan with one flow, or without a result.
    RangeError
        A number of components outside 1 to 6.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> plan = site.plan(["500 m3/h", "1000 m3/h"], "8 degC")
    >>> ax = fd.plots.uncertainty_against_flow(plan)
    >>> type(ax).__name__
    'Axes'
    """
    from matplotlib.patheffects import withStroke
    from matplotlib.ticker import LogLocator, NullFormatter

    points = plan.points
    wanted = plan._wanted
    for i, point in enumerate(points):
        point["limit"] = np.nan if wanted is None else wanted[1][i]
    shown = {cells[1]: p["temperature_K"] for p, cells in zip(points, plan.shown(), strict=True)}
    kelvin = shown[_chosen(plan, "temperature", list(shown), temperature)]
    alternative = _chosen(plan, "alternative", plan.alternatives, alternative)
    if not 1 <= most <= len(_BANDS):
        raise refuse(
            f"most: found {most}; allowed: 1 to {len(_BANDS)}",
            code="out-of-range",
            field="most",
            value=most,
            allowed=f"1 to {len(_BANDS)}",
            kind=_core.RangeError,
        )
    flow = f"volume_flow_{suffix_of(plan.flow_unit)}"
    of = {
        label: sorted(
            (p for p in points if p["alternative"] == label and p["temperature_K"] == kelvin),
            key=lambda p: float(p[flow]),
        )
        for label in plan.alternatives
    }
    own = of[alternative]
    flows, percent = _curve(own, flow)
    if flows.size < 2:
        raise refuse(
            "plan: found one flow; allowed: two or more, to draw against the flow",
            code="length",
            field="plan",
            value=1,
            allowed="two flows or more",
        )
    limit = None if wanted is None else 100 * np.array([p["limit"] for p in own]) / flows
    curves = {label: _curve(of[label], flow)[1] for label in plan.alternatives}
    full = _with_what_it_comes_to(plan.alternatives, curves, limit, plan)
    names = [name for name in own[0] if name.startswith(_SHARE)]
    shares = np.array([[p[name] or 0.0 for p in own] for name in names], dtype=float)
    heights = np.clip(shares, 0.0, None) * percent
    if not np.isfinite(percent).any():
        raise refuse(
            f"plan: nothing can be measured with {alternative}: {own[0]['reason']}",
            field="plan",
            value=alternative,
            allowed="an alternative with a result at one flow at least",
        )
    order = np.argsort(-np.nanmean(heights, axis=1))
    leading = [int(i) for i in order[:most] if np.nanmax(heights[i]) > 0]
    rest = heights[[int(i) for i in order if i not in leading]].sum(axis=0)
    bands = [heights[i] for i in leading]
    labels = [component_of(names[i]) for i in leading]

    rows = max(len(plan.alternatives), len(bands) + 1)
    ax = axes_of(ax, 7.0, 4.2 + 0.17 * rows)
    bottom = np.zeros_like(percent)
    styles = list(_BANDS[: len(bands)])
    if np.nanmax(rest, initial=0.0) > 0:
        bands.append(rest)
        labels.append("other components")
        styles.append(_OTHERS)
    for band, label, (grey, hatch) in zip(bands, labels, styles, strict=True):
        ax.fill_between(
            flows,
            bottom,
            bottom + band,
            facecolor=grey,
            hatch=hatch,
            edgecolor="0.4",
            linewidth=0.4,
            label=label,
        )
        bottom = bottom + band
    ax.plot(
        flows,
        percent,
        color=_INK,
        linewidth=2.0,
        marker="o",
        markersize=3,
        label=full[alternative],
        zorder=4,
    )
    others = [label for label in plan.alternatives if label != alternative]
    for i, label in enumerate(others):
        ax.plot(
            flows,
            curves[label],
            linestyle=_LINES[i % len(_LINES)],
            marker=_MARKERS[i // len(_LINES) % len(_MARKERS)],
            markersize=4,
            markerfacecolor="white",
            color=_INK,
            linewidth=1.4,
            label=full[label],
            path_effects=[withStroke(linewidth=3.2, foreground="white")],  # over the bands
        )
    if wanted is not None and limit is not None:
        _draw_target(ax, flows, limit, f"target {wanted[0]}")
    gaps = flows[~np.isfinite(percent)]
    if gaps.size:
        ax.plot(
            gaps,
            np.zeros_like(gaps),
            linestyle="none",
            marker="x",
            color=_INK,
            clip_on=False,
            label="no measurement possible",
        )
    if flows.min() > 0 and flows.max() > 20 * flows.min():
        ax.set_xscale("log")
        few_decades = flows.max() < 500 * flows.min()
        ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0) if few_decades else (1.0,)))
        ax.xaxis.set_major_formatter("{x:g}")
        ax.xaxis.set_minor_formatter(NullFormatter())
    ax.set_xlim(flows.min(), flows.max())
    # a target in units of flow rises without bound at low flows
    tops = [float(np.nanmax(curve, initial=0.0)) for curve in curves.values()]
    lowest = 0.0 if limit is None else float(limit.min())
    ax.set_ylim(0.0, 1.05 * max(*tops, lowest))
    ax.set_xlabel(f"volume flow / ({unit_of(plan.flow_unit)})")
    probability = f"{100 * plan.coverage_probability:g} %"
    ax.set_ylabel(f"expanded uncertainty\n({probability}) / (% of flow)")
    at = "temperature as stated" if kelvin is None else f"{kelvin - 273.15:.4g} \N{DEGREE SIGN}C"
    ax.set_title(
        f"planned, nothing measured; {at}\ncomponents of: {alternative}", fontsize=9, loc="left"
    )
    _legend_below(ax)
    plain_frame(ax)
    return ax
