"""The command line."""

import json

import pytest

import flowdoubt as fd
from flowdoubt import cli

DEMO = ["evaluate", "notebooks/demo/site.toml", "notebooks/demo/readings.csv"]


def test_the_starter_file_is_a_site(capsys):
    assert cli.main(["starter"]) == 0
    printed = capsys.readouterr().out
    assert printed == fd.Site.STARTER
    assert fd.Site.from_toml(printed).name == "plant, line, place on the line"


def test_evaluate_prints_result_budget_trials_and_cautions(capsys, demo):
    assert cli.main([*DEMO, "--trials", "20000"]) == 0
    printed = capsys.readouterr().out
    for words in [
        demo.headline,
        "installation.factor",
        demo.budget.result_in_words,
        "20000 trials, seed 1",
        "licensed practice",
    ]:
        assert words in printed


def test_json_is_what_the_library_says(capsys, demo):
    assert cli.main([*DEMO, "--trials", "1000", "--seed", "3", "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed == json.loads(demo.to_json(demo.monte_carlo(trials=1000, seed=3)))
    assert cli.main([*DEMO, "--trials", "0", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["monte_carlo"] is None


def test_reconciliation_and_zero_check_are_asked_for(capsys, tmp_path, demo):
    at_no_flow = tmp_path / "zero.csv"
    at_no_flow.write_text("time_difference_ns\n0.1\n0.2\n0.15\n")
    options = ["--trials", "0", "--reconcile", "--zero", str(at_no_flow)]
    assert cli.main([*DEMO, *options]) == 0
    printed = capsys.readouterr().out
    assert "zero from 3 readings at no flow: 0.150 ns" in printed
    assert "reconciled with the transit time by least squares: chi-square" in printed
    assert demo.reconciled().after.headline in printed
    assert cli.main([*DEMO, *options, "--json"]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out) == json.loads(demo.reconciled().after.to_json())
    assert "chi-square" in printed.err


@pytest.mark.parametrize(
    "arguments",
    [
        ["evaluate", "notebooks/demo/site.toml", "nowhere.csv"],
        ["evaluate", "notebooks/demo/readings.csv", "notebooks/demo/readings.csv"],
        [*DEMO, "--trials", "5"],
        [*DEMO, "--trials", "-1"],
    ],
)
def test_bad_input_ends_with_status_2_and_one_line(capsys, arguments):
    assert cli.main(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("flowdoubt: ")
    assert "Traceback" not in printed.err


@pytest.mark.parametrize("arguments", [["evaluate"], [*DEMO, "--digits", "9"], ["guess"]])
def test_wrong_usage_ends_with_status_2(capsys, arguments):
    with pytest.raises(SystemExit) as caught:
        cli.main(arguments)
    assert caught.value.code == 2
    assert "usage" in capsys.readouterr().err
