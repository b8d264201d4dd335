"""Conformity and risks: printed examples of JCGM 106:2012, scipy, trials; bad input."""

import math

import numpy as np
import pandas as pd
import polars as pl
import pytest
from scipy import integrate, stats
from tables import against

import flowdoubt as fd
from flowdoubt import conformity

TOLERANCE = conformity.tolerance_interval(9.5, 11.2)


def test_one_item_as_printed(as_printed):
    """JCGM 106:2012, 7.3 and 7.4: breakdown voltage, container, motor oil."""
    diode = conformity.tolerance_interval(upper=-5.40)
    container = conformity.tolerance_interval(lower=490.0)
    oil = conformity.tolerance_interval(12.5, 16.3)
    as_printed("106.diode.pc", conformity.conformance_probability(-5.47, diode, 0.05))
    as_printed("106.container.pc", conformity.conformance_probability(509.7, container, 8.6))
    as_printed("106.oil.pc", conformity.conformance_probability(13.6, oil, 1.8))


def test_acceptance_limits_as_printed(as_printed):
    """JCGM 106:2012, 8.3: speed enforcement, nandrolone, a guard band of 2 u."""
    reject = {"rule": "guarded_rejection"}
    speed = conformity.acceptance_limit(
        100.0, "upper", relative_standard_uncertainty=0.02, probability=0.999, **reject
    )
    as_printed("106.speed", speed)
    limit = conformity.acceptance_limit(2.0, "upper", standard_uncertainty=0.2, dof=9, **reject)
    as_printed("106.nandrolone.A", limit)
    as_printed("106.nandrolone.g", limit - 2.0)
    tolerance = conformity.tolerance_interval(upper=10.0)
    acceptance = conformity.acceptance_interval(tolerance, 2 * 0.5)
    assert acceptance == conformity.tolerance_interval(upper=9.0)
    risks = conformity.specific_risks(acceptance.upper, tolerance, 0.5)
    as_printed("106.guard2u", risks.consumers_risk)


def test_global_risks_as_printed(as_printed):
    """JCGM 106:2012, 9.5: resistors, ball bearings, a process with u_0 = T / 6."""
    tolerance = conformity.tolerance_interval(1499.8, 1500.2)
    resistors = conformity.items_and_measurement(fd.normal(1500.0, 0.12), 0.04, tolerance)
    risks = resistors.global_risks(conformity.tolerance_interval(1499.82, 1500.18))
    as_printed("106.resistor.pc", risks.conforming)
    as_printed("106.resistor.RC", risks.consumers_risk)
    as_printed("106.resistor.RP", risks.producers_risk)

    limit = conformity.tolerance_interval(upper=2.0)
    bearings = conformity.items_and_measurement(fd.gamma(4.0, 0.25), 0.25, limit)
    risks = bearings.global_risks(conformity.acceptance_interval(limit, 2 * 0.25 * 0.65))
    as_printed("106.bearings.out", 1 - risks.conforming)
    as_printed("106.bearings.RC", risks.consumers_risk)
    as_printed("106.bearings.RP", risks.producers_risk)
    as_printed("106.bearings.r", bearings.guard_band(0.001) / (2 * 0.25))

    tolerance = conformity.maximum_permissible_error(0.5)
    for capability in (2, 10):
        u = 1 / (4 * capability)
        index = conformity.measurement_capability_index(tolerance, u)
        assert index == pytest.approx(capability, rel=1e-15)
        process = conformity.items_and_measurement(fd.normal(0.0, 1 / 6), u, tolerance)
        risks = process.global_risks()
        as_printed(f"106.binary{capability}.RC", risks.consumers_risk)
        as_printed(f"106.binary{capability}.RP", risks.producers_risk)


