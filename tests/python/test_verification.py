"""Verification: the reference by hand in plain Python, bindings, command line."""

import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from iapws import IAPWS95
from tables import against

import flowdoubt as fd
from flowdoubt import cli, verification
from flowdoubt.display.language import language_of
from flowdoubt.reports.blocks import Table
from flowdoubt.reports.sections.verification import verification_section

DIRECTORY = Path(__file__).parents[2] / "notebooks" / "demo"
DEMO = ["verify", "notebooks/demo/site.toml", "notebooks/demo/verification.toml"]

SITE = """
[site]
name = "Test"
[liquid]
kind = "water"
absolute_pressure = {{ value = "3 bar", standard_uncertainty = "0.1 bar" }}
thermometer = {{ standard_uncertainty = "0.4 K" }}
[pipe]
outside_diameter = "168.3 mm"
wall = "7.1 mm"
[path]
basis = "indicated"
traverses = 2
[meter]
calibration_factor = {{ value = "1", standard_uncertainty = "{meter} %" }}
[meter.programmed]
principle = "timed"
inside_diameter = "154.1 mm"
profile_factor = 0.9432
[profile]
law_factor = "1"
"""


@pytest.fixture(scope="module")
def result():
    return fd.Site.load("notebooks/demo/site.toml").verify("notebooks/demo/verification.toml")


def verified(tmp_path, reference, run, meter=0.5):
    """Verify one run at 60 m3/h and 18 degC."""
    (tmp_path / "run.csv").write_text(
        "volume_flow_m3_h,temperature_degC\n60.0000000001,18.0000000001\n60.0000000001,18.0000000001\n"
    )
    text = (
        f'[verification]\nname = "v"\nquestion = "agreement"\n{reference}\n[[run]]\npoint = "p"\n'
    )
    text += f'readings = "run.csv"\n{run}\n'
    file = tmp_path / "verification.toml"
    file.write_text(text)
    return fd.Site.from_toml(SITE.format(meter=meter)).verify(file)


def water(celsius, megapascal):
    """Density of water by an independent package."""
    return IAPWS95(T=celsius + 273.15, P=megapascal).rho


def propagated(function, estimates, uncertainties):
    """Value and standard uncertainty of first order, by central differences."""
    variance = 0.0
    for i, u in enumerate(uncertainties):
        ends = []
        for sign in (1, -1):
            x = list(estimates)
            x[i] += sign * 0.01 * u
            ends.append(function(*x))
        variance += ((ends[0] - ends[1]) / 0.02) ** 2
    return function(*estimates), math.sqrt(variance)


def test_weighing_is_that_of_plain_python(tmp_path):
    reference = """
[reference]
kind = "weighing"
start = "flying"
air_density = { value = "1.19 kg/m3", standard_uncertainty = "0.02 kg/m3" }
weight_density = { value = "8000 kg/m3", standard_uncertainty = "50 kg/m3" }
calibration_factor = { value = "1.0002", standard_uncertainty = "0.005 %" }
diverter_error = { value = "15 ms", standard_uncertainty = "8 ms" }
"""
    run = """
mass_start = { value = "120.4 kg", standard_uncertainty = "0.1 kg" }
mass_end = { value = "1121.9 kg", standard_uncertainty = "0.12 kg" }
duration = { value = "60.2 s", standard_uncertainty = "1 ms" }
"""
    found = verified(tmp_path, reference, run)

    def flow(start, end, factor, air, weights, duration, diverter, celsius, megapascal, scale):
        density = water(celsius, megapascal) * scale
        mass = (end - start) * factor * (1 - air / weights) / (1 - air / density)
        return mass / density / (duration - diverter)

    # 1e-4 for k = 2 is the stated uncertainty of IAPWS-95 for liquid water
    value, u = propagated(
        flow,
        [120.4, 1121.9, 1.0002, 1.19, 8000, 60.2, 0.015, 18.0, 0.3, 1.0],
        [0.1, 0.12, 5e-5 * 1.0002, 0.02, 50, 1e-3, 8e-3, 0.4, 0.01, 0.0],
    )
    own = found.runs[0]
    found_flow, package = own["reference_flow_m3_h"], "plain Python and package `iapws`"
    against("flow by weighing", package, found_flow, 3600 * value, rtol=2e-7, noise=1e-10)
    assert own["reference_flow_uncertainty_m3_h"] == pytest.approx(3600 * u, rel=0.02)
    budget = found.run_budget(0)
    assert {"run[1].mass_end", "liquid.temperature.instrument", "meter.calibration_factor"} <= set(
        budget.columns()["input"]
    )


