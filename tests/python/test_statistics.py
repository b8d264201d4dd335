"""Type A evaluation against scipy, certified and printed values; bad input."""

import json
import math
from itertools import product
from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
import pytest
from scipy import fft, signal, stats
from tables import against

import flowdoubt as fd

JCGM = json.loads((Path(__file__).parents[1] / "published" / "jcgm.json").read_text())
FINITE = "finite numbers of magnitude 1e100 at most"

READINGS = [10.02, 10.05, 9.98, 10.61, 10.01, 9.99, 10.03]


@pytest.mark.parametrize(
    ("base", "middle", "tolerance"),
    [(1.2, 1.2, 1e-13), (1e6 + 0.2, 1e6 + 0.2, 1e-9), (1e7 + 0.2, 1e7 + 0.2, 1e-8)],
)
def test_numacc_2_to_4_of_nist_strd(base, middle, tolerance):
    """Certified s = 0.1, which the definition of the sets shows.

    The tolerance is what is lost when decimals become doubles, not what is lost here.
    """
    readings = np.concatenate([[base], np.tile([base - 0.1, base + 0.1], 500)])
    a = fd.statistics.mean(readings)
    assert a.count == 1001
    assert a.mean == pytest.approx(middle, rel=1e-15)
    assert a.standard_deviation == pytest.approx(0.1, rel=tolerance)
    assert a.standard_uncertainty == pytest.approx(0.1 / math.sqrt(1001), rel=tolerance)


def test_michelso_of_nist_strd():
    """Michelson's 100 measurements of the speed of light, 1879, in thousands of km/s.

    Data and certified values from memory; the data give the certified values.
    """
    last_three_digits = [
        *[850, 740, 900, 1070, 930, 850, 950, 980, 980, 880, 1000, 980, 930, 650, 760, 810, 1000],
        *[1000, 960, 960, 960, 940, 960, 940, 880, 800, 850, 880, 900, 840, 830, 790, 810, 880],
        *[880, 830, 800, 790, 760, 800, 880, 880, 880, 860, 720, 720, 620, 860, 970, 950, 880],
        *[910, 850, 870, 840, 840, 850, 840, 840, 840, 890, 810, 810, 820, 800, 770, 760, 740],
        *[750, 760, 910, 920, 890, 860, 880, 720, 840, 850, 850, 780, 890, 840, 780, 810, 760],
        *[810, 790, 810, 820, 850, 870, 870, 810, 740, 810, 940, 950, 800, 810, 870],
    ]
    readings = 299 + np.array(last_three_digits) / 1000
    result = fd.statistics.mean(readings)
    assert result.count == 100
    assert result.mean == pytest.approx(299.852400000000, rel=1e-15)
    what = "mean, standard deviation, autocorrelation of lag 1"
    lag_1 = fd.statistics.autocorrelation(readings, 1)[0]
    found = [result.mean, result.standard_deviation, lag_1]
    certified = [299.852400000000, 0.0790105478190518, 0.535199668621283]
    against(what, "NIST StRD, Michelso (from memory)", found, certified, rtol=1e-12)


def test_numacc_1_of_nist_strd():
    """Certified mean 10000002 and s = 1, exact in integers."""
    a = fd.statistics.mean([10000001, 10000003, 10000002])
    assert (a.mean, a.standard_deviation, a.dof) == (10000002.0, 1.0, 2.0)


@pytest.mark.parametrize(
    "made", [list, tuple, np.array, pd.Series, pl.Series, lambda v: pd.Series(v, dtype="Float64")]
)
def test_readings_may_come_from_any_library(made):
    a = fd.statistics.mean(made(READINGS))
    assert a.mean == pytest.approx(np.mean(READINGS), rel=1e-15)
    assert a.standard_deviation == pytest.approx(np.std(READINGS, ddof=1), rel=1e-13)
    assert a.standard_uncertainty == pytest.approx(stats.sem(READINGS), rel=1e-13)
    assert "7 readings" in repr(a)


def test_integers_and_views_are_read():
    wide = np.arange(12).reshape(6, 2)
    assert fd.statistics.mean(wide[:, 1]).mean == 6.0


def test_a_mean_is_an_input():
    a = fd.statistics.mean(READINGS)
    stated = fd.normal(a.mean, a.standard_uncertainty, dof=a.dof)
    read = fd.readings(READINGS)
    assert (stated.estimate, stated.dof) == (read.estimate, read.dof)
    assert stated.standard_uncertainty == read.standard_uncertainty


