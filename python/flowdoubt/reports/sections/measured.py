"""What the sections of an evaluation are made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flowdoubt.display.words import to_place, typographic, unit_of

if TYPE_CHECKING:
    from flowdoubt._core import Trials, ZeroCheck
    from flowdoubt.site import Evaluation


@dataclass(frozen=True)
class Measured:
    """An evaluation with what was done beside it."""

    evaluation: Evaluation
    trials: Trials | None
    digits: int
    zero: ZeroCheck | None
    # the results in the record of it
    recorded: dict[str, Any]

    @property
    def unit(self) -> str:
        """The unit of the flow, as it is printed."""
        return unit_of(self.evaluation.budget.unit)

    def flow(self, flow: float) -> str:
        """Return a flow to a digit more than its standard uncertainty has."""
        return to_place(flow, self.evaluation.standard_uncertainty / 10.0)


def headline(measured: Measured) -> str:
    """Return the result in one line: by Monte Carlo where that does not validate first order."""
    if measured.trials is None:
        return measured.evaluation.headline
    return measured.evaluation.headline_with(measured.trials, measured.digits)


def sentence(words: str) -> str:
    """Return words of this package as a sentence of print."""
    return typographic(words[:1].upper() + words[1:])
