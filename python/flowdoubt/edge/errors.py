"""Errors raised by the Python side, with the same attributes as those of the core."""

from __future__ import annotations

import os
from typing import Any

from flowdoubt._core import FlowdoubtError, InputError, RangeError
from flowdoubt.edge.text import shown


def whole(name: str, value: Any, least: int = 1) -> int:
    """Return a whole number; refuse what is none, or is below the least."""
    number = value.__index__() if hasattr(value, "__index__") else None
    if number is None or isinstance(value, bool) or not least <= number < 2**64:
        raise refuse(
            f"{name}: found {value!r}; allowed: whole numbers, {least} or above, such as 1_000_000",
            code="out-of-range" if number is not None else "wrong-type",
            field=name,
            value=value,
            allowed=f"whole numbers, {least} or above",
            kind=InputError if number is None else RangeError,
        )
    return int(number)


def file_path(name: str, path: Any) -> str | os.PathLike[str]:
    """Return the path of a file as it is; refuse what is none."""
    if isinstance(path, (str, os.PathLike)):
        return path
    raise refuse(
        f"{name}: found {path!r}; allowed: the path of a file",
        code="wrong-type",
        field=name,
        value=path,
        allowed="the path of a file",
    )


def refuse(
    message: str,
    *,
    code: str = "conflict",
    field: str | None = None,
    value: Any = None,
    allowed: str | None = None,
    kind: type[FlowdoubtError] = InputError,
) -> FlowdoubtError:
    """Make an error that names the field, what was found and what is allowed."""
    error = kind(shown(message))
    error.code, error.allowed = code, allowed
    error.field = None if field is None else shown(field)
    error.value = None if value is None else shown(str(value))
    return error
