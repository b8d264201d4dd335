"""The velocity profile."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt.reports.blocks import Block, Cell, Figure, Section, pairs
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured


def velocity_profile(measured: Measured) -> Section:
    """Return the velocity profile and its factor."""
    evaluation, say = measured.evaluation, measured.say
    steps = evaluation.steps
    found = [
        ("reynolds", f"{steps['reynolds_number']:.4g}"),
        ("roughness", f"{steps['relative_roughness']:.3g}"),
        (
            "viscosity",
            f"{1e6 * steps['kinematic_viscosity_m2_s']:.4g} mm\N{SUPERSCRIPT TWO}/s",
        ),
        ("path_velocity", f"{steps['path_velocity_m_s']:.4g} m/s"),
        ("factor", f"{steps['profile_factor']:.5f}"),
        ("mean_velocity", f"{steps['mean_velocity_m_s']:.4g} m/s"),
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
