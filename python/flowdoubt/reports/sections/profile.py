"""The velocity profile."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt._core import grouped, rounded
from flowdoubt.reports.blocks import Block, Cell, Figure, Section, pairs
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured


def velocity_profile(measured: Measured) -> Section:
    """Return the velocity profile and its factor."""
    evaluation, say = measured.evaluation, measured.say
    steps = evaluation.steps
    found = [
        ("reynolds", grouped(steps["reynolds_number"])),
        ("roughness", rounded(steps["relative_roughness"])),
        (
            "viscosity",
            f"{rounded(1e6 * steps['kinematic_viscosity_m2_s'], 3)} mm\N{SUPERSCRIPT TWO}/s",
        ),
        ("path_velocity", f"{rounded(steps['path_velocity_m_s'], 4)} m/s"),
        ("factor", f"{steps['profile_factor']:.4f}"),
        ("mean_velocity", f"{rounded(steps['mean_velocity_m_s'], 4)} m/s"),
    ]
    rows: list[tuple[Cell, Cell]] = [
        (say(f"profile.{key}"), say.number(value)) for key, value in found
    ]
    blocks: list[Block] = [pairs(rows)]
    if evaluation.path_layout is not None:
        svg = svg_of(lambda: plots.profile_path(evaluation), say)
        blocks.append(Figure(svg, say("profile.across_caption"), width=0.52))
    svg = svg_of(lambda: plots.profile_factor(evaluation), say)
    blocks.append(Figure(svg, say("profile.factor_caption"), width=0.76))
    return Section(say("profile.heading"), blocks)
