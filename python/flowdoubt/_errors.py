"""Errors raised by the Python side, with the same attributes as those of the core."""

from __future__ import annotations

from typing import Any

from flowdoubt._flowdoubt import FlowdoubtError, InputError


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
    error = kind(message)
    error.code, error.field, error.allowed = code, field, allowed
    error.value = None if value is None else str(value)
    return error
