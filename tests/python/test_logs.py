"""Logs with faults, clocks, signals, damping and periods, as they come in Python."""

import datetime as dt
import zoneinfo

import numpy as np
import pandas as pd
import polars as pl
import pytest

import flowdoubt as fd

DEMO = "notebooks/demo/site.toml"


@pytest.fixture(scope="module")
def site():
    return fd.Site.load(DEMO)


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
