"""A difference of two flows as HTML."""

from __future__ import annotations

from flowdoubt import _core
from flowdoubt._core import CAUTIONS, rounded_pair
from flowdoubt.display import html
from flowdoubt.display.words import named_inputs, unit_of
from flowdoubt.edge.text import escape, small_print

# as many as tell what a difference rests on
_MOST = 8


def difference_html(difference: _core.Difference) -> str:
    """Return both flows, their difference and what it rests on."""
    unit = unit_of(difference.unit)
    columns = (
        ("", html.NAME),
        (f"flow, {unit}", html.NUMBER),
        (f"standard uncertainty, {unit}", html.NUMBER),
    )
    styles = [style for _, style in columns]
    named = zip(
        (*difference.labels, "second less first"),
        (difference.first, difference.second, difference.budget),
        strict=True,
    )
    rows = [html.heading(columns)]
    for label, budget in named:
        rows.append(html.row(map(html.cell, (label, *rounded_pair(*budget.result())), styles)))
    shared = len(difference.shared)
    inputs = "1 input" if shared == 1 else f"{shared} inputs"
    correlation = difference.correlation
    words = "" if correlation is None else f", correlation coefficient {correlation:.3f}"
    return (
        f"<p><b>{escape(difference.headline)}</b><br>{escape(difference.verdict)}</p>"
        + html.table(rows)
        + f"<p>{escape(difference.same_in_words)}: {inputs} in common{words}</p>"
        + _contributions(difference.budget)
        + small_print(CAUTIONS)
    )


def _contributions(budget: _core.Budget) -> str:
    """Return the inputs from which most of the uncertainty of the difference comes."""
    columns = budget.columns()
    ranked = sorted(
        zip(named_inputs(budget), columns["share"], strict=True), key=lambda line: -abs(line[1])
    )
    heading = html.heading((("from", html.WORDS), ("share of the variance", html.NUMBER)))
    rows = [
        html.row((html.cell(name, html.WORDS), html.cell(f"{100 * share:.1f} %", html.NUMBER)))
        for name, share in ranked[:_MOST]
        if abs(share) >= 0.0005
    ]
    return html.table([heading, *rows]) if rows else ""
