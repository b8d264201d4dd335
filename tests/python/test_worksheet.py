"""The worksheet: every line recomputed from the numbers printed in it."""

import ast
import math
import operator
import re
from html.parser import HTMLParser

import numpy as np
import pytest
from plain_recomputation import (
    DENSITY,
    SOUND_SPEED,
    factor,
    of_water,
    path_excess,
    viscosity,
)
from scipy.optimize import brentq
from scipy.stats import norm
from scipy.stats import t as student

import flowdoubt as fd
from flowdoubt import cli

OPERATORS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


def ellipse_mean_diameter(circle, ovality):
    """Perimeter of the ellipse by quadrature."""
    angles = (np.arange(4000) + 0.5) * 2 * np.pi / 4000
    a, b = 1 + ovality / 2, 1 - ovality / 2
    perimeter = np.pi / 4000 * np.hypot(a * np.sin(angles), b * np.cos(angles)).sum()
    return circle * np.pi / perimeter


# what no pocket calculator has: written anew here, but for the properties of other liquids
FUNCTIONS = {
    "sqrt": math.sqrt,
    "abs": abs,
    "sin": math.sin,
    "ln": math.log,
    "log10": math.log10,
    "exp": math.exp,
    "floor": math.floor,
    "student_t": lambda p, dof: student.ppf(0.5 + p / 2, dof),
    "normal": lambda p: norm.ppf(0.5 + p / 2),
    "water_density": lambda t, p: of_water(DENSITY, t, p),
    "water_sound_speed": lambda t, p: of_water(SOUND_SPEED, t, p),
    "water_viscosity": viscosity,
    "path_excess": path_excess,
    "ellipse_mean_diameter": ellipse_mean_diameter,
    "sea_water_density": fd.seawater.density,
    "sea_water_sound_speed": fd.seawater.sound_speed,
    "sea_water_viscosity": lambda t, s: fd.seawater.dynamic_viscosity(t, salinity=s),
    # of turbulent flow, so with a transition below
    "path_factor": lambda re, r, h, b, ratio: fd.profile.path_factor(
        re, r, offset=h, beam=b, friction_ratio=ratio, transition_reynolds=1900
    ),
}


def evaluated(text, values=None):
    """The value of an equation; `values` are those of its symbols."""
    values = values or {}

    def of(node):
        match node:
            case ast.Constant(value=int() | float() as number):
                return number
            case ast.BinOp(left=left, op=op, right=right):
                return OPERATORS[type(op)](of(left), of(right))
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return -of(operand)
            case ast.Call(func=ast.Name(id=name), args=arguments):
                whole = ast.unparse(node)
                return values[whole] if whole in values else FUNCTIONS[name](*map(of, arguments))
            case ast.Name(id="pi"):
                return math.pi
            case ast.Name(id=name):
                return values[name]
        raise ValueError(ast.dump(node))

    return of(ast.parse(text.replace("^", "**"), mode="eval").body)


def assert_printed(found, shown, places=0.6):
    """The same to the last of ten printed digits, by so many of its places."""
    expected = float(shown)
    place = 10 ** (math.floor(math.log10(abs(expected))) - 9) if expected else 1e-15
    assert abs(found - expected) <= places * place, f"{found!r} is not {shown}"


def check_lines(worksheet, places=3.0):
    # nearly equal numbers are subtracted in some sites, which takes the last digit
    for line in worksheet.lines:
        if not line["equation"]:
            continue
        try:
            if " = " in line["equation"]:
                one, other = (evaluated(side) for side in line["numbers"].split(" = "))
                assert one == pytest.approx(other, rel=2e-10)
            else:
                assert_printed(evaluated(line["numbers"]), line["shown"], places)
        except (AssertionError, KeyError, ValueError) as error:
            raise AssertionError(f"line {line['number']}, {line['symbol']}: {error}") from error


def value_of(worksheet, symbol):
    return next(line["value"] for line in worksheet.lines if line["symbol"] == symbol)


def test_every_line_of_the_demonstration_comes_out_again(demo):
    sheet = demo.worksheet
    assert len(sheet) == len(sheet.lines) > 140
    assert [line["number"] for line in sheet.lines] == list(range(1, len(sheet) + 1))
    check_lines(sheet, places=0.6)


