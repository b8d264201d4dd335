"""A report as PDF, set by typst with the fonts that it brings along."""

from __future__ import annotations

import base64
import json
import re
from importlib.resources import files
from textwrap import shorten
from typing import Any

from flowdoubt.edge.text import shown
from flowdoubt.reports.blocks import Content
from flowdoubt.reports.data import plain_data

# what has no space for so many letters is given places to break at; the template sets them as a
# space of no width, which is no character, so that what is copied is what was written
_UNBROKEN = re.compile(r"(?<!\S)(?![0-9a-f]{64}(?!\S))\S{18,}")
# words of letters are hyphenated or fit, up to this length
_WORD = re.compile(r"[^\W\d_]{1,40}[.,;:)]*")
_BREAK = "\N{ZERO WIDTH SPACE}"


def _breakable_word(word: str) -> str:
    if _WORD.fullmatch(word):
        return word
    parts = re.split(r"(?<=[._/\\-])", word)
    return _BREAK.join(
        _BREAK.join(part[i : i + 18] for i in range(0, len(part), 18)) for part in parts if part
    )


def _breakable(data: Any, key: str = "") -> Any:
    """Return the same data, fit to be shown, with places to break in long words of prose."""
    if key in {"svg", "attachments", "kind", "letterhead", "language"}:
        return data
    if isinstance(data, str):
        return _UNBROKEN.sub(lambda found: _breakable_word(found[0]), shown(data))
    if isinstance(data, (list, tuple)):
        return [_breakable(each) for each in data]
    if isinstance(data, dict):
        return {name: _breakable(value, name) for name, value in data.items()}
    return data


def pdf_of(content: Content) -> bytes:
    """Set a report as PDF, the same bytes for the same content."""
    try:
        import typst
    except ImportError as error:
        message = "a PDF is set by the package typst: pip install 'flowdoubt[report]'"
        raise ModuleNotFoundError(message, name="typst") from error
    template = files("flowdoubt.reports").joinpath("report.typ").read_bytes()
    data = _breakable(plain_data(content))
    if content.letterhead is not None:
        data["letterhead"]["bytes"] = list(base64.b64decode(content.letterhead.data))
    subject = shown(content.subject)
    data["document_title"] = f"{content.title}: {subject}"
    # the first mark is the number of the report
    data["short_mark"] = f", {shown(content.marks[0][1])}" if content.marks else ""
    data["short_subject"] = shorten(subject, 90, placeholder=" \N{HORIZONTAL ELLIPSIS}")
    return typst.compile(
        template,
        format="pdf",
        ignore_system_fonts=True,
        sys_inputs={"report": json.dumps(data, ensure_ascii=False)},
        timestamp=0,
    )
