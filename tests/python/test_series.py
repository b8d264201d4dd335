"""Series: logs as Python gives them, totals against numpy and scipy, tables in and out."""

import os
import signal
import subprocess
import sys
import textwrap
import time
from datetime import timedelta

import numpy as np
import pandas as pd
import polars as pl
import pytest
from scipy.integrate import trapezoid
from tables import against

import flowdoubt as fd
from flowdoubt import cli
from flowdoubt.site.readings import columns_of

READINGS = "notebooks/demo/readings.csv"
CHANNELS = ["time_difference_ns", "transit_time_us", "temperature_degC"]


@pytest.fixture(scope="module")
def site():
    from conftest import DEMO

    return fd.Site.load(DEMO / "site.toml")


@pytest.fixture(scope="module")
def frame():
    from conftest import DEMO

    return pd.read_csv(DEMO / "readings.csv", parse_dates=["time"])


def same(a, b):
    np.testing.assert_array_equal(a.columns(si=True)["volume_flow_m3_s"], _flow(b))
    assert a.total.estimate == b.total.estimate
    assert a.total.standard_uncertainty == b.total.standard_uncertainty


def _flow(series):
    return series.columns(si=True)["volume_flow_m3_s"]


def test_all_ways_of_giving_a_log_agree(site, frame):
    reference = site.evaluate_series(READINGS)
    assert (len(reference), reference.usual_step_s, reference.duration_s) == (360, 5.0, 1795.0)
    arrays = {name: frame[name].to_numpy() for name in CHANNELS}
    text = frame["time"].dt.strftime("%Y-%m-%dT%H:%M:%S")
    zoned = frame["time"].dt.tz_localize("UTC").dt.tz_convert("Asia/Tokyo")
    stamps = frame["time"].to_numpy()
    elapsed = (stamps - stamps[0]) / np.timedelta64(1, "s")
    tables = [
        frame,
        frame.set_index("time"),
        frame.assign(time=text),
        frame.assign(time=zoned),
        frame.assign(time=zoned).set_index("time"),
        frame.assign(time=list(frame["time"].dt.to_pydatetime())),
        frame.drop(columns="time").assign(time_s=elapsed + 17),
        pl.from_pandas(frame),
        pl.read_csv(READINGS),
        pl.from_pandas(frame).with_columns(pl.col("time").dt.replace_time_zone("UTC")),
        arrays | {"time": stamps.astype("datetime64[s]")},
        arrays | {"time": [str(t) for t in text]},
    ]
    for table in tables:
        same(site.evaluate_series(table), reference)
    same(site.evaluate_series(arrays, time=stamps), reference)
    same(site.evaluate_series(frame.rename(columns={"time": "when"}), time="when"), reference)
    for interval in ("5 s", "5000 ms", timedelta(seconds=5), np.timedelta64(5, "s")):
        same(site.evaluate_series(arrays, interval=interval), reference)


