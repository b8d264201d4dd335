"""The whole chain against a virtual laboratory that shares no code with it."""

import json
from pathlib import Path

import gsw
import numpy as np
import pytest
from laboratory import calibration, liquids, measured, meter, profile, verifications, worlds
from scipy import stats

import flowdoubt as fd

SITES_OF_A_KIND = 25
RECONCILED = tuple(kind for kind in worlds.KINDS if kind.basis == "timed")


@pytest.fixture(scope="module")
def outcomes():
    return [calibration.outcome_of(kind, range(SITES_OF_A_KIND)) for kind in worlds.KINDS]


@pytest.fixture(scope="module")
def of_verifications():
    return [calibration.verified(kind, range(12)) for kind in verifications.KINDS]


def within_three_standard_errors(held):
    """Of 95 %."""
    return abs(held.mean() - 0.95) < 3 * np.sqrt(0.95 * 0.05 / held.size)


def assert_flat(outcomes):
    """Ranks of all together, and of the worst of so many."""
    whole = calibration.together(outcomes)
    assert whole.chi_square() < stats.chi2.ppf(0.999, 9), whole.histogram()
    worst = max(outcomes, key=lambda outcome: outcome.chi_square())
    limit = stats.chi2.ppf(1 - 1e-3 / len(outcomes), 9)
    # of few ranks chi-square has a longer tail
    assert worst.chi_square() < 1.25 * limit, (worst.kind, worst.histogram())


def test_intervals_hold_the_truth_as_often_as_they_say(outcomes):
    """The whole is 1200 sites, a kind is 25."""
    whole = calibration.together(outcomes)
    assert within_three_standard_errors(whole.first_order), whole.first_order.mean()
    assert within_three_standard_errors(whole.monte_carlo), whole.monte_carlo.mean()
    for outcome in outcomes:
        # of a kind at least as many as one case in a thousand would leave
        least = stats.binom.ppf(1e-3 / len(outcomes), len(outcome), 0.95)
        assert outcome.monte_carlo.sum() >= least, outcome.kind
        assert outcome.first_order.sum() >= least, outcome.kind


def test_ranks_of_the_truth_are_flat(outcomes):
    assert_flat(outcomes)


def test_errors_in_standard_uncertainties_are_of_unit_size(outcomes):
    whole = calibration.together(outcomes)
    assert abs(whole.normalised.mean()) < 0.1
    assert whole.normalised.std() == pytest.approx(1.0, abs=0.08)


def test_totals_hold_the_truth_as_often_as_they_say():
    """Of flows that swing by 30 %, an hour in 61 rows; 192 sites."""
    found = [calibration.totals_held(kind, range(4)) for kind in worlds.KINDS]
    held, normalised = (np.concatenate(rows) for rows in zip(*found, strict=True))
    assert within_three_standard_errors(held), held.mean()
    assert normalised.std() == pytest.approx(1.0, abs=0.15)


def test_plans_promise_what_evaluations_keep(outcomes):
    for outcome in outcomes:
        assert 0.9 < np.median(outcome.planned) < 1.1, outcome.kind


def test_where_the_first_order_is_not_valid_it_misses_as_many_truths_as_clause_8_says():
    """The comparison of intervals of JCGM 101, clause 8, as a share: the trials that lie outside
    the interval of first order are as many as the truths, and ranks stay flat."""
    sites = {"transition": 60, "": 6}
    outcomes = [calibration.outcome_of(kind, range(sites[kind.flow])) for kind in worlds.NONLINEAR]
    assert_flat(outcomes)
    whole = calibration.together(outcomes)
    assert within_three_standard_errors(whole.monte_carlo), whole.monte_carlo.mean()
    for own in (outcomes[:3], outcomes[3:]):
        of_flow = calibration.together(own)
        share, held = of_flow.predicted, of_flow.first_order
        scatter = np.sqrt(np.sum(share * (1 - share)))
        assert abs(held.sum() - share.sum()) < 3 * scatter, (held.mean(), share.mean())
    # so far from valid that a chain which ignored it would be found out
    assert calibration.together(outcomes[3:]).first_order.mean() < 0.75
    assert calibration.together(outcomes[:3]).first_order.mean() < 0.95


def test_errors_of_verifications_are_held_as_often_as_they_say(of_verifications):
    """Three questions of three references, 108 verifications."""
    whole = calibration.together(of_verifications)
    assert within_three_standard_errors(whole.first_order), whole.first_order.mean()
    assert within_three_standard_errors(whole.monte_carlo), whole.monte_carlo.mean()
    assert_flat(of_verifications)


