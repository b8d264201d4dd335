"""What was measured, and the result."""

from __future__ import annotations

from math import isfinite

from flowdoubt._core import grouped, rounded, rounded_pair, rounded_pair_up, site_of
from flowdoubt.display.language import Theirs
from flowdoubt.display.words import to_place
from flowdoubt.reports.blocks import Block, Cell, Notice, Paragraph, Section, pairs
from flowdoubt.reports.sections.head import INSTRUMENTS
from flowdoubt.reports.sections.measured import Measured, freedom, headline, percent_of


def what_was_measured(measured: Measured) -> Section:
    """Return site, choices and readings."""
    evaluation, say = measured.evaluation, measured.say
    site = site_of(evaluation)
    steps = evaluation.steps
    rows: list[tuple[Cell, Cell]] = [(say("what.site"), site.name)]
    if site.note:
        rows.append((say("what.remarks"), site.note))
    # instruments have a table of their own
    rows += [
        (say.word(heading), say.told(told))
        for heading, told in site._choices_told()
        if heading not in INSTRUMENTS
    ]
    rows.append((say("what.readings"), say.number(str(evaluation.readings))))
    how = evaluation._how_read_told()
    if how:
        rows.append((say("what.how_read"), "; ".join(map(say.told, how))))
    rows.append(
        (
            say("what.coverage_probability"),
            say.number(percent_of(evaluation.coverage_probability)),
        )
    )
    regime = say(
        "what.regime_and_reynolds",
        regime=Theirs(say.word(evaluation.regime)),
        reynolds=grouped(steps["reynolds_number"]),
    )
    rows.append((say("what.regime"), regime))
    return Section(say("what.heading"), [pairs(rows)])


def result(measured: Measured) -> Section:
    """Return the result with its statement after JCGM 100:2008, 7.2, and the warnings."""
    evaluation, unit, say = measured.evaluation, measured.unit, measured.say
    budget = evaluation.budget
    expanded = evaluation.expanded()
    estimate, u = rounded_pair(*budget.result())
    low, high = (to_place(end, budget.result()[1]) for end in evaluation.interval())
    steps = evaluation.steps
    relative = evaluation.relative_standard_uncertainty
    of_flow = f" ({rounded(100 * relative)} %)" if isfinite(relative) else ""
    # the bore has a part in it that is as large
    spread = relative if isfinite(relative) else 0.01
    p = percent_of(expanded.coverage_probability)
    rows: list[tuple[Cell, Cell]] = [
        (say("result.flow"), f"{estimate} {unit}"),
        (say("result.standard_uncertainty"), f"{u} {unit}{of_flow}"),
        (say("result.dof"), freedom(say, evaluation.effective_dof)),
        (say("result.coverage_factor"), f"{expanded.coverage_factor:.3f}"),
        (say("result.expanded_uncertainty"), f"{rounded(expanded.expanded_uncertainty)} {unit}"),
        (
            say("result.interval", p=p),
            say("words.range", low=low, high=f"{high} {unit}"),
        ),
        (
            say("result.mean_velocity"),
            f"{to_place(steps['mean_velocity_m_s'], spread * steps['mean_velocity_m_s'])} m/s",
        ),
    ]
    rows = [(name, say.number(str(value))) for name, value in rows]
    blocks: list[Block] = [pairs(rows)]
    if measured.trials is not None:
        check = evaluation.validate(measured.trials, digits=measured.digits)
        if not check.validated:
            words = headline(measured)
            words = words[:1].upper() + words[1:]
            blocks.insert(0, Paragraph(say("result.by_first_order", words=Theirs(words)), True))
    estimate, u = rounded_pair_up(budget.result()[0], expanded.expanded_uncertainty)
    statement = say(
        "result.statement",
        flow=f"{estimate} {unit}",
        u=f"{u} {unit}",
        k=f"{expanded.coverage_factor:.2f}",
        dof=freedom(say, expanded.dof),
        p=p,
    )
    blocks += [Paragraph(statement), Paragraph(say("result.rounding"))]
    warnings = [
        say("words.warning", words=Theirs(say.sentence(told)), code=Theirs(code))
        if told is not None
        else code
        for code, told in evaluation._warnings_told()
    ]
    if warnings:
        blocks.append(Notice(say("result.warnings"), warnings))
    else:
        blocks.append(Paragraph(say("result.no_warnings")))
    return Section(say("result.heading"), blocks)