def test_values_are_those_of_the_evaluation(demo):
    sheet, steps = demo.worksheet, demo.steps
    symbols = {
        "d_w": "outside_diameter_m",
        "D": "inside_diameter_m",
        "A": "area_m2",
        "rho": "liquid_density_kg_m3",
        "c_f": "liquid_sound_speed_m_s",
        "nu": "kinematic_viscosity_m2_s",
        "a": "axial_slowness_s_m",
        "s": "spacing_m",
        "t_e": "expected_time_in_liquid_s",
        "t_0": "dead_time_s",
        "t_f": "time_in_liquid_s",
        "dt": "time_difference_s",
        "v": "path_velocity_m_s",
        "r_k": "relative_roughness",
        "Re": "reynolds_number",
        "k": "profile_factor",
        "V": "mean_velocity_m_s",
        "Q": "volume_flow_m3_s",
    }
    for symbol, name in symbols.items():
        assert value_of(sheet, symbol) == steps[name], symbol
    assert value_of(sheet, "u(Q)") == demo.result("SI")[1]
    assert value_of(sheet, "dof(Q)") == demo.effective_dof
    assert value_of(sheet, "U") == demo.expanded().value("SI")
    inputs = [line["value"] for line in sheet.lines if line["symbol"].startswith("u(")][:-1]
    columns = demo.budget.columns(si=True)
    assert inputs == columns["standard_uncertainty"].tolist()
    for prefix, column in [("c(", "sensitivity"), ("uQ(", "contribution")]:
        found = [line["value"] for line in sheet.lines if line["symbol"].startswith(prefix)]
        assert found == columns[column].tolist()
    # an auditor gets the same sheet from the record
    assert demo.record().worksheet().text == sheet.text


def test_raw_readings_lead_to_the_means(demo):
    import pandas as pd

    frame = pd.read_csv("notebooks/demo/readings.csv")
    sheet = demo.worksheet
    for symbol, column, factor_ in [
        ("t", "transit_time_us", 1e-6),
        ("dt_r", "time_difference_ns", 1e-9),
    ]:
        readings = factor_ * frame[column]
        assert value_of(sheet, symbol) == pytest.approx(readings.mean(), rel=1e-13)
        assert value_of(sheet, f"s({symbol})") == pytest.approx(readings.std(), rel=1e-10)


def along(lines, inputs):
    """The flow by the equations of the worksheet as a program, roots solved anew."""
    values = dict(inputs)
    start = next(i for i, line in enumerate(lines) if line["symbol"] == "k")
    end = start + 1 + next(i for i, line in enumerate(lines[start + 1 :]) if line["symbol"] == "k")

    def run(part):
        for line in part:
            symbol, equation = line["symbol"], line["equation"]
            if " = " in equation:
                one, other = equation.split(" = ")

                def excess(x, symbol=symbol, one=one, other=other):
                    here = {**values, symbol: x}
                    return evaluated(one, here) - evaluated(other, here)

                values[symbol] = brentq(excess, 0.005, 0.1, xtol=1e-17, rtol=1e-15)
            elif equation:
                values[symbol] = evaluated(equation, values)

    run(lines[:start])
    values["k"] = 0.93
    for _ in range(12):
        run(lines[start : end + 1])
    run(lines[end + 1 :])
    return values["Q"]


def test_sensitivity_coefficients_are_the_slopes_of_the_printed_equations(demo):
    lines = demo.worksheet.lines
    first = {line["symbol"]: line["value"] for line in lines if line["section"] == "Inputs"}
    inputs = {name: value for name, value in first.items() if "(" not in name}
    steps = [line for line in lines if line["section"] == "From the inputs to the flow"]
    assert along(steps, inputs) == pytest.approx(demo.value("SI"), rel=1e-12)
    for name, value in inputs.items():
        h = max(0.05 * first[f"u({name})"], 1e-5 * abs(value))
        rise = along(steps, {**inputs, name: value + h}) - along(steps, {**inputs, name: value - h})
        slope = next(line["value"] for line in lines if line["symbol"] == f"c({name})")
        # what the third derivative and rounding leave of a difference
        assert rise / (2 * h) == pytest.approx(slope, rel=1e-3), name


STEADY = {"transit_time_us": [610.7, 610.72], "time_difference_ns": [798.0, 799.0]}
TEMPERATURE = {"temperature_degC": [8.1, 8.3]}