def test_conformance_probability_meets_scipy_and_keeps_the_shape():
    y, u = np.array([[9.0, 9.6, 10.3], [11.0, 11.2, 13.0]]), np.array([0.3, 0.2, 0.4])
    founds, expecteds = [], []
    for limits in [(9.5, 11.2), (9.5, None), (None, 11.2)]:
        tolerance = conformity.tolerance_interval(*limits)
        within = (y >= tolerance.lower) & (y <= tolerance.upper)
        assert np.array_equal(tolerance.contains(y), within) and tolerance.contains(9.8) is True
        for dof in (math.inf, 4.0):
            law = stats.norm(y, u) if dof == math.inf else stats.t(dof, y, u)
            expected = law.cdf(tolerance.upper) - law.cdf(tolerance.lower)
            found = conformity.conformance_probability(y, tolerance, u, dof)
            np.testing.assert_allclose(found, expected, rtol=1e-11, atol=1e-15)
            founds.append(found)
            expecteds.append(expected)
            one = conformity.conformance_probability(9.6, tolerance, 0.2, dof)
            assert isinstance(one, float) and one == found[0, 1]
    what = "probability of conformity"
    against(what, "package `scipy`", founds, expecteds, atol=1e-11)


@pytest.mark.parametrize("made", [pd.Series, pl.Series])
def test_columns_of_a_year_of_readings(made):
    y, u = made([9.0, 10.0, 11.0]), made([0.2, 0.2, 0.2])
    found = conformity.conformance_probability(y, TOLERANCE, u)
    assert found.shape == (3,) and found[1] > 0.99 > found[2] > 0.5 > found[0]


def test_results_bring_their_own_distribution(demo):
    inputs = {"a": fd.readings([10.1, 10.3, 10.2, 10.6]), "b": fd.exact(1.0)}
    y = fd.propagate(lambda x: x["a"] * x["b"], inputs)
    law = stats.t(3, y.estimate, y.standard_uncertainty)
    tolerance = conformity.tolerance_interval(upper=10.5)
    expected = law.cdf(10.5)
    for known in (y, y.budget, inputs["a"]):
        found = conformity.conformance_probability(known, tolerance)
        assert found == pytest.approx(expected, rel=1e-12)
    assert conformity.specific_risks(y, tolerance).producers_risk == found
    # a distribution of any shape
    rectangular = conformity.conformance_probability(fd.rectangular(10.0, 12.0), TOLERANCE)
    assert rectangular == pytest.approx(0.6, rel=1e-14)
    # a site, in the unit in which it shows its flow
    limit = demo.estimate + demo.standard_uncertainty
    found = conformity.conformance_probability(demo, conformity.tolerance_interval(upper=limit))
    assert found == pytest.approx(stats.t.cdf(1.0, demo.effective_dof), rel=1e-9)


def test_trials_give_the_share_within_the_limits():
    inputs = {"a": fd.normal(10.0, 0.4), "b": fd.rectangular(0.9, 1.1)}
    m = fd.monte_carlo(lambda x: x["a"] * x["b"], inputs, trials=20_000, seed=3)
    values = m.values()
    share = np.mean((values >= 9.5) & (values <= 11.2))
    assert conformity.conformance_probability(m, TOLERANCE) == pytest.approx(share, rel=1e-12)
    assert 0.5 < share < 0.9
    # limits at trials belong to the interval
    ends = conformity.tolerance_interval(values[100], values[-101])
    found = conformity.conformance_probability(m, ends)
    assert found == pytest.approx(1 - 200 / 20_000, rel=1e-12)


@pytest.mark.parametrize("side", ["lower", "upper"])
@pytest.mark.parametrize("rule", ["guarded_acceptance", "guarded_rejection"])
@pytest.mark.parametrize("dof", [math.inf, 6.0])
def test_acceptance_limits_have_the_chosen_probability(side, rule, dof):
    tolerance = conformity.tolerance_interval(**{side: 50.0})
    for relative in (False, True):
        name = "relative_standard_uncertainty" if relative else "standard_uncertainty"
        u = 0.01 if relative else 0.5
        limit = conformity.acceptance_limit(
            50.0, side, rule=rule, dof=dof, probability=0.975, **{name: u}
        )
        inside = tolerance.contains(limit)
        assert inside is (rule == "guarded_acceptance")
        own = u * limit if relative else u
        p = conformity.conformance_probability(limit, tolerance, own, dof)
        assert p == pytest.approx(0.975 if inside else 0.025, rel=1e-10)


