"""Recomputing a record."""

from __future__ import annotations

import os

from flowdoubt._flowdoubt import Record, Reproduction


def reproduce(path: str | os.PathLike[str]) -> Reproduction:
    """Compute everything in a record anew and compare it with the recorded results.

    Parameters
    ----------
    path
        A record that ``evaluation.record().save`` or ``flowdoubt evaluate --record`` wrote.

    Returns
    -------
    Reproduction
        True if every number is the same to the last bit; ``differences`` has the name, the recorded
        and the recomputed text of each that is not, and ``print`` shows the first.

    Raises
    ------
    RecordError
        A record that was changed, is too large, or has a version that cannot be read.
    InputError
        A file that cannot be read or is no record.
    """
    return Record.load(path).reproduce()