def test_the_total_is_numpy_with_an_explicit_covariance_matrix(site, frame):
    """Every input of every row is a coordinate; one vector-matrix-vector product."""
    rows = frame.iloc[::40].reset_index(drop=True)
    scatter = {"time_difference": 0.9e-9, "transit_time": 2.5e-9, "temperature": 0.04}
    names = {
        "readings.time_difference": "time_difference",
        "readings.transit_time": "transit_time",
        "liquid.temperature": "temperature",
    }
    stated = {
        name: f"{spread} {unit}"
        for (name, spread), unit in zip(scatter.items(), "ssK", strict=True)
    }
    series = site.evaluate_series(rows, repeatability=stated)
    flow, contributions, own = [], [], []
    for _, row in rows.iterrows():
        twice = {name: [row[name]] * 2 for name in CHANNELS}
        evaluation = site.evaluate(twice)
        columns = evaluation.budget.columns(si=True)
        flow.append(evaluation.value("SI"))
        places = [columns["input"].index(name) for name in names]
        # of two readings alike the digits are the uncertainty, and the series has its own
        columns["standard_uncertainty"][places] = 0.0
        contributions.append(columns["sensitivity"] * columns["standard_uncertainty"])
        spread = np.array(list(scatter.values()))
        own.append(columns["sensitivity"][places] * spread)
    inputs = columns["input"]
    correlation = np.eye(len(inputs))
    pair = [inputs.index(f"meter.{name}_delay") for name in ("cable", "electronics")]
    correlation[pair[0], pair[1]] = correlation[pair[1], pair[0]] = 0.5
    c, random = np.array(contributions), np.array(own)
    between_rows = c @ correlation @ c.T
    covariance = between_rows + np.diag((random**2).sum(axis=1))
    seconds = (rows["time"] - rows["time"][0]).dt.total_seconds().to_numpy()
    weights = np.zeros(len(rows))
    weights[:-1] += 0.5 * np.diff(seconds)
    weights[1:] += 0.5 * np.diff(seconds)
    columns = series.columns(si=True)
    np.testing.assert_array_equal(columns["volume_flow_m3_s"], flow)
    found, expected = columns["standard_uncertainty_m3_s"], np.sqrt(np.diag(covariance))
    what = "standard uncertainties of the rows of a series"
    against(what, "covariance of all rows by numpy", found, expected, rtol=1e-12)
    np.testing.assert_allclose(
        columns["random_uncertainty_m3_s"], np.sqrt((random**2).sum(axis=1)), rtol=1e-12
    )
    found, expected = series.total.estimate, trapezoid(flow, seconds)
    against("total of a series", "package `scipy`", found, expected, rtol=1e-14)
    u = np.sqrt(weights @ covariance @ weights)
    assert series.total.standard_uncertainty == pytest.approx(u, rel=1e-11)
    # Welch-Satterthwaite over what is the same in all rows; scatter as stated has no end of dof
    dof = np.array(evaluation.budget.columns()["dof"])
    parts = weights @ c
    finite = np.isfinite(dof) & (parts != 0)
    expected = u**4 / np.sum(parts[finite] ** 4 / dof[finite])
    assert series.total.effective_dof == pytest.approx(expected, rel=1e-9)
    assert series.expanded().dof == np.floor(series.total.effective_dof)


def test_the_estimated_scatter_is_that_of_the_readings(site):
    """Readings whose scatter is known, on a slow course: from a generator of numpy."""
    generator = np.random.default_rng(20261125)
    rows = 20_000
    course = 700 + 80 * np.sin(np.arange(rows) / 900)
    table = {
        "time_difference_ns": course + 1.5 * generator.standard_normal(rows),
        "transit_time_us": 610.7 + 0.004 * generator.standard_normal(rows),
        "temperature_degC": np.round(8 + 0.02 * generator.standard_normal(rows), 2),
    }
    series = site.evaluate_series(table, interval="1 min")
    columns = series.total.columns(si=True)
    found = dict(zip(columns["input"], columns["standard_uncertainty"], strict=True))
    # a relative standard error of 1 / sqrt(2 * 0.41 * 20000) = 0.8 %
    assert found["readings.time_difference"] == pytest.approx(1.5e-9, rel=0.04)
    assert found["readings.transit_time"] == pytest.approx(4e-9, rel=0.04)
    # rounded to a half of itself
    assert found["liquid.temperature"] == pytest.approx(0.02, rel=0.15)
    # next to nothing of it is left in the total
    share = dict(zip(columns["input"], columns["share"], strict=True))
    assert share["readings.time_difference"] < 1e-5
    assert "about the course of the flow" in " ".join(columns["evidence"])


