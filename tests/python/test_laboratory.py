"""The whole chain against a virtual laboratory that shares no code with it."""

import json
from pathlib import Path

import numpy as np
import pytest
from laboratory import calibration, meter, profile, worlds
from scipy import stats

SITES_OF_A_KIND = 50


@pytest.fixture(scope="module")
def outcomes():
    return [calibration.outcome_of(kind, range(SITES_OF_A_KIND)) for kind in worlds.KINDS]


def test_intervals_hold_the_truth_as_often_as_they_say(outcomes):
    """Within three standard errors of 95 %; the whole is 1200 sites, a kind is 50."""
    whole = calibration.together(outcomes)
    error = np.sqrt(0.95 * 0.05 / len(whole.ranks))
    for held in (whole.first_order, whole.monte_carlo):
        assert abs(held.mean() - 0.95) < 3 * error, held.mean()
    for outcome in outcomes:
        # of a kind at least as many as one case in a thousand would leave
        least = stats.binom.ppf(1e-3 / len(outcomes), len(outcome.ranks), 0.95)
        assert outcome.monte_carlo.sum() >= least, outcome.kind
        assert outcome.first_order.sum() >= least, outcome.kind


def test_ranks_of_the_truth_are_flat(outcomes):
    whole = calibration.together(outcomes)
    assert whole.chi_square() < stats.chi2.ppf(0.999, 9), whole.histogram()
    worst = max(outcomes, key=lambda outcome: outcome.chi_square())
    # the largest of so many
    assert worst.chi_square() < stats.chi2.ppf(1 - 1e-3 / len(outcomes), 9), worst.histogram()


def test_errors_in_standard_uncertainties_are_of_unit_size(outcomes):
    whole = calibration.together(outcomes)
    assert abs(whole.normalised.mean()) < 0.1
    assert whole.normalised.std() == pytest.approx(1.0, abs=0.08)


def test_totals_hold_the_truth_as_often_as_they_say():
    """Of flows that swing by 30 %, an hour in 61 rows; 240 sites."""
    found = [calibration.totals_held(kind, range(10)) for kind in worlds.KINDS]
    held, normalised = (np.concatenate(rows) for rows in zip(*found, strict=True))
    error = np.sqrt(0.95 * 0.05 / held.size)
    assert abs(held.mean() - 0.95) < 3 * error, held.mean()
    assert normalised.std() == pytest.approx(1.0, abs=0.15)


def test_plans_promise_what_evaluations_keep(outcomes):
    for outcome in outcomes:
        assert 0.9 < np.median(outcome.planned) < 1.1, outcome.kind


def test_a_statement_that_is_wrong_is_found():
    """The laboratory tells: of flows that are 1.2 % more than they were, intervals hold less."""
    kind = "timed, stated liquid, bare"

    def wrong(seed):
        world = worlds.consistent(kind, seed)
        world.volume_flow *= 1.012
        return calibration._of_world(world, seed)

    held = np.mean([wrong(seed)[0] for seed in range(60)])
    assert held < 0.8


def test_least_time_is_the_text_book_at_rest_and_upstream_is_slower():
    """Without flow the path is Snell's; the mean time in flow is later than at rest, for water."""
    layers, slowness = [(0.007, 3230.0)], np.sin(np.radians(39.0)) / 2440.0
    path = (meter.spacing_at_rest(slowness, layers, 0.2, 1480.0, 2), layers, 0.2, 1480.0, 2)
    cosines = [np.sqrt(1 - (slowness * c) ** 2) for c in (3230.0, 1480.0)]
    at_rest = 2 * 0.007 / (3230.0 * cosines[0]) + 2 * 0.2 / (1480.0 * cosines[1])
    assert meter.transit_time(*path, 0.0) == pytest.approx(at_rest, rel=1e-12)
    mean, difference = meter.times(*path, 3.0)
    assert mean > at_rest and difference > 0
    # to first order, 2 v L/c^2 along the axis (transit-time difference, any text book)
    run = 2 * 0.2 * slowness * 1480.0 / cosines[1]
    assert difference == pytest.approx(2 * 3.0 * run / 1480.0**2, rel=2e-5)


def test_the_profile_of_the_laboratory_is_that_of_measurements():
    """Within 0.4 % of simulations (Yao et al. 2023) and the superpipe (McKeon et al. 2004)."""
    published = json.loads(Path("tests/published/pipe_profiles.json").read_text())["profiles"]
    rows = [row for row in published if row["set"] in ("yao_2023", "mckeon_2004")]
    assert len(rows) > 15
    for row in rows:
        assert profile.factor(row["Re"], 0.0) == pytest.approx(row["k"], rel=0.004), row