def test_pooled_deviation():
    groups = {"a": [1.0, 3.0], "b": [5.0, 5.0, 8.0], "c": pd.Series([0.1, 0.3, 0.2])}
    p = fd.statistics.pooled(groups)
    squares = [((np.array(g) - np.mean(g)) ** 2).sum() for g in groups.values()]
    assert p.dof == 5.0
    assert p.standard_deviation == pytest.approx(math.sqrt(sum(squares) / 5), rel=1e-14)
    assert p.of_mean(4) == p.standard_deviation / 2
    assert fd.statistics.pooled(list(groups.values())).standard_deviation == p.standard_deviation
    stated = fd.statistics.from_statistics(
        [np.mean(g) for g in groups.values()],
        [np.std(g, ddof=1) for g in groups.values()],
        [2, 3, 3],
    )
    again = fd.statistics.pooled(stated)
    assert again.standard_deviation == pytest.approx(p.standard_deviation, rel=1e-14)
    assert "degrees of freedom 5" in repr(p)


def test_voltage_standard_of_jcgm_100_h5(as_printed):
    """Daily means and deviations as printed in table H.9."""
    data = JCGM["JCGM100_H5"]["data"]
    deviations = np.array(data["daily_s_uV"]) * 1e-6
    days = fd.statistics.from_statistics(data["daily_mean_V"], deviations, data["K"])
    a = fd.statistics.one_way(days)
    as_printed("h5.mean", a.mean)
    as_printed("h5.sa", a.between_deviation * 1e6)
    as_printed("h5.sb", a.within_deviation * 1e6)
    as_printed("h5.f", a.f)
    as_printed("h5.sW", a.within_deviation * 1e6)
    as_printed("h5.sB", a.between_component * 1e6)
    as_printed("h5.u", a.standard_uncertainty * 1e6)
    u, dof = a.without_between_effect()
    as_printed("h5.s0", u * 1e6)
    assert (a.groups, a.readings, a.between_dof, a.within_dof) == (10, 50, 9.0, 40.0)
    assert (a.dof, dof) == (9.0, 49.0)
    assert a.p_value == pytest.approx(stats.f.sf(a.f, 9, 40), rel=1e-11)
    assert a.deviation_of_means == pytest.approx(np.std(data["daily_mean_V"], ddof=1), rel=1e-9)


GROUPS = [[10.1, 10.3, 10.2, 10.2], [10.5, 10.4, 10.7], [10.0, 10.2, 10.1, 9.9, 10.3]]


@pytest.mark.parametrize(
    "given",
    [
        GROUPS,
        {"north": GROUPS[0], "east": np.array(GROUPS[1]), "south": pl.Series(GROUPS[2])},
        [fd.statistics.mean(g) for g in GROUPS],
    ],
    ids=["lists", "mapping", "statistics"],
)
def test_one_way_meets_scipy(given):
    a = fd.statistics.one_way(given)
    expected = stats.f_oneway(*GROUPS)
    expected = [expected.statistic, expected.pvalue]
    what = "analysis of variance: F and p-value"
    against(what, "package `scipy`", [a.f, a.p_value], expected, rtol=1e-11)
    assert f"{a.f:.3f}" in repr(a)


@pytest.mark.parametrize("frame", [pd.DataFrame, pl.DataFrame])
def test_one_way_of_a_column_with_the_group_of_each_reading(frame):
    rows = [(f"p{j}", value) for j, group in enumerate(GROUPS) for value in group]
    order = np.random.default_rng(2).permutation(len(rows))
    table = frame({"placement": [rows[i][0] for i in order], "flow": [rows[i][1] for i in order]})
    a = fd.statistics.one_way(table["flow"], by=table["placement"])
    assert a.f == pytest.approx(stats.f_oneway(*GROUPS).statistic, rel=1e-12)
    with pytest.raises(fd.InputError, match="data frame") as caught:
        fd.statistics.one_way(table)
    assert caught.value.code == "wrong-type"


