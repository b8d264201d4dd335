"""Numbers and units for the eye. Data keep the plain forms."""

from __future__ import annotations

import math

from flowdoubt import _core
from flowdoubt._core import rounded_pair
from flowdoubt.edge.text import shown

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


def in_words(phrases: list[tuple[str, str]], words: dict[str, str] | None = None) -> str:
    """Return what an input is, from keys and numbers; `words` are those of a language by key."""
    english = _core._words_by_key()
    told = [(words or english).get(key, english[key]).replace("{}", n) for key, n in phrases]
    return ", ".join(told)


def named(name: str, words: dict[str, str] | None = None) -> str:
    """Return what an input is by its name, as a cell of a table: words over the path."""
    phrases = _core._phrases_of(name)
    return f"{in_words(phrases, words)}\n{shown(name)}" if phrases else shown(name)


def named_inputs(budget: _core.Budget, words: dict[str, str] | None = None) -> list[str]:
    """Return what the inputs of a budget are, as cells of a table: words over the path."""
    names = map(shown, map(str, budget.columns()["input"]))
    pairs = zip(names, budget._phrases(), strict=True)
    return [f"{in_words(own, words)}\n{name}" if own else name for name, own in pairs]


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
    """Return degrees of freedom, rounded down, to one decimal below 100."""
    if value >= 1e5:
        return "\N{INFINITY}"
    return f"{math.floor(value)}" if value >= 100 else f"{math.floor(10 * value) / 10:g}"
