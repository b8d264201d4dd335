"""What the sections of an evaluation are made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flowdoubt._core import _phrases_of, rounded_pair
from flowdoubt.display.language import Language, Theirs
from flowdoubt.display.words import to_place, unit_of
from flowdoubt.reports.blocks import Cell, Named
from flowdoubt.reports.head import Head

if TYPE_CHECKING:
    from flowdoubt._core import Budget, Trials, ZeroCheck
    from flowdoubt.site import Evaluation


@dataclass(frozen=True)
class Measured:
    """An evaluation with what was done beside it, and the language in which it is told."""

    evaluation: Evaluation
    trials: Trials | None
    digits: int
    zero: ZeroCheck | None
    # the results in the record of it
    recorded: dict[str, Any]
    say: Language
    head: Head

    @property
    def unit(self) -> str:
        """The unit of the flow, as it is printed."""
        return unit_of(self.evaluation.budget.unit)

    def flow(self, flow: float) -> str:
        """Return a flow to a digit more than its standard uncertainty has."""
        return to_place(flow, self.evaluation.standard_uncertainty / 10.0)


def headline(measured: Measured) -> str:
    """Return the result in one line: by Monte Carlo where that does not validate first order."""
    evaluation, trials, say = measured.evaluation, measured.trials, measured.say
    unit, p = measured.unit, percent_of(evaluation.coverage_probability)
    if trials is not None:
        verdict = evaluation.validate(trials, digits=measured.digits).verdict
        if verdict != "validated":
            low, high = trials.interval(evaluation.coverage_probability, kind="symmetric")
            place = trials.standard_uncertainty / 10.0
            mean, low_end, high_end = (to_place(v, place) for v in (trials.mean, low, high))
            reason = say(f"headline.{verdict.replace(' ', '_')}")
            return say(
                "headline.by_monte_carlo",
                mean=f"{mean} {unit}",
                p=p,
                low=low_end,
                high=high_end,
                unit=unit,
                reason=Theirs(reason),
            )
    expanded = evaluation.expanded()
    flow, u = rounded_pair(evaluation.budget.result()[0], expanded.expanded_uncertainty)
    return say(
        "headline.first_order",
        flow=flow,
        u=u,
        unit=unit,
        p=p,
        k=f"{expanded.coverage_factor:.2f}",
        dof=freedom(say, expanded.dof),
    )


def percent_of(probability: float) -> str:
    """Return a probability in percent, with as many decimals as it has."""
    return f"{100 * probability:g} %"


def freedom(say: Language, dof: float) -> str:
    """Return degrees of freedom in words: rounded down to one decimal, or infinite."""
    from flowdoubt.display.words import dof as shown

    words = shown(dof)
    return say("words.infinite") if words == "\N{INFINITY}" else words


def named_inputs(say: Language, budget: Budget) -> dict[str, Cell]:
    """Return each input of a budget as a cell: what it is, and its path in small print."""
    names = [str(name) for name in budget.columns()["input"]]
    said = zip(names, (say.input(p, "") for p in budget._phrases()), strict=True)
    return {name: Named(words, name) if words else name for name, words in said}


def named(say: Language, name: str) -> Cell:
    """Return what is known of an input by its name alone, as `named_inputs`."""
    words = say.input(_phrases_of(name), "")
    return Named(words, name) if words else name
