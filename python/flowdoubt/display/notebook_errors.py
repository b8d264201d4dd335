"""Errors in a notebook: the message and the line of the user, nothing of the insides."""

from __future__ import annotations

import os
from types import TracebackType

from flowdoubt._core import FlowdoubtError

# the package, and not this room alone
_HERE = os.path.dirname(os.path.dirname(__file__))


def to_the_call(traceback: TracebackType | None) -> TracebackType | None:
    """Return the traceback as far as the call that entered the package."""
    frames = []
    while traceback is not None and not traceback.tb_frame.f_code.co_filename.startswith(_HERE):
        frames.append(traceback)
        traceback = traceback.tb_next
    kept = None
    for own in reversed(frames):
        kept = TracebackType(kept, own.tb_frame, own.tb_lasti, own.tb_lineno)
    return kept


def _render(error: FlowdoubtError) -> list[str]:
    """Return the lines that IPython shows for an error."""
    from IPython import get_ipython  # only IPython calls this

    shown = get_ipython().InteractiveTB
    lines: list[str] = shown.structured_traceback(
        type(error), error, to_the_call(error.__traceback__), tb_offset=shown.tb_offset
    )
    return lines


def install() -> None:
    """Let IPython end the tracebacks of our errors at the call of the user."""
    # IPython asks for a method of this name
    FlowdoubtError._render_traceback_ = _render  # type: ignore[attr-defined]
