"""A series and a table of sites as HTML. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

from flowdoubt import _core
from flowdoubt._core import CAUTIONS, rounded_pair
from flowdoubt.display import html
from flowdoubt.display.budget import budget_html
from flowdoubt.edge.text import escape, small_print

Columns: TypeAlias = dict[str, list[Any]]


# Gaps that a list shows, rows of each kind, and periods; all of them are in the result.
_GAPS, _OF_A_KIND, _PERIODS = 10, 3, 31


def _listed(
    title: str, names: Sequence[str], rows: list[Any], total: int, styles: Sequence[str]
) -> str:
    if not rows:
        return ""
    heading = html.row(html.cell(name.replace("_", " "), html.WORDS, "th") for name in names)
    lines = [html.row(map(html.cell, map(str, row), styles)) for row in rows]
    more = total - len(rows)
    rest = f"<p>and {more} more</p>" if more > 0 else ""
    return f"<p><b>{escape(title)}</b></p>{html.table([heading, *lines])}{rest}"


def series_html(series: _core.Series, rejected: Columns, gaps: Columns, periods: Columns) -> str:
    """Return total, what became of the rows, and budget, with the cautions that go with them."""
    title = f"<p><b>{escape(series.site)}</b><br>{escape(series.headline)}</p>"
    how_read = [f"how the log was read: {'; '.join(series.how_read)}"] if series.how_read else []
    said = [*series.findings, *how_read, *(f"{code}: {words}" for code, words in series.warnings)]
    findings = "".join(f"<li>{escape(own)}</li>" for own in said)
    number, name, words = html.NUMBER, html.NAME, html.WORDS
    rows = list(zip(*rejected.values(), strict=True))
    kinds: dict[str, list[Any]] = {}
    for row in rows:
        kinds.setdefault(row[2], []).append(row)
    shown = [row for own in kinds.values() for row in own[:_OF_A_KIND]]
    styles = (number, name, name, words)
    listed_rows = _listed("rows not used", list(rejected), shown, len(rows), styles)
    names = [own for own in gaps if not own.startswith("filled_volume")]
    all_gaps = list(zip(*(gaps[own] for own in names), strict=True))
    longest = sorted(all_gaps, key=lambda gap: -gap[-1])[:_GAPS]
    longest = [(*gap[:-1], f"{gap[-1]:g}") for gap in longest]
    of_gaps = (number, number, name, name, number)
    listed_gaps = _listed("gaps, the longest first", names, longest, len(all_gaps), of_gaps)
    cautions = small_print(CAUTIONS)
    budget = budget_html(series.total)
    totals = _totals(periods, series.volume_unit)
    return f"{title}<ul>{findings}</ul>{totals}{listed_rows}{listed_gaps}{budget}{cautions}"


def _totals(columns: Columns, unit: str) -> str:
    rows = [
        (label, *rounded_pair(volume, expanded), f"{100 * share:.1f}")
        for label, volume, _, _, expanded, _, share in zip(*columns.values(), strict=True)
    ]
    names = ["period", f"volume / {unit}", f"expanded uncertainty / {unit}", "covered / %"]
    styles = (html.NAME, html.NUMBER, html.NUMBER, html.NUMBER)
    return _listed("totals of periods", names, rows[:_PERIODS], len(rows), styles)


def sites_html(sites: list[dict[str, Any]], in_words: str) -> str:
    """Return a table of sites, those that failed with the reason."""
    heading = html.row(
        html.cell(name, html.WORDS, "th")
        for name in ("site", "file", "result", "warnings", "error")
    )
    rows = [heading]
    for site in sites:
        warnings = "; ".join(warning.partition(":")[0] for warning in site["warnings"])
        cells = (site["site"], site["file"], site["headline"], warnings, site["error"])
        rows.append(html.row(html.cell(cell, html.WORDS) for cell in cells))
    cautions = small_print(CAUTIONS)
    return f"{html.table(rows)}<p>{escape(in_words)}</p>{cautions}"
