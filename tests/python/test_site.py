"""Site, evaluation and results as Python sees them."""

import json
import pickle
import subprocess
import sys

import numpy as np
import pandas as pd
import polars as pl
import pytest

import flowdoubt as fd

READINGS = "notebooks/demo/readings.csv"


def test_all_ways_of_giving_readings_agree(demo):
    site = fd.Site.load("notebooks/demo/site.toml")
    frame = pd.read_csv(READINGS)
    ways = [frame, pl.read_csv(READINGS), {name: frame[name] for name in frame}]
    for readings in ways:
        assert site.evaluate(readings).estimate == demo.estimate
    # whole numbers and lists are numbers too
    columns = {
        "time_difference_ns": [780, 781, 779],
        "transit_time_us": [610.7, 610.8, 610.6],
        "temperature_degC": [8, 8, 9],
    }
    assert site.evaluate(columns).readings == 3


def test_tables(demo):
    frame = demo.budget.to_pandas()
    assert frame.index.names == ["component", "input"]
    assert frame["share"].sum() == pytest.approx(1.0)
    by_component = frame.groupby(level="component")["share"].sum()
    for component, share in demo.budget.components().items():
        assert by_component[component] == pytest.approx(share, abs=1e-15)
    assert list(by_component.index.sort_values()) == sorted(demo.budget.components())
    table = demo.budget.to_polars()
    assert table.columns == ["component", "input", *frame.columns]
    assert table["contribution"].to_list() == frame["contribution"].to_list()


def test_units_of_the_columns(demo):
    shown, si = demo.budget.columns(), demo.budget.columns(si=True)
    wall = shown["input"].index("pipe.wall")
    assert (shown["unit"][wall], si["unit"][wall]) == ("mm", "m")
    assert shown["estimate"][wall] == pytest.approx(1e3 * si["estimate"][wall], rel=1e-14)
    np.testing.assert_allclose(
        shown["sensitivity"] * shown["standard_uncertainty"], shown["contribution"], rtol=1e-13
    )
    temperature = shown["input"].index("liquid.temperature")
    difference = si["estimate"][temperature] - shown["estimate"][temperature]
    assert difference == pytest.approx(273.15)
    ratio = shown["contribution"][wall] / si["contribution"][wall]
    assert ratio == pytest.approx(3600)


def test_trials(demo):
    trials = demo.monte_carlo(trials=20_000, seed=7)
    values = trials.values()
    assert values.shape == (20_000,) and np.all(np.diff(values) >= 0)
    assert trials.mean == pytest.approx(values.mean(), rel=1e-13)
    assert trials.standard_uncertainty == pytest.approx(values.std(ddof=1), rel=1e-10)
    low, high = trials.interval(0.9)
    inside = np.mean((values >= low) & (values <= high))
    assert inside == pytest.approx(0.9, abs=2e-4)
    shortest = trials.interval(0.9, kind="shortest")
    assert shortest[1] - shortest[0] <= high - low
    again = demo.monte_carlo(trials=20_000, seed=7)
    assert np.array_equal(values, again.values())
    assert not np.array_equal(values, demo.monte_carlo(trials=20_000, seed=8).values())
    with pytest.raises(fd.InputError, match="symmetric, shortest"):
        trials.interval(0.9, kind="narrow")
    with pytest.raises(fd.RangeError, match="resolved by 20000 trials"):
        trials.interval(0.999999)
    with pytest.raises(fd.RangeError, match="100 to 2e8"):
        demo.monte_carlo(trials=5)


def test_json_keeps_every_bit(demo):
    trials = demo.monte_carlo(trials=1000, seed=3)
    data = json.loads(demo.to_json(trials))
    assert data["volume_flow_m3_s"] == demo.value("SI")
    assert data["standard_uncertainty_m3_s"] == demo.result("SI")[1]
    assert {step["name"]: step["value"] for step in data["steps"]} == demo.steps
    assert data["monte_carlo"]["mean_m3_s"] == trials.result("SI")[0]
    columns = demo.budget.columns(si=True)
    assert [line["name"] for line in data["budget"]] == columns["input"]
    assert [line["share"] for line in data["budget"]] == columns["share"].tolist()
    assert json.loads(demo.to_json())["monte_carlo"] is None


