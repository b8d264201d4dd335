"""What a report says of a verification."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flowdoubt import plots
from flowdoubt._core import VERIFICATION_CAUTIONS, rounded_pair
from flowdoubt.display.words import dof, named, score, suffix_of, typographic, unit_of
from flowdoubt.reports.blocks import (
    Block,
    Figure,
    Group,
    Items,
    Notice,
    Paragraph,
    Section,
    Table,
)
from flowdoubt.reports.figures import svg_of

if TYPE_CHECKING:
    from flowdoubt._core import VerificationResult


def _error(row: dict[str, Any]) -> tuple[str, str]:
    """Return error and expanded uncertainty in percent."""
    return rounded_pair(100 * row["error"], 100 * row["error_expanded"])


def _limit(row: dict[str, Any], kind: str) -> str:
    if kind == "acceptance" and row["needed"] is not None:
        return f"none: {row['needed']}"
    lower, upper = row[f"{kind}_lower"], row[f"{kind}_upper"]
    if lower is None and upper is None:
        return ""
    ends = (
        ("\N{MINUS SIGN}\N{INFINITY}" if lower is None else f"{100 * lower:+.2f}"),
        ("\N{INFINITY}" if upper is None else f"{100 * upper:+.2f}"),
    )
    return f"{ends[0]} to {ends[1]}"


def _flow(result: VerificationResult, row: dict[str, Any], name: str) -> str:
    """Return a flow with its expanded uncertainty in the unit in which flows are shown."""
    end = suffix_of(result.flow_unit)
    value, u = rounded_pair(row[f"{name}_{end}"], row[f"{name}_expanded_{end}"])
    return f"{value} \N{PLUS-MINUS SIGN} {u}"


def verification_section(result: VerificationResult) -> Section:
    """Return chart, tables and decision of a verification."""
    unit = unit_of(result.flow_unit)
    scored = result.question == "agreement"
    points = [
        (
            row["point"],
            _flow(result, row, "flow"),
            f"{row['runs']} / {row['placements']}",
            *_error(row),
            *(
                (score(row["e_n"]), score(row["zeta"]), row["verdict"] or "")
                if scored
                else (
                    _limit(row, "permissible"),
                    _limit(row, "acceptance"),
                    f"{row['meter_factor']:.5f}",
                )
            ),
        )
        for row in result.points
    ]
    runs = [
        (
            str(row["run"]),
            row["point"],
            row["placement"],
            _flow(result, row, "meter_flow"),
            _flow(result, row, "reference_flow"),
            *_error(row),
            *((score(row["e_n"]), score(row["zeta"])) if scored else ()),
        )
        for row in result.runs
    ]
    answers = (
        (("E_n", "number"), ("zeta", "number"), ("verdict", "name"))
        if scored
        else (
            ("permissible error, %", "number"),
            ("acceptance limits, %", "number"),
            ("meter factor", "number"),
        )
    )
    scores = (("E_n", "number"), ("zeta", "number")) if scored else ()
    chart = Figure(
        svg_of(lambda: plots.verification(result)),
        "Errors of runs and flow points with their expanded uncertainties, and the limits.",
        width=0.9,
    )
    blocks: list[Block] = [
        Paragraph(result.name, strong=True),
        Paragraph(typographic(result.headline), strong=True),
        Items(
            [
                f"Question: {result.question}. Its uncertainty contains {result.contains}.",
                f"Indicated value: the flow {result.indicated}.",
            ]
        ),
        chart,
        Table(
            (
                ("point", "name"),
                (f"flow, {unit}", "number"),
                ("runs / placements", "number"),
                ("error, %", "number"),
                ("expanded uncertainty, %", "number"),
                *answers,
            ),
            (Group(points),),
            f"Flow points. Flows are given with their expanded uncertainties, coverage "
            f"probability {100 * result.coverage_probability:g} %.",
            widths=(1.3, 1.7, 1.2, 0.8, 1.3, 1.7, 1.7, 1.1),
        ),
    ]
    decisions = [
        f"{row['point']}: {row['decision']} (effective degrees of freedom of the error "
        f"{dof(row['error_dof'])})"
        for row in result.points
        if row["decision"]
    ]
    if decisions:
        blocks.append(Items(decisions))
    blocks.append(
        Table(
            (
                ("run", "name"),
                ("point", "name"),
                ("placement", "name"),
                (f"flow by the meter, {unit}", "number"),
                (f"flow by the reference, {unit}", "number"),
                ("error, %", "number"),
                ("expanded uncertainty, %", "number"),
                *scores,
            ),
            (Group(runs),),
            "Runs.",
            widths=(0.6, 1.2, 1.2, 1.6, 1.6, 0.8, 1.3, *((0.8, 0.8) if scored else ())),
        )
    )
    if result.fixed:
        blocks.append(
            Table(
                (("input or programmed value", "name"), ("taken as", "number")),
                (Group([(named(name), value) for name, value in result.fixed]),),
                "Values on the side of the meter that the error contains, right or wrong; their "
                "uncertainty is none of the error.",
                widths=(2.2, 1.0),
            )
        )
    if result.warnings:
        blocks.append(Notice("Warnings", [f"{words} ({code})" for code, words in result.warnings]))
    blocks.append(Notice("At the reference", [" ".join(VERIFICATION_CAUTIONS.splitlines())]))
    return Section("Verification against a reference", blocks)
