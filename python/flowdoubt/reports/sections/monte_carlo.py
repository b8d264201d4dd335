"""Monte Carlo against first order."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt._core import rounded
from flowdoubt.display.language import Theirs
from flowdoubt.reports.blocks import Figure, Group, Paragraph, Section, Table
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured, percent_of


def monte_carlo(measured: Measured) -> Section:
    """Return the comparison of Monte Carlo with first order."""
    evaluation, trials, say = measured.evaluation, measured.trials, measured.say
    heading = say("monte_carlo.heading")
    if trials is None:
        return Section(heading, [Paragraph(say("monte_carlo.none"))])
    p = evaluation.coverage_probability
    check = evaluation.validate(trials, digits=measured.digits)
    budget = evaluation.budget
    mean, u = trials.mean, trials.standard_uncertainty
    symmetric, shortest = (trials.interval(p, kind=kind) for kind in ("symmetric", "shortest"))
    first = evaluation.interval()
    intervals = (
        ("first_order", budget.estimate, budget.standard_uncertainty, first),
        ("symmetric", mean, u, symmetric),
        ("shortest", mean, u, shortest),
    )
    rows = [
        (
            say(f"monte_carlo.{name}"),
            *map(
                say.number,
                (
                    measured.flow(mean),
                    rounded(u),
                    measured.flow(low),
                    measured.flow(high),
                ),
            ),
        )
        for name, mean, u, (low, high) in intervals
    ]
    unit = measured.unit
    table = Table(
        (
            ("", "name"),
            (say("budget.estimate"), "number"),
            (say("budget.standard_uncertainty"), "number"),
            (say("monte_carlo.from", p=percent_of(p)), "number"),
            (say("monte_carlo.to"), "number"),
        ),
        (Group(rows),),
        say(
            "monte_carlo.caption",
            trials=str(trials.trials),
            seed=Theirs(trials.seed),
            unit=unit,
        ),
        widths=(1.7, 0.8, 1.2, 1.2, 0.8),
    )
    low, high, low_error, high_error, delta = (
        f"{rounded(d)} {unit}"
        for d in (
            check.low_difference,
            check.high_difference,
            *check.standard_errors,
            check.tolerance,
        )
    )
    made_by = say("monte_carlo.by_points", points=str(check.trials)) if check.by_points else ""
    words = say(
        "monte_carlo.found",
        made_by=Theirs(made_by),
        low=low,
        high=high,
        low_error=low_error,
        high_error=high_error,
        digits=str(check.digits),
        delta=delta,
        verdict=Theirs(_verdict(measured, check.verdict, check.more_trials)),
    )
    figure = Figure(
        svg_of(lambda: plots.distribution(evaluation, trials), say),
        say("monte_carlo.figure"),
        width=0.8,
    )
    return Section(heading, [table, Paragraph(words, strong=True), figure])


def _verdict(measured: Measured, verdict: str, more_trials: int | None) -> str:
    say = measured.say
    if more_trials is None:
        return say(f"monte_carlo.{verdict.replace(' ', '_')}")
    return say("monte_carlo.more_trials", more=rounded(float(more_trials)))
