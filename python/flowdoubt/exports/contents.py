"""What there is to write of each thing: one table or several."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from flowdoubt import _core
from flowdoubt._core import CAUTIONS
from flowdoubt.display.plan import leading
from flowdoubt.display.words import score, suffix_of
from flowdoubt.edge.errors import refuse
from flowdoubt.edge.text import shown
from flowdoubt.exports.table import Cell, Table, cell, from_columns, table_of, texts
from flowdoubt.site import SiteTable

_CAUTIONS = " ".join(CAUTIONS.splitlines())

_NAME = "name in the site file"
# Headings of a budget, and which of them hold numbers.
_BUDGET = (
    ("component", False),
    ("input", False),
    (_NAME, False),
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
    spoken = columns.get("words", columns["input"])
    whole, printed = [], []
    for i, (component, name, *texts_of_line) in enumerate(budget.rounded_lines()):
        words = str(spoken[i])
        values = [columns[column][i] for column in _COLUMNS]
        cells = list(map(cell, values, texts_of_line))
        whole.append([cell(component), cell(words), cell(name), *cells])
        under = "" if words == name else shown(name)
        printed.append([cell(component), Cell(words, shown(words), under), *cells])
    notes = [budget.result_in_words]
    headings, numbers = zip(*_BUDGET, strict=True)
    yield Table(title, headings, numbers, whole, notes, "workbook")
    headings, numbers = zip(*(column for column in _BUDGET if column[0] != _NAME), strict=True)
    yield Table(title, headings, numbers, printed, notes, "document")


def _evaluation(evaluation: _core.Evaluation) -> Iterator[Table]:
    estimate, u = evaluation.value(), evaluation.standard_uncertainty
    expanded = evaluation.expanded()
    texts = _core.rounded_pair(estimate, expanded.expanded_uncertainty)
    small = _core.rounded_pair(estimate, u)[1]
    p = expanded.coverage_probability
    rows = [
        ("volume flow", estimate, texts[0], evaluation.unit),
        ("standard uncertainty", u, small, evaluation.unit),
        ("expanded uncertainty", expanded.expanded_uncertainty, texts[1], evaluation.unit),
        ("coverage factor", expanded.coverage_factor, f"{expanded.coverage_factor:.2f}", ""),
        ("coverage probability", p, f"{100 * p:g} %", ""),
    ]
    cells = [[cell(name), cell(value, text), cell(unit)] for name, value, text, unit in rows]
    headings = ("quantity", "value", "unit")
    notes = [
        evaluation.site,
        evaluation.headline,
        *(f"warning ({c}): {w}" for c, w in evaluation.warnings),
    ]
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


_PLAN = (
    *("alternative", "temperature", "flow", "velocity, m/s", "Reynolds number"),
    *("expanded uncertainty", "leading components"),
)


def _plan(plan: _core.Plan) -> Iterator[Table]:
    rows = []
    for point, (flow, temperature, *others) in zip(plan.points, plan.shown(), strict=True):
        components = leading(point) if point["feasible"] else "no measurement"
        rows.append([point["alternative"], temperature, flow, *others, components])
    said = f"planned with {plan.readings} readings, nothing was measured"
    yield texts("plan", _PLAN, rows, [said, _CAUTIONS])
    yield from _comparison(plan.comparison)
    yield table_of("all of the plan", plan.rows(), only="workbook")


def _comparison(comparison: _core.PlanComparison) -> Iterator[Table]:
    yield texts("alternatives", comparison.headings, comparison.shown(), comparison.notes)
    remarks = comparison.remarks_shown()
    if remarks:
        yield texts("warnings", ("kind", "warning", "for"), remarks)
    yield table_of("all of the alternatives", comparison.rows(), only="workbook")


_TARGET = (
    *("input", "share", "standard uncertainty now", "alone", "least effort", "unit", "remarks"),
)


def _target(target: _core.Target) -> Iterator[Table]:
    yield texts("target", _TARGET, target.shown(), [target.headline, _CAUTIONS])


_POINTS = (
    *("point", "runs", "placements", "flow", "error, %", "expanded uncertainty, %"),
    *("E_n", "decision"),
)


def _verification(result: _core.VerificationResult) -> Iterator[Table]:
    end = suffix_of(result.flow_unit)
    rows = []
    for point in result.points:
        flow = _core.rounded_pair(point[f"flow_{end}"], point[f"flow_expanded_{end}"])
        error = _core.rounded_pair(100 * point["error"], 100 * point["error_expanded"])
        numbers = (f"{point['runs']}", f"{point['placements']}")
        answer = (score(point["e_n"]), point["decision"] or "")
        words = f"({' +/- '.join(flow)}) {result.flow_unit}"
        rows.append([point["point"], *numbers, words, *error, *answer])
    notes = [result.headline, *(f"warning ({code}): {words}" for code, words in result.warnings)]
    yield texts("flow points", _POINTS, rows, [*notes, _CAUTIONS])
    yield table_of("all of the points", result.points, only="workbook")
    yield table_of("all of the runs", result.runs, only="workbook")


def _commissioning(commissioning: _core.Commissioning) -> Iterator[Table]:
    rows = []
    for number, step in enumerate(commissioning.steps, 1):
        shows = [words for _, words in step["questions"]]
        shows += [f"{entry['words']}: {entry['in_words']}" for entry in step["entries"]]
        rows.append([f"{number}", step["title"], step["words"], "; ".join(shows), ""])
    headings = ("", "step", "to do", "should show", "found")
    yield texts("commissioning", headings, rows, [_CAUTIONS])


def _series(series: Any) -> Iterator[Table]:
    yield from _budget(series.total, "budget of the total")
    yield from_columns("rows", series.columns(), only="workbook")


def _sites(table: SiteTable) -> Iterator[Table]:
    yield from_columns("sites", table.columns(), notes=[table.in_words])


def _rows(title: str, name: str) -> Callable[[Any], Iterator[Table]]:
    def tables(thing: Any) -> Iterator[Table]:
        yield table_of(title, getattr(thing, name), notes=[_CAUTIONS])

    return tables


# What is written of an object of each class.
_WRITERS: tuple[tuple[type, Callable[[Any], Iterator[Table]]], ...] = (
    (_core.Budget, _budget),
    (_core.Evaluation, _evaluation),
    (_core.Worksheet, _worksheet),
    (_core.Difference, _difference),
    (_core.Plan, _plan),
    (_core.PlanComparison, _comparison),
    (_core.Target, _target),
    (_core.VerificationResult, _verification),
    (_core.Series, _series),
    (_core.KitList, _rows("kit", "items")),
    (_core.Inventory, _rows("instruments", "things")),
    (_core.Commissioning, _commissioning),
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
    return table.headings, table.numbers, table.rows, table.notes, table.only


def _columns_of_frame(thing: Any) -> dict[str, list[Any]] | None:
    """Return the columns of a data frame of pandas or polars, an index of names included."""
    if hasattr(thing, "reset_index") and hasattr(thing, "columns"):
        frame = thing if thing.index.names == [None] else thing.reset_index()
        return {str(name): list(frame[name]) for name in frame.columns}
    if hasattr(thing, "get_columns"):
        return {column.name: column.to_list() for column in thing.get_columns()}
    return None
