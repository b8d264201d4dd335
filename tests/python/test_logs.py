"""Logs with faults, clocks, signals, damping and periods, as they come in Python."""

import datetime as dt
import zoneinfo
from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
import pytest

import flowdoubt as fd
from flowdoubt import cli

DEMO = "notebooks/demo/site.toml"


@pytest.fixture(scope="module")
def site():
    return fd.Site.load(DEMO)


@pytest.fixture(scope="module")
def anywhere():
    """The site without the fitting, whose factor is known for forward turbulent flow alone."""
    text = Path(DEMO).read_text()
    keys = ("fitting", "straight_run", "orientation")
    lines = [line for line in text.splitlines() if not line.startswith(keys)]
    return fd.Site.from_toml("\n".join(lines))


def quiet(rows, seed=1):
    """Columns of a steady log."""
    rng = np.random.default_rng(seed)
    return {
        "time_difference_ns": 798.0 + 4.0 * rng.normal(size=rows),
        "transit_time_us": 610.7 + 0.03 * rng.normal(size=rows),
        "temperature_degC": 8.1 + 0.02 * rng.normal(size=rows),
    }


def test_one_code_for_an_error_changes_next_to_nothing(site):
    clean = site.evaluate_series(quiet(200), interval="1 min")
    table = quiet(200)
    table["time_difference_ns"][50] = 99999.0
    series = site.evaluate_series(table, interval="1 min")
    assert series.rejected["row"] == [50] and series.rejected["code"] == ["error-code"]
    assert "99999" in series.rejected["reason"][0]
    assert series.mean_flow == pytest.approx(clean.mean_flow, rel=1e-3)
    # what was done before, by name
    whole = site.evaluate_series(table, interval="1 min", faults="none")
    assert whole.counts["used"] == 200 and whole.mean_flow > 1.5 * clean.mean_flow
    table["time_difference_ns"][50] = 1e200
    assert site.evaluate_series(table, interval="1 min").rejected["code"] == ["inconceivable"]


def test_limits_are_stated(site):
    table = quiet(100)
    table["time_difference_ns"][20:30] = 5000.0  # 5 m/s or so
    of = lambda **faults: site.evaluate_series(table, interval="1 min", faults=faults)  # noqa: E731
    assert of().counts["used"] == 100
    assert of(velocity=3.0).counts["velocity"] == 10
    assert of(velocity=3.0, codes=False, spikes=None).counts["velocity"] == 10
    with pytest.raises(fd.FlowdoubtError, match="codes, spikes, velocity, sound_speed"):
        of(speed=3.0)
    with pytest.raises(fd.RangeError, match=r"faults\.velocity"):
        of(velocity=-1.0)


def wall_clock(zone, first, last):
    """Times of a clock each ten minutes of universal time, without its zone, by zoneinfo."""
    own = zoneinfo.ZoneInfo(zone)
    moment = dt.datetime.fromisoformat(first).replace(tzinfo=dt.UTC)
    last = dt.datetime.fromisoformat(last).replace(tzinfo=dt.UTC)
    times = []
    while moment <= last:
        times.append(moment.astimezone(own).replace(tzinfo=None))
        moment += dt.timedelta(minutes=10)
    return times


@pytest.mark.parametrize(
    ("zone", "first", "last"),
    [
        ("Europe/Berlin", "2026-10-24", "2026-10-26"),
        ("Europe/Berlin", "2026-03-28", "2026-03-30"),
        ("America/New_York", "2026-10-31", "2026-11-02"),
        ("Australia/Lord_Howe", "2026-04-04", "2026-04-06"),
        ("Asia/Tokyo", "2026-10-24", "2026-10-26"),
    ],
)
@pytest.mark.parametrize("made", ["text", "numpy", "pandas", "polars", "csv"])
def test_clocks_on_a_wall_meet_zoneinfo(site, tmp_path, zone, first, last, made):
    times = wall_clock(zone, first, last)
    columns = quiet(len(times))
    texts = [time.isoformat() for time in times]
    if made == "csv":
        path = tmp_path / "log.csv"
        pd.DataFrame({"time": texts, **columns}).to_csv(path, index=False)
        table = path
    else:
        column = {
            "text": texts,
            "numpy": np.array(texts, dtype="datetime64[s]"),
            "pandas": pd.Series(times),
            "polars": pl.Series(times),
        }[made]
        table = {"time": column, **columns}
    series = site.evaluate_series(table, time_zone=zone)
    np.testing.assert_array_equal(series.seconds, 600.0 * np.arange(len(times)))
    assert series.counts["gaps"] == 0 and series.counts["used"] == len(times)
    assert series.clock["zone"] == zone and series.clock["skipped"] == []