def test_a_tank_is_that_of_plain_python(tmp_path):
    reference = """
[reference]
kind = "volumetric tank"
start = "standing"
tank_expansion = { value = "50 ppm/K", standard_uncertainty = "5 ppm/K" }
start_stop_volume = { value = "0.4 L", standard_uncertainty = "0.3 L" }
"""
    run = """
volume = { value = "1.002 m3", standard_uncertainty = "0.3 L" }
temperature = { value = "23.1 degC", standard_uncertainty = "0.2 K" }
duration = { value = "60 s", standard_uncertainty = "10 ms" }
"""
    found = verified(tmp_path, reference, run)

    def flow(volume, expansion, lost, tank, duration, celsius, megapascal):
        at_tank = volume * (1 + expansion * (tank - 20)) ** 3
        at_meter = at_tank * water(tank, 0.101325) / water(celsius, megapascal)
        return (at_meter - lost) / duration

    value, u = propagated(
        flow,
        [1.002, 50e-6, 4e-4, 23.1, 60, 18.0, 0.3],
        [3e-4, 5e-6, 3e-4, 0.2, 0.01, 0.4, 0.01],
    )
    own = found.runs[0]
    found_flow, package = own["reference_flow_m3_h"], "plain Python and package `iapws`"
    against("flow by a tank", package, found_flow, 3600 * value, rtol=2e-7, noise=1e-10)
    found_u = own["reference_flow_uncertainty_m3_h"]
    what = "standard uncertainty of the flow by a tank"
    against(what, package, found_u, 3600 * u, rtol=1e-4, noise=1e-8)


def test_the_error_is_that_of_a_monte_carlo_in_numpy(tmp_path):
    """Both sides drawn in numpy; the flow of the meter as a power of its inputs."""
    reference = """
[reference]
kind = "master meter"
calibration_factor = { value = "1", standard_uncertainty = "0.2 %" }
temperature = { value = "18.5 degC", standard_uncertainty = "0.5 K" }
"""
    run = 'volume_flow = { value = "59.5 m3/h", half_width = "0.3 m3/h", shape = "rectangular" }'
    found = verified(tmp_path, reference, run)
    site = fd.Site.from_toml(SITE.format(meter=0.5))

    def meter(flow, celsius):
        columns = {"volume_flow_m3_h": [flow] * 2, "temperature_degC": [celsius] * 2}
        return site.evaluate(columns).value("SI")

    here = meter(60, 18)
    along_flow = math.log(meter(60.6, 18) / meter(59.4, 18)) / math.log(60.6 / 59.4)
    along_celsius = math.log(meter(60, 18.5) / meter(60, 17.5))
    generator = np.random.default_rng(5)
    n = 400_000
    celsius = 18 + 0.4 * generator.standard_normal(n)
    factor = 1 + 0.005 * generator.standard_normal(n)
    flow = here * factor**along_flow * np.exp(along_celsius * (celsius - 18))
    at_master = 18.5 + 0.5 * generator.standard_normal(n)
    grid = np.linspace(14, 23, 40)
    density = np.array([water(t, 0.3) for t in grid])
    ratio = np.interp(at_master, grid, density) / np.interp(celsius, grid, density)
    indicated = 59.5 + 0.3 * generator.uniform(-1, 1, n)
    reference_flow = indicated / 3600 * (1 + 0.002 * generator.standard_normal(n)) * ratio
    error = flow / reference_flow - 1
    own = found.runs[0]
    assert own["error"] == pytest.approx(error.mean(), abs=5 * error.std() / math.sqrt(n) + 3e-5)
    assert own["error_uncertainty"] == pytest.approx(error.std(), rel=0.01)
    correlation = np.corrcoef(flow, reference_flow)[0, 1]
    assert own["correlation"] == pytest.approx(correlation, abs=0.01)
    trials = found.monte_carlo(trials=40_000, seed=2)
    assert trials.errors[0].unit == "%"
    assert trials.errors[0].standard_uncertainty == pytest.approx(100 * error.std(), rel=0.02)
    assert trials.conforming_share is None


