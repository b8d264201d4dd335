"""Results say no more than they know: units, readings that mean nothing, numbers out of bounds."""

import json
import re
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest
from conftest import DEMO

import flowdoubt as fd
from flowdoubt import cli


@pytest.fixture(scope="module")
def readings():
    frame = pd.read_csv(DEMO / "readings.csv")
    return {name: frame[name].to_numpy() for name in frame if name != "time"}


@pytest.fixture(scope="module")
def site(demo_text):
    return fd.Site.from_toml(demo_text)


def codes(evaluation):
    return [code for code, _ in evaluation.warnings]


# ---- units


def test_a_number_beside_its_unit_is_in_it(demo):
    # as the words have it, which are rounded from SI
    (flow, unit) = re.match(r"volume flow \((\d+) [^)]*\) ([^,]*),", demo.headline).groups()
    assert (f"{demo.budget.estimate:.0f}", demo.budget.unit) == (flow, unit)
    assert demo.estimate == demo.budget.estimate
    assert demo.value("m3/s") == demo.value("SI") == pytest.approx(demo.estimate / 3600, rel=1e-15)
    assert demo.value("L/s") == pytest.approx(demo.estimate / 3.6, rel=1e-14)
    assert demo.result("SI")[1] == pytest.approx(demo.standard_uncertainty / 3600, rel=1e-15)
    expanded = demo.expanded()
    assert expanded.unit == "m3/h" and expanded.value("L/min") == pytest.approx(
        expanded.expanded_uncertainty / 0.06, rel=1e-14
    )
    trials = demo.monte_carlo(20_000)
    assert trials.mean == pytest.approx(demo.estimate, rel=1e-3)
    np.testing.assert_allclose(trials.values("SI"), trials.values() / 3600, rtol=1e-15)
    low, high = trials.interval(0.95)
    assert low < demo.estimate < high
    assert trials.interval(0.95, unit="L/s")[0] == pytest.approx(low / 3.6, rel=1e-14)
    with pytest.raises(fd.UnitError, match="mass, not volume flow"):
        demo.value("kg")


def test_results_are_pint_quantities_on_request(demo):
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry()
    value, u = demo.to_pint(registry)
    assert value.to("L/s").magnitude == pytest.approx(demo.value("L/s"), rel=1e-12)
    assert u.check("[length]**3/[time]")
    y = fd.propagate(lambda x: x["t"], {"t": fd.normal(20.0, 0.1)}, unit="degC")
    value, u = y.to_pint(registry)
    assert value.to("kelvin").magnitude == pytest.approx(293.15)
    assert u.to("delta_degF").magnitude == pytest.approx(0.18)


def test_units_of_a_users_own(demo):
    y = fd.propagate(lambda x: x["d"], {"d": fd.normal(1500.0, 1.0)}, unit="mm")
    assert (y.estimate, y.unit, y.value("m")) == (1500.0, "mm", pytest.approx(1.5))
    volts = fd.propagate(lambda x: x["u"], {"u": fd.normal(10.0, 0.1)}, unit="V")
    assert volts.value("V") == volts.value() == 10.0
    with pytest.raises(fd.InputError, match="allowed: V"):
        volts.value("mV")


def test_checks_say_their_units(demo):
    zero = demo.zero_check({"time_difference_ns": [0.1, 0.4, -0.2, 0.3]})
    assert (zero.unit, zero.flow_unit) == ("ns", "m3/h")
    assert zero.found == pytest.approx(0.15) and zero.stated == pytest.approx(0.15)
    speed = demo.sound_speed_check()
    assert speed.unit == "m/s" and 1400 < speed.expected < 1500
    adjusted = demo.reconciled().adjustments
    row = adjusted["input"].index("pipe.wall")
    assert adjusted["unit"][row] == "mm" and 8 < adjusted["after"][row] < 9


@pytest.fixture(scope="module")
def in_litres(demo_text):
    return fd.Site.from_toml(demo_text.replace('flow_unit = "m3/h"', 'flow_unit = "L/min"'))


