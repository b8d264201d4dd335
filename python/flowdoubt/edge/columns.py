"""Columns and tables of numbers from lists, numpy, pandas and polars; what is none is refused."""

from __future__ import annotations

from typing import Any

import numpy as np

from flowdoubt.edge.arrays import FloatArray
from flowdoubt.edge.errors import refuse


def numbers(name: str, values: Any) -> FloatArray:
    """Return numbers of any shape as an array; masked elements are not numbers."""
    if isinstance(values, np.ma.MaskedArray) and np.ma.is_masked(values):
        found: object = "masked elements"
    else:
        try:
            return np.asarray(values, dtype=np.float64)
        except (TypeError, ValueError) as error:
            found = error
    raise refuse(
        f"{name}: not numbers ({found}); allowed: numbers",
        code="wrong-type",
        field=name,
        value=found,
        allowed="numbers",
    ) from None


def _of_dimension(name: str, values: Any, shape: str) -> FloatArray:
    array = numbers(name, values)
    if array.ndim != shape.count("n"):
        raise refuse(
            f"{name}: found shape {array.shape}; allowed: {shape}",
            code="length",
            field=name,
            value=array.shape,
            allowed=shape,
        )
    return np.ascontiguousarray(array)


def column(name: str, values: Any) -> FloatArray:
    """Return a list, an array or a column of a data frame as an array of shape ``(n,)``."""
    return _of_dimension(name, values, "(n,)")


def matrix(name: str, values: Any) -> FloatArray:
    """Return nested lists, an array or a data frame as an array of two dimensions."""
    return _of_dimension(name, values, "(n, n)")


def column_or_same(name: str, values: Any, like: FloatArray) -> FloatArray:
    """Return a column; a single number stands for the same number at each place of ``like``."""
    array = numbers(name, values)
    return np.full(like.shape, float(array)) if array.ndim == 0 else column(name, values)


def aligned(**named: Any) -> tuple[list[FloatArray], tuple[int, ...]]:
    """Broadcast arguments against each other; return flat copies and the common shape."""
    arrays = [numbers(name, values) for name, values in named.items()]
    try:
        together = np.broadcast_arrays(*arrays)
    except ValueError:
        shapes = ", ".join(str(array.shape) for array in arrays)
        names = ", ".join(named)
        raise refuse(
            f"{names}: found shapes {shapes}; allowed: one shape, or single numbers",
            code="length",
            field=names,
            value=shapes,
            allowed="one shape, or single numbers",
        ) from None
    return [np.ascontiguousarray(a).ravel() for a in together], together[0].shape
