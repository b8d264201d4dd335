"""Straight lines against certified and printed values, scipy and numpy; bad input."""

import json
import math
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
import pytest
from scipy import optimize, stats
from tables import against

import flowdoubt as fd

FOLDER = Path(__file__).parents[1] / "published"
PUBLISHED = json.loads((FOLDER / "regression.json").read_text())
H3 = json.loads((FOLDER / "jcgm.json").read_text())["JCGM100_H3"]["data"]

# Meter factors over flow in m3/h, with standard uncertainties.
FLOW = np.array([12.0, 25.0, 40.0, 61.0, 78.0, 99.0])
FACTOR = np.array([1.0121, 1.0098, 1.0075, 1.0051, 1.0019, 0.9990])
U_FLOW = np.array([0.5, 0.4, 0.6, 0.8, 1.0, 1.2])
U_FACTOR = np.array([8e-4, 5e-4, 5e-4, 4e-4, 4e-4, 6e-4])


def line(**known):
    return fd.regression.straight_line(FLOW, FACTOR, **known)


def test_norris_of_nist_strd():
    norris = PUBLISHED["norris"]
    fit = fd.regression.straight_line(norris["x"], norris["y"])
    certified = norris["certified"]
    assert fit.slope == pytest.approx(certified["slope"], rel=1e-13)
    found = {
        "intercept": fit.intercept,
        "slope": fit.slope,
        "u_intercept": fit.intercept_uncertainty,
        "u_slope": fit.slope_uncertainty,
        "residual_deviation": fit.residual_deviation,
    }
    expected = [certified[name] for name in found]
    what = "straight line, ordinary least squares"
    against(what, "NIST StRD, Norris (from memory)", [*found.values()], expected, rtol=1e-12)


def test_thermometer_of_jcgm_100_h3(as_printed):
    x = np.array(H3["t_degC"]) - H3["t0_degC"]
    fit = fd.regression.straight_line(x, H3["b_degC"])
    as_printed("h3.y1", fit.intercept)
    as_printed("h3.s1", fit.intercept_uncertainty)
    as_printed("h3.y2", fit.slope)
    as_printed("h3.s2", fit.slope_uncertainty)
    as_printed("h3.r", fit.correlation)
    as_printed("h3.s", fit.residual_deviation)
    as_printed("h3.dof", fit.dof)
    at_30 = fit.predict(10.0, extrapolate=True)
    as_printed("h3.b30", at_30.value)
    as_printed("h3.u30", at_30.standard_uncertainty)
    assert at_30.extrapolated is True and at_30.dof == 9.0


def test_pearson_with_the_weights_of_york():
    york = PUBLISHED["york"]
    u_x, u_y = (np.array(york[key]) ** -0.5 for key in ("weight_x", "weight_y"))
    fit = fd.regression.straight_line(york["x"], york["y"], u_x=u_x, u_y=u_y)
    source = "D. York 1966, data of K. Pearson 1901 (from memory)"
    published = york["published"]
    what = "intercept, uncertainty in both coordinates"
    against(what, source, fit.intercept, published["intercept"], atol=0.5e-8)
    what = "slope, uncertainty in both coordinates"
    against(what, source, fit.slope, published["slope"], atol=0.5e-9)


@pytest.mark.parametrize("made", [list, np.array, pd.Series, pl.Series])
def test_ordinary_line_meets_scipy(made):
    fit = fd.regression.straight_line(made(FLOW), made(FACTOR))
    expected = stats.linregress(FLOW, FACTOR)
    found, package = (fit.intercept, fit.slope), "package `scipy`"
    theirs = (expected.intercept, expected.slope)
    against("straight line, ordinary least squares", package, found, theirs, rtol=1e-12)
    found = (fit.intercept_uncertainty, fit.slope_uncertainty)
    theirs = (expected.intercept_stderr, expected.stderr)
    what = "standard uncertainties of the line, ordinary least squares"
    against(what, package, found, theirs, rtol=1e-9)
    assert fit.chi_squared is None and fit.p_value is None
    residuals = FACTOR - expected.intercept - expected.slope * FLOW
    np.testing.assert_allclose(fit.residuals, residuals, atol=1e-14)
    assert "through 6 points" in repr(fit)


