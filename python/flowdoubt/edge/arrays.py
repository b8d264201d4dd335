"""Broadcasting of arguments for functions that take arrays of one dimension."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flowdoubt import _core

FloatArray: TypeAlias = NDArray[np.float64]
FloatOrArray: TypeAlias = float | FloatArray


def _numbers(given: ArrayLike) -> FloatArray:
    """Return an array of numbers: text and None are none, though numpy would read them so."""
    whole = np.asarray(given)
    if whole.dtype.kind in "OSUV" and any(
        each is None or isinstance(each, (str, bytes)) for each in whole.ravel()
    ):
        raise TypeError(f"found {given!r:.60}, in which something is text or None")
    return whole.astype(np.float64)


def flattened(*arguments: ArrayLike) -> tuple[list[FloatArray], tuple[int, ...]]:
    """Broadcast arguments against each other; return flat copies and the common shape."""
    try:
        arrays = np.broadcast_arrays(*map(_numbers, arguments))
    except (TypeError, ValueError) as error:
        # numpy says which shape or value does not fit
        raise _core.InputError(f"arguments: not numbers that fit together ({error})") from None
    return [np.ascontiguousarray(a).ravel() for a in arrays], arrays[0].shape


def shaped(values: FloatArray, shape: tuple[int, ...]) -> FloatOrArray:
    """Give flat values the shape of the arguments: a float where all of them were scalars."""
    return values.reshape(shape) if shape else float(values[0])


def elementwise(function: Callable[..., FloatArray], *arguments: ArrayLike) -> FloatOrArray:
    """Apply a function of flat arrays to arguments of any shape."""
    flat, shape = flattened(*arguments)
    return shaped(function(*flat), shape)
