"""The kit list to print."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from flowdoubt._core import CAUTIONS
from flowdoubt.display.words import typographic
from flowdoubt.sheet.checklist import Checklist, Item, Section

if TYPE_CHECKING:
    from flowdoubt._core import KitList


def checklist_of(kit: KitList) -> Checklist:
    """Return what is printed of a kit list."""
    told = zip(kit.items, kit.findings, strict=True)
    sections = []
    for group, pairs in groupby(told, key=lambda pair: pair[0]["group"]):
        items = tuple(
            Item(
                words=": ".join(filter(None, (item["what"], typographic(item["needed"])))),
                # what has a place in the box stands out; what only a person can tell is small print
                expected="" if item["status"] == "to be checked" else finding,
                note=finding if item["status"] == "to be checked" else "",
            )
            for item, finding in pairs
        )
        sections.append(Section(title=group, items=items))
    surplus = "; ".join(thing for _, thing in kit.surplus)
    headline = kit.headline
    lead = [f"Looked for in: {kit.inventory}.", f"{headline[0].upper()}{headline[1:]}."]
    if surplus:
        lead.append(f"Not needed here: {surplus}.")
    return Checklist(
        title="What to take",
        subject=kit.site,
        reference=f"site file SHA-256 {kit.site_digest}",
        sections=tuple(sections),
        lead=tuple(lead),
        cautions=CAUTIONS,
        signed=("packed by", "date", "received by", "date"),
    )
