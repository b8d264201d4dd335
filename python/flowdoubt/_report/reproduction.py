"""What a report says of computing it anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flowdoubt._report.blocks import Attachment, Block, Listing, Notice, Paragraph

if TYPE_CHECKING:
    from flowdoubt._flowdoubt import Record, Reproduction

# in characters; a record of long readings would make the report unwieldy
_MOST_ATTACHED = 8 << 20


def how_to_reproduce(
    record: Record, reproduction: Reproduction | None, *, verified: bool
) -> tuple[list[Block], list[Attachment]]:
    """Return how to reproduce the report, what came of it, and the record itself."""
    text = record.text
    attached = len(text) <= _MOST_ATTACHED
    where = (
        "The record is attached to this report as record.json."
        if attached
        else "The record is too long to be attached; ask for it by its digest."
    )
    blocks: list[Block] = [
        Paragraph(
            "Every number of the evaluation follows from the inputs in the record: the site file "
            "and the "
            f"readings in the words given, and the seed of the trials. {where} Its digest is the "
            "SHA-256 of its canonical form (RFC 8785):"
        ),
        Listing([record.digest]),
        Paragraph(
            f"Results recorded by {record.software}. To compute all of it anew, and to "
            "follow every step by hand:"
        ),
        Listing(
            [
                "flowdoubt reproduce record.json",
                "flowdoubt reproduce record.json --worksheet worksheet.html",
            ]
        ),
    ]
    if verified:
        words = (
            "The verification follows from its own file and from the readings of its runs, which "
            "are not in this record; with the site file from the record:"
        )
        blocks += [Paragraph(words), Listing(["flowdoubt verify site.toml verification.toml"])]
    if reproduction is not None:
        words = (
            f"Computed anew for this report by {reproduction.recomputed_by}: "
            f"{len(reproduction.agreed)} figures agree to the last bit, "
            f"{len(reproduction.differences)} differ."
        )
        if reproduction:
            blocks.append(Paragraph(words, strong=True))
        else:
            name, recorded, recomputed = reproduction.differences[0]
            first = f"The first: {name}, recorded {recorded}, recomputed {recomputed}."
            blocks.append(Notice("The record does not reproduce", [words, first]))
    words = "inputs in the words given and results to the last bit"
    files = [Attachment("record.json", "application/json", text, words)] if attached else []
    return blocks, files
