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
        True if every number is the same to the last bit, and the inputs are those that the results
        came from; ``differences`` has the name, the recorded and the recomputed text of each that
        is not, ``largest_difference`` the name of the numbers that are farthest apart and how far,
        relative to the larger; ``print`` shows the first and the largest. That the inputs are true
        no recomputation can say.

    Raises
    ------
    RecordError
        A record that was changed, is too large, or has a version that cannot be read.
    InputError
        A file that cannot be read or is no record.
    """
    return Record.load(path).reproduce()
