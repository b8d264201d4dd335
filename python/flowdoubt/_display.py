"""HTML for notebooks. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING

from flowdoubt._flowdoubt import CAUTIONS

if TYPE_CHECKING:
    from flowdoubt._flowdoubt import Budget, Evaluation
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
