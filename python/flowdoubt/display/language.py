"""Words of reports and figures in a language: one file has all of them.

A message has a key and places, as ``{flow}``, which are filled with text only: no file of words can
do more than write words.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from flowdoubt.display.words import unit_of
from flowdoubt.edge.errors import file_path, refuse

_PLACE = re.compile(r"\{(\w+)\}")
# numbers that stand alone, with a unit or in brackets; no part of a name, a date or of a clause
_NUMBER = re.compile(
    r"(?<![\w.,:/-])([+\-\N{MINUS SIGN}]?)(\d+)(\.\d+)?(?=e[+-]?\d+(?!\w)|(?![\w.,:/-]*[.:-]\d))"
)
# more than a file of words needs, in bytes
_MOST_BYTES = 1 << 20


class Theirs(str):
    """What somebody wrote, which no language and no form of numbers changes."""


class Language:
    """The words of a language, and how it writes numbers."""

    def __init__(
        self, code: str, messages: Mapping[str, str], signs: tuple[str, str] | None = None
    ) -> None:
        self.code = code
        self._messages = messages
        self._signs = signs

    def __call__(self, key: str, /, **places: str) -> str:
        """Return a message with its places filled."""
        shown = {
            name: text if isinstance(text, Theirs) else self.number(text)
            for name, text in places.items()
        }
        return _PLACE.sub(lambda found: shown[found[1]], self._messages[key])

    def number(self, text: str) -> str:
        """Return text with its numbers as the language writes them, if that was asked for."""
        if self._signs is None:
            return text
        decimal, group = self._signs

        def written(found: re.Match[str]) -> str:
            sign, whole, rest = found[1], found[2], found[3] or ""
            if len(whole) > 4:
                whole = re.sub(r"(?<=\d)(?=(\d{3})+$)", group, whole)
            return f"{sign}{whole}{rest.replace('.', decimal)}"

        return _NUMBER.sub(written, text)

    def quantity(self, text: str) -> str:
        """Return a number with its unit as it is printed."""
        number, space, unit = text.rpartition(" ")
        if unit == "deg":
            return self.number(f"{number}\N{DEGREE SIGN}")
        return self.number(f"{number}{space}{unit_of(unit)}")

    def word(self, word: str) -> str:
        """Return a word of the core, such as a component or a verdict; what has none stays."""
        return self._messages.get(f"values.{word}", word)

    def told(self, told: Sequence[Any]) -> str:
        """Return what the core tells: a kind, and its text or parts."""
        kind = told[0]
        if kind == "said":
            _, key, places = told
            return self(key, **{name: Theirs(self.told(part)) for name, part in places.items()})
        if kind == "joined":
            return str(told[2]).join(map(self.told, told[1]))
        if kind == "number":
            return self.quantity(told[1])
        return self.word(told[1]) if kind == "word" else str(told[1])

    def sentence(self, told: Sequence[Any]) -> str:
        """Return what the core tells with a capital letter."""
        words = self.told(told)
        return words[:1].upper() + words[1:]

    def input(self, phrases: Sequence[tuple[str, str]], name: str) -> str:
        """Return what an input is, from the keys of its phrases; its name where there are none."""
        said = (self(f"inputs.{key}", number=Theirs(number)) for key, number in phrases)
        return ", ".join(said) or name


def _flat(table: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{path}{key}.")
        else:
            yield f"{path}{key}", value


def places(message: str) -> frozenset[str]:
    """Return the names of the places of a message."""
    return frozenset(_PLACE.findall(message))


_OF_LANGUAGE = ("language.name", "language.code", "language.decimal", "language.group")


def _read(text: str, source: str) -> dict[str, str]:
    try:
        return dict(_flat(tomllib.loads(text)))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise refuse(
            f"{source}: {error}; allowed: TOML", code="syntax", field=source, allowed="TOML"
        ) from error


@cache
def _english() -> dict[str, str]:
    return _read(_packaged("en"), "en.toml")


def _packaged(name: str) -> str:
    return (files("flowdoubt.reports") / "languages" / f"{name}.toml").read_text("utf-8")


def names() -> list[str]:
    """Return the languages that the package has, by their names."""
    folder = files("flowdoubt.reports") / "languages"
    return sorted(p.name.removesuffix(".toml") for p in folder.iterdir() if p.name[-5:] == ".toml")


def _check(found: dict[str, Any], source: str) -> None:
    """Refuse words that are missing, unknown or no text, and places that differ from English."""
    english = _english()
    for key in [*english, *found]:
        own, model = found.get(key), english.get(key)
        if own is None or model is None:
            what = "missing; needed" if own is None else "found; allowed"
            allowed = "every key of the English file" if own is None else "keys of the English file"
            code = "missing" if own is None else "unknown-key"
            raise refuse(f"{source}: {key}: {what}: {allowed}", code=code, field=key)
        # figures would read what stands between dollar signs as mathematics
        if not isinstance(own, str) or "$" in own:
            raise refuse(
                f"{source}: {key}: found {own!r}; allowed: text without $",
                code="wrong-type",
                field=key,
            )
        if places(own) != places(model):
            allowed = ", ".join(f"{{{name}}}" for name in sorted(places(model))) or "no places"
            raise refuse(
                f"{source}: {key}: found {own!r}; allowed: {allowed}", field=key, allowed=allowed
            )
    code, decimal, group = (found[f"language.{name}"] for name in ("code", "decimal", "group"))
    for key, fits, allowed in (
        ("code", re.fullmatch("[a-z]{2,3}", code), "two or three letters, such as de"),
        ("decimal", decimal in {".", ","}, "a point or a comma"),
        ("group", group in {"", " ", "\u2009", "\u202f", "'"}, "nothing, a space or an apostrophe"),
    ):
        if not fits:
            value = found[f"language.{key}"]
            raise refuse(
                f"{source}: language.{key}: found {value!r}; allowed: {allowed}",
                field=f"language.{key}",
                value=value,
                allowed=allowed,
            )


def text_of_file(path: Path, most: int, allowed: str) -> str:
    """Return a file of text; refuse what cannot be read or is too large."""
    try:
        with path.open("rb") as file:
            data = file.read(most + 1)
        if len(data) > most:
            reason = f"more than {most} bytes"
        else:
            return data.decode()
    except (OSError, ValueError) as error:
        reason = str(error)
    raise refuse(
        f"{path}: {reason}; allowed: {allowed}",
        code="file",
        field=str(path),
        allowed=allowed,
    )


def language_of(language: str | os.PathLike[str], numbers: str = "plain") -> Language:
    """Return a language of the package by its name, or that of a file.

    Parameters
    ----------
    language
        ``"en"``, ``"de"``, or the path of a file with the keys of these.
    numbers
        ``"plain"``: a point before the decimals; ``"language"``: as the language writes them.

    Returns
    -------
    Language
        All words.

    Raises
    ------
    InputError
        A name that the package does not have; a file whose keys or places are not those of English,
        or that cannot be read.
    """
    if numbers not in {"plain", "language"}:
        allowed = "plain, language"
        raise refuse(
            f"numbers: found {numbers!r}; allowed: {allowed}",
            code="unknown-name",
            field="numbers",
            value=numbers,
            allowed=allowed,
        )
    named = os.fspath(file_path("language", language))
    if named in names():
        found = _read(_packaged(named), f"{named}.toml")
    elif named.endswith(".toml"):
        own = text_of_file(Path(named), _MOST_BYTES, "a file of words (TOML)")
        found = _read(own, named)
    else:
        allowed = f"{', '.join(names())}, or a file that ends in .toml"
        raise refuse(
            f"language: found {named!r}; allowed: {allowed}",
            code="unknown-name",
            field="language",
            value=named,
            allowed=allowed,
        )
    _check(found, named)
    signs = (found["language.decimal"], found["language.group"])
    return Language(found["language.code"], found, signs if numbers == "language" else None)


_spoken: ContextVar[Language | None] = ContextVar("spoken", default=None)


@contextmanager
def speaking(language: Language) -> Iterator[None]:
    """Let figures that are drawn meanwhile have the words of a language."""
    token = _spoken.set(language)
    try:
        yield
    finally:
        _spoken.reset(token)


def spoken() -> Language:
    """Return the language of figures: English unless another is spoken."""
    return _spoken.get() or Language("en", _english())