def test_times_come_back_as_they_came_in(site, tmp_path):
    texts = [f"2026-10-25 0{2 + i // 60}:{i % 60:02d}:00" for i in range(60)] * 2
    path = tmp_path / "log.csv"
    pd.DataFrame({"time": texts, **quiet(120)}).to_csv(path, index=False)
    series = site.evaluate_series(path, time_zone="Europe/Berlin")
    assert series.clock["twice"] == list(range(120))
    written = pd.read_csv(pd.io.common.StringIO(series.to_csv()))
    assert written["time"].tolist() == texts
    assert series.to_pandas().index.tolist() == texts
    assert series.to_polars()["time"].to_list() == texts


def test_an_hour_that_is_lost_is_told(site):
    texts = [f"2026-10-25T0{2 + i // 60}:{i % 60:02d}:00" for i in range(60)] * 2
    series = site.evaluate_series({"time": texts, **quiet(120)})
    assert [code for code, _ in series.warnings] == ["clock-put-back"]
    zoned = pd.Series(pd.to_datetime(texts)).dt.tz_localize("UTC")
    with pytest.raises(fd.FlowdoubtError, match="time_zone"):
        site.evaluate_series({"time": zoned, **quiet(120)}, time_zone="Europe/Berlin")
    with pytest.raises(fd.FlowdoubtError, match="Europe/Harrowmere"):
        site.evaluate_series({"time": texts, **quiet(120)}, time_zone="Europe/Harrowmere")


@pytest.mark.parametrize("made", [pd.DataFrame, pl.DataFrame, dict, "csv"])
def test_rows_are_selected_by_status_and_signal(site, tmp_path, made):
    quality = np.full(80, 70.0)
    quality[[5, 6]] = 20.0, np.nan
    state = ["ok"] * 80
    state[9] = "bubbles"
    columns = {**quiet(80), "state": state, "quality": quality}
    if made == "csv":
        table = tmp_path / "log.csv"
        pd.DataFrame(columns).to_csv(table, index=False)
    else:
        table = made(columns)
    select = {"status": {"state": ["ok", "0"]}, "signal": {"quality": 40}}
    series = site.evaluate_series(table, interval="1 min", **select)
    assert series.rejected["row"] == [5, 6, 9]
    assert series.rejected["code"] == ["signal", "signal", "status"]
    assert "bubbles" in series.rejected["reason"][2]
    np.testing.assert_array_equal(series.columns()["quality"], quality)
    carried = site.evaluate_series(
        table, interval="1 min", status={"state": ["ok", "bubbles"]}, signal="quality"
    )
    assert carried.counts["used"] == 80


def test_selections_that_are_none_are_refused(site):
    for keys, words in [
        ({"status": "state"}, "status of rows"),
        ({"status": {"state": ["ok"]}}, "state"),
        ({"signal": 3}, "name of a column"),
        ({"signal": "flag"}, "flag"),
    ]:
        with pytest.raises(fd.FlowdoubtError, match=words):
            site.evaluate_series(quiet(40), interval="60 s", **keys)


def test_stated_damping_makes_a_total_less_certain(site):
    table = quiet(400)
    share = lambda series: dict(  # noqa: E731
        zip(*(series.total.columns(si=True)[k] for k in ("input", "contribution")), strict=True)
    )["readings.time_difference"]
    plain = share(site.evaluate_series(table, interval="1 s"))
    damped = share(site.evaluate_series(table, interval="1 s", time_constant="10 s"))
    windowed = share(site.evaluate_series(table, interval="1 s", window="20 s"))
    # independent noise: only the level at scales that see the damping is scaled
    assert damped > 2 * plain and windowed > 2 * plain
    with pytest.raises(fd.FlowdoubtError, match="window"):
        site.evaluate_series(table, interval="1 s", window="2 s", time_constant="2 s")