def test_display(demo):
    assert "1044" in repr(demo) and "m3/h" in repr(demo)
    assert "installation.factor" in str(demo.budget)
    html = demo._repr_html_()
    assert "<table>" in html and "licensed practice" in html
    assert repr(demo.monte_carlo(trials=1000)).startswith("<Trials of volume flow")
    assert "validated" in repr(demo.validate(demo.monte_carlo(trials=1000)))


def test_display_escapes_what_users_write(demo_text):
    hostile = "<script>alert(1)</script>"
    text = demo_text.replace("drawing tolerance of the wedge", hostile)
    text = text.replace("Harrowmere district cooling", hostile)
    site = fd.Site.from_toml(text)
    for html in (site._repr_html_(), site.evaluate(READINGS)._repr_html_()):
        assert hostile not in html
        assert "&lt;script&gt;" in html


def test_figures_draw_on_the_axes_given(demo):
    import matplotlib

    matplotlib.use("agg")
    import matplotlib.pyplot as plt

    from flowdoubt import plots

    _, axes = plt.subplots()
    assert plots.contributions(demo.budget, axes) is axes
    assert "(m\N{SUPERSCRIPT THREE}/h)" in axes.get_xlabel()
    labels = [label.get_text() for label in axes.get_yticklabels()]
    assert labels[0].startswith("installation factor")
    drawn = plots.distribution(demo, demo.monte_carlo(trials=1000))
    assert "(m\N{SUPERSCRIPT THREE}/h)" in drawn.get_xlabel()
    plt.close("all")


def test_import_does_not_drag_in_the_heavy_libraries():
    heavy = "{'pandas', 'polars', 'matplotlib', 'scipy'}"
    code = f"import sys, flowdoubt; sys.exit(len({heavy} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("old", "new", "kind", "code", "words"),
    [
        ('"39.6 deg"', '"39.6 mm"', fd.UnitError, "wrong-dimension", ["path.wedge_angle", "deg"]),
        ('"39.6 deg"', '"39.6 dge"', fd.UnitError, "unknown-unit", ["dge", "deg"]),
        ('"39.6 deg"', '"wide"', fd.UnitError, "not-a-quantity", ["wide"]),
        ("wedge_angle =", "wedge_angel =", fd.InputError, "unknown-key", ["`wedge_angle`"]),
        (
            'half_width = "0.30 deg"',
            'half_width = "-0.30 deg"',
            fd.RangeError,
            "out-of-range",
            ["path.wedge_angle.half_width", "0 or above"],
        ),
        ('"39.6 deg"', '"60 deg"', fd.RangeError, "total-reflection", ["wedge to wall"]),
        ('"timed"', '"tmed"', fd.InputError, "unknown-name", ["timed"]),
        ("coefficient = 0.5", "coefficient = 1.5", fd.RangeError, "out-of-range", ["-1 to 1"]),
    ],
)
def test_bad_sites_are_refused_with_words(demo_text, old, new, kind, code, words):
    assert old in demo_text
    with pytest.raises(kind) as caught:
        fd.Site.from_toml(demo_text.replace(old, new)).evaluate(READINGS)
    assert caught.value.code == code
    for word in words:
        assert word in str(caught.value)


def test_errors_carry_file_and_line(tmp_path, demo_text):
    path = tmp_path / "site.toml"
    path.write_text(demo_text.replace('"39.6 deg"', '"39.6 mm"'))
    with pytest.raises(fd.UnitError) as caught:
        fd.Site.load(path)
    lines = demo_text.splitlines()
    expected = next(i for i, line in enumerate(lines, 1) if line.startswith("wedge_angle"))
    assert (caught.value.file, caught.value.line) == (str(path), expected)
    assert str(caught.value).startswith(f"{path}:{expected}: path.wedge_angle")
    with pytest.raises(fd.InputError, match="cannot read"):
        fd.Site.load(tmp_path / "nowhere.toml")


