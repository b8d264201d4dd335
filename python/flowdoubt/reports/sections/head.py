"""What the head states: who asked, who measured, with what, and how values go back to the SI."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from flowdoubt._core import Permissible
from flowdoubt.conformity import conformance_probability, specific_risks
from flowdoubt.display.language import Language, Theirs
from flowdoubt.display.words import to_place, unit_of
from flowdoubt.reports.blocks import Block, Cell, Group, Lines, Paragraph, Section, Table, pairs
from flowdoubt.reports.head import Head, Instrument

if TYPE_CHECKING:
    from flowdoubt._core import Trials
    from flowdoubt.reports.sections.measured import Measured
    from flowdoubt.site import Evaluation, VerificationResult

# headings of what a site uses, in the order of a table
INSTRUMENTS = ("sensors", "electronics", "cables", "couplant", "mounting", "described in")


def marks(head: Head, say: Language) -> list[tuple[str, str]]:
    """Return number and date, which stand beside the title and on every page."""
    keys = ("report.number", "report.date")
    return [(say(f"head.{key[7:]}"), head.text(key)) for key in keys if head.text(key)]


def head_section(head: Head, say: Language, more: Sequence[tuple[Cell, Cell]] = ()) -> Section:
    """Return who asked, who measured, when and where."""

    def address(of: str) -> Lines:
        return Lines([*filter(None, [head.text(f"{of}.name")]), *head.lines(f"{of}.address")])

    first, last = head.text("readings.from"), head.text("readings.to")
    period = say("words.range", low=Theirs(first), high=Theirs(last)) if first and last else first
    found: list[tuple[str, str | Lines]] = [
        ("customer", address("customer")),
        ("order", head.text("report.order")),
        ("number", head.text("report.number")),
        ("date", head.text("report.date")),
        ("issuer", address("issuer")),
        ("place", head.text("report.place")),
        ("period", period or last),
        ("measured_by", Lines(head.lines("people.measured_by"))),
        ("signed_by", Lines(head.lines("people.signed_by"))),
        ("ambient", head.text("conditions.ambient")),
        ("liquid", head.text("conditions.liquid")),
        ("remarks", head.text("report.remarks")),
    ]
    rows: list[tuple[Cell, Cell]] = [(say(f"head.{key}"), text) for key, text in found if str(text)]
    rows += more
    return Section(say("head.heading"), [pairs(rows), Paragraph(say("head.word_of_writer"))])


def conditions(say: Language, budget: Any) -> list[tuple[Cell, Cell]]:
    """Return the state of the liquid as the budget has it, to the place of what is known of it."""
    columns = budget.columns()
    names = list(map(str, columns["input"]))
    rows: list[tuple[Cell, Cell]] = []
    for name in ("liquid.temperature", "liquid.absolute_pressure"):
        if name not in names:
            continue
        # the mean of readings and the instrument are terms of one quantity
        terms = [i for i, own in enumerate(names) if own == name or own.startswith(f"{name}.")]
        u = max(float(columns["standard_uncertainty"][i]) for i in terms)
        value = to_place(float(columns["estimate"][names.index(name)]), u)
        unit = unit_of(str(columns["unit"][names.index(name)]))
        rows.append((say(f"inputs.{name}"), say.number(f"{value} {unit}")))
    return rows


def _of_site(choices: Sequence[tuple[str, str]]) -> list[Instrument]:
    """Return the instruments that a site names; their names tell serial numbers behind a comma."""
    found = []
    for kind, words in choices:
        if kind in INSTRUMENTS[:-1]:
            name, _, number = words.partition(", serial number ")
            found.append(Instrument(name=name, kind=kind, serial_number=number))
    return found


def _merged(named: Instrument, known: Sequence[Instrument]) -> Instrument:
    """Return an instrument with what others say of the same name, the first first."""
    for own in known:
        if own.name == named.name:
            named = Instrument(
                name=named.name,
                kind=named.kind or own.kind,
                serial_number=named.serial_number or own.serial_number,
                certificate=named.certificate or own.certificate,
                due=named.due or own.due,
                note=named.note or own.note,
            )
    return named


def traceability(head: Head, say: Language, choices: Sequence[tuple[str, str]]) -> Section:
    """Return instruments with their certificates, and what they say of traceability."""
    known = [*head.instruments, *head.known]
    of_site = _of_site(choices)
    names = {own.name for own in of_site}
    used = [*of_site, *(own for own in head.instruments if own.name not in names)]
    used = [_merged(own, known) for own in used]
    blocks: list[Block] = []
    if used:
        rows = [
            (
                say.word(own.kind),
                Lines([own.name, own.note]) if own.note else own.name,
                own.serial_number or say("head.not_stated"),
                own.certificate or say("head.not_stated"),
                own.due,
            )
            for own in used
        ]
        columns = (
            (say("head.kind"), "words"),
            (say("head.instrument"), "words"),
            (say("head.serial_number"), "words"),
            (say("head.certificate"), "words"),
            (say("head.due"), "words"),
        )
        caption = say("head.instruments")
        blocks.append(Table(columns, (Group(rows),), caption, widths=(0.9, 1.5, 0.9, 1.7, 0.8)))
    described = [words for kind, words in choices if kind == "described in"]
    if described:
        blocks.append(Paragraph(say("head.described_in", file=Theirs(described[0]))))
    with_certificate = [own for own in used if own.certificate]
    if head.text("traceability.statement"):
        blocks.append(
            Paragraph(
                say("head.traceability_stated", words=Theirs(head.text("traceability.statement")))
            )
        )
    if with_certificate:
        each = "; ".join(f"{own.name}: {own.certificate}" for own in with_certificate)
        blocks.append(Paragraph(say("head.traceability", certificates=Theirs(each))))
        # nobody calibrates what holds or couples
        without = [
            own.name for own in used if not own.certificate and own.kind not in INSTRUMENTS[2:]
        ]
        if without:
            names_of = ", ".join(without)
            blocks.append(Paragraph(say("head.without_certificate", names=Theirs(names_of))))
    elif not head.text("traceability.statement"):
        blocks.append(Paragraph(say("head.no_traceability"), strong=True))
    return Section(say("head.traceability_heading"), blocks)


def flow_requirement(measured: Measured) -> Section | None:
    """Return whether the flow meets the requirement that the head states; nothing without one."""
    say, head, evaluation = measured.say, measured.head, measured.evaluation
    stated = {side: head.text(f"requirement.{side}") for side in ("lower", "upper")}
    stated = {side: text for side, text in stated.items() if text}
    if not stated:
        return None
    limits = {
        side: evaluation._flow_of(text, f"requirement.{side}") for side, text in stated.items()
    }
    tolerance = Permissible(limits.get("lower"), limits.get("upper"))
    known: Evaluation | Trials = evaluation
    flow = evaluation.budget.result()[0]
    trials = measured.trials
    # where first order is not validated, the trials say what is known
    if trials is not None and not evaluation.validate(trials, digits=measured.digits).validated:
        known, flow = trials, trials.mean
    p = conformance_probability(known, tolerance)
    risks = specific_risks(known, tolerance)
    rule = head.text("requirement.rule") or "simple acceptance"
    wanted = head.probability
    conforms = {
        "simple acceptance": bool(tolerance.contains(flow)),
        "guarded acceptance": p >= wanted,
        "guarded rejection": not risks.consumers_risk >= wanted,
    }[rule]
    ends = {side: say.quantity(text) for side, text in stated.items()}
    key = "_".join(["flow_limits", *ends])
    words = say(f"rule.{key}", **{side: Theirs(text) for side, text in ends.items()})
    source = head.text("requirement.source")
    if source:
        words = say("rule.limits_with_source", limits=Theirs(words), source=Theirs(source))
    if conforms:
        answer = say("rule.flow_conforms", p=_percent(p), risk=_percent(risks.consumers_risk))
    else:
        answer = say("rule.flow_does_not", p=_percent(p), risk=_percent(risks.producers_risk))
    blocks: list[Block] = [
        Paragraph(say("rule.requirement", limits=Theirs(words))),
        Paragraph(say(f"rule.flow_{rule.replace(' ', '_')}", probability=f"{100 * wanted:g} %")),
        Paragraph(say("rule.source")),
        Paragraph(answer, strong=True),
    ]
    return Section(say("rule.heading"), blocks)


def _percent(probability: float) -> str:
    return f"{100 * probability:.2f} %"


def decision_rule(say: Language, verification: VerificationResult | None) -> Section:
    """Return the rule by which conformity is stated (JCGM 106:2012), or that none is."""
    heading = say("rule.heading")
    judged = None
    if verification is not None:
        points = verification.record().to_dict()["content"]["verification"]["results"]["points"]
        judged = next((point["conformity"] for point in points if point["conformity"]), None)
    if verification is None or judged is None:
        words = [say("rule.none")]
        if verification is not None and verification.question == "agreement":
            words.append(say("rule.agreement"))
        return Section(heading, [Paragraph(text) for text in words])
    lower, upper = judged["permissible"]
    ends = {
        name: say.number(f"{100 * limit:+.4g} %")
        for name, limit in (("lower", lower), ("upper", upper))
        if limit is not None
    }
    key = "_".join(["limits", *ends])
    limits = say(f"rule.{key}", **{name: Theirs(text) for name, text in ends.items()})
    rule = judged["rule"].replace(" ", "_")
    probability = f"{100 * judged['probability']:g} %"
    blocks: list[Block] = [
        Paragraph(say("rule.requirement", limits=Theirs(limits))),
        Paragraph(say(f"rule.{rule}", probability=probability)),
        Paragraph(say("rule.source")),
    ]
    told = verification._decision_told()
    if told is not None:
        blocks.append(Paragraph(f"{say.sentence(told)}.", strong=True))
    return Section(heading, blocks)