def test_rows_that_cannot_be_used_are_shown(site, frame):
    table = frame.copy()
    table["temperature_degC"] = table["temperature_degC"].astype(object)
    table.loc[3, "temperature_degC"] = "n/a"
    table.loc[7, "transit_time_us"] = np.nan
    table.loc[9, "transit_time_us"] = 5.0
    table.loc[20, "time"] = pd.NaT
    table.loc[30, "time"] = table.loc[29, "time"]
    table.loc[40, "time"] -= pd.Timedelta("1h")
    table = table.drop(index=range(100, 160)).reset_index(drop=True)
    series = site.evaluate_series(table)
    rejected = pd.DataFrame(series.rejected)
    assert rejected["row"].tolist() == [3, 7, 9, 20, 30, 40]
    codes = ["not-a-number", "not-a-number", "spike", "no-time", "duplicate"]
    assert rejected["code"].tolist() == [*codes, "out-of-order"]
    assert rejected["time"][0] == table["time"][3]
    assert "stands out" in rejected["reason"][2]
    # one row out of order is no clock that was put back
    assert all(code == "scatter-not-told" for code, _ in series.warnings)
    counts = series.counts
    assert (counts["rows"], counts["used"], counts["gaps"]) == (300, 294, 7)
    gaps = pd.DataFrame(series.gaps)
    assert gaps["duration_s"].max() == 305.0 and not gaps["filled_volume_m3"].any()
    assert series.to_pandas()["volume_flow_m3_h"].isna().sum() == 6
    html = series._repr_html_()
    assert "spike" in html and "294 of 300 rows" in html and "licensed practice" in html
    assert "row 9: transit_time" in str(series)
    filled = site.evaluate_series(table, gaps="interpolate")
    assert filled.duration_s == 1795.0
    volume = np.asarray(filled.gaps["filled_volume_m3"]).sum()
    assert filled.filled_volume == pytest.approx(volume)
    assert filled.total.estimate - series.total.estimate == pytest.approx(volume, rel=1e-9)
    assert any("whose uncertainty is not in the budget" in words for words in filled.findings)
    with_nulls = pl.from_pandas(
        table.assign(temperature_degC=pd.to_numeric(table["temperature_degC"], errors="coerce"))
    )
    same(site.evaluate_series(with_nulls), series)
    nullable = table.assign(
        temperature_degC=pd.to_numeric(table["temperature_degC"], errors="coerce").astype("Float64")
    )
    same(site.evaluate_series(nullable), series)


def test_tables_keep_their_times_and_share_memory(site, frame):
    series = site.evaluate_series(frame.set_index("time"))
    si = series.columns(si=True)
    table = series.to_pandas(si=True)
    assert table.index.equals(frame.set_index("time").index)
    assert list(table) == list(si)
    for name, values in si.items():
        assert np.shares_memory(table[name].to_numpy(), values)
        assert values.shape == (360,) and not values.flags.writeable
        assert np.shares_memory(values, series.columns(si=True)[name])
    shown = series.to_pandas()
    np.testing.assert_allclose(
        shown["volume_flow_m3_h"], 3600 * table["volume_flow_m3_s"], rtol=1e-15
    )
    polars = site.evaluate_series(pl.from_pandas(frame)).to_polars(si=True)
    assert polars.columns == ["time", *si]
    assert polars["time"].to_list() == frame["time"].to_list()
    np.testing.assert_array_equal(polars["volume_flow_m3_s"], si["volume_flow_m3_s"])
    by_interval = site.evaluate_series(frame[CHANNELS], interval="5 s").to_pandas()
    assert by_interval.index.name == "time_s" and by_interval.index[2] == 10.0
    # columns go in without a copy where they are of 64-bit floats
    given = frame[["transit_time_us"]]
    assert np.shares_memory(
        columns_of(given)["transit_time_us"], given["transit_time_us"].to_numpy()
    )
    column = pl.Series("transit_time_us", [1.0, 2.0])
    arrow = columns_of(pl.DataFrame([column]))["transit_time_us"]
    assert np.shares_memory(arrow, column.to_numpy())


