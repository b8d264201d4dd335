"""The velocity profile."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt.reports.blocks import Block, Figure, Section, pairs
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured


def velocity_profile(measured: Measured) -> Section:
    """Return the velocity profile and its factor."""
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
