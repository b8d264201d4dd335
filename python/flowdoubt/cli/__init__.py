"""The command line: ``flowdoubt evaluate site.toml readings.csv``, ``plan``, ``verify``.

Exit status: 0 done, and the answer is yes where one is asked for; 1 the answer is no (does not
reproduce, does not conform, a target cannot be reached); 2 it could not be done (bad input, output
that cannot be written); 3 the verification is too uncertain to decide; 4 a fault of this software,
with a traceback; 130 interrupted.
"""

from __future__ import annotations

import io
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress

from flowdoubt._core import FlowdoubtError
from flowdoubt.cli.arguments import parser
from flowdoubt.cli.output import (
    DONE,
    FAULT,
    INTERRUPTED,
    NO,
    NOT_DONE,
    UNDECIDED,
    is_written,
    say,
)
from flowdoubt.edge.text import shown

__all__ = ["main"]


def _status(argv: Sequence[str] | None) -> int:
    """Do what is asked for and return the exit status; usage errors leave as argparse does."""
    try:
        arguments = parser().parse_args(argv)
        if sys.stdout is None:
            raise OSError("standard output is closed")
        return int(arguments.run(arguments))
    except (FlowdoubtError, ModuleNotFoundError, OverflowError, UnicodeError) as error:
        told = str(error)
    except MemoryError:
        told = "there is not enough memory"
    except OSError as error:
        told = f"cannot write what there is to say: {error}"
    with suppress(OSError):
        say(f"flowdoubt: {shown(told)}", beside=True)
    return NOT_DONE


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # signs that a terminal has no letters for are spelt out
            stream.reconfigure(errors="backslashreplace")
    try:
        status = _status(argv)
    except SystemExit:
        if not is_written(sys.stdout):
            return NOT_DONE
        raise
    except KeyboardInterrupt:
        status = INTERRUPTED
    except BaseException:
        # whatever it is, it is no answer
        status = FAULT
        with suppress(OSError):
            if sys.stderr is not None:
                traceback.print_exc()
    if not is_written(sys.stdout) and status in (DONE, NO, UNDECIDED):
        status = NOT_DONE
        with suppress(OSError):
            say("flowdoubt: cannot write what there is to say", beside=True)
    is_written(sys.stderr)
    return status
