"""HTML for notebooks. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING

from flowdoubt._flowdoubt import CAUTIONS

if TYPE_CHECKING:
    from flowdoubt._flowdoubt import Budget, Evaluation
    from flowdoubt._site import Site

_NUMBER = "text-align:right;font-variant-numeric:tabular-nums"
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


# Heading, whether the column holds numbers.
_COLUMNS = (
    ("input", False),
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


def budget_html(budget: Budget) -> str:
    """Return a budget as a table, grouped by component, with the result below."""
    styles = [_NUMBER if numbers else _WORDS for _, numbers in _COLUMNS]
    heading = _row(
        _cell(name, style, "th") for (name, _), style in zip(_COLUMNS, styles, strict=True)
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
    return headline + budget_html(evaluation.budget) + cautions
