"""Series: flow row by row, and the total volume."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from flowdoubt import _core
from flowdoubt.display.series import series_html
from flowdoubt.display.words import suffix_of
from flowdoubt.edge.arrays import FloatArray
from flowdoubt.edge.errors import refuse
from flowdoubt.edge.text import cell
from flowdoubt.models.jobs import progress_bar
from flowdoubt.site.readings import (
    amount,
    columns_of,
    is_listed,
    is_zoned,
    names_of,
    numbers_of,
    readings_of,
    seconds_of,
    times_of,
)
from flowdoubt.site.tables import in_our_names, is_file, status_of, with_our_names

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

    from flowdoubt.models.budget import Budget

_SI = {
    "volume_flow_m3_s": "flow",
    "standard_uncertainty_m3_s": "standard_uncertainty",
    "random_uncertainty_m3_s": "random_uncertainty",
    "reynolds_number": "reynolds",
}
_CHANNEL_UNITS = {
    "transit_time": "s",
    "time_difference": "s",
    "temperature": "delta_degC",
    "volume_flow": "m**3/s",
    "velocity": "m/s",
    "current": "A",
}


class Series(_core.Series):
    """Flow row by row and total volume of a log, each with its uncertainty.

    Made by `Site.evaluate_series`. Columns have the shape ``(rows,)`` of the log; a row that was
    not used is NaN in them and is listed in `rejected`.
    """

    # times as they were given, or None where the log has none but an interval
    _index: Any = None

    @property
    def clock(self) -> dict[str, Any] | None:
        """What became of the times of a clock in a time zone, where one was named.

        ``zone``; ``twice``, the rows in an hour that the clock ran through twice; ``skipped``, the
        rows at times that it leaps over.
        """
        if self._clock is None:
            return None
        return dict(zip(("zone", "twice", "skipped"), self._clock, strict=True))

    @property
    def seconds(self) -> FloatArray:
        """Time in seconds after the first, shape ``(rows,)``; NaN where it is not known."""
        return self._arrays["seconds"]

    def columns(self, si: bool = False) -> dict[str, FloatArray]:
        """Return the columns, shape ``(rows,)`` each, with the unit in their names.

        Parameters
        ----------
        si
            In SI units: read-only arrays in the memory of the series, not copied. Otherwise in the
            unit of the site.

        Returns
        -------
        dict
            Volume flow, its standard uncertainty, the part of it that is the row's own (the scatter
            of single readings; the rest is the same deviation in all rows), Reynolds number, and
            the signal under its own name, where it was asked for.

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
        >>> list(series.columns())[:2]
        ['volume_flow_m3_h', 'standard_uncertainty_m3_h']
        """
        arrays = self._arrays
        columns = {name: arrays[own] for name, own in _SI.items()}
        if self._signal is not None:
            name, values = self._signal
            columns[name] = np.asarray(values)
        if si:
            return columns
        symbol, factor = self._flow_unit
        suffix = suffix_of(symbol)
        return {
            name.replace("m3_s", suffix): values / factor if name.endswith("m3_s") else values
            for name, values in columns.items()
        }

    def to_pandas(self, si: bool = False) -> pd.DataFrame:
        """Return the columns as a data frame, indexed by the times as they were given.

        In SI units the columns are not copied.

        Parameters
        ----------
        si
            Flows in m3/s and volumes in m3, and not in the units of the site.

        Returns
        -------
        pandas.DataFrame
            A row for each row of the log.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

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
        >>> len(series.to_pandas())
        3
        """
        import pandas as pd

        frame = pd.DataFrame(self.columns(si), copy=False)
        if self._index is None:
            frame.index = pd.Index(self.seconds, name="time_s", copy=False)
        elif isinstance(self._index, pd.Index):
            frame.index = self._index
        else:
            values = self._index if is_listed(self._index) else np.asarray(self._index)
            frame.index = pd.Index(values, name=getattr(self._index, "name", None) or "time")
        return frame

    def to_polars(self, si: bool = False) -> pl.DataFrame:
        """Return the columns as a data frame, with the times as they were given.

        Parameters
        ----------
        si
            Flows in m3/s and volumes in m3, and not in the units of the site.

        Returns
        -------
        polars.DataFrame
            A row for each row of the log.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

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
        >>> series.to_polars().height
        3
        """
        import polars as pl

        if self._index is None:
            times = pl.Series("time_s", self.seconds)
        else:
            name = getattr(self._index, "name", None) or "time"
            listed = is_listed(self._index) or isinstance(self._index, pl.Series)
            times = pl.Series(name, self._index if listed else np.asarray(self._index))
        return pl.DataFrame([times]).with_columns(
            pl.Series(name, values) for name, values in self.columns(si).items()
        )

    def to_csv(self, si: bool = False) -> str:
        """Return row, time and columns as CSV text; cells of rows not used are empty.

        Parameters
        ----------
        si
            Flows in m3/s and volumes in m3, and not in the units of the site.

        Returns
        -------
        str
            CSV with a line for each row of the log.

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
        >>> len(series.to_csv().splitlines())
        4
        """
        columns = self.columns(si)
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(["row", "time_s" if self._index is None else "time", *map(cell, columns)])
        times = (self._time_at(row) for row in range(len(self)))
        numbers = zip(*(values.tolist() for values in columns.values()), strict=True)
        for row, (time, own) in enumerate(zip(times, numbers, strict=True)):
            time = cell(time) if isinstance(time, str) else time
            writer.writerow([row, time, *("" if value != value else value for value in own)])
        return text.getvalue()

    def save(self, path: str | os.PathLike[str], overwrite: bool = False) -> None:
        """Write `to_csv` to a file: as a whole or not at all, and over no file unless asked to.

        Parameters
        ----------
        path
            The file.
        overwrite
            Whether a file that exists may be replaced. It is written whole or not at all.

        Raises
        ------
        RecordError
            A file that exists, unless `overwrite` is asked for.
        InputError
            A file that cannot be written.

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
        >>> import os, tempfile
        >>> folder = tempfile.mkdtemp()
        >>> series.save(f"{folder}/flow.csv")
        >>> os.listdir(folder)
        ['flow.csv']
        """
        _core.write_whole(path, self.to_csv().encode(), overwrite)

    def _time_at(self, row: int) -> Any:
        if self._index is None:
            return float(self.seconds[row])
        index = self._index
        return index.iloc[row] if hasattr(index, "iloc") else index[row]

    @property
    def rejected(self) -> dict[str, list[Any]]:
        """The rows that were not used, as columns: row (from 0), time, code, reason in words."""
        rows = self._rejected
        return {
            "row": [row for row, _, _ in rows],
            "time": [self._time_at(row) for row, _, _ in rows],
            "code": [code for _, code, _ in rows],
            "reason": [words for _, _, words in rows],
        }

    @property
    def gaps(self) -> dict[str, list[Any]]:
        """The gaps, as columns: rows and times before and after, length, filled volume."""
        gaps, (unit, factor) = self._gaps, self._volume_unit
        return {
            "from_row": [before for before, _, _, _ in gaps],
            "to_row": [after for _, after, _, _ in gaps],
            "from_time": [self._time_at(before) for before, _, _, _ in gaps],
            "to_time": [self._time_at(after) for _, after, _, _ in gaps],
            "duration_s": [duration for _, _, duration, _ in gaps],
            f"filled_volume_{suffix_of(unit)}": [volume / factor for _, _, _, volume in gaps],
        }

    def periods(self, si: bool = False) -> dict[str, list[Any]]:
        """Return the totals of the calendar periods that were asked for, as columns.

        Parameters
        ----------
        si
            Volumes in m3. Otherwise in the unit of volume that goes with the flow of the site.

        Returns
        -------
        dict
            ``period`` as ``2026-10-25``, ``2026-W43`` or ``2026-10``; ``volume``, its
            ``standard_uncertainty``, ``random_uncertainty`` (the part that is the period's own, the
            scatter of readings: the rest is the same deviation in all periods and does not average
            out) and ``expanded_uncertainty``, with the unit in their names; ``duration_s``, the
            time that is covered, and ``availability``, its share of the period.

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
        >>> series.periods()["period"]
        []
        """
        unit, factor = ("m3", 1.0) if si else self._volume_unit
        end = suffix_of(unit)
        p = self.coverage_probability
        rows = self._periods
        return {
            "period": [label for label, *_ in rows],
            f"volume_{end}": [total.value(unit) for *_, total, _ in rows],
            f"standard_uncertainty_{end}": [total.result(unit)[1] for *_, total, _ in rows],
            f"random_uncertainty_{end}": [random / factor for *_, random in rows],
            f"expanded_uncertainty_{end}": [total.expanded(p).value(unit) for *_, total, _ in rows],
            "duration_s": [duration for _, _, _, duration, _, _ in rows],
            "availability": [duration / (end - start) for _, start, end, duration, _, _ in rows],
        }

    @property
    def period_budgets(self) -> dict[str, Budget]:
        """The budget of each calendar period, by its label."""
        return {label: total for label, _, _, _, total, _ in self._periods}

    def _repr_html_(self) -> str:
        return series_html(self, self.rejected, self.gaps, self.periods())


def evaluate_series(
    site: _core.Site,
    table: Any,
    *,
    time: Any,
    interval: Any,
    time_zone: str | None,
    rule: str,
    gaps: str,
    gap_factor: float,
    repeatability: Any,
    no_flow: Any,
    time_constant: Any,
    window: Any,
    status: Any,
    signal: Any,
    faults: Any,
    reverse: str,
    low_flow_cut_off: Any,
    period: str | None,
    stated: dict[str, Any] | None,
    progress: bool,
) -> Series:
    """Evaluate a log; see `Site.evaluate_series`."""
    if time_constant is not None and window is not None:
        raise refuse(
            "window: found beside time_constant; allowed: one of the two",
            code="conflict",
            field="window",
            value=window,
            allowed="a time constant or a window",
        )
    if reverse not in ("net", "separate"):
        raise refuse(
            f"reverse: found {reverse!r}; allowed: 'net' or 'separate'",
            code="unknown-name",
            field="reverse",
            value=reverse,
            allowed="'net' or 'separate'",
        )
    settings: dict[str, Any] = {
        "interval": _time("interval", interval),
        "rule": rule,
        "gaps": gaps,
        "gap_factor": float(gap_factor),
        "repeatability": _scatter(repeatability),
        "time_constant": _time("time_constant", time_constant),
        "window": _time("window", window),
        "time_zone": time_zone,
        "zoned": False,
        "status": status_rows(status),
        "signal": _signal(signal),
        "faults": _faults(faults),
        "separate": reverse == "separate",
        "low_flow_cut_off": None
        if low_flow_cut_off is None
        else amount("low_flow_cut_off", low_flow_cut_off, "m**3/s", "2 m3/h"),
        "period": period,
    }
    at_no_flow = None if no_flow is None else readings_of(in_our_names(site, no_flow))
    log: Any
    if is_file(table):
        if time is not None:
            raise refuse(
                "time: found beside a CSV file; allowed: a column `time` or `time_s` in it",
                code="conflict",
                field="time",
                allowed="a column `time` or `time_s` in the file",
            )
        log, times, index, rows = os.fspath(table), None, None, None
    else:
        settings["status"] = status_rows(status_of(site, table, status))
        kept = [named[0] for named in (settings["status"], settings["signal"]) if named is not None]
        kept += [time] if isinstance(time, str) else []
        table = with_our_names(site, table, stated, kept)
        times, index = times_of(table, time, interval)
        settings["zoned"] = is_zoned(index)
        others = _rows_of(table, settings)
        log = columns_of(table, missing=True, leave_out=others)
        if isinstance(time, str):
            log.pop(time, None)
        rows = max((len(column) for column in log.values()), default=0)
    with progress_bar(rows if progress else None, "series", "row") as looker:
        series = _core.evaluate_series(site, log, times, settings, at_no_flow, stated, looker)
    series._index = series._stamps if index is None else index
    return series


def _time(name: str, stated: Any) -> Any:
    return None if stated is None else seconds_of(name, stated)


def status_rows(status: Any) -> tuple[str, list[str]] | None:
    """Return the column of a status with the status of rows to use."""
    if status is None:
        return None
    if not isinstance(status, Mapping) or len(status) != 1:
        raise refuse(
            f"status: found {status!r}; allowed: a column with the status of rows to use, such as "
            "{'state': ['ok']}",
            code="wrong-type",
            field="status",
            value=status,
            allowed="a column with the status of rows to use",
        )
    ((column, accepted),) = status.items()
    listed = isinstance(accepted, Iterable) and not isinstance(accepted, str)
    return str(column), [str(own) for own in (accepted if listed else [accepted])]


def _signal(signal: Any) -> tuple[str, None, float | None] | None:
    if signal is None:
        return None
    if isinstance(signal, str):
        return signal, None, None
    if not isinstance(signal, Mapping) or len(signal) != 1:
        raise refuse(
            f"signal: found {signal!r}; allowed: the name of a column, or it with the least of "
            "rows to use, such as {'quality': 40}",
            code="wrong-type",
            field="signal",
            value=signal,
            allowed="the name of a column, or it with the least of rows to use",
        )
    ((column, least),) = signal.items()
    return str(column), None, float(least)


_FAULTS = {"codes": True, "spikes": 10.0, "velocity": 20.0, "sound_speed": 0.10}


def _faults(faults: Any) -> tuple[bool, float | None, float | None, float | None]:
    if faults == "none":
        return False, None, None, None
    if faults is not None and not (isinstance(faults, Mapping) and set(faults) <= set(_FAULTS)):
        raise refuse(
            f"faults: found {faults!r}; allowed: limits by the names {', '.join(_FAULTS)}, or "
            "'none'",
            code="wrong-type",
            field="faults",
            value=faults,
            allowed=f"limits by the names {', '.join(_FAULTS)}, or 'none'",
        )
    limits: dict[str, Any] = _FAULTS | dict(faults or {})
    spikes, velocity, sound_speed = (
        None if limits[name] is None else float(limits[name])
        for name in ("spikes", "velocity", "sound_speed")
    )
    return bool(limits["codes"]), spikes, velocity, sound_speed


def _rows_of(table: Any, settings: dict[str, Any]) -> list[str]:
    """Put status and signal of the rows of a table into the settings; return their columns."""
    named = []
    if settings["status"] is not None:
        column, accepted = settings["status"]
        named.append(column)
        own = ["" if value is None else str(value) for value in _column(table, column)]
        settings["status"] = (own, accepted)
    if settings["signal"] is not None:
        column, _, least = settings["signal"]
        named.append(column)
        settings["signal"] = (column, numbers_of(_column(table, column)).tolist(), least)
    return named


def _column(table: Any, column: str) -> Any:
    if column not in names_of(table):
        raise refuse(
            f"{column}: missing; needed: the column that `status` or `signal` names",
            code="missing",
            field=column,
            allowed="the column that `status` or `signal` names",
        )
    return table[column]


def _scatter(repeatability: Any) -> list[tuple[str, str | float]]:
    if repeatability is None:
        return []
    if repeatability == "none":
        return [(channel, 0.0) for channel in _CHANNEL_UNITS]
    if not isinstance(repeatability, Mapping):
        raise refuse(
            f"repeatability: found {repeatability!r}; allowed: standard deviations of single "
            "readings by channel, or 'none'",
            code="wrong-type",
            field="repeatability",
            value=repeatability,
            allowed="a mapping, or 'none'",
        )
    stated: list[tuple[str, str | float]] = []
    for channel, value in repeatability.items():
        unit = _CHANNEL_UNITS.get(channel, "s")
        value = amount(f"repeatability.{channel}", value, unit, "0.8 ns")
        stated.append((str(channel), value))
    return stated
