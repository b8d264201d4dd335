"""What was measured, and the result."""

from __future__ import annotations

from math import isfinite

from flowdoubt._core import rounded, rounded_pair, site_of
from flowdoubt.display.words import dof, percent, typographic
from flowdoubt.reports.blocks import Block, Notice, Paragraph, Section, pairs
from flowdoubt.reports.sections.measured import Measured, sentence


def what_was_measured(measured: Measured) -> Section:
    """Return site, choices and readings."""
    evaluation = measured.evaluation
    site = site_of(evaluation)
    steps = evaluation.steps
    rows = [("site", site.name)]
    if site.note:
        rows.append(("remarks", site.note))
    rows += [(heading, typographic(words)) for heading, words in site.choices]
    rows.append(("number of readings", str(evaluation.readings)))
    if evaluation.how_read:
        rows.append(("how they were read", "; ".join(evaluation.how_read)))
    rows.append(
        ("coverage probability", percent(evaluation.coverage_probability, 4).replace(".0000", ""))
    )
    rows.append(("state of the flow", f"{evaluation.regime}, Re = {steps['reynolds_number']:.3g}"))
    return Section("What was measured", [pairs(rows)])


def result(measured: Measured) -> Section:
    """Return the result, with interval and warnings."""
    evaluation, unit = measured.evaluation, measured.unit
    budget = evaluation.budget
    expanded = evaluation.expanded()
    estimate, u = rounded_pair(*budget.result())
    low, high = (measured.flow(end) for end in evaluation.interval())
    steps = evaluation.steps
    relative = evaluation.relative_standard_uncertainty
    of_flow = f" ({percent(relative, 2)})" if isfinite(relative) else ""
    rows = [
        ("volume flow", f"{estimate} {unit}"),
        (
            "combined standard uncertainty",
            f"{u} {unit}{of_flow}",
        ),
        ("effective degrees of freedom", dof(evaluation.effective_dof)),
        ("coverage factor", f"{expanded.coverage_factor:.3f}"),
        (
            "expanded uncertainty",
            f"{rounded(expanded.expanded_uncertainty)} {unit}",
        ),
        (f"{100 * expanded.coverage_probability:g} % coverage interval", f"{low} to {high} {unit}"),
        ("mean velocity", f"{steps['mean_velocity_m_s']:.4g} m/s"),
    ]
    blocks: list[Block] = [pairs(rows)]
    if measured.trials is not None:
        check = evaluation.validate(measured.trials, digits=measured.digits)
        if not check.validated:
            words = sentence(evaluation.headline_with(measured.trials, measured.digits))
            blocks.insert(0, Paragraph(f"{words}. By first order:", strong=True))
    warnings = [f"{words} ({code})" for code, words in evaluation.warnings]
    if warnings:
        blocks.append(Notice("Warnings", warnings))
    else:
        blocks.append(Paragraph("No warnings."))
    return Section("Result", blocks)