def test_totals_of_days_add_up(site):
    rows = 3 * 144
    times = np.datetime64("2026-05-01T00:00") + np.arange(rows) * np.timedelta64(10, "m")
    table = {"time": times, **quiet(rows)}
    table["time_difference_ns"][200:210] = np.nan
    series = site.evaluate_series(table, period="day")
    periods = pd.DataFrame(series.periods(si=True))
    assert periods["period"].tolist() == ["2026-05-01", "2026-05-02", "2026-05-03"]
    assert periods["volume_m3"].sum() == pytest.approx(series.total.value("m3"), rel=1e-12)
    covariance = series.period_covariance
    np.testing.assert_allclose(
        np.sqrt(np.diag(covariance)), periods["standard_uncertainty_m3"], rtol=1e-9
    )
    u = series.total.standard_uncertainty
    assert np.sqrt(covariance.sum()) == pytest.approx(u, rel=1e-4)
    np.testing.assert_allclose(periods["availability"], [1, 1 - 11 / 144, 1 - 1 / 144], rtol=1e-12)
    assert set(series.period_budgets) == set(periods["period"])
    assert "2026-05-02: (" in str(series)
    with pytest.raises(fd.FlowdoubtError, match="calendar"):
        site.evaluate_series(quiet(40), interval="60 s", period="day")


def contributions(series):
    """Contributions to the standard uncertainty of the total, by input, over the total."""
    columns = series.total.columns()
    return {
        name: abs(own) / abs(series.total.estimate)
        for name, own in zip(columns["input"], columns["contribution"], strict=True)
    }


def test_the_scatter_at_no_flow_stands_for_that_in_flow(site):
    table = quiet(300)
    rng = np.random.default_rng(7)
    zero = {"time_difference_ns": 0.4 + 2.0 * rng.normal(size=400)}
    name = "readings.time_difference"
    own = contributions(site.evaluate_series(table, interval="1 s"))
    found = contributions(site.evaluate_series(table, interval="1 s", no_flow=zero))
    # 2 ns of scatter instead of 4 ns
    assert found[name] == pytest.approx(0.5 * own[name], rel=0.35)
    stated = {"time_difference": "2 ns"}
    by_hand = contributions(site.evaluate_series(table, interval="1 s", repeatability=stated))
    assert found[name] == pytest.approx(by_hand[name], rel=0.25)
    # what is stated counts, whatever was read at no flow
    both = site.evaluate_series(table, interval="1 s", repeatability=stated, no_flow=zero)
    assert contributions(both)[name] == by_hand[name]
    # channels that were not read at no flow are judged in flow
    assert found["readings.transit_time"] == own["readings.transit_time"]
    with pytest.raises(fd.FlowdoubtError):
        site.evaluate_series(table, interval="1 s", no_flow={"time_difference_ns": [1.0]})


def test_reverse_flow_counts_as_asked_for(anywhere):
    table = quiet(200)
    table["time_difference_ns"][120:] *= -0.5
    net = anywhere.evaluate_series(table, interval="1 min")
    assert net.directions is None
    separate = anywhere.evaluate_series(table, interval="1 min", reverse="separate")
    forward, reverse = separate.directions
    assert forward.estimate > 0 > reverse.estimate
    assert forward.estimate + reverse.estimate == pytest.approx(separate.total.estimate, rel=1e-12)
    assert separate.total.estimate == net.total.estimate
    # 120 rows of the whole flow, 80 of half of it back
    assert reverse.estimate / forward.estimate == pytest.approx(-1 / 3, rel=0.02)
    assert "\nforward " in str(separate) and "\nreverse -" in str(separate)
    with pytest.raises(fd.FlowdoubtError, match="'net' or 'separate'"):
        anywhere.evaluate_series(table, interval="1 min", reverse="absolute")


def test_flow_below_the_cut_off_is_none_and_unknown(anywhere):
    table = quiet(200)
    table["time_difference_ns"][50:80] = 3.0 * np.sin(np.arange(30.0))
    plain = anywhere.evaluate_series(table, interval="1 min")
    cut = anywhere.evaluate_series(table, interval="1 min", low_flow_cut_off="20 m3/h")
    assert plain.counts["below_cut_off"] == 0 and cut.counts["below_cut_off"] == 30
    flow, u = (cut.columns()[f"{name}_m3_h"] for name in ("volume_flow", "standard_uncertainty"))
    np.testing.assert_array_equal(flow[50:80], 0.0)
    np.testing.assert_allclose(u[50:80], 20 / np.sqrt(3), rtol=1e-9)
    # 30 minutes of anything up to 20 m3/h either way, one deviation
    line = contributions(cut)["series.low_flow_cut_off"] * cut.total.value("m3")
    assert line == pytest.approx(20 / 3600 / np.sqrt(3) * 1800, rel=1e-9)
    assert "30 rows of flow below the low-flow cut-off" in str(cut)
    for bad, kind in [("20 kg", fd.UnitError), ("-1 m3/h", fd.RangeError)]:
        with pytest.raises(kind, match="low_flow_cut_off"):
            anywhere.evaluate_series(table, interval="1 min", low_flow_cut_off=bad)


