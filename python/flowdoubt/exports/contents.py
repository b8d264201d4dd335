"""What there is to write of each thing: one table or several."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from flowdoubt import _core
from flowdoubt._core import CAUTIONS
from flowdoubt.edge.errors import refuse
from flowdoubt.exports.table import Cell, Table, cell, from_columns, table_of
from flowdoubt.site import SiteTable

_CAUTIONS = " ".join(CAUTIONS.splitlines())

# Headings of a budget, and which of them hold numbers.
_BUDGET = (
    ("component", False),
    ("input", False),
    ("name in the site file", False),
    ("estimate", True),
    ("standard uncertainty", True),
    ("unit", False),
    ("distribution", False),
    ("degrees of freedom", True),
    ("sensitivity", True),
    ("contribution", True),
    ("share", True),
    ("evidence", False),
)
_COLUMNS = (
    *("estimate", "standard_uncertainty", "unit", "distribution", "dof"),
    *("sensitivity", "contribution", "share", "evidence"),
)


def _budget(budget: _core.Budget, title: str = "budget") -> Iterator[Table]:
    """Write the numbers of a budget with all their digits, shown as its table rounds them."""
    columns = budget.columns()
    rows = []
    for i, line in enumerate(budget.rounded_lines()):
        component, name, *texts = line
        words = (
            [component, columns["words"][i], name]
            if "words" in columns
            else [component, name, name]
        )
        values = [columns[column][i] for column in _COLUMNS]
        rows.append([*map(cell, words), *map(cell, values, texts)])
    headings, numbers = zip(*_BUDGET, strict=True)
    yield Table(title, headings, numbers, rows, [budget.result_in_words])


def _evaluation(evaluation: _core.Evaluation) -> Iterator[Table]:
    estimate, u = evaluation.value(), evaluation.standard_uncertainty
    expanded = evaluation.expanded()
    texts = _core.rounded_pair(estimate, expanded.expanded_uncertainty)
    small = _core.rounded_pair(estimate, u)[1]
    rows = [
        ("site", evaluation.site, None, ""),
        ("volume flow", estimate, texts[0], evaluation.unit),
        ("standard uncertainty", u, small, evaluation.unit),
        ("expanded uncertainty", expanded.expanded_uncertainty, texts[1], evaluation.unit),
        ("coverage factor", expanded.coverage_factor, f"{expanded.coverage_factor:.2f}", ""),
        ("coverage probability", expanded.coverage_probability, None, ""),
    ]
    cells = [[cell(name), cell(value, text), cell(unit)] for name, value, text, unit in rows]
    headings = ("quantity", "value", "unit")
    notes = [evaluation.headline, *(f"warning ({c}): {w}" for c, w in evaluation.warnings)]
    yield Table("result", headings, (False, True, False), cells, [*notes, _CAUTIONS])
    yield from _budget(evaluation.budget)


def _worksheet(worksheet: _core.Worksheet) -> Iterator[Table]:
    """Write the steps; numbers with every digit, which is what a worksheet is for."""
    names = (
        "number",
        "section",
        "words",
        "symbol",
        "equation",
        "numbers",
        "value",
        "unit",
        "source",
    )
    rows = [
        [_whole(line[name]) if name == "value" else cell(line[name]) for name in names]
        for line in worksheet.lines
    ]
    headings = ("line", "section", "quantity", "symbol", "equation", "with numbers", *names[6:])
    numbers = [name in ("number", "value") for name in names]
    yield Table("worksheet", headings, numbers, rows)


def _whole(value: Any) -> Cell:
    return cell(value, repr(value)) if isinstance(value, float) else cell(value)


def _difference(difference: _core.Difference) -> Iterator[Table]:
    rows = []
    budgets = (difference.first, difference.second, difference.budget)
    for label, budget in zip((*difference.labels, "second less first"), budgets, strict=True):
        values = budget.result()
        texts = _core.rounded_pair(*values)
        rows.append([cell(label), *map(cell, values, texts), cell(difference.unit)])
    headings = ("flow", "estimate", "standard uncertainty", "unit")
    notes = [difference.headline, difference.verdict, difference.same_in_words, _CAUTIONS]
    yield Table("difference", headings, (False, True, True, False), rows, notes)
    yield from _budget(difference.budget, "budget of the difference")


def _plan(plan: _core.Plan) -> Iterator[Table]:
    yield table_of("plan", plan.rows(), [_CAUTIONS])
    yield from _comparison(plan.comparison)


def _comparison(comparison: _core.PlanComparison) -> Iterator[Table]:
    yield table_of("alternatives", comparison.rows())
    if comparison.remarks:
        yield table_of("remarks", comparison.remarks)


def _verification(result: _core.VerificationResult) -> Iterator[Table]:
    told = json.loads(result.to_json())
    points, runs = (_flat(told[name]) for name in ("points", "runs"))
    notes = [result.headline, *([] if result.verdict is None else [result.verdict]), _CAUTIONS]
    yield table_of("flow points", points, notes)
    yield table_of("runs", runs)


def _flat(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return rows whose entries are single values; those within an entry carry its name."""
    flat = []
    for row in rows:
        entries: dict[str, Any] = {}
        for name, value in row.items():
            if isinstance(value, Mapping):
                entries |= {f"{name} {own}": each for own, each in value.items()}
            elif not isinstance(value, list):
                entries[name] = value
        flat.append(entries)
    return flat