def test_reconciled_flows_and_inputs_hold_the_truth():
    """18 kinds of sites on the timed basis, 8 of each."""
    found = [calibration.reconciled(kind, range(8)) for kind in RECONCILED]
    outcomes, of_inputs, chi_squares = zip(*found, strict=True)
    whole = calibration.together(outcomes)
    assert within_three_standard_errors(whole.first_order), whole.first_order.mean()
    assert whole.chi_square() < stats.chi2.ppf(0.999, 9), whole.histogram()
    chi_squares = np.concatenate(chi_squares)
    assert stats.kstest(chi_squares, stats.chi2(1).cdf).pvalue > 1e-3
    by_name = {}
    for of_kind in of_inputs:
        for name, rows in of_kind.items():
            by_name.setdefault(name, []).extend(rows)
    assert {"pipe.wall", "path.wedge_angle", "liquid.temperature", "path.spacing"} <= set(by_name)
    away, held = np.concatenate(list(by_name.values())).T
    # errors of one site share its constraint, so the standard error is that of half as many
    assert abs(held.mean() - 0.95) < 3 * np.sqrt(0.95 * 0.05 / (held.size / 2))
    assert abs(away.mean()) < 0.1
    for name, rows in by_name.items():
        assert abs(np.mean(rows, axis=0)[0]) < 4 / np.sqrt(len(rows)), name


def of_group(group, scale, seeds):
    own = [profile for profile in measured.factors() if profile.group == group]
    return [calibration.outcome_of_measured(profile, seeds, scale) for profile in own]


@pytest.mark.parametrize("scale", [1.0, 0.1])
def test_profiles_that_the_law_has_not_seen_lie_in_the_intervals(scale):
    """22 profiles that were held out of the fit in turn, six that it never had; also at sites where
    all else is known ten times as well, so that the profile decides."""
    held_out = calibration.together(of_group("held out", scale, range(6)))
    others = calibration.together(of_group("never fitted", scale, range(6)))
    assert (len(held_out), len(others)) == (6 * 22, 6 * 6)
    whole = calibration.together([held_out, others])
    assert whole.first_order.mean() >= 0.92
    assert whole.monte_carlo.mean() >= 0.92
    # sixteen of the profiles are of one source, and what the sources differ by is in the interval
    assert abs(held_out.normalised.mean()) < (0.3 if scale == 1.0 else 0.5)


def test_transitions_as_measured_lie_in_the_intervals_of_the_trials():
    """123 shares of turbulent time. The first order knows no delayed transition, and says so."""
    rows, warned = [], []
    for own in measured.factors():
        if own.group != "transition":
            continue
        for seed in range(2):
            world = measured.world(own, seed)
            evaluation = fd.Site.from_toml(world.site).evaluate(world.readings)
            rows.append(calibration.of_evaluation(evaluation, world.volume_flow, seed))
            warned.append("transition" in dict(evaluation.warnings))
    assert len(rows) == 2 * 123
    whole = calibration.Outcome.of("transition", rows)
    assert whole.monte_carlo.mean() >= 0.92
    assert abs(whole.in_trials.mean()) < 0.5
    assert whole.first_order.mean() < whole.monte_carlo.mean()
    assert np.all(whole.first_order | np.array(warned))


def test_a_statement_that_is_wrong_is_found():
    """The laboratory tells: of flows that are 1.2 % more than they were, intervals hold less."""
    kind = worlds.Kind("timed", "stated liquid", "bare")

    def wrong(seed):
        world = worlds.consistent(kind, seed)
        world.volume_flow *= 1.012
        return calibration.of_world(world, seed)

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
    """Within 0.4 % of simulations (Yao et al. 2023) and the superpipe (McKeon et al. 2004), on
    chords as well."""
    published = json.loads(Path("tests/published/pipe_profiles.json").read_text())["profiles"]
    rows = [row for row in published if row["set"] in ("yao_2023", "mckeon_2004")]
    assert len(rows) > 15
    for row in rows:
        for offset, key in ((0.0, "k"), (0.2, "k_0.2"), (0.5, "k_0.5")):
            found = profile.factor(row["Re"], 0.0, offset=offset)
            assert found == pytest.approx(row[key], rel=0.004), row


def test_slow_flow_in_the_laboratory_is_the_parabola():
    """Area mean 1/2, path mean 2/3 of the axis, on a chord at h (1 - h^2) of that."""
    assert profile.factor(1000.0, 0.0) == 0.75
    assert profile.factor(1000.0, 0.0, offset=0.5) == pytest.approx(1.0, rel=1e-12)
    # half turbulent in the middle of the transition
    between = profile.factor(2350.0, 0.0)
    turbulent = profile.turbulent_factor(2350.0, 0.0)
    assert 2 / between == pytest.approx(1 / 0.75 + 1 / turbulent, rel=1e-12)


def test_sea_water_of_the_laboratory_is_published():
    """Sound speed at 25 degC and 35.16504 g/kg by TEOS-10; viscosity of Sharqawy et al. 2010, whose
    table has 0.959 mPa s at 25 degC and 35 g/kg (from memory)."""
    assert gsw.sound_speed_t_exact(35.16504, 25.0, 0.0) == pytest.approx(1534.36, abs=0.01)
    assert liquids.sea_water_viscosity(25.0, 0.035) == pytest.approx(0.959e-3, abs=1e-6)
