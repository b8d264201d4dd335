"""The sound path and the dimensions to mark out."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt.display.words import suffix_of
from flowdoubt.reports.blocks import Block, Figure, Items, Notice, Paragraph, Section, pairs
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured

MOUNTING_CAUTIONS = (
    "Pipe surfaces may burn, and couplant and sensors have temperature limits. Hot or pressurised "
    "pipe, hazardous areas, work at height and mains supply: local codes and the permit of the "
    "site decide before anybody marks out or mounts."
)


def sound_path(measured: Measured) -> Section:
    """Return the drawing of the sound path and the dimensions to mark out."""
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
