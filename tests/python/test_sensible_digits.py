"""What people read has digits that mean something, in the units that they chose.

Everything that is printed of three sites is searched: displays, texts, pages, reports, commands.
Data (JSON, CSV, data frames, records) and the worksheet of an auditor keep full digits.
"""

from __future__ import annotations

import contextlib
import html
import io
import re
from pathlib import Path

import pytest
from conftest import DEMO

import flowdoubt as fd
from flowdoubt import cli

PLASTIC = """
[site]
name = "brine loop"
flow_unit = "L/min"
[liquid]
kind = "ethylene glycol"
mass_fraction = { value = "30 %", half_width = "1 %", shape = "rectangular" }
temperature = { value = "-3 degC", standard_uncertainty = "0.5 K" }
absolute_pressure = { value = "3 bar", standard_uncertainty = "0.1 bar" }
sound_speed = { value = "1640 m/s", standard_uncertainty = "8 m/s" }
[pipe]
outside_diameter = { value = "90.1 mm", half_width = "0.2 mm", shape = "rectangular" }
wall = { readings = ["5.2 mm", "5.4 mm", "5.3 mm", "5.3 mm"] }
material = "PVC-U"
[path]
basis = "timed"
traverses = 2
wedge_angle = { value = "38 deg", standard_uncertainty = "0.2 deg" }
wedge_sound_speed = { value = "2430 m/s", standard_uncertainty = "10 m/s" }
[meter]
zero_time_difference = { value = "0 ns", standard_uncertainty = "0.3 ns" }
wedge_delay = { value = "12 us", standard_uncertainty = "0.1 us" }
"""
COPPER = """
[site]
name = "hot tap water"
[liquid]
kind = "water"
temperature = { value = "70 degC", half_width = "1 K", shape = "rectangular" }
absolute_pressure = { value = "4 bar", half_width = "0.3 bar", shape = "rectangular" }
[pipe]
outside_diameter = { value = "28.0 mm", half_width = "0.05 mm", shape = "rectangular" }
wall = { value = "1.5 mm", half_width = "0.1 mm", shape = "rectangular" }
material = "copper"
survey_temperature = "20 degC"
[path]
basis = "timed"
traverses = 4
wedge_angle = { value = "42 deg", standard_uncertainty = "0.2 deg" }
wedge_sound_speed = { value = "2430 m/s", standard_uncertainty = "10 m/s" }
[meter]
zero_time_difference = { value = "0 ns", standard_uncertainty = "0.3 ns" }
wedge_delay = { value = "10 us", standard_uncertainty = "0.1 us" }
"""

# a number that is no part of a name, digest, date or identifier
_NUMBER = r"(?<![\w.\-/#])[-+]?\d[\d.]*"
_FAULTS = {
    "an exponent": re.compile(r"(?<![\w.#])\d+(?:\.\d+)?[eE][-+]?\d+(?![\w])"),
    "infinity or no number as a word": re.compile(
        r"(?<![\w-])[-+]?(?:inf|nan|NaN|Infinity)(?![\w-])"
    ),
    "one of several": re.compile(
        r"(?<![\d.,\w] )(?<![\d.,\w])1 (?:rows|readings|trials|points|runs|inputs|others|"
        r"figures|placements|steps|stretches|periods|sites|gaps|layers|traverses|warnings|minutes|counts|"
        r"lines|hours|days|years|pieces|metres|alternatives|sets|files|effective degrees)\b"
    ),
    "more than seven digits": re.compile(r"(?<![\w.#-])\d*\.?\d*(?![\w-])"),
    "kelvin where degrees were stated": re.compile(r"(?<![\w.])[23]\d\d(?:\.\d+)? K\b"),
}
# digests, versions, dates, names of files, standards, seeds and the like
_NAMES = re.compile(
    r"[0-9a-f]{64}|[0-9a-f]{12,}|\d{4}-\d\d-\d\d(?:[T ][\d:.+Z]*)?|R\d+-\d+\(\d+\)|seed \d+|"
    r"\S+\.(?:csv|toml|json|html)|Sensors 21 \(2021\) 868|10\.\d{4}/\S+|--\S+ \S+"
)
_MOST = 7


def faults(text: str) -> list[str]:
    """What is wrong with the numbers of a text, each with what stands round it."""
    text = _NAMES.sub(" ", text)
    found = []
    for name, pattern in _FAULTS.items():
        for match in pattern.finditer(text):
            digits = re.sub(r"\D", "", match[0]).strip("0")
            if name.startswith("more than") and len(digits) <= _MOST:
                continue
            around = text[max(match.start() - 50, 0) : match.end() + 30].replace("\n", " | ")
            found.append(f"{name}: {around}")
    return found


def as_read(page: str) -> str:
    """The text of a page of HTML, without style, pictures' geometry, and data that it carries."""
    page = re.sub(r"<style.*?</style>|<script.*?</script>|<head>.*?</head>", " ", page, flags=re.S)
    page = re.sub(r"<text[^>]*>(.*?)</text>", r" [\1] ", page, flags=re.S)
    page = re.sub(r"<metadata>.*?</metadata>|<defs>.*?</defs>", " ", page, flags=re.S)
    page = re.sub(r"</t[dh]>|<br>|</p>|</li>", " ; ", page)
    return html.unescape(re.sub(r"<[^>]*>", "", page))


def said(*arguments: object) -> str:
    """What a command prints."""
    out, beside = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(beside):
        status = cli.main([str(each) for each in arguments])
    assert status in (0, 1), beside.getvalue()
    return out.getvalue() + beside.getvalue()


