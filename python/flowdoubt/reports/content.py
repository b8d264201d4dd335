"""What a report of an evaluation says, section by section."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING, Any

from flowdoubt import plots
from flowdoubt._core import CAUTIONS, rounded, rounded_pair, site_of
from flowdoubt.display.words import dof, percent, suffix_of, to_place, typographic, unit_of
from flowdoubt.reports.blocks import (
    Block,
    Content,
    Figure,
    Group,
    Items,
    Notice,
    Paragraph,
    Section,
    Table,
    pairs,
)
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.reproduction import how_to_reproduce
from flowdoubt.reports.verification import verification_section

if TYPE_CHECKING:
    from flowdoubt._core import Trials, ZeroCheck
    from flowdoubt.site import Evaluation, Record, Reproduction, VerificationResult

MOUNTING_CAUTIONS = (
    "Pipe surfaces may burn, and couplant and sensors have temperature limits. Hot or pressurised "
    "pipe, hazardous areas, work at height and mains supply: local codes and the permit of the "
    "site decide before anybody marks out or mounts."
)


@dataclass(frozen=True)
class Measured:
    """An evaluation with what was done beside it."""

    evaluation: Evaluation
    trials: Trials | None
    digits: int
    zero: ZeroCheck | None
    # the results in the record of it
    recorded: dict[str, Any]

    @property
    def unit(self) -> str:
        """The unit of the flow, as it is printed."""
        return unit_of(self.evaluation.budget.unit)

    def flow(self, flow: float) -> str:
        """Return a flow to a digit more than its standard uncertainty has."""
        return to_place(flow, self.evaluation.standard_uncertainty / 10.0)


def _what(measured: Measured) -> Section:
    evaluation = measured.evaluation
    site = site_of(evaluation)
    steps = evaluation.steps
    rows = [("site", site.name)]
    if site.note:
        rows.append(("remarks", site.note))
    rows += [(heading, typographic(words)) for heading, words in site.choices]
    rows.append(("number of readings", str(evaluation.readings)))
    if evaluation.how_read:
        rows.append(("how they were read", "; ".join(evaluation.how_read)))
    rows.append(
        ("coverage probability", percent(evaluation.coverage_probability, 4).replace(".0000", ""))
    )
    rows.append(("state of the flow", f"{evaluation.regime}, Re = {steps['reynolds_number']:.3g}"))
    return Section("What was measured", [pairs(rows)])


def _result(measured: Measured) -> Section:
    evaluation, unit = measured.evaluation, measured.unit
    budget = evaluation.budget
    expanded = evaluation.expanded()
    estimate, u = rounded_pair(*budget.result())
    low, high = (measured.flow(end) for end in evaluation.interval())
    steps = evaluation.steps
    relative = evaluation.relative_standard_uncertainty
    of_flow = f" ({percent(relative, 2)})" if isfinite(relative) else ""
    rows = [
        ("volume flow", f"{estimate} {unit}"),
        (
            "combined standard uncertainty",
            f"{u} {unit}{of_flow}",
        ),
        ("effective degrees of freedom", dof(evaluation.effective_dof)),
        ("coverage factor", f"{expanded.coverage_factor:.3f}"),
        (
            "expanded uncertainty",
            f"{rounded(expanded.expanded_uncertainty)} {unit}",
        ),
        (f"{100 * expanded.coverage_probability:g} % coverage interval", f"{low} to {high} {unit}"),
        ("mean velocity", f"{steps['mean_velocity_m_s']:.4g} m/s"),
    ]
    blocks: list[Block] = [pairs(rows)]
    if measured.trials is not None:
        check = evaluation.validate(measured.trials, digits=measured.digits)
        if not check.validated:
            words = _sentence(evaluation.headline_with(measured.trials, measured.digits))
            blocks.insert(0, Paragraph(f"{words}. By first order:", strong=True))
    warnings = [f"{words} ({code})" for code, words in evaluation.warnings]
    if warnings:
        blocks.append(Notice("Warnings", warnings))
    else:
        blocks.append(Paragraph("No warnings."))
    return Section("Result", blocks)


def _path(measured: Measured) -> Section:
    evaluation = measured.evaluation
    layout, placement = evaluation.path_layout, evaluation.placement
    steps = evaluation.steps
    if layout is None:
        words = (
            "The meter indicated flow or velocity, and nothing is stated of its wedges: the sound "
            "path is not known and cannot be drawn."
        )
        return Section("Site and sound path", [Paragraph(words)])
    wall = steps["outside_diameter_m"], steps["inside_diameter_m"]
    rows = [
        ("outside diameter", f"{1e3 * wall[0]:.2f} mm"),
        ("inside diameter", f"{1e3 * wall[1]:.2f} mm"),
        ("axial spacing of the exit points", f"{1e3 * layout['spacing_m']:.1f} mm"),
    ]
    if placement is not None and placement["placed_m"] is not None:
        rows.append(("spacing as placed", f"{1e3 * placement['placed_m']:.1f} mm"))
    if layout["is_direct"]:
        half = 1e3 * layout["half_circumference_m"]
        rows.append(("distance of the sensors round the pipe", f"{half:.1f} mm"))
    if layout["chord_offset_m"]:
        rows.append(
            ("distance of the path from the axis", f"{1e3 * layout['chord_offset_m']:.2f} mm")
        )
    if placement is not None and placement["relative_sensitivity_1_m"] is not None:
        change = 1e-3 * placement["relative_sensitivity_1_m"]
        rows.append(
            ("1 mm more spacing, were the angle taken from it", f"flow {100 * change:+.3f} %")
        )
    name = f"other_volume_flow_{suffix_of(evaluation.unit)}"
    other_flow = None if placement is None else placement[name]
    if other_flow is not None:
        other = measured.flow(other_flow)
        rows.append(("flow by the other of wedge and spacing", f"{other} {measured.unit}"))
    rows.append(("time outside the liquid", f"{1e6 * steps['dead_time_s']:.3f} \N{MICRO SIGN}s"))
    caption = (
        "Sound path along the pipe and across it. Pipe, ray and distances are to scale, of the "
        "wedges only the angle."
    )
    blocks: list[Block] = [
        Figure(svg_of(lambda: plots.sound_path(evaluation)), caption, width=0.76),
        pairs(rows, "Dimensions to mark out, in operation."),
    ]
    if evaluation.mounting_advice:
        blocks.append(Paragraph("Mounting, common practice:"))
        blocks.append(Items(evaluation.mounting_advice))
    blocks.append(Notice("Before anybody touches the pipe", [MOUNTING_CAUTIONS]))
    return Section("Site and sound path", blocks)


def _profile(measured: Measured) -> Section:
    evaluation = measured.evaluation
    steps = evaluation.steps
    rows = [
        ("Reynolds number", f"{steps['reynolds_number']:.4g}"),
        ("relative roughness", f"{steps['relative_roughness']:.3g}"),
        (
            "kinematic viscosity",
            f"{1e6 * steps['kinematic_viscosity_m2_s']:.4g} mm\N{SUPERSCRIPT TWO}/s",
        ),
        ("velocity on the path", f"{steps['path_velocity_m_s']:.4g} m/s"),
        ("profile factor", f"{steps['profile_factor']:.5f}"),
        ("mean velocity", f"{steps['mean_velocity_m_s']:.4g} m/s"),
    ]
    factor = (
        "Profile factor of the site against the Reynolds number, with the half-width of the "
        "uncertainty of the law; the bar is the standard uncertainty in the budget."
    )
    blocks: list[Block] = [pairs(rows)]
    if evaluation.path_layout is not None:
        across = "Velocity over the bore in fully developed flow, with one traverse of the path."
        svg = svg_of(lambda: plots.profile_path(evaluation))
        blocks.append(Figure(svg, across, width=0.52))
    blocks.append(Figure(svg_of(lambda: plots.profile_factor(evaluation)), factor, width=0.76))
    return Section("Velocity profile", blocks)


def _budget(measured: Measured) -> Section:
    budget = measured.evaluation.budget
    columns = (
        ("input", "name"),
        ("estimate", "number"),
        ("standard uncertainty", "number"),
        ("unit", "words"),
        ("distribution", "words"),
        ("degrees of freedom", "number"),
        ("sensitivity", "number"),
        (f"contribution, {measured.unit}", "number"),
        ("share", "number"),
    )
    lines = budget.rounded_lines()
    groups = []
    for component, share in budget.components().items():
        rows = []
        for own, name, estimate, u, unit, shape, freedom, *rest, _ in lines:
            if own == component:
                freedom = freedom.replace("infinite", "\N{INFINITY}")
                rows.append((name, estimate, u, unit_of(unit), shape, freedom, *rest))
        groups.append(Group(rows, component, percent(share)))
    table = Table(
        columns,
        groups,
        "Uncertainty budget (JCGM 100:2008). Sensitivities are in the unit of the flow over the "
        "unit of the input; shares are of the variance.",
        widths=(3.0, 1.15, 1.2, 0.6, 1.3, 1.05, 1.2, 1.3, 0.8),
    )
    chart = Figure(
        svg_of(lambda: plots.contributions(budget, most=8)),
        "Contributions to the standard uncertainty of the flow, with their shares of the variance.",
        width=0.76,
    )
    words = typographic(budget.result_in_words)
    blocks: list[Block] = [table, Paragraph(words, strong=True)]
    correlated = [
        (*row["between"], f"{row['coefficient']:+.3g}") for row in measured.recorded["correlations"]
    ]
    if correlated:
        blocks.append(
            Table(
                (("input", "name"), ("correlated with", "name"), ("coefficient", "number")),
                (Group(correlated),),
                "Correlated inputs; all others are independent.",
                widths=(1.0, 1.0, 0.5),
            )
        )
    return Section("Uncertainty budget", [*blocks, chart])


def _monte_carlo(measured: Measured) -> Section:
    heading = "Monte Carlo against first order"
    evaluation, trials = measured.evaluation, measured.trials
    if trials is None:
        return Section(heading, [Paragraph("No Monte Carlo trials were made.")])
    p = evaluation.coverage_probability
    check = evaluation.validate(trials, digits=measured.digits)
    first = evaluation.interval()
    budget = evaluation.budget
    intervals = (
        ("first order", budget.estimate, budget.standard_uncertainty, first),
        (
            "Monte Carlo, symmetric",
            trials.mean,
            trials.standard_uncertainty,
            trials.interval(p, kind="symmetric"),
        ),
        (
            "Monte Carlo, shortest",
            trials.mean,
            trials.standard_uncertainty,
            trials.interval(p, kind="shortest"),
        ),
    )
    rows = [
        (
            name,
            measured.flow(mean),
            rounded(u),
            measured.flow(low),
            measured.flow(high),
        )
        for name, mean, u, (low, high) in intervals
    ]
    unit = measured.unit
    table = Table(
        (
            ("", "name"),
            ("estimate", "number"),
            ("standard uncertainty", "number"),
            (f"{100 * p:g} % interval from", "number"),
            ("to", "number"),
        ),
        (Group(rows),),
        f"First order against {trials.trials} trials, seed {trials.seed} (JCGM 101:2008), in "
        f"{unit}.",
        widths=(1.7, 0.8, 1.2, 1.2, 0.8),
    )
    low, high, low_error, high_error, delta = (
        rounded(d)
        for d in (
            check.low_difference,
            check.high_difference,
            *check.standard_errors,
            check.tolerance,
        )
    )
    made_by = (
        f", from {check.trials} points of low discrepancy since the trials left it open,"
        if check.by_points
        else ""
    )
    words = (
        f"The ends of first order and of the symmetric interval{made_by} differ by {low} {unit} "
        f"and {high} {unit}, known to {low_error} {unit} and {high_error} {unit}; the numerical "
        f"tolerance for {check.digits} significant digits is {delta} {unit} (JCGM 101:2008, clause "
        f"8). {_sentence(check.verdict_in_words)}."
    )
    figure = Figure(
        svg_of(lambda: plots.distribution(evaluation, trials)),
        "Distribution of the trials, the normal distribution of first order, and the intervals.",
        width=0.8,
    )
    return Section(heading, [table, Paragraph(words, strong=True), figure])


def _headline(measured: Measured) -> str:
    """Return the result in one line: by Monte Carlo where that does not validate first order."""
    if measured.trials is None:
        return measured.evaluation.headline
    return measured.evaluation.headline_with(measured.trials, measured.digits)


def _sentence(words: str) -> str:
    """Return words of this package as a sentence of print."""
    return typographic(words[:1].upper() + words[1:])


def _checks(measured: Measured) -> Section:
    evaluation = measured.evaluation
    blocks: list[Block] = []
    try:
        sound_speed = evaluation.sound_speed_check()
    except ValueError as error:
        blocks.append(Paragraph(f"Sound speed of the liquid: not checked ({error})."))
    else:
        found, *causes = str(sound_speed).splitlines()
        blocks.append(Paragraph(_sentence(found)))
        if causes and not sound_speed.agrees:
            blocks.append(Items([cause.strip() for cause in causes]))
    if measured.zero is None:
        blocks.append(Paragraph("Zero: no readings at no flow beside the evaluation."))
    else:
        blocks.append(Paragraph(_sentence(repr(measured.zero))))
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
        rows.append((row["name"], *before, *after, unit_of(units.get(row["name"], ""))))
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


def _evidence(measured: Measured) -> Section:
    columns = measured.evaluation.budget.columns()
    stated = zip(columns["input"], columns["evidence"], strict=True)
    rows = [(str(name), str(words) or "none given") for name, words in stated]
    table = Table((("input", "name"), ("evidence", "words")), (Group(rows),), widths=(1.0, 1.9))
    return Section("Evidence", [table])


def content_of(
    measured: Measured,
    verification: VerificationResult | None,
    record: Record,
    reproduction: Reproduction | None,
) -> Content:
    """Put the sections of a report together."""
    sections = [
        _what(measured),
        _result(measured),
        _path(measured),
        _profile(measured),
        _budget(measured),
        _monte_carlo(measured),
        _checks(measured),
    ]
    if verification is not None:
        sections.append(verification_section(verification))
    how, files = how_to_reproduce(record, reproduction, verification)
    cautions = " ".join(CAUTIONS.splitlines())
    sections += [
        _evidence(measured),
        Section("Cautions", [Notice("Before anybody relies on it", [cautions])]),
        Section("How to reproduce", how),
    ]
    return Content(
        title="Report of a flow measurement",
        subject=measured.evaluation.site,
        result=typographic(_headline(measured)),
        made_by=f"made by {record.software}",
        digest=record.digest,
        cautions=cautions,
        sections=sections,
        attachments=files,
        signatures=("Evaluated by", "Reviewed by"),
    )