def test_pint_quantities_are_readings(site, frame):
    pint = pytest.importorskip("pint")
    units = pint.UnitRegistry()
    quantities = {
        "transit_time": units.Quantity(frame["transit_time_us"].to_numpy(), "us"),
        "time_difference": units.Quantity(frame["time_difference_ns"].to_numpy() / 1e3, "us"),
        "temperature": units.Quantity(frame["temperature_degC"].to_numpy(), "degC"),
    }
    plain = site.evaluate({name: frame[name] for name in CHANNELS})
    assert site.evaluate(quantities).estimate == pytest.approx(plain.estimate, rel=1e-13)
    reference = site.evaluate_series(
        frame[CHANNELS],
        interval="5 s",
        repeatability={
            "time_difference": "0.8 ns",
            "transit_time": "2 ns",
            "temperature": "0.05 K",
        },
    )
    series = site.evaluate_series(
        quantities,
        interval=units.Quantity(5000, "ms"),
        repeatability={
            "time_difference": units.Quantity(0.8, "ns"),
            "transit_time": units.Quantity(0.002, "us"),
            "temperature": units.Quantity(0.05, "kelvin"),
        },
    )
    assert series.total.estimate == pytest.approx(reference.total.estimate, rel=1e-13)
    u = reference.total.standard_uncertainty
    assert series.total.standard_uncertainty == pytest.approx(u, rel=1e-12)
    seconds = units.Quantity(np.arange(360) / 12, "minute")
    timed = site.evaluate_series(quantities | {"time": seconds})
    assert timed.duration_s == pytest.approx(1795.0)
    with pytest.raises(fd.UnitError, match=r"transit_time: found a quantity in meter") as caught:
        site.evaluate(quantities | {"transit_time": units.Quantity([1.0, 2.0], "m")})
    assert (caught.value.code, caught.value.field) == ("wrong-dimension", "transit_time")
    with pytest.raises(fd.InputError, match="transit_time_us: found a quantity with a unit of"):
        site.evaluate({"transit_time_us": units.Quantity([1.0, 2.0], "us")})
    with pytest.raises(fd.UnitError, match="interval"):
        site.evaluate_series(quantities, interval=units.Quantity(1, "m"))


def test_pint_and_pandas_are_not_imported_unasked():
    code = """
        import sys, flowdoubt as fd
        site = fd.Site.load("notebooks/demo/site.toml")
        series = site.evaluate_series("notebooks/demo/readings.csv")
        series.columns(), str(series), series._repr_html_()
        fd.evaluate_sites(["notebooks/demo/site.toml"])._repr_html_()
        sys.exit(len({"pint", "pandas", "polars", "matplotlib", "tqdm"} & set(sys.modules)))
    """
    found = subprocess.run([sys.executable, "-c", textwrap.dedent(code)], check=False)
    assert found.returncode == 0


@pytest.mark.parametrize(
    ("change", "options", "words"),
    [
        ({}, {}, r"time: missing; needed: a column `time`"),
        ({"time_s": [0.0, 5.0]}, {"interval": "5 s"}, "interval: found an interval beside times"),
        ({"time_s": [0.0, 5.0], "time": ["", ""]}, {}, "time: found the columns time_s, time"),
        ({"time": [1.0, 2.0]}, {}, "time: found float64"),
        ({"time": ["2026-01-01T00:00:00Z", "2026-01-01T00:01:00"]}, {}, r"time\[1\].*offset"),
        ({}, {"time": "when"}, "no column when"),
        ({}, {"interval": "soon"}, "interval: `soon` is not a quantity"),
        ({}, {"interval": "5 m"}, "interval: .* is of kind length"),
        ({}, {"interval": "-5 s"}, "interval: found -5 s"),
        ({}, {"interval": [5]}, r"interval: found \[5\]"),
        ({}, {"interval": "5 s", "rule": "simpson"}, "rule: found `simpson`"),
        ({}, {"interval": "5 s", "gaps": "fill"}, "gaps: found `fill`"),
        ({}, {"interval": "5 s", "gap_factor": 0.5}, "gap_factor: found 0.5"),
        (
            {},
            {"interval": "5 s", "repeatability": {"transit": "0 s"}},
            "repeatability: found `transit`",
        ),
        ({}, {"interval": "5 s", "repeatability": 3}, "repeatability: found 3"),
        (
            {},
            {"interval": "5 s", "repeatability": {"transit_time": "1 K"}},
            "repeatability.transit",
        ),
        ({}, {"interval": "5 s"}, "repeatability.time_difference: missing"),
        ({"transit_time_us": ["a", "b"]}, {"interval": "5 s"}, "transit_time_us: not a column"),
        ({"transit_tme_us": [1.0, 2.0]}, {"interval": "5 s"}, "did you mean `transit_time_us`"),
    ],
)
def test_bad_logs_are_refused_with_words(site, change, options, words):
    good = {
        "time_difference_ns": [780.0, 781.0],
        "transit_time_us": [610.7, 610.8],
        "temperature_degC": [8.0, 8.1],
    }
    with pytest.raises(fd.FlowdoubtError, match=words):
        site.evaluate_series(good | change, **options)