@pytest.fixture
def log_file(tmp_path):
    """A log across the night of autumn."""
    times = wall_clock("Europe/Berlin", "2026-10-24T18:00", "2026-10-25T06:00")
    path = tmp_path / "log.csv"
    texts = [time.isoformat() for time in times]
    pd.DataFrame({"time": texts, **quiet(len(times))}).to_csv(path, index=False)
    return path


def run(capsys, *arguments):
    """Run the command line on the demonstration; return exit status, output and errors."""
    status = cli.main(["series", DEMO, *map(str, arguments)])
    printed = capsys.readouterr()
    return status, printed.out, printed.err


def test_time_zone_and_period_on_the_command_line(capsys, site, log_file):
    status, out, _ = run(capsys, log_file)
    assert status == 0 and "clock-put-back" in out
    status, out, _ = run(capsys, log_file, "--time-zone", "Europe/Berlin", "--period", "day")
    assert status == 0 and "clock-put-back" not in out
    # twice six rows of the hour that runs twice
    assert "12 rows in an hour that the clock runs through twice (Europe/Berlin)" in out
    assert "2026-10-24: (" in out and "2026-10-25: (" in out
    series = site.evaluate_series(log_file, time_zone="Europe/Berlin", period="day")
    assert str(series) in out
    status, _, err = run(capsys, log_file, "--time-zone", "Europe/Harrowmere")
    assert status == 2 and "Europe/Harrowmere" in err
    with pytest.raises(SystemExit):
        cli.main(["series", DEMO, str(log_file), "--period", "year"])


def test_damping_on_the_command_line(capsys, site, log_file):
    for option, key in [("--time-constant", "time_constant"), ("--window", "window")]:
        status, out, _ = run(capsys, log_file, option, "30min")
        assert status == 0
        assert str(site.evaluate_series(log_file, **{key: "30 min"})) in out
        status, _, err = run(capsys, log_file, option, "30kg")
        assert status == 2 and key in err
    with pytest.raises(SystemExit):
        cli.main(["series", DEMO, str(log_file), "--window", "1s", "--time-constant", "1s"])


def test_status_and_signal_on_the_command_line(capsys, log_file, tmp_path):
    frame = pd.read_csv(log_file)
    frame["state"] = "ok"
    frame.loc[4, "state"] = "bubbles"
    frame["quality"] = 70.0
    frame.loc[[7, 8], "quality"] = 20.0, 35.0
    frame.to_csv(log_file, index=False)
    # a column that nobody asked for is left out, and that is said
    status, out, _ = run(capsys, log_file, "--time-zone", "Europe/Berlin")
    assert status == 0 and "columns not used: `state`, `quality`" in out
    out_file = tmp_path / "flow.csv"
    zoned = [log_file, "--time-zone", "Europe/Berlin"]
    select = ["--status", "state=ok,0", "--signal", "quality=30", "--csv", out_file]
    status, out, _ = run(capsys, *zoned, *select)
    assert status == 0
    assert "1 row whose status was not asked for, not used" in out
    assert "1 row whose signal is too weak, not used" in out
    written = pd.read_csv(out_file)
    assert written["quality"][7] == 20.0
    assert written["volume_flow_m3_h"].isna().to_numpy().nonzero()[0].tolist() == [4, 7]
    status, out, _ = run(capsys, *zoned, "--status", "state=ok,bubbles", "--signal", "quality")
    assert status == 0 and "not used" not in out
    for bad, words in [
        (["--status", "state=ok", "--signal", "quality=much"], "a number"),
        (["--status", "state", "--signal", "quality"], "status of rows"),
        (["--status", "state=ok", "--signal", "strength"], "strength"),
        (["--status", "state=ok", "--signal", "quality", "--rule", "sum"], "since"),
    ]:
        status, _, err = run(capsys, log_file, *bad)
        assert status == 2 and words in err, err
