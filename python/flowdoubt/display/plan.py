"""Plans and targets as HTML."""

from __future__ import annotations

from typing import Any

from flowdoubt import _core
from flowdoubt._core import CAUTIONS, NOTHING_FITS
from flowdoubt.display import html
from flowdoubt.display.words import named
from flowdoubt.edge.text import escape, small_print

_COLUMNS = (
    ("alternative", html.NAME),
    ("temperature", html.NUMBER),
    ("flow", html.NUMBER),
    ("velocity, m/s", html.NUMBER),
    ("Reynolds number", html.NUMBER),
    ("expanded uncertainty", html.NUMBER),
    ("leading components", html.WORDS),
)
# more rows than anybody reads in a notebook
_MOST = 60


def component_of(column: str) -> str:
    """Return the component, in words, that a column of shares is of."""
    words = column.removeprefix("share_").replace("_", " ")
    return words.replace("re mounting", "re-mounting")


def leading(point: dict[str, Any], most: int = 3) -> str:
    """Return the components with the largest shares of the variance, in words."""
    shares = {
        component_of(name): share
        for name, share in point.items()
        if name.startswith("share_") and share
    }
    ranked = sorted(shares.items(), key=lambda item: -item[1])[:most]
    return ", ".join(f"{name} {100 * share:.0f} %" for name, share in ranked)


def plan_html(plan: _core.Plan) -> str:
    """Return the points as a table, with targets where there are some, and the cautions."""
    columns = [*_COLUMNS]
    targets = plan.targets
    if targets is not None:
        columns.append(("target", html.WORDS))
    rows = [html.heading(columns)]
    for i, (point, shown) in enumerate(zip(plan.points, plan.shown(), strict=True)):
        if i == _MOST:
            break
        flow, temperature, velocity, reynolds, expanded = shown
        cells = [
            point["alternative"],
            temperature,
            flow,
            velocity,
            reynolds,
            expanded,
            leading(point) if point["feasible"] else "no measurement",
        ]
        if targets is not None:
            target = targets[i]
            cells.append("" if target is None else target.headline)
        styles = [style for _, style in columns]
        rows.append(html.row(map(html.cell, cells, styles)))
    left = len(plan) - _MOST
    more = f"<p>and {left} points more: <code>.to_pandas()</code></p>" if left > 0 else ""
    title = (
        f"<p><b>{escape(plan.site)}</b><br>expected expanded uncertainty, coverage probability "
        f"{100 * plan.coverage_probability:g} %; planned with {plan.readings} readings, nothing "
        "was measured</p>"
    )
    comparison = plan.comparison
    ranked = _ranked_html(comparison) if plan._compares else ""
    ranked += _instruments_html(plan)
    return (
        f"{title}{ranked}{html.table(rows)}{more}{_remarks_html(comparison)}{small_print(CAUTIONS)}"
    )


def _instruments_html(plan: _core.Plan) -> str:
    """Return what does not fit of the instruments that were tried, and the cheapest set."""
    columns = (("does not fit", html.NAME), ("", html.NAME), ("reason", html.WORDS))
    styles = [style for _, style in columns]
    told = dict.fromkeys((row["thing"], row["misfit"], row["reason"]) for row in plan.not_fitting)
    rows = [html.row(map(html.cell, cells, styles)) for cells in told]
    table = html.table([html.heading(columns), *rows]) if rows else ""
    if not plan.alternatives:
        table = f"<p><b>{escape(NOTHING_FITS)}</b></p>{table}"
    cheapest = plan.cheapest_on_target
    if cheapest is not None:
        label, cost = cheapest
        table += f"<p>cheapest that reaches the target: {escape(label)} (cost {cost:g})</p>"
    return table


# headings of columns that hold words and not numbers
_IN_WORDS = ("alternative", "can be measured", "fits", "target")


def _ranked_html(comparison: _core.PlanComparison) -> str:
    """Return the alternatives by rank as a table, with what must be known to read it."""
    columns = [
        (name, html.NAME if name.startswith(_IN_WORDS) else html.NUMBER)
        for name in comparison.headings
    ]
    styles = [style for _, style in columns]
    rows = [html.heading(columns)]
    rows.extend(html.row(map(html.cell, cells, styles)) for cells in comparison.shown())
    notes = "".join(f"<li>{escape(note)}</li>" for note in comparison.notes)
    return f"{html.table(rows)}<ul>{notes}</ul>"


def _remarks_html(comparison: _core.PlanComparison) -> str:
    """Return warnings and reasons as a list, each once."""
    remarks = comparison.remarks_shown()
    if not remarks:
        return ""
    columns = (("kind", html.NAME), ("words", html.WORDS), ("for", html.WORDS))
    rows = [html.heading((("warnings, each once", html.NAME), ("", html.WORDS), columns[2]))]
    styles = [style for _, style in columns]
    rows.extend(html.row(map(html.cell, cells, styles)) for cells in remarks)
    return html.table(rows)


def comparison_html(comparison: _core.PlanComparison) -> str:
    """Return the alternatives by rank, and warnings and reasons below them, each once."""
    return f"{_ranked_html(comparison)}{_remarks_html(comparison)}{small_print(CAUTIONS)}"


_IMPROVEMENTS = (
    ("input", f"{html.WORDS};min-width:10em"),
    ("share", html.NUMBER),
    ("standard uncertainty now", html.NUMBER),
    ("alone", html.NUMBER),
    ("least effort", html.NUMBER),
    ("unit", html.NAME),
    ("remarks", html.WORDS),
)


def target_html(target: _core.Target) -> str:
    """Return what is asked of each input as a table."""
    rows = [html.heading(_IMPROVEMENTS)]
    styles = [style for _, style in _IMPROVEMENTS]
    asked = ((named(name), *cells) for name, *cells in target.shown())
    rows.extend(html.row(map(html.cell, cells, styles)) for cells in asked)
    return f"<p><b>{escape(target.headline)}</b></p>{html.table(rows)}"
