"""What a report says of computing it anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flowdoubt.display.language import Language, Theirs
from flowdoubt.reports.blocks import Attachment, Block, Listing, Notice, Paragraph

if TYPE_CHECKING:
    from flowdoubt.site import Record, Reproduction, VerificationResult

# in characters; a record of long readings would make the report unwieldy
_MOST_ATTACHED = 8 << 20


def _attached(record: Record, name: str, say: Language) -> tuple[str, list[Attachment]]:
    """Return where a record is, in words, and the record where it is attached."""
    text = record.text
    if len(text) > _MOST_ATTACHED:
        return say("reproduction.too_long"), []
    file = Attachment(name, "application/json", text, say("reproduction.attachment"))
    return say("reproduction.attached", name=Theirs(name)), [file]


def how_to_reproduce(
    record: Record,
    reproduction: Reproduction | None,
    verification: VerificationResult | None,
    say: Language,
    name: str = "record.json",
) -> tuple[list[Block], list[Attachment]]:
    """Return how to reproduce the report, what came of it, and the records themselves."""
    where, files = _attached(record, name, say)
    commands = [f"flowdoubt reproduce {name}"]
    commands.append(f"{commands[0]} --worksheet worksheet.html")
    blocks: list[Block] = [
        Paragraph(say("reproduction.follows", where=Theirs(where))),
        Listing([record.digest]),
        Paragraph(say("reproduction.recorded_by", software=Theirs(record.software))),
        Listing(commands),
    ]
    if verification is not None:
        own = verification.record()
        where, more = _attached(own, "verification.json", say)
        files += more
        blocks += [
            Paragraph(say("reproduction.verification", where=Theirs(where))),
            Listing([own.digest]),
            Listing(["flowdoubt reproduce verification.json"]),
        ]
    if reproduction is not None:
        words = say(
            "reproduction.anew",
            software=Theirs(reproduction.recomputed_by),
            agree=str(len(reproduction.agreed)),
            differ=str(len(reproduction.differences)),
        )
        if reproduction:
            blocks += [
                Paragraph(words, strong=True),
                Paragraph(say.sentence(reproduction._meaning_told())),
            ]
        else:
            name, recorded, recomputed = reproduction.differences[0]
            first = say(
                "reproduction.first",
                name=Theirs(name),
                recorded=Theirs(f"{recorded:.60}"),
                recomputed=Theirs(f"{recomputed:.60}"),
            )
            told = [words, first]
            if reproduction.largest_difference is not None:
                name, relative = reproduction.largest_difference
                told.append(
                    say("reproduction.largest", relative=f"{relative:.1e}", name=Theirs(name))
                )
            told.append(f"{say.sentence(reproduction._meaning_told())}.")
            blocks.append(Notice(say("reproduction.does_not"), told))
    return blocks, files