def test_weighted_mean_and_consistency():
    x, u = np.array([10.02, 10.11, 9.95, 10.40]), np.array([0.05, 0.08, 0.05, 0.2])
    w = fd.statistics.weighted_mean(x, u, significance=0)
    mean, weights = np.average(x, weights=u**-2.0, returned=True)
    what = "weighted mean and its standard uncertainty"
    found = [w.mean, w.standard_uncertainty]
    against(what, "package `numpy`", found, [mean, weights**-0.5], rtol=1e-14)
    chi_squared = (((x - mean) / u) ** 2).sum()
    assert w.chi_squared == pytest.approx(chi_squared, rel=1e-12)
    what = "p-value of consistent results"
    expected = stats.chi2.sf(chi_squared, 3)
    against(what, "package `scipy`", w.p_value, expected, rtol=1e-11)
    assert w.birge_ratio == pytest.approx(math.sqrt(chi_squared / 3), rel=1e-12)
    np.testing.assert_allclose(w.differences, x - mean, rtol=1e-12)
    np.testing.assert_allclose(w.difference_uncertainties, np.sqrt(u**2 - 1 / weights), rtol=1e-12)
    assert w.consistent(w.p_value * 0.99) and not w.consistent(w.p_value * 1.01)
    same = fd.statistics.weighted_mean(x, 0.1, significance=0)
    assert same.mean == pytest.approx(x.mean(), rel=1e-14)
    assert same.standard_uncertainty == pytest.approx(0.05, rel=1e-14)


def test_results_that_disagree_are_refused_or_taken_as_effects_of_their_sets():
    x, u = [10.00007, 10.022], [0.00031, 0.0026]
    with pytest.raises(fd.InputError, match="random effects") as caught:
        fd.statistics.weighted_mean(x, u)
    assert (caught.value.code, caught.value.field) == ("disagree", "results")
    assert fd.statistics.weighted_mean(x, u, significance=0).p_value < 1e-15
    r = fd.statistics.random_effects(x, u, method="dersimonian-laird")
    assert (round(r.mean, 2), round(r.standard_uncertainty, 3)) == (10.01, 0.011)
    assert r.without_effect.mean == pytest.approx(10.00037, abs=1e-5)


def test_random_effects_as_a_table_and_by_students_t():
    x = np.array([5.02, 5.31, 4.88, 5.20, 5.64])
    equal = fd.statistics.random_effects(x, 0.05, method="equal-weights")
    assert equal.mean == pytest.approx(x.mean(), rel=1e-14)
    assert equal.standard_uncertainty == pytest.approx(stats.sem(x), rel=1e-14)
    low, high = stats.t.interval(0.95, 4, x.mean(), stats.sem(x))
    assert equal.expanded().expanded_uncertainty == pytest.approx((high - low) / 2, rel=1e-10)
    r = fd.statistics.random_effects(x, [0.04, 0.10, 0.06, 0.30, 0.09])
    assert (r.method, r.dof) == ("mandel-paule", 4.0)
    assert r.weights.sum() == pytest.approx(1, abs=1e-14)
    w = 1 / (np.array([0.04, 0.10, 0.06, 0.30, 0.09]) ** 2 + r.between_sets**2)
    assert (w * (x - r.mean) ** 2).sum() == pytest.approx(4, rel=1e-9)
    assert r.standard_uncertainty_for_known_between_sets == pytest.approx(w.sum() ** -0.5, rel=1e-9)
    assert repr(r).startswith("<RandomEffects mean 5.2")


def test_grubbs_test_meets_student_t_of_scipy():
    n = len(READINGS)
    g = np.abs(stats.zscore(READINGS, ddof=1)).max()
    square = n * (n - 2) * g**2 / ((n - 1) ** 2 - n * g**2)
    p_value = 2 * n * stats.t.sf(math.sqrt(square), n - 2)
    found, expected = [], []
    for significance in (0.01, 0.05, 0.1):
        t = fd.statistics.outlier_test(READINGS, significance)
        assert (t.index, t.reading, t.significance) == (3, 10.61, significance)
        quantile = stats.t.isf(significance / (2 * n), n - 2)
        critical = (n - 1) / math.sqrt(n) * math.sqrt(quantile**2 / (n - 2 + quantile**2))
        found.append((t.statistic, t.critical_value))
        expected.append((g, critical))
        assert fd.statistics.grubbs_critical_value(n, significance) == t.critical_value
        assert t.p_value == pytest.approx(p_value, rel=1e-8)
        assert t.stands_out and "It was kept" in t.in_words and "Reading 4" in repr(t)
        calm = fd.statistics.outlier_test(READINGS[:3], significance)
        assert not calm.stands_out and calm.in_words.startswith("No reading stands out")
    what = "Grubbs' test: statistic and critical value"
    against(what, "package `scipy`", found, expected, rtol=1e-12)


