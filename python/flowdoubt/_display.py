"""HTML for notebooks. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Literal

from flowdoubt._flowdoubt import (
    CAUTIONS,
    VERIFICATION_CAUTIONS,
    FlowdoubtError,
    rounded_pair,
)
from flowdoubt._sketch import histogram_sketch, path_sketch
from flowdoubt._text import escape, small_print
from flowdoubt._words import dof, score, suffix_of, to_place, unit_of

if TYPE_CHECKING:
    from flowdoubt._flowdoubt import (
        Budget,
        Evaluation,
        Record,
        Reproduction,
        Trials,
        Verification,
        VerificationResult,
    )
    from flowdoubt._mark_out import MarkOut
    from flowdoubt._site import Site

_NUMBER = "text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums"
_NAME = "text-align:left;white-space:nowrap"
_WORDS = "text-align:left"
# wide enough for a sentence, also beside many columns of numbers
_EVIDENCE = f"{_WORDS};min-width:12em"
_COMPONENT = "border-top:1px solid;font-weight:bold"


def _cell(text: str, style: str, tag: str = "td", span: int = 1) -> str:
    wide = f' colspan="{span}"' if span > 1 else ""
    return f'<{tag}{wide} style="{style}">{escape(text)}</{tag}>'


def _row(cells: Iterable[str]) -> str:
    return f"<tr>{''.join(cells)}</tr>"


def _table(rows: Sequence[str]) -> str:
    # a wide one is scrolled, and not cut off
    return f'<div style="overflow-x:auto"><table>{"".join(rows)}</table></div>'


def _heading(columns: Iterable[tuple[str, str]]) -> str:
    # headings may wrap, or the table gets wider than its numbers need
    return _row(
        _cell(name, style.replace("white-space:nowrap", ""), "th") for name, style in columns
    )


def _pairs(rows: Iterable[tuple[str, str]]) -> str:
    return _table([_row((_cell(name, _NAME), _cell(words, _WORDS))) for name, words in rows])


def _title(name: str, words: str) -> str:
    return f"<p><b>{escape(name)}</b><br>{escape(words)}</p>"


_STATED_COLUMNS = (
    ("input", _NAME),
    ("estimate", _NUMBER),
    ("standard uncertainty", _NUMBER),
    ("unit", _NAME),
    ("distribution", _NAME),
    ("degrees of freedom", _NUMBER),
    ("evidence", _EVIDENCE),
)


def site_html(site: Site) -> str:
    """Return choices and stated inputs of a site, with its path where the file alone tells it."""
    rows = [_heading(_STATED_COLUMNS)]
    styles = [style for _, style in _STATED_COLUMNS]
    component = ""
    for line in site.stated:
        if line["component"] != component:
            component = line["component"]
            span = len(_STATED_COLUMNS)
            rows.append(_row([_cell(component, f"{_WORDS};{_COMPONENT}", span=span)]))
        cells = (
            line["input"],
            line["estimate"],
            line["standard_uncertainty"],
            line["unit"],
            line["distribution"],
            line["dof"],
            line["evidence"],
        )
        rows.append(_row(map(_cell, cells, styles)))
    layout = site.path_layout
    sketch = "" if layout is None else path_sketch(layout)
    said = _title(site.name, site.note) + _pairs(site.choices) + sketch
    return said + _table(rows) + small_print(CAUTIONS)


# Heading and style of each column.
_COLUMNS = (
    ("input", _NAME),
    ("estimate", _NUMBER),
    ("standard uncertainty", _NUMBER),
    ("unit", _NAME),
    ("distribution", _NAME),
    ("degrees of freedom", _NUMBER),
    ("sensitivity", _NUMBER),
    ("contribution", _NUMBER),
    ("share", _NUMBER),
    ("evidence", _EVIDENCE),
)


def budget_html(budget: Budget) -> str:
    """Return a budget as a table, grouped by component, with the result below."""
    styles = [style for _, style in _COLUMNS]
    lines = budget.rounded_lines()
    rows = [_heading(_COLUMNS)]
    for component, share in budget.components().items():
        if component:
            title = _cell(component, f"{_WORDS};{_COMPONENT}", span=len(_COLUMNS) - 2)
            total = _cell(f"{100 * share:.1f} %", f"{_NUMBER};{_COMPONENT}")
            rows.append(_row([title, total, _cell("", _COMPONENT)]))
        for own_component, *cells in lines:
            if own_component == component:
                rows.append(_row(map(_cell, cells, styles)))
    return _table(rows) + f"<p>{escape(budget.result_in_words)}</p>"


def evaluation_html(evaluation: Evaluation) -> str:
    """Return site, result and budget, with the cautions that go with them."""
    layout = evaluation.path_layout
    sketch = "" if layout is None else path_sketch(layout)
    headline = _title(evaluation.site, evaluation.headline) + sketch
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in evaluation.warnings
    )
    return headline + warnings + budget_html(evaluation.budget) + small_print(CAUTIONS)


# What TeX would take for more than a letter.
_TEX = {
    "\\": r"\textbackslash{}",
    "{": r"\{",
    "}": r"\}",
    "$": r"\$",
    "&": r"\&",
    "#": r"\#",
    "_": r"\_",
    "%": r"\%",
    "~": r"\textasciitilde{}",
    "^": r"\textasciicircum{}",
}


def _tex(words: str) -> str:
    return r"\text{" + "".join(_TEX.get(letter, letter) for letter in words) + "}"


def _tex_number(number: str) -> str:
    mantissa, _, exponent = number.partition("e")
    return rf"{mantissa} \times 10^{{{exponent}}}" if exponent else mantissa


def budget_latex(budget: Budget) -> str:
    """Return the result as a formula, rounded as JCGM 100:2008, 7.2.6, has it."""
    estimate, u = map(_tex_number, rounded_pair(*budget.result()))
    unit = unit_of(budget.unit)
    after = "" if unit in {"", "1"} else rf"\ {_tex(unit)}"
    nu = dof(budget.effective_dof)
    nu = r"\infty" if nu == "\N{INFINITY}" else nu
    return (
        rf"${_tex(budget.output)} = {estimate}{after},\quad u_\mathrm{{c}} = {u}{after},\quad "
        rf"\nu_\mathrm{{eff}} = {nu}$"
    )


def trials_html(trials: Trials) -> str:
    """Return mean, standard uncertainty and 95 % intervals of trials, with their histogram."""
    estimate, u = trials.result()
    rounded_mean, rounded_u = rounded_pair(estimate, u)
    rows = [
        ("trials", f"{trials.trials}, seed {trials.seed}"),
        ("mean", f"{rounded_mean} {trials.unit}"),
        ("standard uncertainty", f"{rounded_u} {trials.unit}"),
    ]
    sketch = ""
    kinds: tuple[Literal["symmetric", "shortest"], ...] = ("symmetric", "shortest")
    for kind in kinds:
        try:
            low, high = trials.interval(0.95, kind)
        except FlowdoubtError as error:  # too few trials
            rows.append((f"95 % interval, {kind}", str(error)))
            continue
        ends = [to_place(end, u / 10) for end in (low, high)]
        rows.append((f"95 % interval, {kind}", f"{ends[0]} to {ends[1]} {trials.unit}"))
        sketch = histogram_sketch(trials.values(), low, high)
    said = f"<p><b>Monte Carlo trials of {escape(trials.output)}</b> (JCGM 101)</p>"
    return said + _pairs(rows) + sketch


def record_html(record: Record) -> str:
    """Return what a record is of, its headline and its digest."""
    ((kind, of),) = record.to_dict()["content"].items()
    rows = [
        ("result", of["results"]["headline"]),
        ("made by", record.software),
        ("SHA-256", record.digest),
    ]
    verdict = (of["results"].get("monte_carlo") or {}).get("verdict")
    if verdict is not None:
        rows.insert(1, ("first order by Monte Carlo", verdict))
    return _title(f"Record, {kind}", of["results"]["site"]) + _pairs(rows)


# A record with one wrong input differs in most of its figures.
_MOST_DIFFERENCES = 20


def reproduction_html(reproduction: Reproduction) -> str:
    """Return how many figures agree, and those that do not."""
    agreed, differences = len(reproduction.agreed), reproduction.differences
    decision = "reproduces" if reproduction else "does not reproduce"
    said = _title(f"The record {decision}", f"{agreed} figures agree, {len(differences)} differ")
    made = [
        ("recorded by", reproduction.recorded_by),
        ("recomputed by", reproduction.recomputed_by),
        ("SHA-256", reproduction.digest),
    ]
    if reproduction.largest_difference is not None:
        name, relative = reproduction.largest_difference
        made.append(("largest difference", f"{relative:.1e} of the larger number, at {name}"))
    table = ""
    if differences:
        columns = (("figure", _NAME), ("recorded", _NUMBER), ("recomputed", _NUMBER))
        styles = [style for _, style in columns]
        rows = [_row(map(_cell, one, styles)) for one in differences[:_MOST_DIFFERENCES]]
        table = _table([_heading(columns), *rows])
        left = len(differences) - _MOST_DIFFERENCES
        if left > 0:
            table += small_print(f"and {left} more in .differences")
    return said + _pairs(made) + table + small_print(reproduction.meaning)


def verification_file_html(verification: Verification) -> str:
    """Return what a verification file compares with what."""
    rows = [
        ("question", verification.question),
        ("indicated", verification.indicated),
        ("reference", verification.reference),
        ("flow points", ", ".join(verification.points)),
        ("readings", ", ".join(verification.readings_files)),
    ]
    said = _title(verification.name, verification.note) + _pairs(rows)
    return said + small_print(VERIFICATION_CAUTIONS)


_POINT_COLUMNS = (
    ("point", _NAME),
    ("runs", _NUMBER),
    ("placements", _NUMBER),
    ("flow", _NUMBER),
    ("error, %", _NUMBER),
    ("expanded uncertainty, %", _NUMBER),
)
_FACTOR_COLUMNS = (("meter factor", _NUMBER), ("decision", _WORDS))
_SCORE_COLUMNS = (("E_n", _NUMBER), ("zeta", _NUMBER), ("decision", _WORDS))


def _flow(result: VerificationResult, point: dict[str, Any]) -> str:
    """Return the flow of a point with its expanded uncertainty."""
    end = suffix_of(result.flow_unit)
    flow = rounded_pair(point[f"flow_{end}"], point[f"flow_expanded_{end}"])
    return f"{' +/- '.join(flow)} {result.flow_unit}"


def verification_html(result: VerificationResult) -> str:
    """Return flow points and decision, with the cautions that go with them."""
    scored = result.question == "agreement"
    columns = _POINT_COLUMNS + (_SCORE_COLUMNS if scored else _FACTOR_COLUMNS)
    styles = [style for _, style in columns]
    rows = [_row(_cell(name, _WORDS, "th") for name, _ in columns)]
    for point in result.points:
        answer = (
            (score(point["e_n"]), score(point["zeta"]), point["verdict"] or "")
            if scored
            else (f"{point['meter_factor']:.5f}", point["decision"] or "")
        )
        cells = (
            point["point"],
            str(point["runs"]),
            str(point["placements"]),
            _flow(result, point),
            *rounded_pair(100 * point["error"], 100 * point["error_expanded"]),
            *answer,
        )
        rows.append(_row(map(_cell, cells, styles)))
    title = _title(result.name, result.site)
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in result.warnings
    )
    asked = _pairs(
        [
            ("question", result.question),
            ("its uncertainty contains", result.contains),
            ("indicated", result.indicated),
        ]
    )
    said = f"{title}{asked}{_table(rows)}<p>{escape(result.headline)}</p>{warnings}"
    return said + small_print(VERIFICATION_CAUTIONS)


def mark_out_html(mark_out: MarkOut) -> str:
    """Return every number of a mark-out in both systems of units, with warnings and cautions."""
    styles = (_WORDS, _NAME, _NAME)
    rows = [_row(map(_cell, line, styles)) for line in mark_out.lines]
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in mark_out.warnings
    )
    advice = "".join(
        f"<li>mounting (common practice): {escape(words)}</li>" for words in mark_out.advice
    )
    title = f"<p><b>{escape(mark_out.site)}</b><br>where the sensors go</p>"
    cautions = small_print(CAUTIONS)
    return f"{title}{_table(rows)}{warnings}<ul>{advice}</ul>{cautions}"