def test_result_of_the_demonstration(result):
    assert result.accepted is True
    assert len(result.runs) == 12
    frame = pd.DataFrame(result.points)
    assert list(frame["point"]) == ["low", "middle", "high"]
    assert frame["accepted"].all()
    assert (frame["conformance_probability_with_prior"] > frame["conformance_probability"]).all()
    assert result.error_covariance.shape == (3, 3)
    np.testing.assert_allclose(
        np.sqrt(np.diag(result.error_covariance)), frame["error_uncertainty"], rtol=1e-12
    )
    np.testing.assert_allclose(np.diag(result.error_correlation), 1)
    line = result.line
    error, u = result.line_at(np.array([0.0, 0.2]))
    assert error[0] == line["intercept"]
    assert u[0] == pytest.approx(line["intercept_uncertainty"])
    assert "reproducibility" in str(result)
    assert "licensed practice" in result._repr_html_()
    assert "supply" in repr(result).lower()
    steps = result.reference_steps(0)
    assert 3600 * steps["volume_flow_m3_s"] == pytest.approx(
        result.runs[0]["reference_flow_m3_h"], rel=1e-14
    )
    with pytest.raises(IndexError):
        result.run_budget(12)


def test_scores_take_arrays():
    found = verification.e_n([100.8, 99.2], 0.9, 100.0, 0.6)
    np.testing.assert_allclose(found, [0.8 / math.hypot(0.9, 0.6), -0.8 / math.hypot(0.9, 0.6)])
    assert isinstance(verification.zeta_score(1.0, 0.1, 2.0, 0.1), float)
    with pytest.raises(fd.RangeError, match="above 0"):
        verification.e_n(1, 0, 1, 0)
    with pytest.raises(fd.RangeError, match="air_temperature"):
        verification.air_density([293.15, 250.0])


def undecidable(text):
    """The demonstration with limits within the uncertainty of the error of the meter."""
    asked = 'question = "error as installed"\nindicated = "computed from its readings"'
    assert asked in text
    return text.replace(asked, 'question = "error of the meter"').replace('"3 %"', '"0.9 %"')


def test_verify_prints_the_decision_and_its_status_is_the_answer(capsys, tmp_path, result):
    assert cli.main(DEMO) == 0
    printed = capsys.readouterr().out
    assert result.headline in printed
    assert "weigh tanks" in printed.lower()
    text = (DIRECTORY / "verification.toml").read_text()
    text = text.replace('"3 %"', '"1 %"').replace(
        '"verification/', f'"{DIRECTORY.as_posix()}/verification/'
    )
    strict = tmp_path / "strict.toml"
    strict.write_text(text)
    allowed = ["--readings-below", str(DIRECTORY)]
    assert cli.main(["verify", DEMO[1], str(strict), "--json", *allowed]) == 1
    printed = json.loads(capsys.readouterr().out)
    assert printed["decision"]["verdict"] == "does not conform"
    assert printed["monte_carlo"] is None
    # so strict that no error could be accepted: neither yes nor no
    strict.write_text(undecidable(text.replace('"1 %"', '"3 %"')))
    assert cli.main(["verify", DEMO[1], str(strict), *allowed]) == 3
    printed = capsys.readouterr().out
    assert "cannot be decided with this reference" in printed
    assert "U of at most 1.0" in printed
    assert cli.main([*DEMO, "--trials", "2000", "--json"]) == 0
    points = json.loads(capsys.readouterr().out)["monte_carlo"]["points"]
    assert [point["name"] for point in points] == ["low", "middle", "high"]


