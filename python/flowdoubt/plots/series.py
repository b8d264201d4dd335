"""Figures of series; part of `flowdoubt.plots`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from flowdoubt.edge.arrays import FloatArray
from flowdoubt.edge.errors import refuse
from flowdoubt.plots.drawing import axes_of, plain_frame

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from flowdoubt.site.series import Series

_INK, _MID, _LIGHT, _FAINT = "0.1", "0.45", "0.72", "0.88"
# Rows of which each gets a point of the curve; of more, means of groups are drawn.
_MOST_ROWS, _GROUPS = 3000, 360
# Share of the time shown that a gap must have to be seen as an area.
_WIDE = 0.003


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

    Ticks below the curve are rows that were not used, ticks above it gaps too short for an area. Of
    many rows, means and ranges of groups are drawn; the band is that of single rows.

    Parameters
    ----------
    series
        The series to draw.
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
    >>> log = {
    ...     "time_s": [0.0, 60.0, 120.0],
    ...     "transit_time_us": [609.5] * 3,
    ...     "time_difference_ns": [800.0, 802.0, 801.0],
    ...     "temperature_degC": [8.1] * 3,
    ... }
    >>> scatter = {"time_difference": "0.8 ns", "transit_time": "5 ns", "temperature": "0.02 K"}
    >>> series = site.evaluate_series(log, repeatability=scatter)
    >>> ax = fd.plots.series(series)
    >>> type(ax).__name__
    'Axes'
    """
    ax = axes_of(ax, 7.0, 3.6)
    columns = series.columns()
    flow, u = list(columns.values())[:2]
    times, label = _times(series)
    used = np.flatnonzero(~np.isnan(flow))
    start, end = (np.asarray(series.gaps[name], dtype=int) for name in ("from_row", "to_row"))
    span = series.seconds[used[-1]] - series.seconds[used[0]]
    wide = np.asarray(series.gaps["duration_s"]) >= _WIDE * span
    size = 1 if len(used) <= _MOST_ROWS else -(-len(used) // _GROUPS)
    groups = _grouped(used, end if size == 1 else end[wide], size)
    x = _positions(times, groups)
    if size > 1:
        low, high = (_of_groups(flow, groups, extreme) for extreme in (np.min, np.max))
        words = f"range within about {size} rows"
        ax.fill_between(x, low, high, color=_FAINT, linewidth=0, label=words)
    mean = _of_groups(flow, groups, np.mean)
    band = series.expanded().coverage_factor * _of_groups(u, groups, np.mean)
    p = 100 * series.coverage_probability
    words = f"expanded uncertainty of a row, {p:g} %"
    ax.fill_between(x, mean - band, mean + band, color=_LIGHT, linewidth=0, label=words)
    words = "volume flow" if size == 1 else "volume flow, means"
    ax.plot(x, mean, color=_INK, linewidth=0.9, label=words)
    for number, (before, after) in enumerate(zip(start[wide], end[wide], strict=True)):
        ax.axvspan(
            times[before],
            times[after],
            facecolor="white",
            edgecolor=_MID,
            hatch="////",
            linewidth=0.4,
            label="gap" if number == 0 else None,
        )
    rejected = np.asarray(series.rejected["row"], dtype=int)
    rejected = rejected[~np.isnan(series.seconds[rejected])]
    inside = (times[rejected] >= times[used[0]]) & (times[rejected] <= times[used[-1]])
    _ticks(ax, times[start[~wide]], 0.985, "short gaps")
    _ticks(ax, times[rejected[inside]], 0.015, "rows not used")
    if np.nanmin(mean - band) >= 0:
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
    ax.legend(frameon=False, fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.18), ncols=3)
    plain_frame(ax)
    if series._signal is not None:
        _signal(ax, times, used, *series._signal)
    return ax


def _signal(ax: Axes, times: Any, used: Any, name: str, values: Any) -> None:
    """Draw strength or quality of the signal on an axis of its own, on the right."""
    right = ax.twinx()
    right.plot(times[used], np.asarray(values)[used], ":", color=_MID, linewidth=0.8)
    right.set_ylabel(f"{name.replace('_', ' ')} (dotted)", color=_MID)
    right.tick_params(colors=_MID)
    right.spines["top"].set_visible(False)


