"""The list of commissioning as pages to print."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flowdoubt._core import CAUTIONS
from flowdoubt.display.words import typographic, unit_of
from flowdoubt.sheet.checklist import Checklist, Entry, Item, Section

if TYPE_CHECKING:
    from flowdoubt._core import Commissioning

# Digits of the digest that tell site files apart.
_DIGITS = 16


def checklist_of(commissioning: Commissioning) -> Checklist:
    """Return the list with boxes and lines to write on."""
    percent = f"{100 * commissioning.coverage_probability:g}"
    lead = [
        f"Limits hold {percent} % of right readings of a meter on the pipe of the site file; of "
        "many numbers one may lie outside by chance. What to do follows common practice."
    ]
    if commissioning.foreseen:
        lead.append(f"Foreseen: {typographic(commissioning.foreseen)}.")
    sections = [
        Section(f"{number}. {step['title']}", _items(step))
        for number, step in enumerate(commissioning.steps, 1)
    ]
    return Checklist(
        title="Commissioning",
        subject=commissioning.site,
        reference=f"commissioning, site file SHA-256 {commissioning.site_digest[:_DIGITS]}",
        sections=tuple(sections),
        lead=tuple(lead),
        cautions=CAUTIONS,
        warnings=tuple(f"warning ({code}): {words}" for code, words in commissioning.warnings),
    )


def _items(step: dict[str, Any]) -> tuple[Item, ...]:
    entries = tuple(
        Entry(
            entry["words"],
            typographic(entry["in_words"]).replace(" us", " \N{MICRO SIGN}s"),
            "" if entry["unit"] == "1" else unit_of(entry["unit"]),
        )
        for entry in step["entries"]
    )
    if step["key"] == "zero":
        entries += (Entry("readings taken for"),)
    froms = [f"{entry['words']}: {entry['from']}" for entry in step["entries"] if entry["from"]]
    first = Item(step["words"], entries, note="; ".join(froms))
    return (first, *(Item(words) for _, words in step["questions"]))
