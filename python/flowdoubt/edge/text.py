"""Text from outside, made fit to be shown: on a terminal, on a page, in a sheet."""

from __future__ import annotations

from html import escape as _escape

from flowdoubt import _core


def shown(text: str) -> str:
    r"""Return text with all that is not seen but does something as an escape, such as ``\u001b``.

    Control characters, ends of lines, marks of direction and characters without width; what is
    escaped stays as it is when it is escaped again.
    """
    return _core.shown(_whole(text))


def shown_lines(text: str) -> str:
    """Return text that has lines as `shown` does, but for their ends."""
    return "\n".join(map(_core.shown, _whole(text).split("\n")))


def escape(text: str) -> str:
    """Return text for HTML, nothing of which is read as markup or goes unseen."""
    return _escape(_core.shown(_whole(text)))


def small_print(words: str) -> str:
    """Return words of this package, which may have lines, as a paragraph of HTML in small print."""
    return f"<p><small>{escape(' '.join(words.splitlines()))}</small></p>"


def cell(text: str) -> str:
    """Return text for a cell of a CSV file, which no spreadsheet takes for a formula.

    What begins like one gets an apostrophe before it. Numbers are no text and stay numbers.
    """
    words = shown(text)
    return f"'{words}" if words.lstrip()[:1] in _FORMULA else words


# also in the wide forms that some spreadsheets read alike
_FORMULA = tuple("=+-@\uff1d\uff0b\uff0d\uff20")


def _whole(text: str) -> str:
    # names of files may have bytes that are no text
    return text.encode("utf-8", "backslashreplace").decode()