def test_weighted_line_meets_numpy():
    fit = line(u_y=U_FACTOR)
    expected, covariance = np.polyfit(FLOW, FACTOR, 1, w=1 / U_FACTOR, cov="unscaled")
    what, package = "straight line, weighted", "package `numpy`"
    against(what, package, (fit.slope, fit.intercept), expected, rtol=1e-11)
    what, theirs = "covariance of the line, weighted", covariance[::-1, ::-1]
    against(what, package, fit.covariance, theirs, rtol=1e-10)
    u = np.sqrt(np.diag(fit.covariance))
    assert (fit.intercept_uncertainty, fit.slope_uncertainty) == pytest.approx(tuple(u), rel=1e-14)
    assert fit.correlation == pytest.approx(fit.covariance[0, 1] / u.prod(), rel=1e-14)
    chi_squared = ((fit.residuals / U_FACTOR) ** 2).sum()
    assert fit.chi_squared == pytest.approx(chi_squared, rel=1e-12)
    assert fit.p_value == pytest.approx(stats.chi2.sf(chi_squared, 4), rel=1e-11)
    same = line(u_y=5e-4)
    assert same.slope == pytest.approx(line().slope, rel=1e-12)
    assert same.slope_uncertainty == pytest.approx(5e-4 / (FLOW.std() * math.sqrt(6)), rel=1e-12)