@pytest.mark.parametrize(
    "changes",
    [
        [('"timed"', '"geometric"')],
        [("traverses = 2", 'traverses = 2\nangle_from = "spacing"\nspacing = "345.2 mm"')],
        [("traverses = 2", 'traverses = 1\nchord_offset = "9 mm"'),
         ("traverses = 1", 'traverses = 1\ncircumferential_misplacement = "4 mm"')],
        [("traverses = 2", 'traverses = 2\nbeam_width = "25 mm"')],
        [("traverses = 2", 'traverses = 1\nchord_offset = "9 mm"\nbeam_width = "25 mm"')],
        [('law = "fitted"', 'law = "fitted"\nfriction_ratio = "1.05"')],
        [("traverses = 2", 'traverses = 2\nwedge_temperature = "8 degC"\n'
          'wedge_sound_speed_per_kelvin = "-2.5 m/s/K"\ncouplant = "0.1 mm"'),
         ("[meter]", "[meter]\nwedge_delay_covers_couplant = false")],
        [("roughness =", 'ovality = "1 %"\nroughness =')],
        [("roughness =", 'survey_temperature = "25 degC"\nexpansion = "12 ppm/K"\n'
          'survey_absolute_pressure = "1 bar"\nyoungs_modulus = "207 GPa"\nroughness =')],
        [("roughness =", 'survey_temperature = "25 degC"\nexpansion = "12 ppm/K"\n'
          'wall_sound_speed_per_kelvin = "-0.5 m/s/K"\nends = "anchored"\n'
          'survey_absolute_pressure = "1 bar"\nyoungs_modulus = "207 GPa"\nroughness =')],
        [("roughness =", 'liner = { value = "4 mm", standard_uncertainty = "0.2 mm" }\n'
          'liner_sound_speed = "2400 m/s"\nroughness ='),
         ("[path]", '[[pipe.layer]]\nname = "scale"\nthickness = "1 mm"\n'
          'sound_speed = "2000 m/s"\n[path]')],
        [('law = "fitted"', 'law = "logarithmic"')],
        [('law = "fitted"', 'law = "power"')],
        [('law = "fitted"', 'law = "power_miller"')],
        [('law = "fitted"', 'law = "power"\nn = 8.0'), ('"colebrook"', '"haaland"')],
        [("roughness = {", "# {"), ('"colebrook"', '"mckeon"')],
        [('kind = "water"', 'kind = "sea water"\nsalinity = "35 g/kg"')],
        [('cable_delay = {', 'cable_length = "20 m"\ncable_delay = {')],
        [('\nfitting = "single_bend"\nstraight_run = {',
          '\nfactor = { value = "1.000", standard_uncertainty = "0.6 %" }\n# {'),
         ("\norientation = {", "\n# {")],
        [("[profile]", '[meter.calibration_factor]\npoint = [{ flow = "500 m3/h", value = "1.002" '
          '}, { flow = "2000 m3/h", value = "0.99" }]\n[profile]'),
         ("calibration_factor = {", "# {")],
        [("[profile]", '[meter.calibration_factor]\npoint = [{ reynolds = 1e5, value = "1.002" }, '
          '{ reynolds = 4e5, value = "0.99" }, { reynolds = 1e6, value = "1.01", '
          'standard_uncertainty = "0.1 %" }]\ndrift_per_year = "0.1 %"\nage_years = 2\n[profile]'),
         ("calibration_factor = {", "# {")],
    ],
)  # fmt: skip
def test_sites_of_other_kinds_come_out_again(demo_text, changes):
    text = demo_text
    for passage, replacement in changes:
        assert passage in text
        text = text.replace(passage, replacement, 1)
    evaluation = fd.Site.from_toml(text).evaluate({**STEADY, **TEMPERATURE})
    sheet = evaluation.worksheet
    check_lines(sheet)
    assert value_of(sheet, "Q") == evaluation.value("SI")
    assert value_of(sheet, "D") == evaluation.steps["inside_diameter_m"]


STATED = """
[site]
name = "stated"
[liquid]
kind = "stated"
sound_speed = "1480 m/s"
kinematic_viscosity = "{viscosity}"
[pipe]
outside_diameter = {{ value = "219.1 mm", standard_uncertainty = "0.4 mm" }}
wall = {{ value = "6.3 mm", half_width = "0.1 mm", shape = "arcsine", dof = 8 }}
wall_sound_speed = "3230 m/s"
[path]
basis = "{basis}"
traverses = 2
wedge_angle = "39 deg"
wedge_sound_speed = "2440 m/s"
{rest}
"""


