"""Records of results, and recomputing them."""

from __future__ import annotations

import os

from flowdoubt import _core
from flowdoubt.display.record import record_html, reproduction_html


class Record(_core.Record):
    """The record of a result: all inputs in the words given, all results to the last bit."""

    def _repr_html_(self) -> str:
        return record_html(self)


class Reproduction(_core.Reproduction):
    """What recomputing a record found; true if everything agrees to the last bit."""

    def _repr_html_(self) -> str:
        return reproduction_html(self)


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

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    >>> import tempfile
    >>> path = tempfile.mkdtemp() + "/record.json"
    >>> evaluation.record().save(path)
    >>> bool(fd.reproduce(path))
    True
    """
    return Record.load(path).reproduce()
