"""The difference of two flows, and what the two have in common."""

import json
import shutil
import subprocess

import numpy as np
import pytest

import flowdoubt as fd
from flowdoubt import cli


@pytest.fixture(scope="module")
def site():
    return fd.Site.load("notebooks/demo/site.toml")


def scaled(ratio):
    """The readings of the demo with a time difference as many times as large."""
    rows = np.genfromtxt("notebooks/demo/readings.csv", delimiter=",", names=True, dtype=None)
    return {
        "transit_time_us": rows["transit_time_us"],
        "time_difference_ns": ratio * rows["time_difference_ns"],
        "temperature_degC": rows["temperature_degC"],
    }


@pytest.fixture(scope="module")
def two(site):
    return site.evaluate(scaled(1.0)), site.evaluate(scaled(1.02))


def test_what_is_common_cancels(two):
    first, second = two
    found = fd.difference(first, second, same="mounting")
    apart = fd.difference(first, second, same="nothing")
    assert found.estimate == pytest.approx(second.estimate - first.estimate)
    u = np.hypot(first.standard_uncertainty, second.standard_uncertainty)
    assert apart.standard_uncertainty == pytest.approx(u)
    assert found.standard_uncertainty < 0.1 * u
    assert found.differs and not apart.differs
    # JCGM 100:2008, 5.2.2: u^2(d) = u1^2 + u2^2 - 2 r u1 u2
    u1, u2, r = first.standard_uncertainty, second.standard_uncertainty, found.correlation
    assert found.standard_uncertainty == pytest.approx(
        np.sqrt(u1**2 + u2**2 - 2 * r * u1 * u2), rel=1e-6
    )
    assert found.budget.to_pandas()["share"].sum() == pytest.approx(1)
    assert "pipe.wall.instrument" in found.shared and not apart.shared


def test_exceptions_are_named(two):
    found = fd.difference(*two, same="pipe", also=["meter.calibration_factor"])
    less = fd.difference(*two, same="pipe")
    more = fd.difference(*two, same="pipe", but=["pipe.roughness"])
    u = [each.standard_uncertainty for each in (found, less, more)]
    assert u == sorted(u) and len(set(u)) == 3
    with pytest.raises(fd.InputError, match=r"pipe\.roughnes.*did you mean `pipe\.roughness`"):
        fd.difference(*two, same="pipe", but=["pipe.roughnes"])


@pytest.mark.parametrize("side", [None, 3.0, "site.toml", ("a", "b"), [1, 2]])
def test_what_is_no_flow_is_refused(two, side):
    with pytest.raises(fd.InputError, match=r"second: found .*allowed: an evaluation, a record"):
        fd.difference(two[0], side, same="pipe")


def test_a_word_that_says_nothing_is_refused(two):
    with pytest.raises(fd.InputError, match=r"same: .*allowed: .*meter_and_pipe"):
        fd.difference(*two, same="everything")


def test_periods_of_a_series(site):
    times = np.arange(
        np.datetime64("2026-10-30T00:00"),
        np.datetime64("2026-11-03T00:00"),
        np.timedelta64(10, "m"),
    )
    times = times.astype("datetime64[s]")
    scatter = np.resize([0.0, 3.1, -2.2, 1.4, -3.3, 0.9, 2.6], len(times))
    log = {
        "time": times,
        "transit_time_us": np.full(len(times), 609.5),
        "time_difference_ns": 800 + scatter + 20.0 * (times >= np.datetime64("2026-11-01")),
        "temperature_degC": np.full(len(times), 8.1),
    }
    series = site.evaluate_series(log, period="month", time_zone="UTC")
    found = fd.difference((series, "2026-10"), (series, "2026-11"), same="mounting")
    assert found.labels == ("2026-10", "2026-11")
    covariance = np.array(series.period_covariance)
    hours = np.array(series.periods()["duration_s"]) / 3600
    weights = np.array([-1, 1]) / hours
    assert found.standard_uncertainty == pytest.approx(
        np.sqrt(weights @ covariance @ weights), rel=1e-6
    )
    assert found.differs
    with pytest.raises(fd.InputError, match=r"2026-12.*2026-11"):
        fd.difference((series, "2026-10"), (series, "2026-12"), same="mounting")


def test_shown_everywhere(two):
    found = fd.difference(*two, same="meter_and_pipe", labels=("before", "after <b>"))
    assert "first, before" in str(found) and found.headline in str(found)
    page = found._repr_html_()
    assert "after &lt;b&gt;" in page and found.verdict in page
    assert found.to_dict()["same"] == "meter_and_pipe"


def test_the_command_takes_records(two, tmp_path, capsys):
    for name, evaluation in zip(("one", "two"), two, strict=True):
        evaluation.record().save(tmp_path / f"{name}.json")
    files = [str(tmp_path / "one.json"), str(tmp_path / "two.json")]
    assert cli.main(["difference", *files, "--same", "mounting"]) == 0
    printed = capsys.readouterr().out
    assert fd.difference(*two, same="mounting").headline in printed
    assert "licensed practice" in printed
    assert cli.main(["difference", *files, "--same", "pipe", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found == fd.difference(*two, same="pipe").to_dict()


@pytest.mark.parametrize(
    ("typed", "expected"),
    [("flowdoubt diff", "difference"), ("flowdoubt evaluate --rec", "--record")],
)
def test_bash_completes_commands_and_options(typed, expected, capsys):
    bash = shutil.which("bash")
    assert bash is not None
    assert cli.main(["completion", "bash"]) == 0
    script = capsys.readouterr().out
    words = typed.split()
    ask = (
        f"COMP_WORDS=({' '.join(words)}); COMP_CWORD={len(words) - 1}; "
        f'_shtab_flowdoubt; printf "%s\\n" "${{COMPREPLY[@]}}"'
    )
    told = subprocess.run(
        [bash, "--norc", "-c", f"{script}\n{ask}"], capture_output=True, text=True, check=True
    )
    assert expected in told.stdout.split()


def test_completion_knows_which_arguments_are_files(capsys):
    for shell in ("bash", "zsh", "tcsh"):
        assert cli.main(["completion", shell]) == 0
        assert "evaluate-sites" in capsys.readouterr().out
    assert cli.main(["completion", "bash"]) == 0
    script = capsys.readouterr().out
    assert "_shtab_flowdoubt_evaluate_pos_0_COMPGEN=_shtab_compgen_files" in script
    assert "_shtab_flowdoubt_evaluate_sites_pos_0_COMPGEN=_shtab_compgen_dirs" in script
