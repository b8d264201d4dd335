"""Numbers and units for the eye. Data keep the plain forms."""

from __future__ import annotations

import math

from flowdoubt._core import rounded_pair

_FORMS = (
    ("+/-", "\N{PLUS-MINUS SIGN}"),
    ("m3", "m\N{SUPERSCRIPT THREE}"),
    ("m2", "m\N{SUPERSCRIPT TWO}"),
    ("degC", "\N{DEGREE SIGN}C"),
    ("degF", "\N{DEGREE SIGN}F"),
)


def typographic(text: str) -> str:
    """Return words of this package (never of a user) with the signs that print has for them."""
    for plain, printed in _FORMS:
        text = text.replace(plain, printed)
    return text


def unit_of(symbol: str) -> str:
    """Return the symbol of a unit as it is printed."""
    return {"us": "\N{MICRO SIGN}s", "deg": "\N{DEGREE SIGN}"}.get(symbol, typographic(symbol))


def suffix_of(symbol: str) -> str:
    """Return the symbol of a unit as the last part of the name of a number."""
    return symbol.replace("/", "_").replace(" ", "_")


def to_place(value: float, uncertainty: float) -> str:
    """Return a value rounded to the last of two digits of an uncertainty (JCGM 100:2008, 7.2.6)."""
    if not math.isfinite(value):
        return ""
    return rounded_pair(value, uncertainty)[0]


def percent(ratio: float, digits: int = 1) -> str:
    """Return a ratio in percent."""
    return f"{100 * ratio:.{digits}f} %"


def signed_percent(ratio: float | None, digits: int = 2) -> str:
    """Return a ratio in percent with its sign; nothing for none."""
    return "" if ratio is None else f"{100 * ratio:+.{digits}f} %"


def score(value: float | None) -> str:
    """Return an E_n or zeta score with its sign; nothing for none."""
    return "" if value is None else f"{value:+.2f}"


def dof(value: float) -> str:
    """Return degrees of freedom, rounded down to one decimal."""
    return "\N{INFINITY}" if value >= 1e5 else f"{math.floor(10 * value) / 10:g}"
