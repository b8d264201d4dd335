"""What notebooks show: the numbers of the object, in plain text, HTML and LaTeX."""

import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

import flowdoubt as fd

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"
HOSTILE = "<script>alert(1)</script> & {x} $y$ \\z _u_"


class Cells(HTMLParser):
    """Rows of cells, and all tags."""

    def __init__(self, html):
        super().__init__()
        self.rows, self.tags, self.text = [], [], ""
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        if tag == "tr":
            self.rows.append([])
        elif tag in {"td", "th"}:
            self.rows[-1].append("")
        elif tag == "br" and self.rows and self.rows[-1]:
            self.rows[-1][-1] += "\n"

    def handle_data(self, data):
        self.text += data
        if self.rows and self.rows[-1]:
            self.rows[-1][-1] += data


@pytest.fixture(scope="module")
def site():
    return fd.Site.load(DEMO / "site.toml")


@pytest.fixture(scope="module")
def trials(site):
    return site.evaluate(DEMO / "readings.csv").monte_carlo(trials=4000, seed=3)


def test_a_site_shows_its_choices_and_every_stated_input(site):
    shown = Cells(site._repr_html_())
    assert ["liquid", "water"] in shown.rows
    assert ["basis", "timed"] in shown.rows
    for line in site.stated:
        (row,) = (row for row in shown.rows if row[0].endswith(f"\n{line['input']}"))
        assert row[1:4] == [line["estimate"], line["standard_uncertainty"], line["unit"]]
        assert row[-1].startswith(line["evidence"])
    # JCGM 100:2008, 4.2: five tape readings, their mean and its standard deviation
    tape = np.array([1276.5, 1277.5, 1277.0, 1276.0, 1277.0])
    (row,) = (
        row for row in shown.rows if row[0] == "outside circumference\npipe.outside_circumference"
    )
    assert row[1:3] == [f"{tape.mean():.2f}", f"{tape.std(ddof=1) / np.sqrt(5):.2f}"]
    assert "licensed practice" in shown.text
    # the temperature is read, so that the file alone does not tell the path
    assert site.path_layout is None
    assert "svg" not in shown.tags


def test_the_path_is_sketched_to_scale_where_it_is_known(site):
    evaluation = site.evaluate(DEMO / "readings.csv")
    html = evaluation._repr_html_()
    layout = evaluation.path_layout
    assert f"spacing {1e3 * layout['spacing_m']:.1f} mm" in html
    (points,) = re.findall(r'points="([^"]*)"[^>]*stroke-width="2"', html)
    drawn = np.array([[float(v) for v in pair.split(",")] for pair in points.split()])
    ray = layout["ray_m"] * [1, -1]
    scale = np.ptp(drawn[:, 0]) / np.ptp(ray[:, 0])
    np.testing.assert_allclose(drawn - drawn[0], scale * (ray - ray[0]), atol=0.02)
    stated = "temperature = { value = '8 degC', standard_uncertainty = '0.1 K' }\n"
    text = (DEMO / "site.toml").read_text()
    text = re.sub(r"thermometer = .*\n", stated, text)
    told = fd.Site.from_toml(text)
    assert told.path_layout["traverses"] == 2
    assert "<svg" in told._repr_html_()


def test_the_result_as_a_formula(site):
    latex = site.evaluate(DEMO / "readings.csv").budget._repr_latex_()
    assert latex == (
        r"$\text{volume flow} = 1044\ \text{m³/h},\quad u_\mathrm{c} = 15\ \text{m³/h},\quad "
        r"\nu_\mathrm{eff} = 2077$"
    )
    y = fd.propagate(lambda x: x["a"] * 1e-9, {"a": fd.normal(1.0, 0.01)}, unit="1")
    latex = y._repr_latex_()
    assert r"1.000 \times 10^{-9},\quad" in latex
    assert r"\nu_\mathrm{eff} = \infty" in latex


