"""The difference of two flows: two periods, or two meters."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, TypeAlias

from flowdoubt import _core
from flowdoubt.display.difference import difference_html
from flowdoubt.site.evaluation import Evaluation
from flowdoubt.site.record import Record
from flowdoubt.site.series import Series

Measured: TypeAlias = Evaluation | Record | Series | tuple[Series, str]
Same: TypeAlias = Literal["mounting", "meter_and_pipe", "pipe", "meter", "nothing"]


class Difference(_core.Difference):
    """The second of two flows less the first, with its budget; `flowdoubt.difference` makes it."""

    def _repr_html_(self) -> str:
        return difference_html(self)


def difference(
    first: Measured,
    second: Measured,
    *,
    same: Same,
    also: Sequence[str] = (),
    but: Sequence[str] = (),
    labels: tuple[str, str] | None = None,
) -> Difference:
    """Subtract one flow from another, with the covariance that follows from what they share.

    What both measurements have in common has one deviation in both: it cancels as far as both
    depend on it alike, and what each has for itself does not. Readings always count for
    themselves.

    Parameters
    ----------
    first, second
        An evaluation, the record of one, a series (its mean flow), or a pair of a series and the
        label of one of its periods, as ``(series, "2026-10")``.
    same
        What was the same: ``"mounting"`` (the sensors have not been off: two periods),
        ``"meter_and_pipe"`` (they were mounted anew), ``"pipe"`` (two meters on one pipe),
        ``"meter"`` (one meter on two pipes) or ``"nothing"``.
    also
        Names of inputs that are common besides, as the thermometer of two pipes.
    but
        Names of inputs that are not common, as a wall that was measured anew.
    labels
        What to call the two flows, instead of the names of sites and periods.

    Returns
    -------
    Difference
        ``estimate``, ``standard_uncertainty``, ``expanded``, ``differs``, ``correlation``,
        ``budget`` of the difference, ``relative``.

    Raises
    ------
    FlowdoubtError
        Another word for `same`; names that are no inputs; something stated of pipe or meter that
        should be the same and is not; a period that the series does not have.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> first = site.evaluate("notebooks/demo/readings.csv")
    >>> print(fd.difference(first, first, same="mounting").verdict)
    no difference is shown: it is within its expanded uncertainty
    """
    one, other = (
        side.recomputed()[0] if isinstance(side, Record) else side for side in (first, second)
    )
    return _core.difference(one, other, labels, same, list(also), list(but))
