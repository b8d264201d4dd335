"""Calls what is public with hostile arguments at random, in a plain loop.

    python tests/fuzz/calls.py --seconds 60

Every call has a result or raises a ValueError of the package or a TypeError whose words can be
printed. The first that does not is printed, and the exit status is 1.
"""

import argparse
import inspect
import os
import random
import sys
import tempfile
import time
import warnings
from pathlib import Path

import matplotlib as mpl

sys.path.insert(0, str(Path(__file__).parents[1] / "python"))
mpl.use("agg")
os.chdir(Path(__file__).parents[2])

from test_hostile_arguments import ENTRIES, HOSTILE, LEFT_OUT, PLAUSIBLE, outcome  # noqa: E402

from flowdoubt.plots.drawing import apart_from_pyplot  # noqa: E402

VALUES = [*HOSTILE.values(), *PLAUSIBLE.values()]


def parameters(entry):
    """The names of arguments, and those that must be given."""
    try:
        every = inspect.signature(entry).parameters.values()
    except ValueError:
        return [], set()
    every = [own for own in every if own.kind not in (own.VAR_POSITIONAL, own.VAR_KEYWORD)]
    names = [own.name for own in every if own.name not in LEFT_OUT]
    return names, {own.name for own in every if own.default is own.empty}


def argument(name, source):
    """A value that fits in one of three, otherwise any."""
    if name in PLAUSIBLE and source.random() < 0.33:
        return PLAUSIBLE[name]
    return source.choice(VALUES)


def main():
    """Call until the time is over."""
    options = argparse.ArgumentParser()
    options.add_argument("--seconds", type=float, default=10.0)
    options.add_argument("--seed", type=int, default=1)
    options = options.parse_args()
    source = random.Random(options.seed)
    warnings.simplefilter("ignore")
    calls, end = 0, time.monotonic() + options.seconds
    wanted = {name: parameters(entry) for name, entry in ENTRIES.items()}
    # a name may be taken for that of a file to be written
    with tempfile.TemporaryDirectory() as folder, apart_from_pyplot():
        os.chdir(folder)
        while time.monotonic() < end:
            name = source.choice(list(ENTRIES))
            names, needed = wanted[name]
            given = [own for own in names if own in needed or source.random() < 0.3]
            arguments = {own: argument(own, source) for own in given}
            raised = outcome(ENTRIES[name], dict(arguments))
            calls += 1
            if raised is not None:
                print(f"BROKEN: {name}({arguments!a}) raised {raised!a}")
                return 1
        os.chdir("/")
    print(f"{calls} calls of {len(ENTRIES)} functions and methods in {options.seconds:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
