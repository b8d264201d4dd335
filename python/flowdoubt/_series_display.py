"""A series and a table of sites as HTML. Everything that a user wrote is escaped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from flowdoubt._display import _NAME, _NUMBER, _WORDS, _cell, _row, _table, budget_html
from flowdoubt._flowdoubt import CAUTIONS, rounded_pair
from flowdoubt._text import escape, small_print

if TYPE_CHECKING:
    from flowdoubt._series import Series
    from flowdoubt._sites import SiteTable

# Gaps that a list shows, rows of each kind, and periods; all of them are in the result.
_GAPS, _OF_A_KIND, _PERIODS = 10, 3, 31


def _listed(
    title: str, names: Sequence[str], rows: list[Any], total: int, styles: Sequence[str]
) -> str:
    if not rows:
        return ""
    heading = _row(_cell(name.replace("_", " "), _WORDS, "th") for name in names)
    lines = [_row(map(_cell, map(str, row), styles)) for row in rows]
    more = total - len(rows)
    rest = f"<p>and {more} more</p>" if more > 0 else ""
    return f"<p><b>{escape(title)}</b></p>{_table([heading, *lines])}{rest}"


def series_html(series: Series) -> str:
    """Return total, what became of the rows, and budget, with the cautions that go with them."""
    title = f"<p><b>{escape(series.site)}</b><br>{escape(series.headline)}</p>"
    said = [*series.findings, *(f"{code}: {words}" for code, words in series.warnings)]
    findings = "".join(f"<li>{escape(own)}</li>" for own in said)
    number, name, words = _NUMBER, _NAME, _WORDS
    rows = list(zip(*series.rejected.values(), strict=True))
    kinds: dict[str, list[Any]] = {}
    for row in rows:
        kinds.setdefault(row[2], []).append(row)
    shown = [row for own in kinds.values() for row in own[:_OF_A_KIND]]
    styles = (number, name, name, words)
    rejected = _listed("rows not used", list(series.rejected), shown, len(rows), styles)
    names = [own for own in series.gaps if not own.startswith("filled_volume")]
    gaps = list(zip(*(series.gaps[own] for own in names), strict=True))
    longest = sorted(gaps, key=lambda gap: -gap[-1])[:_GAPS]
    longest = [(*gap[:-1], f"{gap[-1]:g}") for gap in longest]
    of_gaps = (number, number, name, name, number)
    listed_gaps = _listed("gaps, the longest first", names, longest, len(gaps), of_gaps)
    cautions = small_print(CAUTIONS)
    budget = budget_html(series.total)
    periods = _periods(series)
    return f"{title}<ul>{findings}</ul>{periods}{rejected}{listed_gaps}{budget}{cautions}"


def _periods(series: Series) -> str:
    columns = series.periods()
    rows = [
        (label, *rounded_pair(volume, expanded), f"{100 * share:.1f}")
        for label, volume, _, _, expanded, _, share in zip(*columns.values(), strict=True)
    ]
    unit = series.volume_unit
    names = ["period", f"volume / {unit}", f"expanded uncertainty / {unit}", "covered / %"]
    styles = (_NAME, _NUMBER, _NUMBER, _NUMBER)
    return _listed("totals of periods", names, rows[:_PERIODS], len(rows), styles)


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
    cautions = small_print(CAUTIONS)
    return f"{_table(rows)}<p>{escape(table.in_words)}</p>{cautions}"
