"""The uncertainty budget and its evidence."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt.display.words import named, named_inputs, percent, typographic, unit_of
from flowdoubt.edge.text import shown
from flowdoubt.reports.blocks import Block, Figure, Group, Paragraph, Section, Table
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured


def budget(measured: Measured) -> Section:
    """Return the uncertainty budget line by line, and its chart."""
    budget = measured.evaluation.budget
    columns = (
        ("input", "name"),
        ("estimate", "number"),
        ("standard uncertainty", "number"),
        ("unit", "words"),
        ("distribution", "words"),
        ("degrees of freedom", "number"),
        ("sensitivity", "number"),
        (f"contribution, {measured.unit}", "number"),
        ("share", "number"),
    )
    lines = list(zip(named_inputs(budget), budget.rounded_lines(), strict=True))
    groups = []
    for component, share in budget.components().items():
        rows = []
        for name, (own, _, estimate, u, unit, shape, freedom, *rest, _) in lines:
            if own == component:
                freedom = freedom.replace("infinite", "\N{INFINITY}")
                rows.append((name, estimate, u, unit_of(unit), shape, freedom, *rest))
        groups.append(Group(rows, component, percent(share)))
    table = Table(
        columns,
        groups,
        "Uncertainty budget (JCGM 100:2008). Sensitivities are in the unit of the flow over the "
        "unit of the input; shares are of the variance.",
        widths=(3.0, 1.15, 1.2, 0.6, 1.3, 1.05, 1.2, 1.3, 0.8),
    )
    chart = Figure(
        svg_of(lambda: plots.contributions(budget, most=8)),
        "Contributions to the standard uncertainty of the flow, with their shares of the variance.",
        width=0.76,
    )
    words = typographic(budget.result_in_words)
    blocks: list[Block] = [table, Paragraph(words, strong=True)]
    correlated = [
        (*map(named, row["between"]), f"{row['coefficient']:+.3g}")
        for row in measured.recorded["correlations"]
    ]
    if correlated:
        blocks.append(
            Table(
                (("input", "name"), ("correlated with", "name"), ("coefficient", "number")),
                (Group(correlated),),
                "Correlated inputs; all others are independent.",
                widths=(1.0, 1.0, 0.5),
            )
        )
    return Section("Uncertainty budget", [*blocks, chart])


def evidence(measured: Measured) -> Section:
    """Return the evidence of each input."""
    budget = measured.evaluation.budget
    stated = zip(named_inputs(budget), budget.columns()["evidence"], strict=True)
    rows = [(name, shown(str(words)) or "none given") for name, words in stated]
    table = Table((("input", "name"), ("evidence", "words")), (Group(rows),), widths=(1.0, 1.9))
    return Section("Evidence", [table])