def _series(series: Any) -> Iterator[Table]:
    yield from _budget(series.total, "budget of the total")
    yield from_columns("rows", series.columns())


def _sites(table: SiteTable) -> Iterator[Table]:
    yield from_columns("sites", table.columns(), [table.in_words])


def _rows(title: str, name: str) -> Callable[[Any], Iterator[Table]]:
    def tables(thing: Any) -> Iterator[Table]:
        yield table_of(title, getattr(thing, name), [_CAUTIONS])

    return tables


# What is written of an object of each class.
_WRITERS: tuple[tuple[type, Callable[[Any], Iterator[Table]]], ...] = (
    (_core.Budget, _budget),
    (_core.Evaluation, _evaluation),
    (_core.Worksheet, _worksheet),
    (_core.Difference, _difference),
    (_core.Plan, _plan),
    (_core.PlanComparison, _comparison),
    (_core.Target, _rows("target", "improvements")),
    (_core.VerificationResult, _verification),
    (_core.Series, _series),
    (_core.KitList, _rows("kit", "items")),
    (_core.Inventory, _rows("instruments", "things")),
    (_core.Commissioning, _rows("commissioning", "steps")),
    (_core.Commissioned, _rows("what was found", "steps")),
    (SiteTable, _sites),
)


def tables_of(thing: Any) -> list[Table]:
    """Return the tables of a thing.

    Raises
    ------
    InputError
        Something of which there is no table.
    """
    if isinstance(thing, Mapping):
        return [
            Table(f"{name}: {table.title}" if len(tables) > 1 else str(name), *_rest(table))
            for name, tables in ((name, tables_of(own)) for name, own in thing.items())
            for table in tables
        ]
    for kind, writer in _WRITERS:
        if isinstance(thing, kind):
            return list(writer(thing))
    columns = _columns_of_frame(thing)
    if columns is not None:
        return [from_columns("table", columns, words=False)]
    allowed = (
        "a budget, an evaluation, a plan and the like, a data frame, or a mapping of names to them"
    )
    message = f"thing: found {type(thing).__name__}; allowed: {allowed}"
    raise refuse(message, code="wrong-type", field="thing", allowed=allowed)


def _rest(table: Table) -> tuple[Any, ...]:
    return table.headings, table.numbers, table.rows, table.notes


def _columns_of_frame(thing: Any) -> dict[str, list[Any]] | None:
    """Return the columns of a data frame of pandas or polars, an index of names included."""
    if hasattr(thing, "reset_index") and hasattr(thing, "columns"):
        frame = thing if thing.index.names == [None] else thing.reset_index()
        return {str(name): list(frame[name]) for name in frame.columns}
    if hasattr(thing, "get_columns"):
        return {column.name: column.to_list() for column in thing.get_columns()}
    return None
