"""Records, and what recomputing them found, as HTML."""

from __future__ import annotations

from flowdoubt import _core
from flowdoubt.display import html
from flowdoubt.edge.text import small_print


def record_html(record: _core.Record) -> str:
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
    return html.title(f"Record, {kind}", of["results"]["site"]) + html.pairs(rows)


# A record with one wrong input differs in most of its figures.
_MOST_DIFFERENCES = 20


def reproduction_html(reproduction: _core.Reproduction) -> str:
    """Return how many figures agree, and those that do not."""
    agreed, differences = len(reproduction.agreed), reproduction.differences
    decision = "reproduces" if reproduction else "does not reproduce"
    said = html.title(
        f"The record {decision}", f"{agreed} figures agree, {len(differences)} differ"
    )
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
        columns = (("figure", html.NAME), ("recorded", html.NUMBER), ("recomputed", html.NUMBER))
        styles = [style for _, style in columns]
        rows = [html.row(map(html.cell, one, styles)) for one in differences[:_MOST_DIFFERENCES]]
        table = html.table([html.heading(columns), *rows])
        left = len(differences) - _MOST_DIFFERENCES
        if left > 0:
            table += small_print(f"and {left} more in .differences")
    return said + html.pairs(made) + table + small_print(reproduction.meaning)