def test_global_risks_meet_scipy():
    """A skewed prior and a two-sided rule, by quadrature over true values."""
    law, u = stats.gamma(9.0, scale=1.15), 0.35
    prior = fd.gamma(9.0, 1.15)
    items = conformity.items_and_measurement(prior, u, TOLERANCE)
    acceptance = conformity.acceptance_interval(TOLERANCE, 0.15)

    def accept(eta):
        z = (np.array([acceptance.lower, acceptance.upper]) - eta) / u
        return stats.norm.cdf(z[1]) - stats.norm.cdf(z[0])

    def over(function, low, high):
        return integrate.quad(lambda eta: law.pdf(eta) * function(eta), low, high, epsabs=1e-13)[0]

    # beyond five u outside, nothing is accepted that matters here
    wrong = over(accept, 9.5 - 8 * u, 9.5) + over(accept, 11.2, 11.2 + 8 * u)
    lost = over(lambda eta: 1 - accept(eta), 9.5, 11.2)
    risks = items.global_risks(acceptance)
    found = [risks.consumers_risk, risks.producers_risk]
    what = "global risks of consumer and producer"
    against(what, "scipy quadrature", found, [wrong, lost], rtol=1e-8)
    assert risks.conforming == pytest.approx(law.cdf(11.2) - law.cdf(9.5), rel=1e-11)
    accepted = risks.conforming - risks.producers_risk + risks.consumers_risk
    assert risks.accepted == pytest.approx(accepted, rel=1e-9)
    simple = items.global_risks()
    assert simple.consumers_risk == items.global_risks(TOLERANCE).consumers_risk
    assert simple.consumers_risk > risks.consumers_risk
    assert simple.producers_risk < risks.producers_risk


def test_two_normal_distributions_give_the_weighted_mean():
    """JCGM 106:2012, A.4.4: weights 1 / u^2."""
    items = conformity.items_and_measurement(fd.normal(10.0, 0.4), 0.3, TOLERANCE)
    measured = np.array([9.2, 10.4, 11.5])
    w = np.array([1 / 0.4**2, 1 / 0.3**2])
    law = stats.norm((w[0] * 10.0 + w[1] * measured) / w.sum(), w.sum() ** -0.5)
    expected = law.cdf(11.2) - law.cdf(9.5)
    found = items.conformance_probability(measured)
    what = "probability of conformity, two normal distributions"
    against(what, "JCGM 106:2012, A.4.4, by scipy", found, expected, rtol=1e-9)
    risks = items.specific_risks(10.4)
    assert risks.producers_risk == items.conformance_probability(10.4)
    assert risks.consumers_risk == pytest.approx(1 - expected[1], rel=1e-6)
    assert items.tolerance == TOLERANCE and items.measurement_uncertainty == 0.3


@pytest.mark.parametrize("wanted", [0.02, 0.005, 1e-4])
def test_a_guard_band_has_the_risk_it_was_chosen_for(wanted):
    items = conformity.items_and_measurement(fd.normal(10.2, 0.5), 0.2, TOLERANCE)
    acceptance = conformity.acceptance_interval(TOLERANCE, items.guard_band(wanted))
    assert items.global_risks(acceptance).consumers_risk == pytest.approx(wanted, rel=1e-6)


def test_representations_tell_what_they_are():
    tolerance = conformity.maximum_permissible_error(1.0, nominal=20.0)
    assert repr(tolerance) == "<Permissible values from 19 to 21>"
    assert repr(conformity.tolerance_interval(lower=3.0)) == "<Permissible values of 3 and above>"
    items = conformity.items_and_measurement(fd.normal(20.0, 0.5), 0.2, tolerance)
    assert "normal" in repr(items) and "from 19 to 21" in repr(items)
    assert "consumer's" in repr(items.global_risks())
    assert "if it is rejected" in repr(items.specific_risks(19.0))
    assert tolerance != conformity.maximum_permissible_error(1.0)


