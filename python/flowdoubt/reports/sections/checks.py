"""The checks made."""

from __future__ import annotations

from flowdoubt._core import rounded_pair
from flowdoubt.display.words import named, unit_of
from flowdoubt.reports.blocks import Block, Group, Items, Paragraph, Section, Table
from flowdoubt.reports.sections.measured import Measured, sentence


def checks(measured: Measured) -> Section:
    """Return what was checked and what came of it."""
    evaluation = measured.evaluation
    blocks: list[Block] = []
    try:
        sound_speed = evaluation.sound_speed_check()
    except ValueError as error:
        blocks.append(Paragraph(f"Sound speed of the liquid: not checked ({error})."))
    else:
        found, *causes = str(sound_speed).splitlines()
        blocks.append(Paragraph(sentence(found)))
        if causes and not sound_speed.agrees:
            blocks.append(Items([cause.strip() for cause in causes]))
    if measured.zero is None:
        blocks.append(Paragraph("Zero: no readings at no flow beside the evaluation."))
    else:
        blocks.append(Paragraph(sentence(repr(measured.zero))))
    programmed = evaluation.programmed_check()
    if programmed:
        rows = []
        for row in programmed:
            surveyed, u = rounded_pair(float(row["surveyed"]), float(row["standard_uncertainty"]))
            rows.append(
                (
                    str(row["parameter"]),
                    f"{row['programmed']:.6g}",
                    surveyed,
                    u,
                    unit_of(str(row["unit"])),
                    f"{row['standardised']:+.2f}",
                )
            )
        blocks.append(
            Table(
                (
                    ("parameter", "name"),
                    ("programmed", "number"),
                    ("surveyed", "number"),
                    ("standard uncertainty", "number"),
                    ("unit", "words"),
                    ("difference in standard uncertainties", "number"),
                ),
                (Group(rows),),
                "What was programmed into the meter against what was surveyed.",
            )
        )
    if measured.recorded["reconciliation"] is not None:
        blocks += _reconciliation(measured)
    return Section("Checks made", blocks)


def _reconciliation(measured: Measured) -> list[Block]:
    """Return what reconciling the inputs with the transit time did to them."""
    found = measured.recorded["reconciliation"]
    units = {row["name"]: row["unit"] for row in measured.recorded["budget"]}
    rows = []
    for row in found["adjustments"]:
        before = rounded_pair(row["before"], row["uncertainty_before"])
        after = rounded_pair(row["after"], row["uncertainty_after"])
        rows.append((named(row["name"]), *before, *after, unit_of(units.get(row["name"], ""))))
    words = (
        "The inputs were adjusted by least squares to agree with the measured transit time: "
        f"chi-square {found['chi_square']:.3g} with one degree of freedom, exceeded with "
        f"probability {found['probability']:.2g}."
    )
    table = Table(
        (
            ("input", "name"),
            ("before", "number"),
            ("standard uncertainty", "number"),
            ("after", "number"),
            ("standard uncertainty", "number"),
            ("unit", "words"),
        ),
        (Group(rows),),
        "Adjusted inputs.",
        widths=(2.6, 1.1, 1.2, 1.1, 1.2, 0.7),
    )
    return [Paragraph(words), table]
