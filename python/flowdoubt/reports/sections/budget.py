"""The uncertainty budget and its evidence."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt._core import rounded_pair
from flowdoubt.display.words import percent, unit_of
from flowdoubt.reports.blocks import Block, Cell, Figure, Group, Paragraph, Section, Table
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured, freedom, named_inputs


def budget(measured: Measured) -> Section:
    """Return the uncertainty budget line by line, and its chart."""
    say, budget = measured.say, measured.evaluation.budget
    columns = (
        (say("budget.input"), "name"),
        (say("budget.estimate"), "number"),
        (say("budget.standard_uncertainty"), "number"),
        (say("budget.unit"), "words"),
        (say("budget.distribution"), "words"),
        (say("budget.dof"), "number"),
        (say("budget.sensitivity"), "number"),
        (say("budget.contribution", unit=measured.unit), "number"),
        (say("budget.share"), "number"),
    )
    named = named_inputs(say, budget)
    lines = budget.rounded_lines()
    groups = []
    for component, share in budget.components().items():
        rows = []
        for own, name, estimate, u, unit, shape, dof, *rest, _ in lines:
            if own == component:
                dof = dof.replace("infinite", "\N{INFINITY}")
                numbers = [say.number(cell) for cell in (estimate, u, dof, *rest)]
                cells: list[Cell] = [named.get(name, name), *numbers[:2], unit_of(unit)]
                rows.append([*cells, say.word(shape), *numbers[2:]])
        groups.append(Group(rows, say.word(component), say.number(percent(share))))
    table = Table(
        columns,
        groups,
        say("budget.caption"),
        widths=(2.7, 1.1, 1.25, 0.7, 1.4, 1.1, 1.3, 1.35, 0.75),
    )
    chart = Figure(
        svg_of(lambda: plots.contributions(budget, most=8), say),
        say("budget.chart"),
        width=0.76,
    )
    estimate, u = rounded_pair(*budget.result())
    words = say(
        "budget.result",
        flow=f"{estimate} {measured.unit}",
        u=f"{u} {measured.unit}",
        dof=freedom(say, budget.effective_dof),
    )
    blocks: list[Block] = [table, Paragraph(words, strong=True)]
    correlated = [
        (
            *(named.get(name, name) for name in row["between"]),
            say.number(f"{row['coefficient']:+.3g}"),
        )
        for row in measured.recorded["correlations"]
    ]
    if correlated:
        of_pairs = (
            (say("budget.input"), "name"),
            (say("budget.correlated_with"), "name"),
            (say("budget.coefficient"), "number"),
        )
        caption = say("budget.correlations")
        blocks.append(Table(of_pairs, (Group(correlated),), caption, widths=(1.0, 1.0, 0.5)))
    return Section(say("budget.heading"), [*blocks, chart])


def evidence(measured: Measured) -> Section:
    """Return the evidence of each input."""
    say, budget = measured.say, measured.evaluation.budget
    named = named_inputs(say, budget)
    stated = zip(budget.columns()["input"], budget._evidence_told(), strict=True)
    rows = [
        (named.get(str(name), str(name)), say.told(told) or say("evidence.none"))
        for name, told in stated
    ]
    columns = ((say("budget.input"), "name"), (say("evidence.column"), "words"))
    table = Table(columns, (Group(rows),), widths=(1.0, 1.9))
    return Section(say("evidence.heading"), [table])