@pytest.mark.parametrize(
    ("call", "code", "field"),
    [
        (lambda c: c.tolerance_interval(), "missing", "permissible values"),
        (lambda c: c.tolerance_interval(2.0, 1.0), "out-of-range", "permissible values"),
        (lambda c: c.tolerance_interval(1.0, 1.0), "out-of-range", "permissible values"),
        (lambda c: c.tolerance_interval(math.nan, 1.0), "out-of-range", "permissible values"),
        (lambda c: c.tolerance_interval(upper=math.inf), "out-of-range", "permissible values"),
        (lambda c: c.maximum_permissible_error(-1.0), "out-of-range", "permissible values"),
        (lambda c: c.acceptance_interval(TOLERANCE, 0.9), "out-of-range", "permissible values"),
        (lambda c: c.conformance_probability(10.0, TOLERANCE), "missing", "standard_uncertainty"),
        (lambda c: c.conformance_probability(math.nan, TOLERANCE, 0.1), "out-of-range",
         "estimate"),
        (lambda c: c.conformance_probability(10.0, TOLERANCE, -0.1), "out-of-range",
         "standard_uncertainty"),
        (lambda c: c.conformance_probability(10.0, TOLERANCE, math.nan), "out-of-range",
         "standard_uncertainty"),
        (lambda c: c.conformance_probability(10.0, TOLERANCE, 0.1, 0.0), "out-of-range",
         "standard_uncertainty"),
        (lambda c: c.conformance_probability([1.0, 2.0], TOLERANCE, [0.1] * 3), "length",
         "estimate, standard_uncertainty, dof"),
        (lambda c: c.conformance_probability("ten", TOLERANCE, 0.1), "wrong-type", "estimate"),
        (lambda c: c.conformance_probability(fd.exact(1.0), TOLERANCE, 0.1), "conflict",
         "standard_uncertainty"),
        (lambda c: c.specific_risks([10.0, 11.0], TOLERANCE, 0.1), "length", "quantity"),
        (lambda c: c.measurement_capability_index(TOLERANCE, 0.0), "out-of-range",
         "standard uncertainty"),
        (lambda c: c.measurement_capability_index(c.tolerance_interval(1.0), 0.1), "missing",
         "permissible values"),
        (lambda c: c.acceptance_limit(1.0, "upper"), "conflict", "standard_uncertainty"),
        (lambda c: c.acceptance_limit(1.0, "upper", standard_uncertainty=0.1,
                                      relative_standard_uncertainty=0.1), "conflict",
         "standard_uncertainty"),
        (lambda c: c.acceptance_limit(1.0, "uper", standard_uncertainty=0.1), "unknown-name",
         "side"),
        (lambda c: c.acceptance_limit(1.0, "upper", standard_uncertainty=0.1, rule="guess"),
         "unknown-name", "rule"),
        (lambda c: c.acceptance_limit(1.0, "upper", standard_uncertainty=0.0), "out-of-range",
         "standard uncertainty"),
        (lambda c: c.acceptance_limit(1.0, "upper", standard_uncertainty=0.1, probability=0.4),
         "out-of-range", "probability"),
        (lambda c: c.acceptance_limit(1.0, "upper", standard_uncertainty=0.1, dof=-1.0),
         "out-of-range", "dof"),
        (lambda c: c.items_and_measurement(10.0, 0.1, TOLERANCE), "wrong-type", "prior"),
        (lambda c: c.items_and_measurement(fd.exact(10.0), 0.1, TOLERANCE), "conflict", "prior"),
        (lambda c: c.items_and_measurement(fd.normal(10.0, 0.4), 0.0, TOLERANCE), "out-of-range",
         "measurement uncertainty"),
        (lambda c: ITEMS.guard_band(0.9), "out-of-range", "consumers_risk"),
        (lambda c: ITEMS.guard_band(math.nan), "out-of-range", "consumers_risk"),
        (lambda c: ITEMS.conformance_probability([10.0, math.inf]), "out-of-range",
         "measured[1]"),
        (lambda c: ITEMS.specific_risks(math.nan), "out-of-range", "measured"),
        (lambda c: RECTANGULAR.conformance_probability(500.0), "out-of-range", "measured value"),
        (lambda c: TOLERANCE.contains([1.0, math.nan]), "out-of-range", "value[1]"),
    ],
)  # fmt: skip
def test_bad_input_is_refused(call, code, field):
    with pytest.raises(fd.FlowdoubtError) as caught:
        call(conformity)
    error = caught.value
    assert (error.code, error.field) == (code, field)
    assert isinstance(error, ValueError) and error.allowed


ITEMS = conformity.items_and_measurement(fd.normal(10.0, 0.4), 0.3, TOLERANCE)
RECTANGULAR = conformity.items_and_measurement(fd.rectangular(9.0, 12.0), 0.3, TOLERANCE)