@pytest.mark.parametrize("viscosity", ["1.1 mm2/s", "80 mm2/s", "130 mm2/s", "600 mm2/s"])
def test_laminar_and_transitional_flow_come_out_again(viscosity):
    text = STATED.format(viscosity=viscosity, basis="geometric", rest="")
    evaluation = fd.Site.from_toml(text).evaluate({"time_difference_ns": [310.0, 311.0]})
    check_lines(evaluation.worksheet)


@pytest.mark.parametrize(
    "meter",
    [
        'principle = "timed"\nprofile_factor = 0.94\nwedge_angle = "38 deg"\n'
        'wedge_sound_speed = "2480 m/s"\n',
        'principle = "geometric"\nprofile_factor = 0.94\nliquid_sound_speed = "1500 m/s"\n',
        'principle = "geometric"\n',
        'liquid_sound_speed = "1500 m/s"\n',
        "",
    ],
)
def test_an_indicated_flow_comes_out_again(meter):
    programmed = (
        '[meter]\nzero_velocity = "2 mm/s"\n[meter.programmed]\ninside_diameter = "207 mm"\n'
    ) + meter
    text = STATED.format(viscosity="1.1 mm2/s", basis="indicated", rest=programmed)
    evaluation = fd.Site.from_toml(text).evaluate({"volume_flow_m3_h": [120.0, 121.0, 119.5]})
    check_lines(evaluation.worksheet)
    reconciled = fd.Site.load("notebooks/demo/site.toml").evaluate("notebooks/demo/readings.csv")
    check_lines(reconciled.reconciled().after.worksheet)


HOSTILE = '<script>alert("x")</script> & [a](b) `c` | d'


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.open, self.seen = [], set()

    def handle_starttag(self, tag, attrs):
        self.seen.add(tag)
        if tag not in ("br", "wbr", "meta"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_words_of_the_user_are_escaped_in_every_form(demo_text):
    quoted = HOSTILE.replace('"', '\\"')
    text = demo_text.replace("Harrowmere district cooling", quoted)
    text = text.replace("plant gauge, class 1.6", quoted)
    sheet = fd.Site.from_toml(text).evaluate("notebooks/demo/readings.csv").worksheet
    for html in (sheet.html, sheet._repr_html_()):
        tags = Tags()
        tags.feed(html)
        assert not tags.open
        assert "script" not in tags.seen
        assert html.count("&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt; &amp; [a](b)") >= 2
    rows = [line for line in sheet.markdown.splitlines() if line.startswith("| ")]
    assert all(len(re.findall(r"(?<!\\)\|", row)) == 8 for row in rows)
    assert "<script>" not in sheet.markdown
    assert r"\[a\](b) \`c\` \| d" in sheet.markdown
    for form in (sheet.text, sheet.markdown, sheet.html):
        assert "licensed practice" in form
        assert form.count("u(Q)") >= 2
    assert HOSTILE in sheet.text


def test_the_command_line_writes_worksheets(tmp_path, capsys, demo):
    site = ["evaluate", "notebooks/demo/site.toml", "notebooks/demo/readings.csv", "--trials", "0"]
    for suffix, form in [("txt", "text"), ("md", "markdown"), ("html", "html")]:
        path = tmp_path / f"sheet.{suffix}"
        assert cli.main([*site, "--worksheet", str(path)]) == 0
        assert path.read_text() == getattr(demo.worksheet, form)
    assert cli.main([*site, "--worksheet", str(path)]) == 2
    assert "exists" in capsys.readouterr().err
    assert cli.main([*site, "--worksheet", str(tmp_path / "sheet.xyz")]) == 2
    assert "txt, md, html" in capsys.readouterr().err
    record = tmp_path / "run.json"
    demo.record().save(record)
    assert cli.main(["reproduce", str(record), "--worksheet", str(path), "--overwrite"]) == 0
    assert path.read_text() == demo.worksheet.html


def test_the_evaluator_of_this_test_finds_a_wrong_equation(demo):
    line = next(line for line in demo.worksheet.lines if line["symbol"] == "D")
    assert_printed(evaluated(line["numbers"]), line["shown"])
    with pytest.raises(AssertionError):
        assert_printed(evaluated(line["numbers"].replace("2*", "3*")), line["shown"])
    assert factor(7e5, 2.5e-4) == pytest.approx(0.937, abs=1e-3)