def test_the_unit_of_the_site_rules_in_tables(in_litres, tmp_path):
    plan = in_litres.plan("600 m3/h", "8 degC").to_pandas()
    assert plan["volume_flow_L_min"][0] == pytest.approx(10_000)
    assert not [name for name in plan if name.endswith("m3_s")]
    assert "volume_flow_m3_s" in in_litres.plan("600 m3/h", "8 degC").to_pandas(si=True)
    points = pd.DataFrame(in_litres.verify(DEMO / "verification.toml").points)
    assert (points["flow_L_min"] > 5000).all() and (points["flow_expanded_L_min"] > 10).all()
    (tmp_path / "plant.toml").write_text(in_litres.text)
    (tmp_path / "plant.csv").write_text((DEMO / "readings.csv").read_text())
    out = tmp_path / "table.csv"
    assert cli.main(["evaluate-sites", str(tmp_path), "--csv", str(out)]) == cli.DONE
    table = pd.read_csv(out)
    assert table["unit"][0] == "L/min"
    flow = in_litres.evaluate(DEMO / "readings.csv").value("m3/h")
    assert table["volume_flow"][0] == pytest.approx(flow / 0.06, rel=1e-12)


@pytest.mark.parametrize(
    "ask",
    [
        lambda site: site.plan([200.0], "8 degC"),
        lambda site: site.plan("200 m3/h", 281.15),
        lambda site: site.mark_out(temperature=281.15),
        lambda site: site.plan("200 m3/h", "8 degC", target=0.016),
        lambda site: site.evaluate_series(DEMO / "readings.csv", low_flow_cut_off=0.01),
        lambda site: site.evaluate_series(
            DEMO / "readings.csv", repeatability={"time_difference": 1e-9}
        ),
    ],
)
def test_plain_numbers_are_refused_where_text_with_a_unit_is_meant(site, ask):
    with pytest.raises(fd.InputError, match=r"which has no unit; allowed: text such as '"):
        ask(site)


def test_the_figure_of_a_plan_takes_a_temperature_as_the_plan_shows_it(site):
    plan = site.plan(["200 m3/h", "900 m3/h"], ["8 degC", "59 degF"])
    ax = fd.plots.uncertainty_against_flow(plan, temperature="15 degC")
    assert "15 \N{DEGREE SIGN}C" in ax.get_title(loc="left")
    with pytest.raises(fd.InputError, match=r"found 288\.15; allowed: 8 degC, 15 degC"):
        fd.plots.uncertainty_against_flow(plan, temperature=288.15)


# ---- readings that nobody meant


def test_readings_that_stand_still_are_not_exact(site, readings):
    frozen = {name: np.full(360, values[0]) for name, values in readings.items()}
    evaluation = site.evaluate(frozen)
    assert codes(evaluation).count("frozen-readings") == 3
    columns = evaluation.budget.columns()
    row = columns["input"].index("readings.time_difference")
    # 798.17 ns: half of its last digit, evenly spread
    assert columns["standard_uncertainty"][row] == pytest.approx(0.005 / np.sqrt(3), rel=1e-9)
    assert "half of their last digit" in columns["evidence"][row]
    record = evaluation.record(evaluation.monte_carlo(10_000))
    assert record.reproduce()


def test_a_part_that_stands_still_is_told(site, readings):
    held = {name: values.copy() for name, values in readings.items()}
    held["transit_time_us"][100:150] = held["transit_time_us"][100]
    assert "frozen-readings" not in codes(site.evaluate(readings))
    (words,) = [w for code, w in site.evaluate(held).warnings if code == "frozen-readings"]
    assert "50 readings of readings.transit_time from reading 101 on" in words


def test_outliers_are_listed_and_kept(site, readings):
    plain = site.evaluate(readings)
    assert "outlying-readings" not in codes(plain)
    wrong = {name: values.copy() for name, values in readings.items()}
    wrong["time_difference_ns"][41] *= 100
    evaluation = site.evaluate(wrong)
    (words,) = [w for code, w in evaluation.warnings if code == "outlying-readings"]
    assert f"reading 42 ({wrong['time_difference_ns'][41]:.12g} ns)" in words and "kept" in words
    assert evaluation.readings == 360 and evaluation.estimate > 1.2 * plain.estimate


