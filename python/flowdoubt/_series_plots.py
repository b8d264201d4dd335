"""Figures of series; part of `flowdoubt.plots`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from flowdoubt._arrays import FloatArray
from flowdoubt._drawing import axes_of, plain_frame

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flowdoubt._series import Series

_INK, _MID, _LIGHT = "0.1", "0.45", "0.8"
# Points of a curve that paper can show; of more rows, means of groups are drawn.
_MOST_POINTS = 2000


def _times(series: Series) -> tuple[Any, str]:
    """Return the times of the rows, as numbers or datetimes, and the label of their axis."""
    index = series._index
    dtype = getattr(index, "dtype", None)
    if index is not None and "datetime" in str(dtype).lower():
        zone = getattr(dtype, "tz", None) or getattr(dtype, "time_zone", None)
        values = index.to_numpy() if hasattr(index, "to_numpy") else index
        if getattr(dtype, "tz", None) is not None:
            naive = getattr(index, "dt", index).tz_localize(None)
            values = naive.to_numpy()
        return np.asarray(values, dtype="datetime64[ns]"), f"time ({zone})" if zone else "time"
    seconds = series.seconds
    span = np.nanmax(seconds) - np.nanmin(seconds)
    for limit, unit, size in ((172_800.0, "d", 86_400.0), (7200.0, "h", 3600.0)):
        if span >= limit:
            return seconds / size, f"time after the first row / {unit}"
    return seconds, "time after the first row / s"


def series(series: Series, ax: Axes | None = None) -> Axes:
    """Draw the flow with the band of its expanded uncertainty; gaps are hatched.

    Ticks below the curve are rows that were not used. Of many rows, means of groups are drawn; the
    band is that of single rows.

    Parameters
    ----------
    series
        The series to draw.
    ax
        Axes to draw on; new ones if not given.
    """
    ax = axes_of(ax, 7.0, 3.6)
    columns = series.columns()
    flow_name, u_name = list(columns)[:2]
    times, label = _times(series)
    rejected = np.asarray(series.rejected["row"], dtype=int)
    used = np.flatnonzero(~np.isnan(columns[flow_name]))
    gaps = series.gaps
    factor = series.expanded().coverage_factor
    points = _grouped(used, np.asarray(gaps["to_row"], dtype=int))
    flow = _means(columns[flow_name], points)
    band = factor * _means(columns[u_name], points)
    x = _positions(times, points)
    ax.fill_between(
        x,
        flow - band,
        flow + band,
        color=_LIGHT,
        linewidth=0,
        label=f"expanded uncertainty of a row, {100 * series._core.coverage_probability:g} %",
    )
    ax.plot(x, flow, color=_INK, linewidth=0.9, label="volume flow")
    for number, (start, end) in enumerate(zip(gaps["from_row"], gaps["to_row"], strict=True)):
        ax.axvspan(
            times[start],
            times[end],
            facecolor="white",
            edgecolor=_MID,
            hatch="////",
            linewidth=0.4,
            label="gap" if number == 0 else None,
            zorder=0,
        )
    placed = rejected[~np.isnan(series.seconds[rejected])]
    inside = placed[(times[placed] >= times[used[0]]) & (times[placed] <= times[used[-1]])]
    if inside.size:
        ax.plot(
            times[inside],
            np.full(inside.shape, 0.02),
            "|",
            color=_INK,
            markersize=6,
            transform=ax.get_xaxis_transform(),
            label="rows not used",
        )
    if np.nanmin(flow - band) >= 0:
        ax.set_ylim(bottom=0)
    ax.set_xlabel(label)
    ax.set_ylabel(f"volume flow / ({series.flow_unit})")
    ax.set_title(series.headline.partition(", coverage")[0], fontsize=9, loc="left")
    if times.dtype.kind == "M":
        import matplotlib.dates

        dates: Any = matplotlib.dates
        locator = dates.AutoDateLocator()
        ax.xaxis.set_major_locator(locator)
        ax.xaxis.set_major_formatter(dates.ConciseDateFormatter(locator))
    ax.margins(x=0.01)
    ax.legend(frameon=False, fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.18), ncols=4)
    plain_frame(ax)
    return ax


def _grouped(used: Any, after_gap: Any) -> list[Any]:
    """Rows in groups that no gap cuts; an empty group stands for a gap."""
    size = -(-len(used) // _MOST_POINTS)
    groups: list[Any] = []
    for stretch in np.split(used, np.searchsorted(used, after_gap)):
        groups += [stretch[i : i + size] for i in range(0, len(stretch), size)]
        groups.append(stretch[:0])
    return groups[:-1]


def _means(values: FloatArray, groups: list[Any]) -> FloatArray:
    return np.array([values[rows].mean() if len(rows) else np.nan for rows in groups])


def _positions(times: Any, groups: list[Any]) -> Any:
    """Middle of each group; a gap is where the row before it was."""
    places: list[Any] = []
    for rows in groups:
        places.append(times[rows[len(rows) // 2]] if len(rows) else places[-1])
    return np.array(places)