def shown(name: str, thing: object) -> dict[str, str]:
    """Everything in which an object shows itself."""
    texts = {f"str of {name}": str(thing), f"repr of {name}": repr(thing)}
    if hasattr(thing, "_repr_html_"):
        texts[f"display of {name}"] = as_read(thing._repr_html_())
    if hasattr(thing, "headline"):
        texts[f"headline of {name}"] = str(thing.headline)
    for code, words in getattr(thing, "warnings", ()) if name != "plan" else ():
        texts[f"warning {code} of {name}"] = words
    return texts


def of_site(site: fd.Site, evaluation: fd.Evaluation, flows: list[str], temperature: str | None,
            folder: Path) -> dict[str, str]:  # fmt: skip
    """All texts of a site with readings."""
    stated = {} if temperature is None else {"temperature": temperature}
    trials = evaluation.monte_carlo(20_000)
    plan = site.plan(flows, temperature, traverses=[1, 2], target="1.6 %")
    commissioning = site.commissioning(**stated, flow=flows[-1])
    things = {
        "site": site,
        "evaluation": evaluation,
        "budget": evaluation.budget,
        "expanded": evaluation.expanded(0.95),
        "trials": trials,
        "tallied trials": evaluation.monte_carlo(20_000, keep=False),
        "validation": evaluation.validate(trials),
        "sound speed check": evaluation.sound_speed_check(),
        "zero check": evaluation.zero_check({"time_difference_ns": [0.1, 0.4, -0.2, 0.3]}),
        "reconciliation": evaluation.reconciled(),
        "second order": evaluation.second_order(),
        "adaptive run": evaluation.adaptive_monte_carlo(digits=1, most_trials=20_000),
        "low discrepancy": evaluation.low_discrepancy(256, 4),
        "target": evaluation.target("1.6 %"),
        "stress test": evaluation.stress_test(trials=1000),
        "plan": plan,
        "comparison": plan.comparison,
        "mark out": site.mark_out(**stated),
        "commissioning": commissioning,
        "commissioned": site.commissioned(commissioning.form()),
        "record": evaluation.record(trials),
    }
    texts: dict[str, str] = {}
    for name, thing in things.items():
        texts |= shown(name, thing)
    texts["evaluation in words"] = evaluation.in_words(trials)
    texts["plan in words"] = plan.in_words()
    texts["form"] = commissioning.form()
    texts["report"] = as_read(fd.report(evaluation, trials).html())
    text_of = folder / "site.toml"
    site.save(text_of, overwrite=True)
    with_flow = ["--flow", flows[-1]]
    heat = [] if temperature is None else ["--temperature", temperature]
    heats = [] if temperature is None else ["--temperatures", temperature]
    texts["command commission"] = said("commission", text_of, *with_flow, *heat)
    texts["command markout"] = said("markout", text_of, *heat)
    texts["command plan"] = said("plan", text_of, "--flows", *flows, *heats)
    return texts


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("digits")


def demonstration(folder: Path) -> dict[str, str]:
    site = fd.Site.load(DEMO / "site.toml")
    evaluation = site.evaluate(DEMO / "readings.csv")
    texts = of_site(site, evaluation, ["200 m3/h", "1000 m3/h"], "8 degC", folder)
    result = site.verify(DEMO / "verification.toml")
    series = site.evaluate_series(DEMO / "readings.csv", period="day", reverse="separate")
    things = {"verification": result, "series": series, "trials of it": result.monte_carlo(10_000)}
    for name, thing in things.items():
        texts |= shown(name, thing)
    texts["verification in words"] = result.in_words()
    texts["report of verification"] = as_read(fd.report(evaluation, verification=result).html())
    texts["command verify"] = said("verify", DEMO / "site.toml", DEMO / "verification.toml")
    texts["command evaluate"] = said("evaluate", DEMO / "site.toml", DEMO / "readings.csv")
    texts["command series"] = said("series", DEMO / "site.toml", DEMO / "readings.csv")
    return texts


def small(text: str, flow: str, other: str, folder: Path) -> dict[str, str]:
    site = fd.Site.from_toml(text)
    rehearsal = site.evaluate(site.plan([flow]).rehearsal(0))
    return of_site(site, rehearsal, [other, flow], None, folder)


KINDS = {
    "demonstration": demonstration,
    "plastic pipe with glycol": lambda folder: small(PLASTIC, "400 L/min", "50 L/min", folder),
    "hot copper pipe": lambda folder: small(COPPER, "1.2 m3/h", "0.2 m3/h", folder),
}


@pytest.mark.parametrize("kind", KINDS)
def test_people_read_no_digits_without_a_meaning(kind: str, folder: Path) -> None:
    texts = KINDS[kind](folder)
    assert len(texts) > 40
    found = [f"{name}: {fault}" for name, text in texts.items() for fault in faults(text)]
    assert not found, "\n" + "\n".join(dict.fromkeys(found))


def test_faults_are_found() -> None:
    wrong = ["Re = 1.74e+04", "u = 3.4e-22 m", "1 rows", "dof inf", "260.360894203 m", "343.15 K"]
    assert all(faults(text) for text in wrong)
    right = [
        "Re = 17 400",
        "1 row",
        "21 rows",
        "infinite",
        "260.36 m",
        "70 degC",
        "0.5 K",
        "a" * 64,
    ]
    assert not [text for text in right if faults(text)]
