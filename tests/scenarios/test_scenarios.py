"""Three invented sites, each from the file to begin with to a printed report, as a new user goes.

A plastic pipe of DN 80 with glycol, a lined sea-water intake of DN 600, a copper pipe of DN 25 at
70 degC. Each has readings in another form of table. What they should give, a textbook's equations
tell to a few per cent.
"""

import re
import tomllib
from math import asin, log10, pi, radians, sin, tan
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
import openpyxl
import pytest

import flowdoubt as fd
from flowdoubt import cli

HERE = Path(__file__).parent
SITES = {
    "plastic_glycol": ("timed", "propylene glycol", "-4 degC"),
    "sea_water_intake": ("geometric", "sea water", "14 degC"),
    "hot_copper": ("indicated", "water", "70 degC"),
}
ROWS = 40


def scattered(mean, deviation, seed, digits):
    """Readings as a meter shows them."""
    return np.round(np.random.default_rng(seed).normal(mean, deviation, ROWS), digits)


def clock():
    return [f"10:{i // 12:02}:{i % 12 * 5:02}" for i in range(ROWS)]


def logger_table(path):
    """UTF-16, semicolons, decimal commas, title rows, units in a row of their own, states."""
    times = scattered(124.80, 0.02, 1, 3)
    differences = scattered(50.3, 0.9, 2, 2)
    temperatures = scattered(-4.0, 0.05, 3, 2)
    lines = ["Brine loop", "", "Time;Transit time;Time difference;Temperature;State", ";us;ns;°C;"]
    for row in zip(clock(), times, differences, temperatures, strict=True):
        lines.append(";".join([str(cell).replace(".", ",") for cell in row] + ["ok"]))
    lines[10] = f"{clock()[6]};0;0;0;no echo"
    path.write_text("\n".join(lines) + "\n", encoding="utf-16")
    return {"status": {"State": ["ok"]}}


