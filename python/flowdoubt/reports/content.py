"""What a report of an evaluation says, section by section."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flowdoubt._core import CAUTIONS
from flowdoubt.display.words import typographic
from flowdoubt.reports.blocks import Content, Notice, Section
from flowdoubt.reports.sections.budget import budget, evidence
from flowdoubt.reports.sections.checks import checks
from flowdoubt.reports.sections.measured import Measured, headline
from flowdoubt.reports.sections.monte_carlo import monte_carlo
from flowdoubt.reports.sections.path import sound_path
from flowdoubt.reports.sections.profile import velocity_profile
from flowdoubt.reports.sections.reproduction import how_to_reproduce
from flowdoubt.reports.sections.result import result, what_was_measured
from flowdoubt.reports.sections.verification import verification_section

if TYPE_CHECKING:
    from flowdoubt.site import Record, Reproduction, VerificationResult


def content_of(
    measured: Measured,
    verification: VerificationResult | None,
    record: Record,
    reproduction: Reproduction | None,
) -> Content:
    """Put the sections of a report together."""
    sections = [
        what_was_measured(measured),
        result(measured),
        sound_path(measured),
        velocity_profile(measured),
        budget(measured),
        monte_carlo(measured),
        checks(measured),
    ]
    if verification is not None:
        sections.append(verification_section(verification))
    how, files = how_to_reproduce(record, reproduction, verification)
    cautions = " ".join(CAUTIONS.splitlines())
    sections += [
        evidence(measured),
        Section("Cautions", [Notice("Before anybody relies on it", [cautions])]),
        Section("How to reproduce", how),
    ]
    return Content(
        title="Report of a flow measurement",
        subject=measured.evaluation.site,
        result=typographic(headline(measured)),
        made_by=f"made by {record.software}",
        digest=record.digest,
        cautions=cautions,
        sections=sections,
        attachments=files,
        signatures=("Evaluated by", "Reviewed by"),
    )
