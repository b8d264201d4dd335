"""The picture of a letterhead: checked, and passed on as a picture and never as markup."""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from pathlib import Path

from flowdoubt.edge.errors import refuse

_MOST_BYTES = 2 << 20
# pixels of one side; more is no letterhead, but fills the memory of who opens the report
_MOST_PIXELS = 8000
# what in a picture of lines would fetch, run or show something else
_ACTIVE = re.compile(
    r"<!DOCTYPE|<!ENTITY|<\?xml-stylesheet|<\s*(?:\w+:)?(?:script|foreignObject|iframe|object|embed|"
    r"audio|video|set|animate\w*|handler|listener)\b|\son\w+\s*=|javascript:|@import|"
    r"(?:href|src)\s*=\s*[\"']?\s*(?!#|data:image/(?:png|jpeg);)[^\"'\s>]|"
    r"url\(\s*[\"']?\s*(?!#|data:image/)",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Letterhead:
    """A picture with its kind: ``png``, ``jpg`` or ``svg``."""

    kind: str
    data: str
    """The bytes in base64."""

    @property
    def media_type(self) -> str:
        """The kind as the web names it."""
        return {"png": "image/png", "jpg": "image/jpeg", "svg": "image/svg+xml"}[self.kind]


def _refuse(path: Path, found: str, allowed: str) -> Exception:
    return refuse(
        f"report.letterhead: {path}: found {found}; allowed: {allowed}",
        code="not-a-picture",
        field="report.letterhead",
        value=path,
        allowed=allowed,
    )


def _size_of_png(data: bytes) -> tuple[int, int] | None:
    if data[12:16] != b"IHDR" or b"IEND" not in data[-16:]:
        return None
    return int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")


def _size_of_jpeg(data: bytes) -> tuple[int, int] | None:
    """Return width and height from the first frame header."""
    place = 2
    while place + 9 < len(data) and data[place] == 0xFF:
        marker = data[place + 1]
        if marker in {*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC}:
            height = int.from_bytes(data[place + 5 : place + 7], "big")
            return int.from_bytes(data[place + 7 : place + 9], "big"), height
        place += 2 + int.from_bytes(data[place + 2 : place + 4], "big")
    return None


def letterhead_of(path: Path) -> Letterhead:
    """Read a picture; refuse what is none, is too large, or does more than show itself.

    Raises
    ------
    InputError
        A file that cannot be read, that is no PNG, JPEG or SVG, or an SVG with scripts or links.
    """
    kinds = "a picture as PNG, JPEG or SVG of 2 MB at most"
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except OSError as error:
        raise _refuse(path, str(error), kinds) from error
    if len(data) > _MOST_BYTES:
        raise _refuse(path, "more than 2 MB", kinds)
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        kind, size = "png", _size_of_png(data)
    elif data.startswith(b"\xff\xd8\xff"):
        kind, size = "jpg", _size_of_jpeg(data)
    else:
        _check_lines(path, data, kinds)
        kind, size = "svg", (1, 1)
    if size is None:
        raise _refuse(path, "a picture that is cut short", kinds)
    if not all(1 <= side <= _MOST_PIXELS for side in size):
        found = f"{size[0]} x {size[1]} pixels"
        raise _refuse(path, found, f"{_MOST_PIXELS} pixels a side at most")
    return Letterhead(kind, base64.b64encode(data).decode())


def _check_lines(path: Path, data: bytes, kinds: str) -> None:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refuse(path, "no picture", kinds) from error
    begin = re.sub(r"^\s*(?:<\?xml[^>]*\?>)?\s*(?:<!--.*?-->\s*)*", "", text, flags=re.DOTALL)
    if not re.match(r"<svg[\s>]", begin):
        raise _refuse(path, "no picture", kinds)
    active = _ACTIVE.search(text)
    if active:
        allowed = "an SVG that has no scripts, links, document type or parts from elsewhere"
        raise _refuse(path, repr(active[0][:40]), allowed)
