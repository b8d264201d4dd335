"""Monte Carlo against first order."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt._core import rounded
from flowdoubt.reports.blocks import Figure, Group, Paragraph, Section, Table
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured, sentence


def monte_carlo(measured: Measured) -> Section:
    """Return the comparison of Monte Carlo with first order."""
    heading = "Monte Carlo against first order"
    evaluation, trials = measured.evaluation, measured.trials
    if trials is None:
        return Section(heading, [Paragraph("No Monte Carlo trials were made.")])
    p = evaluation.coverage_probability
    check = evaluation.validate(trials, digits=measured.digits)
    first = evaluation.interval()
    budget = evaluation.budget
    intervals = (
        ("first order", budget.estimate, budget.standard_uncertainty, first),
        (
            "Monte Carlo, symmetric",
            trials.mean,
            trials.standard_uncertainty,
            trials.interval(p, kind="symmetric"),
        ),
        (
            "Monte Carlo, shortest",
            trials.mean,
            trials.standard_uncertainty,
            trials.interval(p, kind="shortest"),
        ),
    )
    rows = [
        (
            name,
            measured.flow(mean),
            rounded(u),
            measured.flow(low),
            measured.flow(high),
        )
        for name, mean, u, (low, high) in intervals
    ]
    unit = measured.unit
    table = Table(
        (
            ("", "name"),
            ("estimate", "number"),
            ("standard uncertainty", "number"),
            (f"{100 * p:g} % interval from", "number"),
            ("to", "number"),
        ),
        (Group(rows),),
        f"First order against {trials.trials} trials, seed {trials.seed} (JCGM 101:2008), in "
        f"{unit}.",
        widths=(1.7, 0.8, 1.2, 1.2, 0.8),
    )
    low, high, low_error, high_error, delta = (
        rounded(d)
        for d in (
            check.low_difference,
            check.high_difference,
            *check.standard_errors,
            check.tolerance,
        )
    )
    made_by = (
        f", from {check.trials} points of low discrepancy since the trials left it open,"
        if check.by_points
        else ""
    )
    words = (
        f"The ends of first order and of the symmetric interval{made_by} differ by {low} {unit} "
        f"and {high} {unit}, known to {low_error} {unit} and {high_error} {unit}; the numerical "
        f"tolerance for {check.digits} significant digits is {delta} {unit} (JCGM 101:2008, clause "
        f"8). {sentence(check.verdict_in_words)}."
    )
    figure = Figure(
        svg_of(lambda: plots.distribution(evaluation, trials)),
        "Distribution of the trials, the normal distribution of first order, and the intervals.",
        width=0.8,
    )
    return Section(heading, [table, Paragraph(words, strong=True), figure])
