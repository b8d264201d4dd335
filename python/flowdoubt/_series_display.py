"""A series and a table of sites as HTML. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import TYPE_CHECKING, Any

from flowdoubt._display import _NAME, _NUMBER, _WORDS, _cell, _row, _table, budget_html
from flowdoubt._flowdoubt import CAUTIONS

if TYPE_CHECKING:
    from flowdoubt._series import Series
    from flowdoubt._sites import SiteTable

# Rows that a list shows; all of them are in the result.
_LISTED = 10


def _listed(title: str, columns: Mapping[str, Sequence[Any]], styles: Sequence[str]) -> str:
    rows = list(zip(*columns.values(), strict=True))
    if not rows:
        return ""
    heading = _row(_cell(name.replace("_", " "), _WORDS, "th") for name in columns)
    lines = [_row(map(_cell, map(str, row), styles)) for row in rows[:_LISTED]]
    more = len(rows) - _LISTED
    rest = f"<p>and {more} more</p>" if more > 0 else ""
    return f"<p><b>{escape(title)}</b></p>{_table([heading, *lines])}{rest}"


def series_html(series: Series) -> str:
    """Return total, what became of the rows, and budget, with the cautions that go with them."""
    title = f"<p><b>{escape(series.site)}</b><br>{escape(series.headline)}</p>"
    findings = "".join(f"<li>{escape(finding)}</li>" for finding in series.findings)
    gaps = {name: values for name, values in series.gaps.items() if name != "filled_volume_m3"}
    gaps["duration_s"] = [f"{duration:g}" for duration in gaps["duration_s"]]
    number, name, words = _NUMBER, _NAME, _WORDS
    rejected = _listed("rows not used", series.rejected, (number, name, name, words))
    listed_gaps = _listed("gaps", gaps, (number, number, name, name, number))
    cautions = f"<p><small>{escape(CAUTIONS)}</small></p>"
    budget = budget_html(series.total)
    return f"{title}<ul>{findings}</ul>{rejected}{listed_gaps}{budget}{cautions}"


def sites_html(table: SiteTable) -> str:
    """Return a table of sites, those that failed with the reason."""
    heading = _row(
        _cell(name, _WORDS, "th") for name in ("site", "file", "result", "warnings", "error")
    )
    rows = [heading]
    for row in table.rows:
        warnings = "; ".join(warning.partition(":")[0] for warning in row["warnings"])
        cells = (row["site"], row["file"], row["headline"], warnings, row["error"])
        rows.append(_row(_cell(cell, _WORDS) for cell in cells))
    cautions = f"<p><small>{escape(CAUTIONS)}</small></p>"
    return f"{_table(rows)}<p>{escape(table.in_words)}</p>{cautions}"