@pytest.mark.parametrize(
    "arguments",
    [["verify", "nowhere.toml", DEMO[2]], ["verify", DEMO[1], DEMO[1]], [*DEMO, "--trials", "-1"]],
)
def test_bad_input_ends_with_status_2(capsys, arguments):
    assert cli.main(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("flowdoubt: ")


def asking(tmp_path, question):
    """Ask another question of the runs of the demonstration, without limits."""
    lines = (DIRECTORY / "verification.toml").read_text().splitlines()
    judged = ("permissible_error", "rule", "probability", "prior", "indicated")
    text = "\n".join(line for line in lines if line.split(" =")[0] not in judged)
    text = text.replace('"error as installed"', f'"{question}"')
    file = tmp_path / "asked.toml"
    file.write_text(text.replace('"verification/', f'"{DIRECTORY.as_posix()}/verification/'))
    return fd.Site.load(DEMO[1]).verify(fd.Verification.load(file, readings_below=DIRECTORY))


def test_each_question_has_its_answer(tmp_path, result):
    assert (result.question, result.verdict) == ("error as installed", "conforms")
    assert result.indicated == "computed from its readings"
    assert dict(result.fixed)["pipe.wall_sound_speed"] == "3230 m/s"
    assert {point["e_n"] for point in result.points} == {None}
    elsewhere = asking(tmp_path, "error of the meter")
    assert (elsewhere.verdict, elsewhere.accepted) == (None, None)
    agreement = asking(tmp_path, "agreement")
    assert (agreement.verdict, agreement.accepted) == ("agrees", True)
    assert agreement.fixed == []
    for installed, meter, both in zip(
        result.points, elsewhere.points, agreement.points, strict=True
    ):
        assert installed["error"] == both["error"] == meter["error"]
        u = [row["error_uncertainty"] for row in (installed, meter, both)]
        assert u[0] < u[1] < u[2]
        assert both["e_n"] == pytest.approx(both["error"] / both["error_expanded"])
    assert "meter factor" in str(elsewhere) and "meter factor" not in str(agreement)
    assert "E_n" in agreement._repr_html_() and "E_n" not in result._repr_html_()


def test_where_nothing_can_be_decided_no_limits_are_drawn(tmp_path):
    text = undecidable((DIRECTORY / "verification.toml").read_text())
    file = tmp_path / "strict.toml"
    file.write_text(text.replace('"verification/', f'"{DIRECTORY.as_posix()}/verification/'))
    asked = fd.Verification.load(file, readings_below=DIRECTORY)
    undecided = fd.Site.load(DEMO[1]).verify(asked)
    assert (undecided.verdict, undecided.accepted) == ("cannot be decided", None)
    frame = pd.DataFrame(undecided.points)
    assert frame["acceptance_lower"].isna().all() and frame["acceptance_upper"].isna().all()
    assert (frame["expanded_uncertainty_needed"] < frame["error_expanded"]).all()
    figure = fd.plots.verification(undecided).figure
    drawn = [line.get_label() for line in figure.axes[0].lines]
    assert "permissible error" in drawn and "acceptance limit" not in drawn
    title = figure.axes[0].get_title(loc="left")
    assert "at low, middle, high no error is accepted: U of at most 1.0" in title
    section = verification_section(undecided, language_of("en"))
    table = next(block for block in section.blocks if isinstance(block, Table))
    limits = [row[6] for row in table.groups[0].rows]
    assert all(limit.startswith("none: U of at most 1.0") for limit in limits)