def minimised(covariance):
    """The line and the true abscissae with the least e^T U^-1 e, by a general minimiser."""
    n = len(FLOW)
    white = np.linalg.inv(np.linalg.cholesky(covariance))

    def errors(p):
        x = FLOW + p[2:] * U_FLOW
        y = p[0] + p[1] * (x - 50.0)
        return white @ np.concatenate([FLOW - x, FACTOR - y])

    start = np.concatenate([[FACTOR.mean(), line().slope], np.zeros(n)])
    found = optimize.least_squares(errors, start, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    inverse = np.linalg.inv(found.jac.T @ found.jac)[:2, :2]
    slope = found.x[1]
    return found.x[0] - 50.0 * slope, slope, inverse[1, 1] ** 0.5, 2 * found.cost


def independent():
    return np.diag(np.concatenate([U_FLOW, U_FACTOR]) ** 2)


def correlated():
    """A reference common to all flows, one common to all factors, and both coordinates tied."""
    covariance = independent()
    covariance[:6, :6] += 0.3**2
    covariance[6:, 6:] += 3e-4**2
    tie = np.diag(-0.4 * U_FLOW * U_FACTOR)
    covariance[:6, 6:] = covariance[6:, :6] = tie
    return covariance


@pytest.mark.parametrize("made", [independent, correlated])
def test_generalised_line_meets_a_general_minimiser(made):
    covariance = made()
    fit = line(covariance=covariance)
    intercept, slope, u_slope, chi_squared = minimised(covariance)
    # the minimum is flat, so its place is known to less than half of the digits
    source = "general minimiser of scipy"
    what = "straight line, uncertainty in both coordinates and any covariance"
    against(what, source, (fit.intercept, fit.slope), (intercept, slope), rtol=1e-6, noise=1e-6)
    assert fit.intercept == pytest.approx(intercept, rel=1e-7)
    what = "chi-square of the line, uncertainty in both coordinates and any covariance"
    against(what, source, fit.chi_squared, chi_squared, rtol=1e-8, noise=1e-8)
    assert fit.slope_uncertainty == pytest.approx(u_slope, rel=1e-5)
    # what is tested against is another line than the weighted one
    assert abs(line(u_y=U_FACTOR).slope / slope - 1) > 1e-4
    if made is independent:
        both = line(u_x=U_FLOW, u_y=U_FACTOR)
        assert both.slope == pytest.approx(fit.slope, rel=1e-12)
        assert both.slope_uncertainty == pytest.approx(fit.slope_uncertainty, rel=1e-12)


def test_uncertainty_in_both_coordinates_meets_odr():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        odr = pytest.importorskip("scipy.odr", reason="newer scipy leaves it out")
        data = odr.RealData(FLOW, FACTOR, sx=U_FLOW, sy=U_FACTOR)
        model = odr.Model(lambda p, x: p[0] + p[1] * x)
        start = [line().intercept, line().slope]
        found = odr.ODR(data, model, beta0=start, partol=1e-14, sstol=1e-14).run()
    fit = line(u_x=U_FLOW, u_y=U_FACTOR)
    assert fit.intercept == pytest.approx(found.beta[0], rel=1e-7)
    assert fit.slope == pytest.approx(found.beta[1], rel=1e-5)
    assert fit.chi_squared == pytest.approx(found.sum_square, rel=1e-8)


def test_correlated_y_meets_the_matrix_formula():
    covariance = np.diag(U_FACTOR**2) + 4e-4**2
    fit = line(covariance_y=covariance)
    design = np.column_stack([np.ones(6), FLOW])
    inverse = np.linalg.inv(covariance)
    expected = np.linalg.inv(design.T @ inverse @ design)
    p = expected @ design.T @ inverse @ FACTOR
    what, source = "straight line, correlated ordinates", "matrix formula by numpy"
    against(what, source, (fit.intercept, fit.slope), p, rtol=1e-10)
    what = "covariance of the line, correlated ordinates"
    against(what, source, fit.covariance, expected, rtol=1e-8)


def test_exact_x_is_the_limit_of_uncertainty_in_both():
    exact, weighted = line(u_x=0.0, u_y=U_FACTOR), line(u_y=U_FACTOR)
    assert exact.slope == pytest.approx(weighted.slope, rel=1e-11)
    assert exact.intercept_uncertainty == pytest.approx(weighted.intercept_uncertainty, rel=1e-10)


def test_predictions_have_the_shape_and_the_uncertainty_of_their_arguments():
    fit = line(u_y=U_FACTOR)
    x, u_x = np.array([[20.0, 30.0], [40.0, 99.0]]), 0.7
    at = fit.predict(x, u_x)
    design = np.stack([np.ones_like(x), x], axis=-1)
    variance = np.einsum("...i,ij,...j", design, fit.covariance, design) + (fit.slope * u_x) ** 2
    np.testing.assert_allclose(at.value, fit.intercept + fit.slope * x, rtol=1e-14)
    np.testing.assert_allclose(at.standard_uncertainty, np.sqrt(variance), rtol=1e-9)
    assert at.dof == math.inf and at.extrapolated.shape == (2, 2) and not at.extrapolated.any()
    one = fit.predict(20.0)
    assert isinstance(one.value, float) and one.extrapolated is False
    assert line().predict(20.0).dof == 4.0


def test_solving_inverts_predicting_up_to_the_ends_of_the_range():
    fit = line(u_y=U_FACTOR)
    at = fit.predict(FLOW)
    back = fit.solve(at.value, at.standard_uncertainty * 0)
    np.testing.assert_allclose(back.value, FLOW, rtol=1e-12)
    expected = at.standard_uncertainty / abs(fit.slope)
    np.testing.assert_allclose(back.standard_uncertainty, expected, rtol=1e-11)
    more = fit.solve(1.005, 2e-4)
    least = fit.solve(1.005)
    expected = math.hypot(least.standard_uncertainty, 2e-4 / fit.slope)
    assert more.standard_uncertainty == pytest.approx(expected, rel=1e-12)


def test_extrapolation_is_refused_unless_named_and_then_flagged():
    fit = line(u_y=U_FACTOR)
    assert fit.range == (12.0, 99.0)
    for call in (lambda: fit.predict([50.0, 120.0]), lambda: fit.solve([1.005, 0.99])):
        with pytest.raises(fd.RangeError, match="range of the points") as caught:
            call()
        assert caught.value.code == "out-of-range" and caught.value.field == "x[1]"
        assert "extrapolate=True" in caught.value.allowed
    far = fit.predict([50.0, 120.0], extrapolate=True)
    assert far.extrapolated.tolist() == [False, True]
    assert far.value[1] == pytest.approx(fit.intercept + 120 * fit.slope, rel=1e-14)
    assert fit.solve(0.99, extrapolate=True).extrapolated is True


def test_tables():
    fit = line(u_y=U_FACTOR)
    table = fit.to_pandas()
    assert list(table) == ["x", "y", "fitted", "residual"]
    np.testing.assert_allclose(table["fitted"] + table["residual"], FACTOR, rtol=1e-15)
    assert fit.to_polars().to_dict(as_series=False)["x"] == FLOW.tolist()
    at = fit.predict([20.0, 30.0], 0.5)
    assert list(at.to_pandas()) == ["x", "u_x", "y", "u_y", "extrapolated"]
    assert at.to_pandas()["u_x"].tolist() == [0.5, 0.5]
    back = fit.solve(1.005).to_polars()
    assert back.columns == ["y", "u_y", "x", "u_x", "extrapolated"] and back.height == 1


def test_a_line_enters_a_model_with_its_correlation():
    for fit, dof in [(line(u_y=U_FACTOR), math.inf), (line(), 4.0)]:
        inputs, correlations = fd.regression.as_inputs(fit, intercept="a", slope="b")
        y = fd.propagate(lambda p: p["a"] + p["b"] * 30.0, inputs, correlations)
        at = fit.predict(30.0)
        assert y.estimate == pytest.approx(at.value, rel=1e-14)
        assert y.standard_uncertainty == pytest.approx(at.standard_uncertainty, rel=1e-9)
        assert inputs["a"].dof == inputs["b"].dof == dof


def indefinite():
    covariance = independent()
    for i, j, r in [(0, 1, 0.9), (1, 2, 0.9), (0, 2, -0.9)]:
        covariance[i, j] = covariance[j, i] = r * U_FLOW[i] * U_FLOW[j]
    return covariance


@pytest.mark.parametrize(
    ("call", "code", "field"),
    [
        (lambda f: f([], []), "length", "x"),
        (lambda f: f([1.0, 2.0], [1.0, 2.0]), "length", "x"),
        (lambda f: f([1.0, 2.0, 3.0], [1.0, 2.0]), "length", "y"),
        (lambda f: f([1.0, 1.0, 1.0], [1.0, 2.0, 3.0]), "out-of-range", "x"),
        (lambda f: f([1.0, math.nan, 1.0], [1.0, 2.0, 3.0]), "out-of-range", "x[1]"),
        (lambda f: f([1.0, 2.0, 3.0], [1.0, 2.0, math.inf]), "out-of-range", "y[2]"),
        (lambda f: f(["1", "two", "3"], [1.0, 2.0, 3.0]), "wrong-type", "x"),
        (lambda f: f(FLOW, FACTOR, u_y=0.0), "out-of-range", "u_y[0]"),
        (lambda f: f(FLOW, FACTOR, u_y=[1e-3, -1e-3, 1, 1, 1, 1]), "out-of-range", "u_y[1]"),
        (lambda f: f(FLOW, FACTOR, u_y=U_FACTOR[:5]), "length", "u_y"),
        (lambda f: f(FLOW, FACTOR, u_y=U_FACTOR, u_x=-0.1), "out-of-range", "u_x[0]"),
        (lambda f: f(FLOW, FACTOR, u_x=U_FLOW), "missing", "u_y"),
        (lambda f: f(FLOW, FACTOR, u_y=1e-3, covariance_y=np.eye(6)), "conflict", "covariance_y"),
        (lambda f: f(FLOW, FACTOR, covariance=independent(), u_y=1e-3), "conflict", "covariance"),
        (lambda f: f(FLOW, FACTOR, covariance_y=np.eye(5)), "length", "covariance_y"),
        (lambda f: f(FLOW, FACTOR, covariance=np.eye(6)), "length", "covariance"),
        (lambda f: f(FLOW, FACTOR, covariance=np.ones(12)), "length", "covariance"),
        (lambda f: f(FLOW, FACTOR, covariance=-independent()), "out-of-range", "covariance[0][0]"),
        (lambda f: f(FLOW, FACTOR, covariance=np.triu(correlated())), "out-of-range",
         "covariance[1][0]"),
        (lambda f: f(FLOW, FACTOR, covariance=indefinite()), "conflict", "covariance"),
        (lambda f: f(FLOW, FACTOR, covariance=np.zeros((12, 12))), "conflict", "covariance"),
        (lambda f: f(FLOW, FACTOR).predict([20.0, math.nan]), "out-of-range", "x[1]"),
        (lambda f: f(FLOW, FACTOR).predict(20.0, -0.1), "out-of-range", "u_x[0]"),
        (lambda f: f(FLOW, FACTOR).predict([20.0, 30.0], [0.1, 0.1, 0.1]), "length", "x, u_x"),
        (lambda f: f(FLOW, FACTOR).predict("far"), "wrong-type", "x"),
        (lambda f: f(FLOW, FACTOR).solve(math.inf), "out-of-range", "y[0]"),
        (lambda f: f(FLOW, FACTOR).solve(1.005, math.nan), "out-of-range", "u_y[0]"),
        (lambda f: f(FLOW, np.ones(6)).solve(1.0), "out-of-range", "slope"),
    ],
)  # fmt: skip
def test_bad_input_is_refused(call, code, field):
    with pytest.raises(fd.FlowdoubtError) as caught:
        call(fd.regression.straight_line)
    error = caught.value
    assert (error.code, error.field) == (code, field)
    assert isinstance(error, ValueError) and error.allowed


def test_examples_of_iso_ts_28037():
    """ISO/TS 28037:2010, examples of clauses 6 and 7; data and values from memory."""
    examples = [
        # clause 6, equal weights: a, b, u(a), u(b), chi-squared
        (
            [1, 2, 3, 4, 5, 6],
            None,
            [3.3, 5.6, 7.1, 9.3, 10.7, 12.1],
            0.5,
            (1.867, 1.757, 0.465, 0.120, 1.665),
        ),
        # clause 6, different weights
        (
            [1, 2, 3, 4, 5, 6],
            None,
            [3.2, 4.3, 7.6, 8.6, 11.7, 12.8],
            [0.5, 0.5, 0.5, 1.0, 1.0, 1.0],
            (0.885, 2.057, 0.530, 0.178, 4.131),
        ),
        # clause 7, uncertainty in both coordinates
        (
            [1.2, 1.9, 2.9, 4.0, 4.7, 5.9],
            0.2,
            [3.4, 4.4, 7.2, 8.5, 10.8, 13.5],
            [0.2, 0.2, 0.2, 0.4, 0.4, 0.4],
            (0.579, 2.160, 0.476, 0.136, 2.743),
        ),
    ]
    found, published = [], []
    for x, u_x, y, u_y, values in examples:
        line = fd.regression.straight_line(x, y, u_x=u_x, u_y=u_y)
        u = (line.intercept_uncertainty, line.slope_uncertainty)
        found.append((line.intercept, line.slope, *u, line.chi_squared))
        published.append(values)
    what = "straight line, its standard uncertainties and chi-square"
    source = "ISO/TS 28037:2010, clauses 6 and 7 (from memory)"
    against(what, source, found, published, atol=5e-4)
