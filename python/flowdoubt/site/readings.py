"""Columns of readings from mappings, pandas and polars, with pint quantities and times."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flowdoubt._core import InputError, UnitError
from flowdoubt.edge.arrays import FloatArray
from flowdoubt.edge.errors import refuse
from flowdoubt.edge.text import shown

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

# the path of a CSV file, or columns by name
Readings: TypeAlias = (
    "str | os.PathLike[str] | Mapping[str, ArrayLike] | pd.DataFrame | pl.DataFrame"
)

# Columns of words, which an evaluation keeps out.
NOT_NUMBERS = ("time", "remark")

# The unit in which a quantity with a unit of its own is handed over, and the name that says so.
_CHANNELS = {
    "transit_time": ("s", "transit_time_s"),
    "time_difference": ("s", "time_difference_s"),
    "temperature": ("kelvin", "temperature_K"),
    "volume_flow": ("m**3/s", "volume_flow_m3_s"),
    "velocity": ("m/s", "velocity_m_s"),
    "current": ("A", "current_A"),
    "totaliser": ("m**3", "totaliser_m3"),
    "time": ("s", "time_s"),
}


def is_quantity(value: Any) -> bool:
    """Whether a value is a pint quantity; pint is not imported to find out."""
    return type(value).__module__.partition(".")[0] == "pint" and hasattr(value, "magnitude")


def magnitude(name: str, quantity: Any, unit: str) -> Any:
    """Return the numbers of a pint quantity in a unit."""
    import pint

    try:
        return quantity.to(unit).magnitude
    except (pint.DimensionalityError, pint.OffsetUnitCalculusError) as error:
        raise refuse(
            f"{name}: found a quantity in {quantity.units} ({error}); allowed: one that can be "
            f"given in {unit}",
            code="wrong-dimension",
            field=name,
            value=str(quantity.units),
            allowed=unit,
            kind=UnitError,
        ) from None


def amount(name: str, value: Any, unit: str, example: str) -> Any:
    """Return text as it is, a pint quantity as its number in a unit; refuse a plain number."""
    if isinstance(value, str):
        return value
    if is_quantity(value):
        return float(magnitude(name, value, unit))
    raise refuse(
        f"{name}: found {value!r}, which has no unit; allowed: text such as {example!r}, or a pint "
        "quantity",
        code="wrong-type",
        field=name,
        value=value,
        allowed=f"text with a unit such as {example!r}, or a pint quantity",
    )


def seconds_of(name: str, interval: Any) -> Any:
    """Return an interval as text with a unit, or in seconds where it knows its unit."""
    if is_quantity(interval):
        return float(magnitude(name, interval, "s"))
    if isinstance(interval, np.timedelta64):
        return float(interval / np.timedelta64(1, "s"))
    if isinstance(interval, timedelta):
        return interval.total_seconds()
    if isinstance(interval, str):
        return interval
    raise refuse(
        f"{name}: found {interval!r}; allowed: text with a unit such as '60 s', a timedelta or a "
        "pint quantity",
        code="wrong-type",
        field=name,
        value=interval,
        allowed="text with a unit, a timedelta or a pint quantity",
    )


def names_of(table: Any) -> list[Any]:
    """Return the names of the columns of a mapping or a data frame."""
    if not isinstance(table, Mapping) and not hasattr(table, "columns"):
        raise refuse(
            f"readings: found {table!r}; allowed: the path of a CSV file, a mapping of names to "
            "columns, a pandas or polars data frame",
            code="wrong-type",
            field="readings",
            value=table,
            allowed="a path, a mapping of names to columns, a data frame",
        )
    return list(table.keys()) if isinstance(table, Mapping) else list(table.columns)


def _numbers(values: Any, missing: bool) -> FloatArray:
    try:
        # a view where the column is of 64-bit floats
        return np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        if not missing:
            raise
    if hasattr(values, "to_numpy") and hasattr(values, "isna"):
        values = values.astype(object).where(values.notna(), np.nan)
    numbers = np.array([_number(value) for value in values], dtype=np.float64)
    if numbers.size and np.isnan(numbers).all():
        raise ValueError("no number in it")
    return numbers


def _number(value: Any) -> float:
    try:
        return float(value)
    except (TypeError, ValueError):
        return float("nan")


def numbers_of(values: Any) -> FloatArray:
    """Return a column as numbers; what is none becomes NaN."""
    return np.array([_number(value) for value in values], dtype=np.float64)


def readings_of(readings: Readings) -> str | dict[str, FloatArray]:
    """Return readings as the core takes them: the path of a CSV file, or arrays by name."""
    if isinstance(readings, (str, os.PathLike)):
        return os.fspath(readings)
    return columns_of(readings)


def columns_of(
    table: Any, *, missing: bool = False, leave_out: Sequence[str] = ()
) -> dict[str, FloatArray]:
    """Turn a mapping or a data frame into arrays of one dimension by name.

    A column of 64-bit floats is not copied. With `missing` what is no number becomes NaN.
    """
    columns = {}
    names = names_of(table)
    if not missing and any(map(_is_counted, names)) and not any(map(_is_seconds, names)):
        times, _ = times_of(table, None, None) if _has_times(table) else (None, None)
        if times is not None:
            columns["time_s"] = _seconds_after_first(times)
    for name in names:
        if name in NOT_NUMBERS or name in leave_out or (missing and _is_time(name)):
            continue
        values, given = table[name], name
        if type(values) is np.ndarray and values.dtype == np.float64 and values.ndim == 1:
            # nothing to find out: a call from a loop should not pay for it
            columns[str(name)] = np.ascontiguousarray(values)
            continue
        if str(getattr(values, "dtype", "")).startswith("pint["):
            values = values.pint.quantity
        if is_quantity(values):
            if name not in _CHANNELS:
                raise refuse(
                    f"{name}: found a quantity with a unit of its own ({values.units}); allowed: "
                    f"the names {', '.join(c for c in _CHANNELS if c != 'time')}",
                    code="conflict",
                    field=str(name),
                    value=str(values.units),
                    allowed="a name without a unit",
                )
            unit, name = _CHANNELS[name]
            values = magnitude(given, values, unit)
        try:
            numbers = _numbers(values, missing)
        except (TypeError, ValueError) as error:
            raise refuse(
                f"{given}: not a column of numbers ({error})",
                code="wrong-type",
                field=str(given),
                allowed="numbers",
            ) from None
        if numbers.ndim != 1:
            raise InputError(f"{shown(str(given))}: found shape {numbers.shape}; allowed: (n,)")
        columns[str(name)] = np.ascontiguousarray(numbers)
    return columns


def _is_counted(name: Any) -> bool:
    """Whether a column is one of counts, which are a flow only with the time that they took."""
    return name in ("pulses", "pulse_count") or str(name).startswith("totaliser")


def _is_seconds(name: Any) -> bool:
    return name in _TIME_UNITS


def _has_times(table: Any) -> bool:
    index = getattr(getattr(table, "index", None), "dtype", None)
    return "time" in names_of(table) or getattr(index, "kind", "") == "M"


def _seconds_after_first(times: Any) -> FloatArray:
    """Return times, as `times_of` has them, in seconds after the first."""
    points = np.asarray(times, dtype="datetime64[ns]").astype(np.int64)
    return np.ascontiguousarray((points - points[:1]) / 1e9, dtype=np.float64)


_TIME_UNITS = {"time_s": 1.0, "time_ms": 1e-3, "time_min": 60.0, "time_h": 3600.0}


def _is_time(name: Any) -> bool:
    return name == "time" or name in _TIME_UNITS


Times = NDArray[np.int64] | FloatArray | list[str] | None


def times_of(table: Any, time: Any, interval: Any) -> tuple[Times, Any]:
    """Return the times of a table and what is to be the index of results.

    `time` is the name of a column or the times themselves. Without it they are a column ``time``
    or ``time_s``, or the index of a pandas data frame if it is one of times.
    """
    if time is None:
        named = [name for name in names_of(table) if _is_time(name)]
        index = getattr(table, "index", None)
        if len(named) > 1:
            raise refuse(
                f"time: found the columns {', '.join(named)}; allowed: one of them",
                code="conflict",
                field="time",
                value=", ".join(named),
                allowed="one column of time",
            )
        if named:
            time = named[0]
        elif getattr(getattr(index, "dtype", None), "kind", "") == "M":
            time = index
    if interval is not None:
        if time is not None:
            raise refuse(
                "interval: found an interval beside times; allowed: one of the two",
                code="conflict",
                field="interval",
                value=interval,
                allowed="an interval or times",
            )
        return None, None
    if time is None:
        raise refuse(
            "time: missing; needed: a column `time` or `time_s`, an index of times, or interval=",
            code="missing",
            field="time",
            allowed="a column `time` or `time_s`, an index of times, or interval=",
        )
    scale = None
    if isinstance(time, str):
        if time not in names_of(table):
            raise refuse(
                f"time: no column {time}",
                code="missing",
                field="time",
                value=time,
                allowed="the name of a column, or times",
            )
        scale = _TIME_UNITS.get(time)
        time = table[time]
    return _read_times(time, scale), time


def is_listed(index: Any) -> bool:
    """Whether times are a plain list."""
    return isinstance(index, (list, tuple))


def is_zoned(values: Any) -> bool:
    """Whether datetimes know their zone."""
    in_pandas = getattr(getattr(values, "dt", values), "tz", None)
    in_polars = getattr(getattr(values, "dtype", None), "time_zone", None)
    return in_pandas is not None or in_polars is not None


def _read_times(values: Any, scale: float | None) -> Times:
    if is_quantity(values):
        return np.ascontiguousarray(magnitude("time", values, "s"), dtype=np.float64)
    if scale is not None:
        numbers = _numbers(values, missing=True)
        return np.ascontiguousarray(numbers * scale if scale != 1.0 else numbers)
    # pandas keeps a time zone apart from the times, polars and numpy have universal time
    zoned = getattr(values, "dt", values)
    if getattr(zoned, "tz", None) is not None and hasattr(zoned, "tz_convert"):
        values = zoned.tz_convert("UTC")
        values = getattr(values, "dt", values).tz_localize(None)
    array = np.asarray(values)
    if array.dtype.kind == "M":
        return np.ascontiguousarray(array.astype("datetime64[ns]")).view(np.int64)
    if array.dtype.kind in "OUT":
        return [_text(value) for value in array.tolist()]
    raise refuse(
        f"time: found {array.dtype}; allowed: text such as 2026-09-17T10:00:05, datetimes, or a "
        "column time_s of seconds",
        code="wrong-type",
        field="time",
        value=array.dtype,
        allowed="text, datetimes, or a column time_s",
    )


def _text(value: Any) -> str:
    if isinstance(value, str):
        return value
    return str(value.isoformat()) if hasattr(value, "isoformat") else ""
