"""Dual numbers for models written in Python.

A `Dual` carries a value and its derivatives through arithmetic and through the numpy functions that
have derivatives. Value and derivatives may be numbers, arrays or duals again, which gives higher
derivatives. What has no derivative raises an error instead of losing it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

from flowdoubt.edge.errors import refuse

# Derivatives of a function of one argument: from the argument and the value to the slope.
_Slope: TypeAlias = Callable[[Any, Any], Any]

_LN2, _LN10 = float(np.log(2.0)), float(np.log(10.0))

_OF_ONE: dict[np.ufunc, _Slope] = {
    np.positive: lambda x, y: 1.0,
    np.negative: lambda x, y: -1.0,
    np.reciprocal: lambda x, y: -y * y,
    np.square: lambda x, y: 2.0 * x,
    np.sqrt: lambda x, y: 0.5 / y,
    np.cbrt: lambda x, y: 1.0 / (3.0 * y * y),
    np.exp: lambda x, y: y,
    np.exp2: lambda x, y: y * _LN2,
    np.expm1: lambda x, y: y + 1.0,
    np.log: lambda x, y: 1.0 / x,
    np.log2: lambda x, y: 1.0 / (x * _LN2),
    np.log10: lambda x, y: 1.0 / (x * _LN10),
    np.log1p: lambda x, y: 1.0 / (1.0 + x),
    np.sin: lambda x, y: np.cos(x),
    np.cos: lambda x, y: -np.sin(x),
    np.tan: lambda x, y: 1.0 + y * y,
    np.arcsin: lambda x, y: 1.0 / np.sqrt(1.0 - x * x),
    np.arccos: lambda x, y: -1.0 / np.sqrt(1.0 - x * x),
    np.arctan: lambda x, y: 1.0 / (1.0 + x * x),
    np.sinh: lambda x, y: np.cosh(x),
    np.cosh: lambda x, y: np.sinh(x),
    np.tanh: lambda x, y: 1.0 - y * y,
    np.arcsinh: lambda x, y: 1.0 / np.sqrt(x * x + 1.0),
    np.arccosh: lambda x, y: 1.0 / np.sqrt(x * x - 1.0),
    np.arctanh: lambda x, y: 1.0 / (1.0 - x * x),
    np.degrees: lambda x, y: 180.0 / np.pi,
    np.rad2deg: lambda x, y: 180.0 / np.pi,
    np.radians: lambda x, y: np.pi / 180.0,
    np.deg2rad: lambda x, y: np.pi / 180.0,
}

# Functions of two arguments: from both arguments and the value to both slopes.
_OF_TWO: dict[np.ufunc, Callable[[Any, Any, Any], tuple[Any, Any]]] = {
    np.add: lambda a, b, y: (1.0, 1.0),
    np.subtract: lambda a, b, y: (1.0, -1.0),
    np.multiply: lambda a, b, y: (b, a),
    np.divide: lambda a, b, y: (1.0 / b, -y / b),
    np.arctan2: lambda a, b, y: (b / (a * a + b * b), -a / (a * a + b * b)),
    np.hypot: lambda a, b, y: (a / y, b / y),
    np.logaddexp: lambda a, b, y: (np.exp(a - y), np.exp(b - y)),
}

# These choose one of their arguments, by value.
_CHOOSE_FIRST: dict[np.ufunc, np.ufunc] = {
    np.maximum: np.greater_equal,
    np.fmax: np.greater_equal,
    np.minimum: np.less_equal,
    np.fmin: np.less_equal,
}

_BY_VALUE = frozenset(
    {
        np.less,
        np.less_equal,
        np.greater,
        np.greater_equal,
        np.equal,
        np.not_equal,
        np.isfinite,
        np.isnan,
        np.isinf,
        np.signbit,
    }
)


def _value(x: Any) -> Any:
    return x.value if isinstance(x, Dual) else x


def plain(x: Any) -> Any:
    """Strip all derivatives, of any order."""
    while isinstance(x, Dual):
        x = x.value
    return x


def _no_derivative(name: str) -> Exception:
    return refuse(
        f"{name} has no derivative that a dual number can carry; use a function of numpy that has "
        'one, or propagate(..., derivatives="differences")',
        code="no-derivative",
        field=name,
        allowed="numpy functions with a derivative",
    )


class Dual(NDArrayOperatorsMixin):
    """A value with its derivatives.

    Parameters
    ----------
    value
        The value: a number, or a dual for higher derivatives.
    slope
        Its derivatives: a number, an array of shape ``(n,)`` for ``n`` variables, or a dual.
    """

    __slots__ = ("slope", "value")
    __array_priority__ = 1000

    def __init__(self, value: Any, slope: Any) -> None:
        self.value = value
        self.slope = slope

    def __array_ufunc__(self, ufunc: np.ufunc, method: str, *inputs: Any, **kwargs: Any) -> Any:
        if method != "__call__" or kwargs:
            raise _no_derivative(f"numpy.{ufunc.__name__}.{method}")
        if ufunc in _BY_VALUE:
            return ufunc(*(plain(x) for x in inputs))
        if ufunc is np.absolute or ufunc is np.fabs:
            return -self if plain(self) < 0 else self
        if ufunc is np.power or ufunc is np.float_power:
            return _power(*inputs)
        values = [_value(x) for x in inputs]
        if ufunc in _OF_ONE:
            y = ufunc(*values)
            return Dual(y, self.slope * _OF_ONE[ufunc](values[0], y))
        if ufunc in _CHOOSE_FIRST:
            first = _CHOOSE_FIRST[ufunc](*(plain(x) for x in inputs))
            return inputs[0] if first else inputs[1]
        if ufunc in _OF_TWO:
            y = ufunc(*values)
            slopes = _OF_TWO[ufunc](values[0], values[1], y)
            terms = [
                x.slope * slope
                for x, slope in zip(inputs, slopes, strict=True)
                if isinstance(x, Dual)
            ]
            return Dual(y, terms[0] if len(terms) == 1 else terms[0] + terms[1])
        raise _no_derivative(f"numpy.{ufunc.__name__}")

    def __array_function__(
        self, function: Callable[..., Any], types: Any, args: Any, kwargs: Any
    ) -> Any:
        if function is np.where and len(args) == 3 and not kwargs:
            condition, if_true, if_false = args
            if np.ndim(plain(condition)) == 0:
                return if_true if plain(condition) else if_false
        raise _no_derivative(f"numpy.{function.__name__}")

    def __float__(self) -> float:
        raise _no_derivative("float(), and with it every function of the module math,")

    def __bool__(self) -> bool:
        return bool(plain(self))

    def __repr__(self) -> str:
        return f"Dual({self.value!r}, {self.slope!r})"


def _power(base: Any, exponent: Any) -> Dual:
    b, e = _value(base), _value(exponent)
    y = np.power(b, e)
    slope: Any = 0.0
    if isinstance(base, Dual):
        # e b^(e-1) holds for a base of zero and below as well, where the logarithm does not exist
        slope = base.slope * (e * np.power(b, e - 1)) if np.any(plain(e) != 0) else 0.0 * base.slope
    if isinstance(exponent, Dual):
        slope = slope + exponent.slope * (y * np.log(b))
    return Dual(y, slope)