def by_cosine_transform(readings):
    """Standard uncertainty and degrees of freedom with the transform of scipy."""
    n = len(readings)
    squares = fft.dct(readings, type=2, norm="ortho")[1:] ** 2
    most = min(n - 1, 256)
    terms = min(4, most)
    low = squares[:terms].mean()
    while terms < most:
        last = min(2 * terms, most)
        high = squares[terms:last].mean()
        spread = math.sqrt(2 / terms + 2 / (last - terms))
        if high < low * math.exp(stats.norm.ppf(0.1) * spread):
            low += low - high
            break
        low, terms = squares[:last].mean(), last
    usual = np.std(readings, ddof=1) / math.sqrt(n)
    found = math.sqrt(low / n)
    if terms == n - 1 or found <= usual:
        return usual, n - 1
    return found, terms


def test_autocorrelated_mean_by_another_transform():
    found, expected = [], []
    for n, phi in product([2, 5, 9, 64, 360, 4000], [0.0, 0.8, 0.967]):
        rng = np.random.default_rng(n)
        series = 50.0 + signal.lfilter([1], [1, -phi], rng.normal(size=n + 300))[300:]
        a = fd.statistics.autocorrelated(pl.Series(series))
        assert a.mean == pytest.approx(series.mean(), rel=1e-13)
        assert a.standard_deviation == pytest.approx(series.std(ddof=1), rel=1e-12)
        u, dof = by_cosine_transform(series)
        found.append((a.standard_uncertainty, a.dof))
        expected.append((u, dof))
        s = a.standard_deviation
        count = min(n, 1 + s**2 * (n - 1) / (n * u**2))
        assert a.effective_count == pytest.approx(count, rel=1e-9), (n, phi)
        assert a.count == n and "independent" in repr(a)
    what = "standard uncertainty and degrees of freedom of autocorrelated readings"
    against(what, "cosine transform by scipy", found, expected, rtol=1e-10)


def test_autocorrelation_meets_sums():
    series = np.random.default_rng(7).normal(size=50).cumsum()
    d = series - series.mean()
    expected = [d[k:] @ d[:-k] / (d @ d) for k in (1, 2, 3)]
    found = fd.statistics.autocorrelation(series, 3)
    against("autocorrelation", "sums by numpy", found, expected, rtol=1e-12)


def test_stated_damping_is_a_lower_bound():
    """Independent readings of which somebody knows that they are damped."""
    series = np.random.default_rng(3).normal(size=300)
    plain = fd.statistics.autocorrelated(series)
    lags = np.abs(np.subtract.outer(np.arange(300), np.arange(300)))
    for damping, rho in [
        ({"time_constant": 5.0}, np.exp(-lags * 2.0 / 5.0)),
        ({"window": 20.0}, np.maximum(0, 1 - lags * 2.0 / 20.0)),
    ]:
        damped = fd.statistics.autocorrelated(series, interval=2.0, **damping)
        n_eff = 300 / (rho.sum() / 300)
        assert damped.effective_count == pytest.approx(n_eff, rel=1e-4)
        assert damped.from_damping and not plain.from_damping
    with pytest.raises(fd.RangeError, match="interval"):
        fd.statistics.autocorrelated(series, window=3.0)


