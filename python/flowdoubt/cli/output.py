"""Exit statuses, and what is said on a terminal."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import Any

from flowdoubt.edge.text import shown_lines

# 1 is an answer and nothing else: whoever asks whether a record reproduces must not be told "no" by
# a full disk
DONE, NO, NOT_DONE, UNDECIDED, FAULT, INTERRUPTED = 0, 1, 2, 3, 4, 130


def say(words: object, beside: bool = False) -> None:
    """Print lines; `beside` the result, on standard error."""
    stream = sys.stderr if beside else sys.stdout
    # print would take standard output for a stream that is closed
    if stream is not None:
        print(shown_lines(str(words)), file=stream)


def is_written(stream: Any) -> bool:
    """Whether all that was said on a stream has left; what cannot leave is dropped."""
    if stream is None:
        return True
    try:
        stream.flush()
    except OSError:
        # or the interpreter would try once more at its end
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        return False
    return True