def test_names_of_a_user_are_text_in_formulas():
    y = fd.propagate(lambda x: {HOSTILE: x["a"]}, {"a": fd.normal(1.0, 0.1)})[HOSTILE]
    latex = y.budget._repr_latex_()
    assert r"\text{<script>alert(1)</script> \& \{x\} \$y\$ \textbackslash{}z \_u\_}" in latex


def test_trials_show_their_figures_and_histogram(trials):
    shown = Cells(trials._repr_html_())
    values = trials.values()
    u = values.std(ddof=1)
    assert ["trials", "4000, seed 3"] in shown.rows
    assert ["standard uncertainty", f"{u:.2g} m3/h"] in shown.rows
    (row,) = (row for row in shown.rows if row[0] == "95 % interval, symmetric")
    low, high = (float(end) for end in row[1].removesuffix(" m3/h").split(" to "))
    assert np.mean((values >= low) & (values <= high)) == pytest.approx(0.95, abs=0.005)
    heights = [float(h) for h in re.findall(r'<rect[^>]*height="([0-9.]+)"', trials._repr_html_())]
    counts, _ = np.histogram(values, bins=80)
    np.testing.assert_allclose(heights, 70 * counts / counts.max(), atol=0.006)


def test_a_record_and_its_reproduction_show_what_they_are(site, trials):
    evaluation = site.evaluate(DEMO / "readings.csv")
    record = evaluation.record(trials)
    shown = Cells(record._repr_html_())
    assert ["SHA-256", record.digest] in shown.rows
    assert any(evaluation.headline in cell for row in shown.rows for cell in row)
    reproduction = record.reproduce()
    shown = reproduction._repr_html_()
    assert "The record reproduces" in shown
    assert f"{len(reproduction.agreed)} figures agree, 0 differ" in shown


def test_a_verification_shows_its_flows_and_errors(site):
    verification = fd.Verification.load(DEMO / "verification.toml")
    assert "low, middle, high" in verification._repr_html_()
    result = site.verify(verification)
    shown = Cells(result._repr_html_())
    for point in result.points:
        row = next(row for row in shown.rows if row[0] == point["point"])
        flow, rest = row[3].split(" +/- ")
        assert float(flow) == pytest.approx(point["flow_m3_h"], rel=1e-3)
        assert rest.endswith("m3/h")
        assert float(row[4]) == pytest.approx(100 * point["error"], abs=0.05)


def test_text_of_a_user_is_text_in_every_display(tmp_path):
    quoted = HOSTILE.replace("\\", "\\\\")
    text = (DEMO / "site.toml").read_text()
    text = text.replace("Harrowmere district cooling, plant 2, supply main", quoted)
    text = text.replace("Clamp-on meter on the 400 mm supply main", quoted)
    text = text.replace("drawing tolerance of the wedge", quoted)
    site = fd.Site.from_toml(text)
    evaluation = site.evaluate(DEMO / "readings.csv")
    record = evaluation.record()
    file = (DEMO / "verification.toml").read_text()
    for words in ("Supply meter against", "Two placements", "low", "A"):
        whole = len(words) < 4
        file = file.replace(f'"{words}"' if whole else words, f'"{quoted}"' if whole else quoted)
    verification = fd.Verification.from_toml(file, DEMO / "verification.toml")
    result = site.verify(verification)
    displays = {
        "site": site,
        "evaluation": evaluation,
        "budget": evaluation.budget,
        "record": record,
        "worksheet": evaluation.worksheet,
        "verification": verification,
        "result": result,
    }
    for name, shown in displays.items():
        html = shown._repr_html_()
        assert "<script>" not in html, name
        assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; {x}" in html, name
    assert record.reproduce()._repr_html_()
    y = fd.monte_carlo(lambda x: {HOSTILE: x["a"]}, {"a": fd.normal(1.0, 0.1)}, trials=1000)
    html = y[HOSTILE]._repr_html_()
    assert "<script>" not in html and "&lt;script&gt;" in html
