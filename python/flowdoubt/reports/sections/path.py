"""The sound path and the dimensions to mark out."""

from __future__ import annotations

from flowdoubt import plots
from flowdoubt.display.words import suffix_of
from flowdoubt.reports.blocks import Block, Cell, Figure, Items, Notice, Paragraph, Section, pairs
from flowdoubt.reports.figures import svg_of
from flowdoubt.reports.sections.measured import Measured


def sound_path(measured: Measured) -> Section:
    """Return the drawing of the sound path and the dimensions to mark out."""
    evaluation, say = measured.evaluation, measured.say
    layout, placement = evaluation.path_layout, evaluation.placement
    steps = evaluation.steps
    if layout is None:
        return Section(say("path.heading"), [Paragraph(say("path.not_known"))])
    found = [
        ("outside_diameter", f"{1e3 * steps['outside_diameter_m']:.2f} mm"),
        ("inside_diameter", f"{1e3 * steps['inside_diameter_m']:.2f} mm"),
        ("spacing", f"{1e3 * layout['spacing_m']:.1f} mm"),
    ]
    if placement is not None and placement["placed_m"] is not None:
        found.append(("spacing_placed", f"{1e3 * placement['placed_m']:.1f} mm"))
    if layout["is_direct"]:
        found.append(("round_pipe", f"{1e3 * layout['half_circumference_m']:.1f} mm"))
    if layout["chord_offset_m"]:
        found.append(("chord_offset", f"{1e3 * layout['chord_offset_m']:.2f} mm"))
    rows: list[tuple[Cell, Cell]] = [
        (say(f"path.{key}"), say.number(value)) for key, value in found
    ]
    if placement is not None and placement["relative_sensitivity_1_m"] is not None:
        change = 1e-3 * placement["relative_sensitivity_1_m"]
        words = say("path.flow_changes", change=f"{100 * change:+.2g} %")
        rows.append((say("path.more_spacing"), words))
    name = f"other_volume_flow_{suffix_of(evaluation.unit)}"
    other_flow = None if placement is None else placement[name]
    if other_flow is not None:
        other = f"{measured.flow(other_flow)} {measured.unit}"
        rows.append((say("path.other_flow"), say.number(other)))
    dead_time = f"{1e6 * steps['dead_time_s']:.3f} \N{MICRO SIGN}s"
    rows.append((say("path.dead_time"), say.number(dead_time)))
    drawing = svg_of(lambda: plots.sound_path(evaluation), say)
    blocks: list[Block] = [
        Figure(drawing, say("path.caption"), width=0.76),
        pairs(rows, say("path.dimensions")),
    ]
    advice = evaluation._mounting_advice_told()
    if advice:
        blocks.append(Paragraph(say("path.mounting")))
        blocks.append(Items(list(map(say.told, advice))))
    blocks.append(Notice(say("path.before"), [say("path.cautions")]))
    return Section(say("path.heading"), blocks)