def test_figures_of_series(site, frame):
    import matplotlib

    matplotlib.use("agg")
    import matplotlib.pyplot as plt

    from flowdoubt import plots

    table = frame.drop(index=range(100, 160))
    table.loc[200, "transit_time_us"] = np.nan
    series = site.evaluate_series(table)
    _, axes = plt.subplots()
    assert plots.series(series, axes) is axes
    assert axes.get_ylabel() == "volume flow / (m3/h)"
    legend = {text.get_text() for text in axes.get_legend().get_texts()}
    assert {"gap", "rows not used", "volume flow"} <= legend
    # no line across the gap
    y = axes.get_lines()[0].get_ydata()
    assert np.isnan(y).sum() == series.counts["gaps"]
    long = site.evaluate_series(
        {name: np.tile(frame[name].to_numpy(), 30) for name in CHANNELS}, interval="60 s"
    )
    drawn = plots.series(long)
    assert len(drawn.get_lines()[0].get_ydata()) <= 400
    assert drawn.get_xlabel() == "time after the first row / d"
    plt.close("all")


def test_progress_and_text(site, capsys):
    pytest.importorskip("tqdm")
    series = site.evaluate_series(READINGS, progress=True)
    frame = pd.read_csv(READINGS)
    site.evaluate_series(frame, progress=True)
    assert "360/360" in capsys.readouterr().err
    assert repr(series).startswith('<Series of "Harrowmere')
    assert "total volume (521" in series.headline


@pytest.mark.skipif(sys.platform == "win32", reason="signals of another kind")
def test_ctrl_c_ends_a_series():
    code = """
        import numpy as np, flowdoubt as fd
        site = fd.Site.load("notebooks/demo/site.toml")
        rows = np.arange(8_000_000)
        log = {
            "transit_time_us": 610.7 + 1e-3 * (rows % 7),
            "time_difference_ns": 790.0 + rows % 11,
            "temperature_degC": 8.0 + 1e-2 * (rows % 5),
        }
        print("ready", flush=True)
        try:
            site.evaluate_series(log, interval="1 s")
        except KeyboardInterrupt:
            print("interrupted", flush=True)
    """
    process = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(code)], stdout=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout.readline() == "ready\n"
        time.sleep(0.5)
        process.send_signal(signal.SIGINT)
        out, _ = process.communicate(timeout=60)
    finally:
        process.kill()
    assert out == "interrupted\n"


@pytest.mark.parametrize("threads", ["1", "7"])
def test_the_number_of_threads_changes_no_bit(site, threads):
    """Rayon reads the number of its threads once a process."""
    code = """
        import numpy as np, flowdoubt as fd
        site = fd.Site.load("notebooks/demo/site.toml")
        rows = np.arange(5000)
        log = {
            "transit_time_us": 610.7 + 1e-3 * (rows % 7),
            "time_difference_ns": 790.0 + rows % 11,
            "temperature_degC": 8.0 + 1e-2 * (rows % 5),
        }
        series = site.evaluate_series(log, interval="1 s")
        print(series.total.estimate.hex(), series.total.standard_uncertainty.hex())
    """
    run = [sys.executable, "-c", textwrap.dedent(code)]
    found = [
        subprocess.run(
            run,
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "RAYON_NUM_THREADS": count, "FLOWDOUBT_INSTRUCTION_SET": name},
        ).stdout
        for count, name in (("2", "baseline"), (threads, "baseline"))
    ]
    widest = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    assert found[0] == found[1] == widest and found[0].startswith("0x1")


def test_command_line(capsys, tmp_path, site):
    out = tmp_path / "out.csv"
    demo = ["series", "notebooks/demo/site.toml", READINGS]
    assert cli.main([*demo, "--csv", str(out), "--repeatability", "time_difference=0.8 ns"]) == 0
    printed = capsys.readouterr().out
    assert "total volume (521" in printed and "licensed practice" in printed
    table = pd.read_csv(out)
    series = site.evaluate_series(READINGS, repeatability={"time_difference": "0.8 ns"})
    np.testing.assert_array_equal(table["volume_flow_m3_h"], series.columns()["volume_flow_m3_h"])
    assert cli.main([*demo, "--csv", str(out)]) == 2
    assert "exists" in capsys.readouterr().err
    assert cli.main([*demo, "--gaps", "fill"]) == 2
