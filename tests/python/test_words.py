"""Words beside the paths of inputs: every input of a site and of a verification has them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import flowdoubt as fd
from flowdoubt import _core

DEMO = Path(__file__).parents[2] / "notebooks/demo"


def _budgets() -> list[fd.Budget]:
    site = fd.Site.load(DEMO / "site.toml")
    evaluation = site.evaluate(DEMO / "readings.csv")
    verified = site.verify(DEMO / "verification.toml")
    points = [verified.point_budget(n) for n in range(len(verified.points))]
    points.append(verified.run_budget(0))
    series = site.evaluate_series(DEMO / "readings.csv", low_flow_cut_off="1 m3/h")
    return [
        evaluation.budget,
        series.total,
        site.plan(["100 m3/h"], temperatures=["10 degC"]).budget(0),
        fd.difference(evaluation, evaluation, same="meter").budget,
        *points,
    ]


def test_every_input_has_words_and_the_words_have_keys() -> None:
    english = _core._words_by_key()
    for budget in _budgets():
        columns = budget.columns()
        for name, words, phrases in zip(
            columns["input"], columns["words"], budget._phrases(), strict=True
        ):
            assert phrases, f"no words for {name}"
            assert words != name
            told = ", ".join(english[key].replace("{}", number) for key, number in phrases)
            assert words == told


def test_words_are_few_and_start_small() -> None:
    for key, words in _core._words_by_key().items():
        assert len(words) <= 60, key
        assert re.match(r"[a-z]|Reynolds|Young|Poisson", words), key


def test_no_two_inputs_of_a_budget_have_the_same_words() -> None:
    for budget in _budgets():
        words = budget.columns()["words"]
        assert len(set(words)) == len(words)


def test_an_input_of_ones_own_is_what_it_is_called() -> None:
    inputs = {"gain": fd.normal(2.0, 0.1), "pipe": fd.normal(1.0, 0.1)}
    y = fd.propagate(lambda x: x["gain"] * x["pipe"], inputs)
    assert y.budget.columns()["words"] == ["gain", "pipe"]
    assert list(y.budget.to_pandas()["words"]) == ["gain", "pipe"]
    pytest.importorskip("polars")
    assert list(y.budget.to_polars()["words"]) == ["gain", "pipe"]
