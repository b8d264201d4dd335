"""Series: flow row by row, and the total volume."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from flowdoubt import _flowdoubt
from flowdoubt._arrays import FloatArray
from flowdoubt._errors import refuse
from flowdoubt._flowdoubt import Budget, Expanded
from flowdoubt._jobs import progress_bar
from flowdoubt._readings import (
    columns_of,
    is_quantity,
    magnitude,
    seconds_of,
    times_of,
)

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

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
}


class Series:
    """Flow row by row and total volume of a log, each with its uncertainty.

    Made by `Site.evaluate_series`. Columns have the shape ``(rows,)`` of the log; a row that was
    not used is NaN in them and is listed in `rejected`.
    """

    def __init__(self, core: _flowdoubt.SeriesCore, index: Any) -> None:
        self._core = core
        self._index = index

    @property
    def site(self) -> str:
        """The name of the site."""
        return self._core.site

    @property
    def total(self) -> Budget:
        """The budget of the total volume: estimate, standard uncertainty and lines, in m3."""
        return self._core.total

    def expanded(self, coverage_probability: float | None = None) -> Expanded:
        """Return the expanded uncertainty of the total, in m3.

        Parameters
        ----------
        coverage_probability
            That of the site if not given.
        """
        return self._core.expanded(coverage_probability)

    @property
    def duration(self) -> float:
        """The time that the total covers, in s."""
        return self._core.duration

    @property
    def usual_step(self) -> float:
        """The usual step between rows, in s."""
        return self._core.usual_step

    @property
    def mean_flow(self) -> float:
        """The total volume over the time that it covers, in m3/s."""
        return self._core.mean_flow

    @property
    def filled_volume(self) -> float:
        """The volume by which gaps were filled, in m3; the total contains it."""
        return self._core.filled_volume

    @property
    def counts(self) -> dict[str, int]:
        """How many rows were used and how many not and why; resets, gaps, regimes."""
        return self._core.counts

    @property
    def flow_unit(self) -> str:
        """The unit in which the site shows its flow."""
        return self._core.flow_unit[0]

    @property
    def seconds(self) -> FloatArray:
        """Time in seconds after the first, shape ``(rows,)``; NaN where it is not known."""
        return self._core.arrays["seconds"]

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
            of single readings; the rest is the same deviation in all rows), Reynolds number.
        """
        arrays = self._core.arrays
        columns = {name: arrays[own] for name, own in _SI.items()}
        if si:
            return columns
        symbol, factor = self._core.flow_unit
        suffix = symbol.replace("/", "_").replace(" ", "_")
        return {
            name.replace("m3_s", suffix): values / factor if name.endswith("m3_s") else values
            for name, values in columns.items()
        }

    def to_pandas(self, si: bool = False) -> pd.DataFrame:
        """Return the columns as a data frame, indexed by the times as they were given.

        In SI units the columns are not copied.
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
        """Return the columns as a data frame, with the times as they were given."""
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
        """Return row, time and columns as CSV text; cells of rows not used are empty."""
        columns = self.columns(si)
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(["row", "time_s" if self._index is None else "time", *columns])
        times = (self._time_at(row) for row in range(len(self)))
        numbers = zip(*(values.tolist() for values in columns.values()), strict=True)
        for row, (time, own) in enumerate(zip(times, numbers, strict=True)):
            writer.writerow([row, time, *("" if value != value else value for value in own)])
        return text.getvalue()

    def save(self, path: str | os.PathLike[str], overwrite: bool = False) -> None:
        """Write `to_csv` to a file: as a whole or not at all, and over no file unless asked to."""
        _flowdoubt.write_whole(path, self.to_csv().encode(), overwrite)

    def _time_at(self, row: int) -> Any:
        if self._index is None:
            return float(self.seconds[row])
        index = self._index
        return index.iloc[row] if hasattr(index, "iloc") else index[row]

    @property
    def rejected(self) -> dict[str, list[Any]]:
        """The rows that were not used, as columns: row (from 0), time, code, reason in words."""
        rows = self._core.rejected
        return {
            "row": [row for row, _, _ in rows],
            "time": [self._time_at(row) for row, _, _ in rows],
            "code": [code for _, code, _ in rows],
            "reason": [words for _, _, words in rows],
        }

    @property
    def gaps(self) -> dict[str, list[Any]]:
        """The gaps, as columns: rows and times before and after, length, filled volume."""
        gaps = self._core.gaps
        return {
            "from_row": [before for before, _, _, _ in gaps],
            "to_row": [after for _, after, _, _ in gaps],
            "from_time": [self._time_at(before) for before, _, _, _ in gaps],
            "to_time": [self._time_at(after) for _, after, _, _ in gaps],
            "duration_s": [duration for _, _, duration, _ in gaps],
            "filled_volume_m3": [volume for _, _, _, volume in gaps],
        }

    @property
    def headline(self) -> str:
        """The total volume with its expanded uncertainty, in one line."""
        return self._core.headline

    @property
    def findings(self) -> list[str]:
        """How many rows were used and what became of the others, one sentence each."""
        return self._core.findings

    def __len__(self) -> int:
        return self.counts["rows"]

    def __repr__(self) -> str:
        return f"<Series of {self.site!r}: {self.headline}>"

    def __str__(self) -> str:
        return self._core.in_words

    def _repr_html_(self) -> str:
        from flowdoubt._series_display import series_html

        return series_html(self)


def is_listed(index: Any) -> bool:
    """Whether times are a plain list."""
    return isinstance(index, (list, tuple))


def evaluate_series(
    site: _flowdoubt.Site,
    table: Any,
    time: Any,
    interval: Any,
    rule: str,
    gaps: str,
    gap_factor: float,
    repeatability: Any,
    progress: bool,
) -> Series:
    """Evaluate a log; see `Site.evaluate_series`."""
    scatter = _scatter(repeatability)
    interval = None if interval is None else seconds_of("interval", interval)
    log: Any
    if isinstance(table, (str, os.PathLike)):
        if time is not None:
            raise refuse(
                "time: found beside a CSV file; allowed: a column `time` or `time_s` in it",
                code="conflict",
                field="time",
                allowed="a column `time` or `time_s` in the file",
            )
        log, times, index, rows = os.fspath(table), None, None, None
    else:
        times, index = times_of(table, time, interval)
        log = columns_of(table, missing=True)
        if isinstance(time, str):
            log.pop(time, None)
        rows = max((len(column) for column in log.values()), default=0)
    with progress_bar(rows if progress else None, "series", "row") as looker:
        core = _flowdoubt.evaluate_series(
            site, log, times, interval, rule, gaps, float(gap_factor), scatter, looker
        )
    return Series(core, index)


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
        if is_quantity(value):
            unit = _CHANNEL_UNITS.get(channel, "s")
            value = float(magnitude(f"repeatability.{channel}", value, unit))
        stated.append((str(channel), value if isinstance(value, str) else float(value)))
    return stated