@pytest.mark.parametrize(("n", "phi"), [(5, 0.5), (40, 0.9), (300, -0.4)])
def test_variance_of_an_autoregressive_mean(n, phi):
    """The covariance matrix of the series, summed, over that of independent readings."""
    lags = np.abs(np.subtract.outer(np.arange(n), np.arange(n)))
    exact = (phi**lags).sum() / n
    found = fd.statistics.variance_inflation(n, phi ** np.arange(1, n))
    assert found == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "code", "field", "allowed"),
    [
        (lambda s: s.mean([]), "length", "readings", "two readings or more"),
        (lambda s: s.mean([1.0]), "length", "readings", "two readings or more"),
        (lambda s: s.mean([1.0, math.nan]), "out-of-range", "readings[1]", FINITE),
        (lambda s: s.mean([math.inf, 1.0]), "out-of-range", "readings[0]", FINITE),
        (lambda s: s.mean(pl.Series([1.0, None])), "out-of-range", "readings[1]", FINITE),
        (lambda s: s.mean(["a", "b"]), "wrong-type", "readings", "numbers"),
        (lambda s: s.mean([1.0, None, "x"]), "wrong-type", "readings", "numbers"),
        (lambda s: s.mean([[1.0, 2.0], [3.0]]), "wrong-type", "readings", "numbers"),
        (lambda s: s.mean(np.ma.array([1.0, 2.0, 9.0], mask=[0, 0, 1])), "wrong-type", "readings",
         "numbers"),
        (lambda s: s.mean(np.ones((2, 2))), "length", "readings", "(n,)"),
        (lambda s: s.mean(3.0), "length", "readings", "(n,)"),
        (lambda s: s.pooled([]), "length", "series", "one series or more"),
        (lambda s: s.pooled({"a": [1.0]}), "length", "series['a']", "two readings or more"),
        (lambda s: s.pooled(3.0), "wrong-type", "series", "a list or a mapping of columns"),
        (lambda s: s.pooled([[1.0, 2.0]]).of_mean(0), "out-of-range", "count",
         "one reading or more"),
        (lambda s: s.from_statistics([1.0], [0.1], [1]), "length", "series[0].count",
         "two readings or more"),
        (lambda s: s.from_statistics([1.0], [0.1], [2.5]), "out-of-range", "counts[0]",
         "a whole number, two or more"),
        (lambda s: s.from_statistics([1.0, 2.0], [0.1, -0.1], 3), "out-of-range",
         "series[1].standard_deviation",
         "0 or above and finite, from 1e-100 to 1e100 where it is not 0"),
        (lambda s: s.from_statistics([1.0, 2.0], [0.1, 0.1, 0.1], 3), "length",
         "means, standard_deviations, counts", "one shape, or single numbers"),
        (lambda s: s.autocorrelated([1.0]), "length", "readings", "two readings or more"),
        (lambda s: s.variance_inflation(3, [1.5]), "out-of-range", "autocorrelation[0]", "-1 to 1"),
        (lambda s: s.variance_inflation(0, []), "out-of-range", "count", "one reading or more"),
        (lambda s: s.weighted_mean([1.0], [0.1]), "length", "results", "two results or more"),
        (lambda s: s.weighted_mean([1.0, 2.0], [0.1]), "length", "standard_uncertainties",
         "2, one a result"),
        (lambda s: s.weighted_mean([1.0, 2.0], [0.1, 0.0]), "out-of-range",
         "standard_uncertainties[1]", "above 0 and finite, from 1e-100 to 1e100"),
        (lambda s: s.weighted_mean([1.0, 1.1], 0.1).consistent(1.0), "out-of-range",
         "significance", "strictly between 0 and 1"),
        (lambda s: s.weighted_mean([1.0, 1.1], 0.1, significance=1), "out-of-range",
         "significance", "0 to below 1"),
        (lambda s: s.random_effects([1.0, 1.1], 0.1, method="paule"), "unknown-name", "method",
         "mandel-paule, dersimonian-laird, equal-weights"),
        (lambda s: s.outlier_test([1.0, 2.0]), "out-of-range", "readings",
         "three readings or more"),
        (lambda s: s.outlier_test([1.0] * 4), "out-of-range", "readings", "readings that vary"),
        (lambda s: s.outlier_test(READINGS, 0.0), "out-of-range", "significance",
         "strictly between 0 and 1"),
        (lambda s: s.one_way([[1.0, 2.0]]), "length", "groups", "two groups or more"),
        (lambda s: s.one_way([[1.0, 2.0], [1.0]]), "length", "groups[1]", "two readings or more"),
        (lambda s: s.one_way([[1.0, 1.0], [2.0, 2.0]]), "out-of-range", "groups",
         "readings that vary within groups"),
        (lambda s: s.one_way([1.0, 2.0, 3.0], by=["a", "b"]), "length", "by", "3, one a reading"),
        (lambda s: s.one_way([1.0, 2.0], by=["a", None]), "missing", "by[1]",
         "the name of a group"),
        (lambda s: s.one_way([1.0, 2.0], by=["a", pd.NA]), "missing", "by[1]",
         "the name of a group"),
        (lambda s: s.one_way([1.0, 2.0], by=[math.nan, 1.0]), "missing", "by[0]",
         "the name of a group"),
    ],
)  # fmt: skip
def test_bad_input_is_refused(call, code, field, allowed):
    with pytest.raises(fd.FlowdoubtError) as caught:
        call(fd.statistics)
    error = caught.value
    assert (error.code, error.field, error.allowed) == (code, field, allowed)
    assert isinstance(error, ValueError) and allowed in str(error)


@pytest.mark.parametrize("n", [8, 40, 1000])
def test_a_drift_counts_as_a_few_independent_readings_whatever_its_length(n):
    a = fd.statistics.autocorrelated(np.linspace(0.0, 1.0, n))
    assert 2.9 < a.effective_count < 3.7
    # the first cosine term holds nearly all of it: u^2 = 0.49 s^2 (n - 1) / n
    assert 0.19 < a.standard_uncertainty < 0.24
