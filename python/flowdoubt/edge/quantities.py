"""Results as quantities of the package pint, which is imported when asked for."""

from __future__ import annotations

import re
from typing import Any, Protocol


class _WithResult(Protocol):
    @property
    def unit(self) -> str: ...
    def result(self, unit: str | None = None) -> tuple[float, float]: ...


_NAMES = {"1": "dimensionless", "": "dimensionless", "%": "percent", "D": "dimensionless"}
_DIFFERENCES = {"degC": "delta_degC", "degF": "delta_degF"}


def unit_name(symbol: str) -> str:
    """Return the symbol of a unit as pint reads it."""
    if symbol in _NAMES:
        return _NAMES[symbol]
    powers = re.sub(r"(?<=[A-Za-z])([23])", r"**\1", symbol)
    return powers.replace("Imp gal", "imperial_gallon").replace(" ", "*")


def result_of(result: _WithResult, registry: Any = None) -> tuple[Any, Any]:
    """Return estimate and standard uncertainty as quantities of a registry.

    Without one they are of ``pint.application_registry``.
    """
    if registry is None:
        import pint

        registry = pint.application_registry
    value, u = result.result()
    name = unit_name(result.unit)
    difference = _DIFFERENCES.get(name, name)
    return registry.Quantity(value, name), registry.Quantity(u, difference)