def test_bad_columns_are_refused_with_words():
    site = fd.Site.load("notebooks/demo/site.toml")
    good = {
        "time_difference_ns": [780.0, 781.0],
        "transit_time_us": [610.7, 610.8],
        "temperature_degC": [8.0, 8.1],
    }
    for change, words in [
        ({"transit_time_us": ["a", "b"]}, "transit_time_us: not a column of numbers"),
        ({"transit_time_us": [[1.0], [2.0]]}, r"found shape \(2, 1\)"),
        ({"transit_time_us": [610.7]}, "found 1 values"),
        ({"transit_time_us": [610.7, np.nan]}, r"transit_time_us\[1\]"),
        ({"transit_tme_us": [1.0, 2.0]}, "did you mean `transit_time_us`"),
        ({"transit_time_mm": [1.0, 2.0]}, "is of kind length, not time"),
    ]:
        with pytest.raises(fd.FlowdoubtError, match=words):
            site.evaluate(good | change)
    with pytest.raises(fd.InputError, match=r"readings\.transit_time: missing"):
        site.evaluate({k: v for k, v in good.items() if k != "transit_time_us"})


def test_errors_can_be_pickled():
    with pytest.raises(fd.RangeError) as caught:
        fd.water.density(100.0)
    copy = pickle.loads(pickle.dumps(caught.value))
    assert type(copy) is fd.RangeError and str(copy) == str(caught.value)
    assert copy.field == "water temperature"


def test_sobol_points_of_a_site(demo):
    run = demo.low_discrepancy(points=512, replicates=8)
    (figures,) = run.outputs
    trials = run.trials
    assert (run.points, run.replicates) == (512, 8)
    assert list(figures) == ["mean", "standard_uncertainty", "low", "high", "unit"]
    mean, error = figures["mean"]
    assert abs(mean / demo.estimate - 1) < 1e-3
    assert 0 < error < 1e-2 * demo.standard_uncertainty
    (values,) = trials.values()
    assert len(values) == 8 * 512
    # what first-order propagation knows is not left to the points: they alone know less
    plain = values.reshape(8, 512).mean(axis=1).std(ddof=1) / np.sqrt(8)
    assert error < 0.5 * plain
    assert values.mean() == pytest.approx(mean, abs=8 * plain)
    assert "8 replicates of 512 scrambled Sobol points" in repr(run)
    # and random trials know far less
    random = demo.monte_carlo(trials=4096).standard_uncertainty / np.sqrt(4096)
    assert plain < 0.2 * random
    # sixty-four points in mirrored pairs settle the standard uncertainty
    mirrored = demo.low_discrepancy(points=16, replicates=4, antithetic=True, seed=3)
    assert (mirrored.antithetic, mirrored.seed, run.antithetic) == (True, 3, False)
    few = mirrored.outputs[0]
    (u, error), (better, _) = few["standard_uncertainty"], figures["standard_uncertainty"]
    assert error < 5e-3 * u
    assert u == pytest.approx(better, abs=8 * error)
    with pytest.raises(fd.RangeError, match="power of two"):
        demo.low_discrepancy(points=1000)
    with pytest.raises(fd.FlowdoubtError, match="symmetric"):
        demo.low_discrepancy(kind="widest")


def test_second_order_and_adaptive_monte_carlo_of_a_site(demo):
    order = demo.second_order()
    assert not order.matters
    assert order.budget.standard_uncertainty == demo.standard_uncertainty
    run = demo.adaptive_monte_carlo(digits=1)
    assert run.settled and "volume flow" in run.in_words
    assert (
        "First order may be used"
        in demo.validate(demo.monte_carlo(trials=10_000_000), digits=1).in_words
    )