def period_totals(series: Series, ax: Axes | None = None) -> Axes:
    """Draw the totals of calendar periods with their expanded uncertainty and their availability.

    What was not covered by rows is an open bar, drawn as if the flow had gone on at its mean.

    Parameters
    ----------
    series
        A series for which ``period=`` was given.
    ax
        Axes to draw on; new ones if not given.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on.

    Raises
    ------
    InputError
        A series without periods.
    ModuleNotFoundError
        Without the package matplotlib.

    Examples
    --------
    >>> import numpy as np
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> start, end = np.datetime64("2026-10-30T00:00"), np.datetime64("2026-11-02T00:00")
    >>> times = np.arange(start, end, np.timedelta64(1, "h"))
    >>> log = {
    ...     "time": times,
    ...     "transit_time_us": np.full(len(times), 609.5),
    ...     "time_difference_ns": np.full(len(times), 800.0),
    ...     "temperature_degC": np.full(len(times), 8.1),
    ... }
    >>> scatter = {"time_difference": "0.8 ns", "transit_time": "5 ns", "temperature": "0.02 K"}
    >>> series = site.evaluate_series(log, repeatability=scatter, period="month", time_zone="UTC")
    >>> ax = fd.plots.period_totals(series)
    >>> len(ax.patches) > 1
    True
    """
    ax = axes_of(ax, 7.0, 3.6)
    columns = series.periods()
    if not columns["period"]:
        allowed = 'a series that was evaluated with period="day", "week" or "month"'
        message = f"series: found no calendar periods; allowed: {allowed}"
        raise refuse(message, code="missing", field="series", allowed=allowed)
    labels, volume, _, _, expanded, _, availability = (np.asarray(c) for c in columns.values())
    places = np.arange(len(labels))
    whole = volume / availability
    missing = availability < 0.9995
    ax.bar(places, volume, color=_LIGHT, edgecolor=_MID, linewidth=0.5, label="total volume")
    if missing.any():
        ax.bar(
            places[missing],
            (whole - volume)[missing],
            bottom=volume[missing],
            color="white",
            edgecolor=_MID,
            hatch="////",
            linewidth=0.4,
            label="not covered, at the mean flow",
        )
    p = 100 * series.coverage_probability
    words = f"expanded uncertainty of the total, {p:g} %"
    ax.errorbar(
        places, volume, expanded, fmt="none", ecolor=_INK, elinewidth=0.9, capsize=2, label=words
    )
    step = -(-len(labels) // 12)
    ax.set_xticks(places[::step], labels[::step], rotation=30, ha="right", fontsize=8)
    ax.set_ylabel(f"volume / {series.volume_unit}")
    ax.legend(frameon=False, fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.28), ncols=2)
    plain_frame(ax)
    return ax


def _ticks(ax: Axes, times: Any, height: float, label: str) -> None:
    """Draw ticks at a height within the frame."""
    if len(times):
        ax.plot(
            times,
            np.full(len(times), height),
            "|",
            color=_INK if height < 0.5 else _MID,
            markersize=5,
            transform=ax.get_xaxis_transform(),
            label=label,
        )


def _grouped(used: Any, after_gap: Any, size: int) -> list[Any]:
    """Return rows in groups that no gap cuts; an empty group stands for a gap."""
    groups: list[Any] = []
    for stretch in np.split(used, np.searchsorted(used, after_gap)):
        groups += np.array_split(stretch, -(-len(stretch) // size)) if len(stretch) else []
        groups.append(stretch[:0])
    return groups[:-1]


def _of_groups(values: FloatArray, groups: list[Any], of: Any) -> FloatArray:
    return np.array([of(values[rows]) if len(rows) else np.nan for rows in groups])


def _positions(times: Any, groups: list[Any]) -> Any:
    """Return the middle of each group; a gap is where the row before it was."""
    places: list[Any] = []
    for rows in groups:
        places.append(times[rows[len(rows) // 2]] if len(rows) else places[-1])
    return np.array(places)
