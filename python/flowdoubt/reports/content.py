"""What a report says, section by section."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flowdoubt.display.language import Language, Theirs
from flowdoubt.reports.blocks import Content, Notice, Picture, Section
from flowdoubt.reports.head import Head
from flowdoubt.reports.sections.budget import budget, evidence
from flowdoubt.reports.sections.checks import checks
from flowdoubt.reports.sections.head import (
    conditions,
    decision_rule,
    flow_requirement,
    head_section,
    marks,
    traceability,
)
from flowdoubt.reports.sections.measured import Measured, headline
from flowdoubt.reports.sections.monte_carlo import monte_carlo
from flowdoubt.reports.sections.path import sound_path
from flowdoubt.reports.sections.profile import velocity_profile
from flowdoubt.reports.sections.reproduction import how_to_reproduce
from flowdoubt.reports.sections.result import result, what_was_measured
from flowdoubt.reports.sections.verification import verification_headline, verification_section

if TYPE_CHECKING:
    from flowdoubt.site import Record, Reproduction, VerificationResult

_LABELS = ("figure", "table", "page", "of", "record", "signature", "saved_by")


def content_of(
    measured: Measured,
    verification: VerificationResult | None,
    record: Record,
    reproduction: Reproduction | None,
) -> Content:
    """Put the sections of a report of an evaluation together."""
    from flowdoubt._core import site_of

    say, head, evaluation = measured.say, measured.head, measured.evaluation
    sections = []
    if head.given:
        sections.append(head_section(head, say, conditions(say, evaluation.budget)))
    sections += [
        what_was_measured(measured),
        result(measured),
        traceability(head, say, site_of(evaluation).choices),
        *_requirements(measured, verification),
        sound_path(measured),
        velocity_profile(measured),
        budget(measured),
        monte_carlo(measured),
        checks(measured),
    ]
    if verification is not None:
        sections.append(verification_section(verification, say))
    how, files = how_to_reproduce(record, reproduction, verification, say)
    sections += [
        evidence(measured),
        _cautions(say),
        Section(say("reproduction.heading"), how),
    ]
    return Content(
        title=say("report.title"),
        subject=evaluation.site,
        result=headline(measured),
        made_by=say("report.made_by", software=Theirs(record.software)),
        digest=record.digest,
        cautions=say("report.cautions"),
        sections=sections,
        attachments=files,
        signatures=(say("report.evaluated_by"), say("report.reviewed_by")),
        language=say.code,
        labels=_labels(say),
        letterhead=_letterhead(head),
        marks=marks(head, say),
    )


def content_of_verification(
    verification: VerificationResult,
    record: Record,
    reproduction: Reproduction | None,
    head: Head,
    say: Language,
) -> Content:
    """Put the sections of a report of a verification together."""
    import tomllib

    from flowdoubt.site import Site

    inputs = record.to_dict()["content"]["verification"]["inputs"]
    site = Site.from_toml(inputs["site"]["text"])
    sections = [head_section(head, say)] if head.given else []
    note = tomllib.loads(inputs["verification"]["text"])["verification"].get("note", "")
    how, files = how_to_reproduce(record, reproduction, None, say, "verification.json")
    sections += [
        verification_section(verification, say, str(note)),
        traceability(head, say, site.choices),
        decision_rule(say, verification),
        _cautions(say),
        Section(say("reproduction.heading"), how),
    ]
    headline_of = verification_headline(verification, say)
    return Content(
        title=say("report.title_of_verification"),
        subject=f"{verification.site}: {verification.name}",
        result=headline_of[:1].upper() + headline_of[1:],
        made_by=say("report.made_by", software=Theirs(record.software)),
        digest=record.digest,
        cautions=say("report.cautions"),
        sections=sections,
        attachments=files,
        signatures=(say("report.verified_by"), say("report.reviewed_by")),
        language=say.code,
        labels=_labels(say),
        letterhead=_letterhead(head),
        marks=marks(head, say),
    )


def _requirements(measured: Measured, verification: VerificationResult | None) -> list[Section]:
    """Return the requirement on the flow and that on the meter; where there is none, that."""
    of_flow = flow_requirement(measured)
    if of_flow is None:
        return [decision_rule(measured.say, verification)]
    return (
        [of_flow] if verification is None else [of_flow, decision_rule(measured.say, verification)]
    )


def _cautions(say: Language) -> Section:
    words = say("report.cautions")
    return Section(say("report.cautions_heading"), [Notice(say("report.before"), [words])])


def _labels(say: Language) -> dict[str, str]:
    return {name: say(f"report.{name}") for name in _LABELS}


def _letterhead(head: Head) -> Picture | None:
    own = head.letterhead
    return None if own is None else Picture(own.kind, own.media_type, own.data)
