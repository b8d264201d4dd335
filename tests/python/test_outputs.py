"""What a meter indicates, read from its outputs: pulses, counters, totalisers, currents."""

import numpy as np
import pandas as pd
import pint
import polars as pl
import pytest

import flowdoubt as fd

SITE = """
[site]
name = "outputs"
[liquid]
kind = "stated"
sound_speed = "1480 m/s"
kinematic_viscosity = "1 mm2/s"
[pipe]
outside_diameter = "168.3 mm"
wall = "7.1 mm"
wall_sound_speed = "3230 m/s"
[path]
basis = "indicated"
traverses = 2
wedge_angle = "40 deg"
wedge_sound_speed = "2430 m/s"
[meter]
{meter}
[meter.programmed]
principle = "timed"
inside_diameter = "154.1 mm"
profile_factor = 0.943
{programmed}
"""
PULSES = 'pulse_value = "10 L"'
TOTALISER = 'totaliser_resolution = "0.1 m3"\ncounter_digits = 7'
LOOP = 'flow_at_4_mA = "0 m3/h"\nflow_at_20_mA = "200 m3/h"'


def site(programmed="", meter=""):
    return fd.Site.from_toml(SITE.format(programmed=programmed, meter=meter))


def flow_of(cubic_metres_an_hour):
    return site().evaluate({"volume_flow_m3_h": [cubic_metres_an_hour] * 5}).estimate


def moments(rows, step="1min"):
    return pd.date_range("2026-05-01", periods=rows, freq=step)


@pytest.mark.parametrize("made", ["seconds", "datetimes", "index", "polars", "csv"])
def test_counts_take_their_times_from_any_table(tmp_path, made):
    # 30 pulses of 10 L a minute are 18 m3/h
    rows = 30
    counts = {"pulse_count": 500.0 + 30.0 * np.arange(rows)}
    times = moments(rows)
    if made == "seconds":
        table = {"time_s": 60.0 * np.arange(rows), **counts}
    elif made == "datetimes":
        table = {"time": times, **counts}
    elif made == "index":
        table = pd.DataFrame(counts, index=times)
    elif made == "polars":
        table = pl.DataFrame({"time": times.to_pydatetime(), **counts})
    else:
        table = tmp_path / "counts.csv"
        pd.DataFrame({"time": times.strftime("%Y-%m-%dT%H:%M:%S"), **counts}).to_csv(
            table, index=False
        )
    evaluation = site(PULSES).evaluate(table)
    assert evaluation.estimate == pytest.approx(flow_of(18.0), rel=1e-12)
    assert "readings.volume_flow.counting" in evaluation.budget.columns()["input"]
    record = evaluation.record(evaluation.monte_carlo(trials=1000))
    assert record.reproduce()


def test_counts_without_times_are_refused():
    with pytest.raises(fd.FlowdoubtError, match=r"meter\.sampling_interval"):
        site(PULSES).evaluate({"pulses": [30.0] * 5})
    timed = site(PULSES, 'sampling_interval = "1 min"').evaluate({"pulses": [30.0] * 5})
    assert timed.estimate == pytest.approx(flow_of(18.0), rel=1e-12)


def test_pint_tells_currents_and_totals():
    units = pint.UnitRegistry()
    current = site(LOOP).evaluate({"current": np.full(5, 12.0) * units.mA})
    assert current.estimate == pytest.approx(flow_of(100.0), rel=1e-12)
    table = {"time_s": [0.0, 3600.0], "totaliser": np.array([1e6, 1.018e6]) * units.litre}
    total = site(TOTALISER).evaluate(table)
    assert total.estimate == pytest.approx(flow_of(18.0), rel=1e-9)


def test_a_current_that_tells_a_fault_is_refused():
    with pytest.raises(fd.RangeError, match=r"current\[2\].*21 mA"):
        site(LOOP).evaluate({"current_mA": [12.0, 12.1, 3.2]})


def total(series):
    """The total in a unit that is the same for all series."""
    return series.total.estimate


def test_logs_of_counts_lose_nothing():
    rows = 200
    rng = np.random.default_rng(5)
    volume = np.cumsum(rng.uniform(0.2, 0.6, size=rows))
    times = moments(rows)
    steady = site().evaluate_series(
        {"time": times, "volume_flow_m3_h": np.full(rows, 60 * volume[-1] / rows)}, rule="hold"
    )
    pulses = np.diff(np.floor(volume / 0.01), prepend=0.0)
    counted = site(PULSES).evaluate_series({"time": times, "pulses": pulses})
    # the profile factor follows the flow a little
    assert total(counted) == pytest.approx(total(steady), rel=3e-3)
    assert counted.counts["used"] == rows and "rule since" in str(counted)
    state = np.round(1000.0 + volume, 1)
    state[50:60] = np.nan
    went_on = site(TOTALISER).evaluate_series({"time": times, "totaliser_m3": state})
    assert total(went_on) == pytest.approx(
        total(counted) * (state[-1] - state[0]) / volume[-1], rel=3e-3
    )
    assert went_on.counts["gaps"] == 0
    assert went_on.counts["counter_start"] == 1 and went_on.counts["not_a_number"] == 10
    assert went_on.rejected["code"][0] == "counter-start"
    columns = went_on.total.columns()
    assert "series.counting" in columns["input"]


def test_faults_of_outputs_are_listed():
    currents = 12.0 + 0.02 * np.sin(np.arange(60.0))
    currents[[10, 11]] = 3.5, 22.0
    series = site(LOOP).evaluate_series({"current_mA": currents}, interval="1 min")
    assert series.rejected["row"] == [10, 11]
    assert series.counts["current_fault"] == 2
    state = 100.0 + 0.3 * np.arange(60.0)
    state[30:] -= 50.0
    series = site('totaliser_resolution = "0.1 m3"').evaluate_series(
        {"totaliser_m3": state}, interval="1 min"
    )
    assert series.counts["counter_reset"] == 1 and series.counts["gaps"] == 1
    assert "reset" in str(series)
    with pytest.raises(fd.FlowdoubtError, match=r"repeatability\.pulses"):
        site(PULSES).evaluate_series(
            {"pulses": np.full(9, 30.0)}, interval="60 s", repeatability={"pulses": "1"}
        )