def workbook(path):
    """A workbook with a title, units in brackets and a column of something else."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Sea-water intake, line 2"])
    sheet.append(["Time", "Time difference [ns]", "Temperature [degC]", "Pump current [A]"])
    rows = zip(clock(), scattered(334.0, 2.5, 4, 1), scattered(14.0, 0.1, 5, 2), strict=True)
    for clock_time, difference, temperature in rows:
        sheet.append([f"2026-11-03T{clock_time}", float(difference), float(temperature), 31.5])
    book.save(path)
    return {}


def tabs(path):
    """Latin-1, tabs, names with units."""
    rows = zip(scattered(28.4, 0.15, 6, 2), scattered(70.0, 0.2, 7, 1), strict=True)
    text = "Flow (L/min)\tTemperature (°C)\n" + "".join(f"{q}\t{t}\n" for q, t in rows)
    path.write_bytes(text.encode("latin-1"))
    return {"columns": {"volume_flow": "Flow (L/min)"}}


FORMS = {
    "plastic_glycol": ("readings.txt", logger_table),
    "sea_water_intake": ("readings.xlsx", workbook),
    "hot_copper": ("readings.tsv", tabs),
}


def merged(sections, answers):
    """The sections of the starter with what the user answered."""
    for key, value in answers.items():
        own = sections.get(key)
        is_section = isinstance(own, dict) and not {"value", "readings"} & (
            own.keys() | value.keys()
        )
        sections[key] = merged(own, value) if is_section else value
    return sections


def made(name):
    """The site of a scenario, from the starter and what the user answered; its flow."""
    basis, liquid, _ = SITES[name]
    sections = tomllib.loads(fd.Site.starter(basis, liquid))
    answers = tomllib.loads((HERE / name / "answers.toml").read_text(encoding="utf-8"))
    flow = answers.pop("flow")
    for path in answers.pop("without"):
        section, key = path.split(".")
        del sections[section][key]
    return fd.Site.from_dict(merged(sections, answers)), flow


@pytest.fixture(scope="module", params=SITES)
def name(request):
    return request.param


@pytest.fixture(scope="module")
def day(name, tmp_path_factory):
    """Site, readings and evaluation of a day."""
    site, flow = made(name)
    file, write = FORMS[name]
    path = tmp_path_factory.mktemp(name) / file
    options = write(path)
    return site, flow, path, site.evaluate(path, **options)


def textbook_flow(name, evaluation):
    """The flow in m3/s by equations that every textbook of the method has, to a few per cent.

    ``v = c^2 dt / (2 n d tan(theta))`` on the path, angle by Snell's law, and ``2 n / (2 n + 1)``
    for a power law with ``n = 1.66 log10(Re)`` on a path through the axis.
    """
    if name == "hot_copper":
        return 28.4e-3 / 60
    bore, c, wedge, angle, nu, traverses, dt = {
        # inside diameter from circumference and wall; sound speed and viscosity as stated or
        # from TEOS-10 and tables, rounded
        "plastic_glycol": (0.0793, 1690.0, 2430 + 22 * 2.5, 38.0, 1.11e-5, 2, 50.3e-9),
        "sea_water_intake": (0.5712, 1502.0, 2430.0, 40.0, 1.22e-6, 1, 334.0e-9),
    }[name]
    theta = asin(sin(radians(angle)) * c / wedge)
    path = c**2 * dt / (2 * traverses * bore * tan(theta))
    exponent = 1.66 * log10(path * bore / nu)
    return 2 * exponent / (2 * exponent + 1) * path * pi / 4 * bore**2


def test_a_site_made_of_answers_is_written_with_comments_and_read_again(name):
    site, _ = made(name)
    text = site.to_toml()
    assert "# " in text and "[pipe]" in text
    again = fd.Site.from_toml(text)
    assert again.to_toml() == text
    assert again.stated == site.stated


def test_the_result_is_that_of_a_textbook(name, day):
    evaluation = day[-1]
    assert evaluation.readings in (ROWS, ROWS - 1)
    expected = textbook_flow(name, evaluation)
    # a bend and two bends upstream, transition and roughness: the textbook knows none of them
    assert evaluation.value("m3/s") == pytest.approx(expected, rel=0.06)
    u = evaluation.standard_uncertainty / evaluation.value()
    assert 0.004 < u < 0.12
    assert evaluation.how_read


def test_the_day_before(name, day, tmp_path):
    site, flow, *_ = day
    temperature = SITES[name][2]
    plan = site.plan([flow], [temperature], target="10 %")
    assert plan.reachable is not None
    site.mark_out(temperature=temperature).sheet(tmp_path / "sheet.pdf")
    commissioning = site.commissioning(temperature=temperature, flow=flow)
    commissioning.page(tmp_path / "steps.pdf")
    commissioning.save_form(tmp_path / "form.toml")
    found = site.read_commissioning(tmp_path / "form.toml")
    assert not found.as_it_should_be
    for file in ("sheet.pdf", "steps.pdf"):
        assert (tmp_path / file).read_bytes().startswith(b"%PDF")


def test_record_and_reproduction(day, tmp_path):
    evaluation = day[-1]
    trials = evaluation.monte_carlo(trials=20_000)
    assert trials.mean == pytest.approx(evaluation.value(), rel=0.02)
    evaluation.record(trials).save(tmp_path / "record.json")
    assert fd.reproduce(tmp_path / "record.json")
    command = ["report", str(tmp_path / "record.json"), "--output", str(tmp_path / "report.html")]
    assert cli.main(command) == 0


HEAD = {
    "report": {"number": "HM-R 2026/044", "date": "2026-12-01", "place": "Harrowmere"},
    "customer": {"name": "Harrowmere works"},
    "people": {"measured_by": ["A. Ostler"]},
    "instrument": [
        {"name": "portable electronics", "kind": "electronics", "serial_number": "HM 5"}
    ],
}


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_report_with_a_head_in_two_languages(day, language, tmp_path):
    evaluation = day[-1]
    trials = evaluation.monte_carlo(trials=10_000)
    report = fd.report(evaluation, trials, head=HEAD, language=language, numbers="language")
    for suffix in (".html", ".pdf"):
        report.save(tmp_path / f"report{suffix}")
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert "HM-R 2026/044" in page and "A. Ostler" in page
    assert ("Messunsicherheit" in page) == (language == "de")


def test_exports_and_figures(day, tmp_path):
    evaluation = day[-1]
    for suffix in (".xlsx", ".docx", ".md"):
        fd.export({"result": evaluation, "sheet": evaluation.worksheet}, tmp_path / f"all{suffix}")
    ax = fd.plots.contributions(evaluation.budget)
    fd.plots.save(ax, tmp_path / "budget.pdf", width="column")
    plt.close(ax.figure)


# What nobody should have to read: powers of ten, numbers that are none, more digits than are known.
UNREADABLE = {
    "power of ten": re.compile(r"\d[eE][-+]?\d"),
    "no number": re.compile(r"\b(inf|nan|None)\b"),
    "one of many": re.compile(r"\b1 (rows|readings|inputs|trials)\b"),
    "too many digits": re.compile(r"\b(?=[\d.]{9,})0*\.?0*[1-9]\.?(?:\d\.?){8,}\b"),
}


def test_what_is_printed_can_be_read(day):
    site, *_, evaluation = day
    told = {
        "evaluation": evaluation.in_words(),
        "page": re.sub(r"<[^>]*>", " ", evaluation._repr_html_()),
        "site": re.sub(r"<[^>]*>", " ", site._repr_html_()),
    }
    found = {
        (place, what): match[0]
        for place, text in told.items()
        for what, pattern in UNREADABLE.items()
        if (match := pattern.search(text))
    }
    assert found == {}
