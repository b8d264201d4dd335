"""Verifications as HTML."""

from __future__ import annotations

from typing import Any

from flowdoubt import _core
from flowdoubt._core import VERIFICATION_CAUTIONS, rounded_pair
from flowdoubt.display import html
from flowdoubt.display.words import score, suffix_of
from flowdoubt.edge.text import escape, small_print


def verification_file_html(verification: _core.Verification) -> str:
    """Return what a verification file compares with what."""
    rows = [
        ("question", verification.question),
        ("indicated", verification.indicated),
        ("reference", verification.reference),
        ("flow points", ", ".join(verification.points)),
        ("readings", ", ".join(verification.readings_files)),
    ]
    said = html.title(verification.name, verification.note) + html.pairs(rows)
    return said + small_print(VERIFICATION_CAUTIONS)


_POINT_COLUMNS = (
    ("point", html.NAME),
    ("runs", html.NUMBER),
    ("placements", html.NUMBER),
    ("flow", html.NUMBER),
    ("error, %", html.NUMBER),
    ("expanded uncertainty, %", html.NUMBER),
)
_FACTOR_COLUMNS = (("meter factor", html.NUMBER), ("decision", html.WORDS))
_SCORE_COLUMNS = (("E_n", html.NUMBER), ("zeta", html.NUMBER), ("decision", html.WORDS))


def _flow(result: _core.VerificationResult, point: dict[str, Any]) -> str:
    """Return the flow of a point with its expanded uncertainty."""
    end = suffix_of(result.flow_unit)
    flow = rounded_pair(point[f"flow_{end}"], point[f"flow_expanded_{end}"])
    return f"{' +/- '.join(flow)} {result.flow_unit}"


def verification_html(result: _core.VerificationResult) -> str:
    """Return flow points and decision, with the cautions that go with them."""
    scored = result.question == "agreement"
    columns = _POINT_COLUMNS + (_SCORE_COLUMNS if scored else _FACTOR_COLUMNS)
    styles = [style for _, style in columns]
    rows = [html.row(html.cell(name, html.WORDS, "th") for name, _ in columns)]
    for point in result.points:
        answer = (
            (score(point["e_n"]), score(point["zeta"]), point["verdict"] or "")
            if scored
            else (
                rounded_pair(point["meter_factor"], point["meter_factor_expanded"])[0],
                point["decision"] or "",
            )
        )
        cells = (
            point["point"],
            str(point["runs"]),
            str(point["placements"]),
            _flow(result, point),
            *rounded_pair(100 * point["error"], 100 * point["error_expanded"]),
            *answer,
        )
        rows.append(html.row(map(html.cell, cells, styles)))
    title = html.title(result.name, result.site)
    warnings = "".join(
        f"<p><b>warning ({escape(code)})</b>: {escape(words)}</p>"
        for code, words in result.warnings
    )
    asked = html.pairs(
        [
            ("question", result.question),
            ("its uncertainty contains", result.contains),
            ("indicated", result.indicated),
        ]
    )
    said = f"{title}{asked}{html.table(rows)}<p>{escape(result.headline)}</p>{warnings}"
    return said + small_print(VERIFICATION_CAUTIONS)
