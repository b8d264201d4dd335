"""The head of a report: customer, order, people, instruments. It is the word of who wrote it."""

from __future__ import annotations

import datetime
import difflib
import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path
from typing import Any

from flowdoubt.display.language import text_of_file
from flowdoubt.edge.errors import refuse
from flowdoubt.reports.letterhead import Letterhead, letterhead_of
from flowdoubt.site import Inventory

# more than any head has
_MOST_BYTES, _MOST_LETTERS, _MOST_ENTRIES = 1 << 20, 2000, 200

# what a section has: one text, or several
_SECTIONS: dict[str, dict[str, type]] = {
    "report": {
        "number": str,
        "date": str,
        "order": str,
        "place": str,
        "remarks": str,
        "letterhead": str,
    },
    "customer": {"name": str, "address": list},
    "issuer": {"name": str, "address": list},
    "readings": {"from": str, "to": str},
    "people": {"measured_by": list, "signed_by": list},
    "conditions": {"ambient": str, "liquid": str},
    "traceability": {"statement": str},
    "requirement": {
        "lower": str,
        "upper": str,
        "rule": str,
        "probability": float,
        "source": str,
    },
}
RULES = ("simple acceptance", "guarded acceptance", "guarded rejection")
_INSTRUMENT = ("name", "kind", "serial_number", "certificate", "due", "note")


@dataclass(frozen=True)
class Instrument:
    """An instrument with what is said of it; empty where nothing is."""

    name: str
    kind: str = ""
    serial_number: str = ""
    certificate: str = ""
    due: str = ""
    note: str = ""


@dataclass(frozen=True)
class Head:
    """What stands over a report and beside its result."""

    texts: Mapping[str, str] = field(default_factory=dict)
    lists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    # with which a guarded decision is right
    probability: float = 0.95
    instruments: tuple[Instrument, ...] = ()
    # those of a file of instruments, where the site or the head names them
    known: tuple[Instrument, ...] = ()
    letterhead: Letterhead | None = None
    given: bool = False

    def text(self, key: str) -> str:
        """Return a text by its key, such as ``report.number``; empty where it is not stated."""
        return self.texts.get(key, "")

    @property
    def requires_flow(self) -> bool:
        """Whether there is a requirement on the flow."""
        return any(key.startswith("requirement.") for key in self.texts)

    def lines(self, key: str) -> tuple[str, ...]:
        """Return a list by its key, such as ``people.signed_by``."""
        return self.lists.get(key, ())


def head_starter() -> str:
    """Return a commented head of a report to begin with.

    Returns
    -------
    str
        TOML, to be saved as ``head.toml`` and filled in.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> "[customer]" in fd.head_starter()
    True
    """
    return (files("flowdoubt.reports") / "head_starter.toml").read_text("utf-8")


def _unknown(path: str, allowed: list[str]) -> Exception:
    near = difflib.get_close_matches(path.rpartition(".")[2], allowed, 1)
    advice = f"; did you mean `{near[0]}`?" if near else ""
    listed = ", ".join(allowed)
    return refuse(
        f"head: {path}: unknown key; allowed: {listed}{advice}",
        code="unknown-key",
        field=path,
        value=path,
        allowed=listed,
    )


def _wrong(path: str, found: Any, allowed: str) -> Exception:
    shown = repr(found)
    shown = shown if len(shown) < 80 else f"{shown[:79]}\N{HORIZONTAL ELLIPSIS}"
    return refuse(
        f"head: {path}: found {shown}; allowed: {allowed}",
        code="wrong-type",
        field=path,
        value=found,
        allowed=allowed,
    )


def _text(path: str, value: Any) -> str:
    # dates of TOML, and numbers such as those of orders, are what they look like
    if isinstance(value, (datetime.date, datetime.time)):
        value = value.isoformat()
    elif isinstance(value, bool) or not isinstance(value, (str, int)):
        raise _wrong(path, value, "text")
    words = str(value).strip()
    if len(words) > _MOST_LETTERS:
        raise _wrong(path, words, f"{_MOST_LETTERS} letters at most")
    return words


def _texts(path: str, value: Any) -> tuple[str, ...]:
    each = [value] if isinstance(value, str) else value
    if not isinstance(each, (list, tuple)) or len(each) > _MOST_ENTRIES:
        raise _wrong(path, value, "text, or a list of texts")
    return tuple(filter(None, (_text(f"{path}[{i}]", own) for i, own in enumerate(each))))


def _section(path: str, value: Any) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise _wrong(path, value, "a table of keys")
    return value