def test_outliers_among_readings_of_the_site_file(demo_text, readings):
    text = demo_text.replace('"1277.5 mm"', '"12775 mm"')
    evaluation = fd.Site.from_toml(text).evaluate(readings)
    (words,) = [w for code, w in evaluation.warnings if code == "outlying-readings"]
    assert "pipe.outside_circumference, far from the others: reading 2 (12775 mm)" in words


def test_outliers_raise_no_false_alarm():
    """Normal readings with few digits, of any number: the scatter of digits is no outlier."""
    site = fd.Site.load(DEMO / "site.toml")
    random = np.random.default_rng(5)
    alarms = 0
    for count in [3, 4, 5, 9, 10, 30] * 30:
        tape = random.normal(1276.8, 0.6, count).round(1)
        text = ", ".join(f'"{value} mm"' for value in tape)
        own = re.sub(
            r"outside_circumference = \{ readings = \[[^\]]*\]",
            f"outside_circumference = {{ readings = [{text}]",
            (DEMO / "site.toml").read_text(),
        )
        alarms += "outlying-readings" in codes(
            fd.Site.from_toml(own).evaluate(DEMO / "readings.csv")
        )
    assert alarms <= 2, alarms
    assert site


# ---- what cannot be


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("\noutside_circumference = {", '\noutside_diameter = "28 m"\n#x = {', "0.003 m to 15 m"),
        ("\nwall = {", '\nwall = "0.05 mm"\n#wall = {', "0.1 mm to 500 mm"),
        ('"1.000", expanded', '"98", expanded', "0.2 to 5"),
        ("dof = 29", "dof = 1e-300", "degrees of freedom of 0.1 or above"),
        ('"0.15 us"', '"1e299 us"', "standard uncertainties of 0, or from"),
        ("= 0.95", "= 0.9999999999999999", "strictly between 0 and 1"),
    ],
)
def test_values_that_no_site_has_are_refused_at_their_line(demo_text, old, new, words):
    with pytest.raises(fd.FlowdoubtError, match=r"site\.toml:\d+: ") as raised:
        fd.Site.from_toml(demo_text.replace(old, new, 1), "site.toml")
    assert words in str(raised.value)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("\nwall = {", '\nwall = "0.12 mm"\n#wall = {', "pipe.wall is 0.12 mm"),
        ('"1.000", expanded', '"1.3", expanded', "meter.calibration_factor is 1.3"),
        ('"2431 m/s"', '"700 m/s"', "path.wedge_sound_speed is 700 m/s"),
    ],
)
def test_values_that_few_sites_have_are_told(demo_text, readings, old, new, words):
    text = demo_text.replace(old, new, 1).replace(
        '"39.6 deg"', '"9.6 deg"' if "700" in new else '"39.6 deg"'
    )
    evaluation = fd.Site.from_toml(text).evaluate(readings)
    (found,) = [w for code, w in evaluation.warnings if code == "unusual-value" and words in w]
    assert "common practice" in found


def test_a_flow_that_no_pipe_has_is_refused(site, readings):
    fast = readings | {"time_difference_ns": 60 * readings["time_difference_ns"]}
    evaluation = site.evaluate(
        readings | {"time_difference_ns": 12 * readings["time_difference_ns"]}
    )
    assert any("mean velocity is" in words for _, words in evaluation.warnings)
    with pytest.raises(
        fd.RangeError, match=r"mean velocity: found .* allowed: magnitudes of 100 m/s"
    ):
        site.evaluate(fast)


def test_causes_without_a_number_are_named(demo_text, readings):
    slow = readings | {"transit_time_us": readings["transit_time_us"] * 1.05}
    words = str(fd.Site.from_toml(demo_text).evaluate(slow).sound_speed_check())
    assert "gas in the liquid" in words and "does not run full" in words


# ---- nothing that is not finite


def not_finite(text):
    return re.findall(r"(?i)(?<![a-z])(?:nan|inf)(?![a-z])", text)


def test_no_flow_prints_no_number_that_is_none(demo_text, readings):
    # downstream of a fitting there is a flow, or nothing is known
    keys = "fitting|straight_run|orientation"
    site = fd.Site.from_toml(re.sub(rf"(?m)^({keys}) = .*\n", "", demo_text))
    still = readings | {"time_difference_ns": np.full(360, 0.15)}
    evaluation = site.evaluate(still)
    trials = evaluation.monte_carlo(20_000)
    text = evaluation.in_words(trials)
    assert "not defined at no flow" in text
    assert not_finite(text) == []
    json.loads(evaluation.to_json(trials), parse_constant=pytest.fail)
    record = evaluation.record(trials)
    assert record.reproduce()
    assert not not_finite(fd.report(evaluation, trials).html().split("Uncertainty budget")[0])


