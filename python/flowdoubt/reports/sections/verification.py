"""What a report says of a verification."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flowdoubt import plots
from flowdoubt._core import rounded_pair
from flowdoubt.display.language import Language, Theirs
from flowdoubt.display.words import dof, score, suffix_of, unit_of
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
from flowdoubt.reports.sections.measured import named, percent_of

if TYPE_CHECKING:
    from flowdoubt._core import VerificationResult


def _error(row: dict[str, Any]) -> tuple[str, str]:
    """Return error and expanded uncertainty in percent."""
    return rounded_pair(100 * row["error"], 100 * row["error_expanded"])


def _limit(say: Language, row: dict[str, Any], kind: str, needed: Any) -> str:
    if kind == "acceptance" and needed is not None:
        return say("verification.no_acceptance", needed=Theirs(say.told(needed)))
    lower, upper = row[f"{kind}_lower"], row[f"{kind}_upper"]
    if lower is None and upper is None:
        return ""
    ends = (
        ("\N{MINUS SIGN}\N{INFINITY}" if lower is None else f"{100 * lower:+.2f}"),
        ("\N{INFINITY}" if upper is None else f"{100 * upper:+.2f}"),
    )
    return say("words.range", low=ends[0], high=ends[1])


def _flow(result: VerificationResult, row: dict[str, Any], name: str) -> str:
    """Return a flow with its expanded uncertainty in the unit in which flows are shown."""
    end = suffix_of(result.flow_unit)
    value, u = rounded_pair(row[f"{name}_{end}"], row[f"{name}_expanded_{end}"])
    return f"{value} \N{PLUS-MINUS SIGN} {u}"


def verification_headline(result: VerificationResult, say: Language) -> str:
    """Return the decision or, without permissible errors, the errors in one line."""
    told = result._decision_told()
    if told is not None:
        return say.told(told)
    each = []
    for row in result.points:
        error, u = _error(row)
        words = say("verification.error_at", error=error, u=u, point=Theirs(row["point"]))
        each.append(words)
    return say("verification.errors", errors=Theirs(", ".join(each)))


def verification_section(result: VerificationResult, say: Language, note: str = "") -> Section:
    """Return chart, tables and decision of a verification."""
    unit = unit_of(result.flow_unit)
    scored = result.question == "agreement"
    decided = result._point_decisions_told()
    points = [
        (
            row["point"],
            say.number(_flow(result, row, "flow")),
            f"{row['runs']} / {row['placements']}",
            *map(say.number, _error(row)),
            *(
                (
                    say.number(score(row["e_n"])),
                    say.number(score(row["zeta"])),
                    say.word(row["verdict"] or ""),
                )
                if scored
                else (
                    _limit(say, row, "permissible", None),
                    _limit(say, row, "acceptance", needed),
                    say.number(rounded_pair(row["meter_factor"], row["meter_factor_expanded"])[0]),
                )
            ),
        )
        for row, (_, needed) in zip(result.points, decided, strict=True)
    ]
    runs = [
        (
            str(row["run"]),
            row["point"],
            row["placement"],
            say.number(_flow(result, row, "meter_flow")),
            say.number(_flow(result, row, "reference_flow")),
            *map(say.number, _error(row)),
            *((say.number(score(row["e_n"])), say.number(score(row["zeta"]))) if scored else ()),
        )
        for row in result.runs
    ]
    scores = (("E_n", "number"), ("zeta", "number")) if scored else ()
    answers = (
        (*scores, (say("verification.verdict"), "name"))
        if scored
        else (
            (say("verification.permissible_error"), "number"),
            (say("verification.acceptance_limits"), "number"),
            (say("verification.meter_factor"), "number"),
        )
    )
    of_errors = (
        (say("verification.error"), "number"),
        (say("verification.expanded_uncertainty"), "number"),
    )
    question = say(
        "verification.question",
        question=Theirs(say.word(result.question)),
        contains=Theirs(say(f"verification.contains_{suffix_of(result.question)}")),
    )
    indicated = say("verification.indicated", indicated=Theirs(say.word(result.indicated)))
    headline = verification_headline(result, say)
    blocks: list[Block] = [
        Paragraph(result.name, strong=True),
        Paragraph(headline[:1].upper() + headline[1:], strong=True),
        *([Paragraph(note)] if note else []),
        Items([question, indicated]),
        Figure(
            svg_of(lambda: plots.verification(result), say),
            say("verification.chart"),
            width=0.9,
        ),
        Table(
            (
                (say("verification.point"), "name"),
                (say("verification.flow", unit=unit), "number"),
                (say("verification.runs_and_placements"), "number"),
                *of_errors,
                *answers,
            ),
            (Group(points),),
            say("verification.points", p=percent_of(result.coverage_probability)),
            widths=(1.0, 1.5, 1.3, 1.2, 1.4, 1.6, 1.6, 1.1),
        ),
    ]
    decisions = [
        say(
            "verification.decision",
            point=Theirs(row["point"]),
            decision=Theirs(say.told(decision)),
            dof=dof(row["error_dof"]),
        )
        for row, (decision, _) in zip(result.points, decided, strict=True)
        if decision is not None
    ]
    if decisions:
        blocks.append(Items(decisions))
    blocks.append(
        Table(
            (
                (say("verification.run"), "name"),
                (say("verification.point"), "name"),
                (say("verification.placement"), "name"),
                (say("verification.flow_by_meter", unit=unit), "number"),
                (say("verification.flow_by_reference", unit=unit), "number"),
                *of_errors,
                *scores,
            ),
            (Group(runs),),
            say("verification.runs"),
            widths=(1.0, 1.1, 1.2, 1.6, 1.6, 1.3, 1.4, *((0.8, 0.8) if scored else ())),
        )
    )
    if result.fixed:
        fixed = [(named(say, name), say.quantity(value)) for name, value in result.fixed]
        blocks.append(
            Table(
                ((say("verification.input"), "name"), (say("verification.taken_as"), "number")),
                (Group(fixed),),
                say("verification.fixed"),
                widths=(2.2, 1.0),
            )
        )
    warnings = [
        say("words.warning", words=Theirs(say.sentence(told)), code=Theirs(code))
        if told is not None
        else code
        for code, told in result._warnings_told()
    ]
    if warnings:
        blocks.append(Notice(say("result.warnings"), warnings))
    blocks.append(Notice(say("verification.at_the_reference"), [say("verification.cautions")]))
    return Section(say("verification.heading"), blocks)