def _probability(path: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0.5 < value < 1.0:
        raise _wrong(path, value, "a number above 0.5 and below 1, such as 0.95")
    return float(value)


def _check_requirement(texts: Mapping[str, str]) -> None:
    """Refuse a requirement without a limit, and a rule that there is not."""
    stated = [key for key in texts if key.startswith("requirement.")]
    limits = [key for key in stated if key in {"requirement.lower", "requirement.upper"}]
    if stated and not limits:
        allowed = 'lower or upper, such as upper = "1050 m3/h"'
        raise refuse(
            f"head: requirement: missing limit; needed: {allowed}",
            code="missing",
            field="requirement",
            allowed=allowed,
        )
    rule = texts.get("requirement.rule", RULES[0])
    if rule not in RULES:
        raise _wrong("requirement.rule", rule, ", ".join(RULES))


def _instruments(value: Any) -> tuple[Instrument, ...]:
    if not isinstance(value, (list, tuple)) or len(value) > _MOST_ENTRIES:
        raise _wrong("instrument", value, "a list of tables")
    found = []
    for i, own in enumerate(value):
        path = f"instrument[{i}]"
        stated = _section(path, own)
        for key in stated:
            if key not in _INSTRUMENT:
                raise _unknown(f"{path}.{key}", list(_INSTRUMENT))
        texts = {key: _text(f"{path}.{key}", text) for key, text in stated.items()}
        if not texts.get("name"):
            allowed = "the name of the instrument"
            raise refuse(
                f"head: {path}.name: missing; needed: {allowed}",
                code="missing",
                field=f"{path}.name",
                allowed=allowed,
            )
        found.append(Instrument(**texts))
    return tuple(found)


def _of_inventory(path: Path) -> tuple[Instrument, ...]:
    """Return the things of a file of instruments, with the numbers of their certificates."""
    inventory = Inventory.load(path)
    certificates: dict[str, list[dict[str, Any]]] = {}
    for certificate in inventory.certificates:
        for name in certificate["of"]:
            certificates.setdefault(name, []).append(certificate)
    things = []
    for thing in inventory.things:
        own = certificates.get(thing["name"], [])
        things.append(
            Instrument(
                name=thing["name"],
                kind=str(thing.get("kind") or ""),
                serial_number=str(thing.get("serial_number") or ""),
                certificate=", ".join(f"{c['number']} ({c['date']})" for c in own),
                due=", ".join(str(c["due"]) for c in own if c.get("due")),
            )
        )
    return tuple(things)


def head_of(head: Mapping[str, Any] | str | os.PathLike[str] | None) -> Head:
    """Read the head of a report.

    Parameters
    ----------
    head
        Its tables as dictionaries, or the path of a TOML file; nothing without one.

    Returns
    -------
    Head
        What is stated.

    Raises
    ------
    InputError
        A file that cannot be read, a key that there is not, what is no text, a letterhead that is
        no picture.
    """
    if head is None:
        return Head()
    folder = Path()
    if isinstance(head, (str, os.PathLike)):
        path = Path(head)
        folder = path.parent
        text = text_of_file(path, _MOST_BYTES, "the path of a head of a report (TOML)")
        try:
            head = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, RecursionError) as error:
            raise refuse(
                f"{path}: {error}; allowed: TOML", code="syntax", field=str(path), allowed="TOML"
            ) from error
    stated = _section("head", head)
    texts: dict[str, str] = {}
    lists: dict[str, tuple[str, ...]] = {}
    instruments: tuple[Instrument, ...] = ()
    known: tuple[Instrument, ...] = ()
    probability = Head.probability
    for name, value in stated.items():
        if name == "instrument":
            instruments += _instruments(value)
        elif name == "instruments":
            known += _of_inventory(folder / _text("instruments", value))
        elif name not in _SECTIONS:
            raise _unknown(str(name), [*_SECTIONS, "instrument", "instruments"])
        else:
            allowed = _SECTIONS[name]
            for key, own in _section(name, value).items():
                path_of_key = f"{name}.{key}"
                if key not in allowed:
                    raise _unknown(path_of_key, list(allowed))
                if allowed[key] is float:
                    probability = _probability(path_of_key, own)
                elif allowed[key] is list:
                    lists[path_of_key] = _texts(path_of_key, own)
                else:
                    texts[path_of_key] = _text(path_of_key, own)
    named = texts.pop("report.letterhead", "")
    letterhead = letterhead_of(folder / named) if named else None
    _check_requirement(texts)
    return Head(texts, lists, probability, instruments, known, letterhead, given=True)
