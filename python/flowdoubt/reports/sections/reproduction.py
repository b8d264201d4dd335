"""What a report says of computing it anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flowdoubt.reports.blocks import Attachment, Block, Listing, Notice, Paragraph

if TYPE_CHECKING:
    from flowdoubt.site import Record, Reproduction, VerificationResult

# in characters; a record of long readings would make the report unwieldy
_MOST_ATTACHED = 8 << 20


def _attached(record: Record, name: str) -> tuple[str, list[Attachment]]:
    """Return where a record is, in words, and the record where it is attached."""
    text = record.text
    if len(text) > _MOST_ATTACHED:
        return "The record is too long to be attached; ask for it by its digest.", []
    words = "inputs in the words given and results to the last bit"
    file = Attachment(name, "application/json", text, words)
    return f"The record is attached to this report as {name}.", [file]


def how_to_reproduce(
    record: Record, reproduction: Reproduction | None, verification: VerificationResult | None
) -> tuple[list[Block], list[Attachment]]:
    """Return how to reproduce the report, what came of it, and the records themselves."""
    where, files = _attached(record, "record.json")
    blocks: list[Block] = [
        Paragraph(
            "Every number of the evaluation follows from the inputs in its record: the site file "
            f"and the readings in the words given, and the seed of the trials. {where} Its digest "
            "is the SHA-256 of its canonical form (RFC 8785):"
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
    if verification is not None:
        own = verification.record()
        where, more = _attached(own, "verification.json")
        files += more
        blocks += [
            Paragraph(f"The verification has a record of its own. {where} Its digest:"),
            Listing([own.digest]),
            Listing(["flowdoubt reproduce verification.json"]),
        ]
    if reproduction is not None:
        words = (
            f"The evaluation was computed anew for this report by {reproduction.recomputed_by}: "
            f"{len(reproduction.agreed)} figures agree to the last bit, "
            f"{len(reproduction.differences)} differ."
        )
        if reproduction:
            blocks += [Paragraph(words, strong=True), Paragraph(reproduction.meaning)]
        else:
            name, recorded, recomputed = reproduction.differences[0]
            first = f"The first: {name}, recorded {recorded:.60}, recomputed {recomputed:.60}."
            told = [words, first]
            if reproduction.largest_difference is not None:
                name, relative = reproduction.largest_difference
                told.append(f"Numbers differ by up to {relative:.1e} of the larger, at {name}.")
            meaning = reproduction.meaning
            told.append(f"{meaning[0].upper()}{meaning[1:]}.")
            blocks.append(Notice("The record does not reproduce", told))
    return blocks, files
