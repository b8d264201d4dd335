"""HTML for notebooks. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING

from flowdoubt._flowdoubt import CAUTIONS, VERIFICATION_CAUTIONS

if TYPE_CHECKING:
    from flowdoubt._flowdoubt import Budget, Evaluation, VerificationResult
    from flowdoubt._mark_out import MarkOut
    from flowdoubt._site import Site

_NUMBER = "text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums"
_NAME = "text-align:left;white-space:nowrap"
_WORDS = "text-align:left"
_COMPONENT = "border-top:1px solid;font-weight:bold"


def _cell(text: str, style: str, tag: str = "td", span: int = 1) -> str:
    wide = f' colspan="{span}"' if span > 1 else ""
    return f'<{tag}{wide} style="{style}">{escape(text)}</{tag}>'


def _row(cells: Iterable[str]) -> str:
    return f"<tr>{''.join(cells)}</tr>"


def _table(rows: Sequence[str]) -> str:
    return f"<table>{''.join(rows)}</table>"


def site_html(site: Site) -> str:
    """Name and remarks of a site."""
    return f"<p><b>{escape(site.name)}</b><br>{escape(site.note)}</p>"


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
    ("evidence", _WORDS),
)


def budget_html(budget: Budget) -> str:
    """Return a budget as a table, grouped by component, with the result below."""
    styles = [style for _, style in _COLUMNS]
    # headings may wrap, or the table gets wider than its numbers need
    heading = _row(
        _cell(name, style.replace("white-space:nowrap", ""), "th") for name, style in _COLUMNS
    )
    lines = budget.rounded_lines()
    rows = [heading]
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
    headline = f"<p><b>{escape(evaluation.site)}</b><br>{escape(evaluation.headline)}</p>"
    cautions = f"<p><small>{escape(CAUTIONS)}</small></p>"
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in evaluation.warnings
    )
    return headline + warnings + budget_html(evaluation.budget) + cautions


_POINT_COLUMNS = (
    ("point", _NAME),
    ("runs", _NUMBER),
    ("placements", _NUMBER),
    ("error, %", _NUMBER),
    ("expanded uncertainty, %", _NUMBER),
    ("meter factor", _NUMBER),
    ("E_n", _NUMBER),
    ("zeta", _NUMBER),
    ("decision", _WORDS),
)


def _score(value: float | None) -> str:
    return "" if value is None else f"{value:+.2f}"


def verification_html(result: VerificationResult) -> str:
    """Return flow points and decision, with the cautions that go with them."""
    styles = [style for _, style in _POINT_COLUMNS]
    rows = [_row(_cell(name, _WORDS, "th") for name, _ in _POINT_COLUMNS)]
    for point in result.points:
        cells = (
            point["point"],
            str(point["runs"]),
            str(point["placements"]),
            f"{100 * point['error']:+.3f}",
            f"{100 * point['error_expanded']:.3f}",
            f"{point['meter_factor']:.5f}",
            _score(point["e_n"]),
            _score(point["zeta"]),
            point["decision"] or "",
        )
        rows.append(_row(map(_cell, cells, styles)))
    title = f"<p><b>{escape(result.name)}</b><br>{escape(result.site)}</p>"
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in result.warnings
    )
    cautions = f"<p><small>{escape(VERIFICATION_CAUTIONS)}</small></p>"
    return f"{title}{_table(rows)}<p>{escape(result.headline)}</p>{warnings}{cautions}"


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
    cautions = f"<p><small>{escape(CAUTIONS)}</small></p>"
    return f"{title}{_table(rows)}{warnings}<ul>{advice}</ul>{cautions}"
