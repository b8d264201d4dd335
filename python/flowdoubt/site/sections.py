"""Sections of a site from Python values, brought into the form of a site file."""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from flowdoubt._core import UnitError
from flowdoubt.edge.errors import refuse
from flowdoubt.site.readings import is_quantity

_ALLOWED = (
    "text such as '7.1 mm', a number with its unit such as (7.1, 'mm'), a pint quantity, and "
    "numbers, flags, text, dates, lists and mappings of these where a site file has them"
)

# pint's names of units that are written otherwise here; what is not listed is written alike
_SYMBOLS = {"°C": "degC", "Δ°C": "K", "°F": "degF", "°": "deg", "µm": "um", "µs": "us", "l": "L"}

# units of each kind of quantity in which one is written whose own unit is not known here
_FALLBACK = {
    "m/s/K": "meter/second/kelvin",
    "s/m": "second/meter",
    "1/K": "1/kelvin",
    "m3/s": "meter**3/second",
    "m2/s": "meter**2/second",
    "Pa s": "pascal*second",
    "kg/m3": "kilogram/meter**3",
    "m/s": "meter/second",
    "m": "meter",
    "s": "second",
    "Pa": "pascal",
    "rad": "radian",
    "Hz": "hertz",
    "K": "kelvin",
}

# units that are the same in pint and here, once powers are written without stars
_LENGTHS_AND_TIMES = {"m", "cm", "mm", "um", "in", "ft", "s", "ms", "us", "ns", "ps", "min", "h"}
_FLOWS = {"m/s", "mm/s", "ft/s", "m3/s", "m3/h", "L/s", "L/min", "L/h", "L", "m3"}
_STATES = {"K", "degC", "degF", "Pa", "kPa", "MPa", "GPa", "bar", "mbar", "psi", "1/K", "kg/m3"}
_OTHERS = {"deg", "rad", "%", "ppm", "g/kg", "Hz", "kHz", "MHz", "mm2/s", "m2/s", "cSt", "A", "mA"}
_KNOWN = _LENGTHS_AND_TIMES | _FLOWS | _STATES | _OTHERS


def sections_as_json(sections: Any) -> str:
    """Return the sections of a site as JSON, from which the core makes the text of its file."""
    if not isinstance(sections, Mapping):
        raise _refused("sections", sections, "a mapping of sections such as 'pipe' to their keys")
    return json.dumps(_plain("", sections))


def _plain(path: str, value: Any) -> Any:
    if isinstance(value, (str, bool)):
        return value
    if isinstance(value, Mapping):
        return {
            _key(path, key): _plain(f"{path}.{key}" if path else str(key), own)
            for key, own in value.items()
            if own is not None
        }
    if is_quantity(value):
        return _quantity(path, value)
    if isinstance(value, np.generic):
        return _plain(path, value.item())
    if isinstance(value, float) and not math.isfinite(value):
        raise _refused(path, value, "finite numbers")
    if isinstance(value, (int, float)):
        return value
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    if isinstance(value, tuple) and len(value) == 2 and isinstance(value[1], str):
        number = value[0]
        if not isinstance(number, (str, bool, Mapping)):
            return _with_unit(path, number, value[1])
    if isinstance(value, np.ndarray):
        return _plain(path, value.tolist())
    if isinstance(value, Sequence) and not isinstance(value, (bytes, bytearray)):
        return [_plain(f"{path}[{i + 1}]", own) for i, own in enumerate(value)]
    raise _refused(path, value, _ALLOWED)


def _key(path: str, key: Any) -> str:
    if isinstance(key, str):
        return key
    raise _refused(path or "sections", key, "names of sections and keys as text")


def _with_unit(path: str, number: Any, unit: str) -> Any:
    """Return text, or lists of text for lists of numbers."""
    if isinstance(number, np.ndarray):
        number = number.tolist()
    if isinstance(number, Sequence):
        return [_with_unit(f"{path}[{i + 1}]", own, unit) for i, own in enumerate(number)]
    if isinstance(number, np.generic):
        number = number.item()
    if isinstance(number, bool) or not isinstance(number, (int, float)):
        raise _refused(path, number, _ALLOWED)
    if not math.isfinite(number):
        raise _refused(path, number, "finite numbers")
    return f"{number!r} {unit}".strip()


def _quantity(path: str, quantity: Any) -> Any:
    written = f"{quantity.units:~C}".replace("**", "")
    written = _SYMBOLS.get(written, written)
    if quantity.units.dimensionless and written in {"", "1"}:
        return _with_unit(path, quantity.magnitude, "")
    if written in _KNOWN:
        return _with_unit(path, quantity.magnitude, written)
    for unit, pint_name in _FALLBACK.items():
        if quantity.is_compatible_with(pint_name):
            return _with_unit(path, quantity.to(pint_name).magnitude, unit)
    raise _refused(
        path, str(quantity.units), "a unit of a quantity that a site file states", UnitError
    )


def _refused(path: str, value: Any, allowed: str, kind: Any = None) -> Exception:
    return refuse(
        f"{path}: found {value!r}; allowed: {allowed}",
        code="wrong-type",
        field=path,
        value=value,
        allowed=allowed,
        **({} if kind is None else {"kind": kind}),
    )
