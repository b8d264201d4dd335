"""HTML of what has no page of its own: its sentences, or a table of what it knows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np

from flowdoubt import _core
from flowdoubt._core import rounded, rounded_pair
from flowdoubt.display import html
from flowdoubt.display.words import dof, typographic, unit_of
from flowdoubt.edge.text import escape, shown

# units of what is in SI units by its docstring, by class and attribute
_UNITS = {
    "Angles": dict.fromkeys(("wall", "liner", "layers", "liquid"), "rad"),
    "Path": {"axial_slowness": "s/m", "spacing": "m", "time_in_liquid": "s", "dead_time": "s"},
    "Advice": {"orientation": "rad"},
    "StraightRuns": {"upstream": "D", "downstream": "D"},
    "Dimensions": {"outside_diameter": "m", "wall": "m"},
    "WallGrid": {
        "direction": "rad",
        **dict.fromkeys(
            ("mean", "smallest", "largest", "standard_deviation", "eccentricity", "residual"), "m"
        ),
    },
    "Material": {
        "longitudinal_speed": "m/s",
        "shear_speed": "m/s",
        "longitudinal_speed_per_kelvin": "m/s/K",
        "shear_speed_per_kelvin": "m/s/K",
        "density": "kg/m3",
        "expansion": "1/K",
        "youngs_modulus": "Pa",
        "roughness": "m",
    },
}
# of the unit beside, where there is one
_RATIOS = re.compile(
    r"dof|factor|probability|p_value|share|risk|count|trials|readings|seed|digits|batches|points|"
    r"replicates|significance|chi|standardised|kurtosis|skewness|ratio|index|statistic|critical|"
    r"accepted|conforming|coverage|planes|variance|covariance|correlation|weights|groups|^f$"
)
_UNCERTAIN = re.compile("uncertainty|deviation|error|bias|tolerance|difference")
_LONGEST = 8


def facts_html(thing: Any) -> str:
    """Return what an object says of itself, or its attributes as a table."""
    name = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(thing).__name__)
    first, *more = name.split(" ")
    name = " ".join((first, *(word.lower() if word[1:] else word for word in more)))
    title = f"<p><b>{escape(name)}</b></p>"
    words = _words(thing)
    if words:
        return title + "".join(f"<p>{escape(typographic(line))}</p>" for line in words)
    rows = _members(thing) if isinstance(thing, Mapping) else _attributes(thing)
    return title + html.pairs(list(rows))


def _words(thing: Any) -> list[str]:
    """Return the sentences of an object that has some of its own."""
    said = getattr(thing, "in_words", None)
    if not isinstance(said, str):
        said = str(thing)
        if said.startswith("<") or _is_plain(thing):
            return []
    return [line.strip() for line in said.splitlines() if line.strip()]


def _is_plain(thing: Any) -> bool:
    """Whether an object is a collection of values and has no words of its own."""
    return isinstance(thing, (Mapping, tuple)) or hasattr(type(thing), "__dataclass_fields__")


def _members(thing: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for name, member in thing.items():
        result = getattr(member, "result", None)
        if callable(result):
            value, u = rounded_pair(*result())
            unit = unit_of(member.unit)
            yield name, f"{value} {unit}, standard uncertainty {u} {unit}".replace(" ,", ",")
        else:
            yield name, str(member)


def _attributes(thing: Any) -> Iterator[tuple[str, str]]:
    own_unit = getattr(thing, "unit", "")
    units = _UNITS.get(type(thing).__name__, {})
    for name in _names(thing):
        if name in {"unit", "in_words"}:
            continue
        value = getattr(thing, name)
        if value is None or callable(value):
            continue
        beside = "" if _RATIOS.search(name) or not isinstance(own_unit, str) else own_unit
        unit = unit_of(units.get(name, beside))
        if "dof" in name and isinstance(value, float):
            words = dof(value)
        else:
            words = _told(value, unit, 2 if _UNCERTAIN.search(name) else 4)
        if words:
            yield name.replace("_", " "), words


def _names(thing: Any) -> Iterable[str]:
    fields = getattr(type(thing), "__dataclass_fields__", None)
    return fields or [name for name in dir(type(thing)) if not name.startswith("_")]


def _told(value: Any, unit: str, digits: int = 4) -> str:
    """Return a value in words; nothing for what has no few words."""
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, str):
        return shown(value)
    if isinstance(value, (int, np.integer)):
        return str(value)
    if isinstance(value, (float, np.floating)):
        number = float(value)
        whole = number.is_integer() and abs(number) < 1e5
        return f"{int(number) if whole else rounded(number, digits)} {unit}".strip()
    if hasattr(value, "half_width"):
        known = getattr(value, "source", "")
        told = " \N{PLUS-MINUS SIGN} ".join(rounded_pair(value.estimate, value.half_width))
        told = f"{told} {unit}".strip()
        return f"{told} ({shown(known)})" if known else told
    if isinstance(value, np.ndarray) and (value.ndim != 1 or value.size > _LONGEST):
        return f"{' by '.join(map(str, value.shape))} numbers"
    if isinstance(value, (list, tuple, np.ndarray)):
        parts = [_told(each, "", digits) for each in value[:_LONGEST]]
        more = ", and so on" if len(value) > _LONGEST else ""
        return f"{', '.join(part for part in parts if part)}{more} {unit}".strip(", ")
    if isinstance(value, Mapping):
        parts = [f"{key} {_told(each, '')}" for key, each in value.items()]
        return ", ".join(parts)
    # with attributes of its own: in one line
    if isinstance(value, _core.Budget):
        return typographic(value.result_in_words)
    if _is_plain(value):
        return ", ".join(f"{name} {words}" for name, words in _attributes(value))
    return " ".join(str(value).split()).strip("<>")


def give_displays(owned: Iterable[Any]) -> None:
    """Give a display to those of the package's classes that have none."""
    for own in owned:
        if not isinstance(own, type) or issubclass(own, BaseException):
            continue
        if own.__module__.startswith("flowdoubt") and not hasattr(own, "_repr_html_"):
            own._repr_html_ = facts_html  # type: ignore[attr-defined]