def test_a_coverage_probability_that_gives_no_number_is_refused(demo):
    for p in (1.0, 1 - 1e-12, 0.0, float("nan"), 95):
        with pytest.raises(fd.RangeError, match="coverage_probability"):
            demo.expanded(p)
    assert np.isfinite(demo.expanded(1 - 1e-8).expanded_uncertainty)


def test_inputs_of_a_model_are_bounded():
    for wrong in (lambda: fd.normal(0.0, 1e299), lambda: fd.normal(0.0, 1.0, dof=1e-300)):
        with pytest.raises(fd.RangeError):
            wrong()


# ---- the starter


def rehearsed(text, flow="100 m3/h"):
    """Readings that the site of a text would give."""
    site = fd.Site.from_toml(text)
    at = None if 'kind = "stated"' in text else "20 degC"
    return site, site.plan(flow, at).rehearsal(0)


@pytest.mark.parametrize("basis", ["timed", "geometric", "indicated"])
@pytest.mark.parametrize(
    "liquid", ["water", "sea water", "ethylene glycol", "propylene glycol", "stated"]
)
def test_every_starter_is_evaluated_as_it_stands(basis, liquid):
    site, readings = rehearsed(fd.Site.starter(basis, liquid))
    evaluation = site.evaluate(readings)
    assert evaluation.estimate == pytest.approx(100, rel=1e-6)
    assert evaluation.monte_carlo(20_000).mean == pytest.approx(100, rel=0.01)
    assert codes(evaluation) == []


def test_the_starter_on_the_command_line(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert cli.main(["starter"]) == cli.DONE
    text = capsys.readouterr().out
    assert text == fd.Site.STARTER == fd.Site.starter()
    (tmp_path / "site.toml").write_text(text)
    _, readings = rehearsed(text)
    pd.DataFrame(readings).to_csv("readings.csv", index=False)
    assert cli.main(["evaluate", "site.toml", "readings.csv", "--trials", "20000"]) == cli.DONE
    assert "first order" in capsys.readouterr().out
    assert cli.main(["starter", "--verification"]) == cli.DONE
    (tmp_path / "verification.toml").write_text(capsys.readouterr().out)
    for run in (1, 2, 3):
        pd.DataFrame(readings).to_csv(f"run_{run}.csv", index=False)
    assert cli.main(["verify", "site.toml", "verification.toml"]) == cli.DONE
    assert "conforms" in capsys.readouterr().out
    with pytest.raises(fd.InputError, match="liquid: found `milk`"):
        fd.Site.starter("timed", "milk")


def test_monte_carlo_that_cannot_be_had_is_left_out_with_its_reason(tmp_path, capsys):
    text = fd.Site.STARTER.replace('"529.5 mm", ', "")
    (tmp_path / "site.toml").write_text(text)
    _, readings = rehearsed(fd.Site.STARTER)
    pd.DataFrame(readings).to_csv(tmp_path / "readings.csv", index=False)
    files = [str(tmp_path / name) for name in ("site.toml", "readings.csv")]
    assert cli.main(["evaluate", *files]) == cli.DONE
    out = capsys.readouterr().out
    assert "no Monte Carlo, first order alone: pipe.outside_circumference" in out
    assert re.search(r"volume flow \(\d", out) and "combined standard uncertainty" in out
    assert cli.main(["evaluate", *files, "--trials", "-5"]) == cli.NOT_DONE


# ---- the package


def test_a_site_is_no_path():
    with pytest.raises(
        fd.InputError, match=r"Site: found 'site\.toml'; allowed: Site\.load\(path\)"
    ):
        fd.Site("site.toml")


def test_plots_come_with_the_import():
    code = "import flowdoubt as fd, sys; assert 'matplotlib' not in sys.modules; fd.plots.series"
    subprocess.run([sys.executable, "-c", code], check=True)
