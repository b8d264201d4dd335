"""HTML of plans and targets for notebooks. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from flowdoubt._display import _NAME, _NUMBER, _WORDS, _cell, _row, _table
from flowdoubt._flowdoubt import CAUTIONS
from flowdoubt._text import escape, small_print

if TYPE_CHECKING:
    from flowdoubt._flowdoubt import Plan, Target

_COLUMNS = (
    ("alternative", _NAME),
    ("temperature", _NUMBER),
    ("flow", _NUMBER),
    ("velocity, m/s", _NUMBER),
    ("Reynolds number", _NUMBER),
    ("expanded uncertainty", _NUMBER),
    ("leading components", _WORDS),
    ("remarks", _WORDS),
)
# more rows than anybody reads in a notebook
_MOST = 60


def component_of(column: str) -> str:
    """Return the component, in words, that a column of shares is of."""
    words = column.removeprefix("share_").replace("_", " ")
    return words.replace("re mounting", "re-mounting")


def _headings(columns: Sequence[tuple[str, str]]) -> str:
    # headings may wrap, or the table gets wider than its numbers need
    return _row(
        _cell(name, style.replace("white-space:nowrap", ""), "th") for name, style in columns
    )


def leading(point: dict[str, Any], most: int = 3) -> str:
    """Return the components with the largest shares of the variance, in words."""
    shares = {
        component_of(name): share
        for name, share in point.items()
        if name.startswith("share_") and share
    }
    ranked = sorted(shares.items(), key=lambda item: -item[1])[:most]
    return ", ".join(f"{name} {100 * share:.0f} %" for name, share in ranked)


def plan_html(plan: Plan) -> str:
    """Return the points as a table, with targets where there are some, and the cautions."""
    columns = [*_COLUMNS]
    targets = plan.targets
    if targets is not None:
        columns.append(("target", _WORDS))
    rows = [_headings(columns)]
    for i, (point, shown) in enumerate(zip(plan.points, plan.shown(), strict=True)):
        if i == _MOST:
            break
        flow, temperature, velocity, reynolds, expanded = shown
        remarks = point["warnings"] if point["feasible"] else f"no measurement: {point['reason']}"
        cells = [
            point["alternative"],
            temperature,
            flow,
            velocity,
            reynolds,
            expanded,
            leading(point),
            remarks,
        ]
        if targets is not None:
            target = targets[i]
            cells.append("" if target is None else target.headline)
        styles = [style for _, style in columns]
        rows.append(_row(map(_cell, cells, styles)))
    left = len(plan) - _MOST
    more = f"<p>and {left} points more: <code>.to_pandas()</code></p>" if left > 0 else ""
    title = (
        f"<p><b>{escape(plan.site)}</b><br>expected expanded uncertainty, coverage probability "
        f"{100 * plan.coverage_probability:g} %; planned with {plan.readings} readings, nothing "
        "was measured</p>"
    )
    return f"{title}{_table(rows)}{more}{small_print(CAUTIONS)}"


_IMPROVEMENTS = (
    ("input", _NAME),
    ("share", _NUMBER),
    ("standard uncertainty now", _NUMBER),
    ("alone", _NUMBER),
    ("least effort", _NUMBER),
    ("unit", _NAME),
    ("remarks", _WORDS),
)


def target_html(target: Target) -> str:
    """Return what is asked of each input as a table."""
    rows = [_headings(_IMPROVEMENTS)]
    styles = [style for _, style in _IMPROVEMENTS]
    rows.extend(_row(map(_cell, cells, styles)) for cells in target.shown())
    return f"<p><b>{escape(target.headline)}</b></p>{_table(rows)}"
