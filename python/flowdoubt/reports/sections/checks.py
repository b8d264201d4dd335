"""The checks made."""

from __future__ import annotations

from flowdoubt._core import FlowdoubtError, rounded, rounded_pair
from flowdoubt.display.language import Theirs
from flowdoubt.display.words import unit_of
from flowdoubt.reports.blocks import Block, Group, Items, Paragraph, Section, Table
from flowdoubt.reports.sections.measured import Measured, named_inputs


def checks(measured: Measured) -> Section:
    """Return what was checked and what came of it."""
    evaluation, say = measured.evaluation, measured.say
    blocks: list[Block] = []
    try:
        sound_speed = evaluation.sound_speed_check()
    except FlowdoubtError as error:
        reason = Theirs(error.field or error.code or "")
        blocks.append(Paragraph(say("checks.sound_speed_not_checked", reason=reason)))
    else:
        blocks.append(Paragraph(say.sentence(sound_speed._told())))
        causes = sound_speed._causes_told()
        if causes and not sound_speed.agrees:
            blocks.append(Items(list(map(say.told, causes))))
    if measured.zero is None:
        blocks.append(Paragraph(say("checks.no_zero")))
    else:
        blocks.append(Paragraph(say.sentence(measured.zero._told())))
    programmed = evaluation.programmed_check()
    if programmed:
        rows = []
        for row in programmed:
            surveyed, u = rounded_pair(float(row["surveyed"]), float(row["standard_uncertainty"]))
            rows.append(
                (
                    say.word(str(row["parameter"])),
                    say.number(rounded(float(row["programmed"]), 6)),
                    say.number(surveyed),
                    say.number(u),
                    unit_of(str(row["unit"])),
                    say.number(f"{row['standardised']:+.2f}"),
                )
            )
        blocks.append(
            Table(
                (
                    (say("checks.parameter"), "name"),
                    (say("checks.programmed"), "number"),
                    (say("checks.surveyed"), "number"),
                    (say("budget.standard_uncertainty"), "number"),
                    (say("budget.unit"), "words"),
                    (say("checks.difference"), "number"),
                ),
                (Group(rows),),
                say("checks.programmed_caption"),
            )
        )
    if measured.recorded["reconciliation"] is not None:
        blocks += _reconciliation(measured)
    return Section(say("checks.heading"), blocks)


def _reconciliation(measured: Measured) -> list[Block]:
    """Return what reconciling the inputs with the transit time did to them."""
    say = measured.say
    found = measured.recorded["reconciliation"]
    units = {row["name"]: row["unit"] for row in measured.recorded["budget"]}
    named = named_inputs(say, measured.evaluation.budget)
    rows = []
    for row in found["adjustments"]:
        before = rounded_pair(row["before"], row["uncertainty_before"])
        after = rounded_pair(row["after"], row["uncertainty_after"])
        name = row["name"]
        numbers = map(say.number, (*before, *after))
        rows.append((named.get(name, name), *numbers, unit_of(units.get(name, ""))))
    words = say(
        "checks.reconciled",
        chi_square=rounded(found["chi_square"], 3),
        probability=rounded(found["probability"]),
    )
    table = Table(
        (
            (say("budget.input"), "name"),
            (say("checks.before"), "number"),
            (say("budget.standard_uncertainty"), "number"),
            (say("checks.after"), "number"),
            (say("budget.standard_uncertainty"), "number"),
            (say("budget.unit"), "words"),
        ),
        (Group(rows),),
        say("checks.adjusted"),
        widths=(2.6, 1.1, 1.2, 1.1, 1.2, 0.7),
    )
    return [Paragraph(words), table]
