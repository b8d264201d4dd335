"""Any model of Python: sensitivities by duals, budgets and Monte Carlo."""

import json
import math
from pathlib import Path

import mpmath
import numpy as np
import pytest
from tables import against

import flowdoubt as fd
from flowdoubt.models.dual import _CHOOSE_FIRST, _OF_ONE, _OF_TWO, Dual

PUBLISHED = json.loads((Path(__file__).parents[1] / "published" / "jcgm.json").read_text())

# A point inside the domain of each function, where it is not 0.37.
POINTS = {np.arccosh: 1.7}


@pytest.mark.parametrize("ufunc", _OF_ONE, ids=lambda f: f.__name__)
def test_derivatives_of_functions_of_one_argument(ufunc):
    x = POINTS.get(ufunc, 0.37)
    y = ufunc(Dual(x, np.array([1.0, -2.0])))
    assert y.value == ufunc(x)
    h = 1e-5
    slope = (ufunc(x + h) - ufunc(x - h)) / (2 * h)
    np.testing.assert_allclose(y.slope, [slope, -2 * slope], rtol=1e-8)


@pytest.mark.parametrize("ufunc", [*_OF_TWO, np.power, np.float_power], ids=lambda f: f.__name__)
def test_derivatives_of_functions_of_two_arguments(ufunc):
    a, b, h = 0.8, 1.9, 1e-5
    y = ufunc(Dual(a, np.array([1.0, 0.0])), Dual(b, np.array([0.0, 1.0])))
    assert y.value == ufunc(a, b)
    by_a = (ufunc(a + h, b) - ufunc(a - h, b)) / (2 * h)
    by_b = (ufunc(a, b + h) - ufunc(a, b - h)) / (2 * h)
    np.testing.assert_allclose(y.slope, [by_a, by_b], rtol=1e-8)
    # one of the two may be a plain number
    np.testing.assert_allclose(ufunc(Dual(a, 1.0), b).slope, by_a, rtol=1e-8)
    np.testing.assert_allclose(ufunc(a, Dual(b, 1.0)).slope, by_b, rtol=1e-8)


def test_choices_go_by_value():
    low, high = Dual(1.0, np.array([1.0, 0.0])), Dual(2.0, np.array([0.0, 1.0]))
    for choose in _CHOOSE_FIRST:
        expected = high if choose in (np.maximum, np.fmax) else low
        assert choose(low, high) is expected and choose(high, low) is expected
    assert low < high and low <= 1.0 and high < 3.0 and low == 1.0 and low != high
    assert np.where(low < high, low, high) is low
    assert abs(Dual(-2.0, 3.0)).slope == -3.0
    assert (Dual(-2.0, 1.0) ** 2).slope == -4.0
    assert (Dual(0.0, 1.0) ** 3).slope == 0.0


def test_duals_of_duals_give_second_derivatives():
    x = Dual(Dual(0.7, 1.0), Dual(1.0, 0.0))
    y = np.exp(x) * np.sin(x) / x**2
    with mpmath.workdps(30):
        exact = mpmath.diff(lambda t: mpmath.exp(t) * mpmath.sin(t) / t**2, mpmath.mpf("0.7"), 2)
    source = "mpmath, 30 digits"
    against("second derivative by duals of duals", source, y.slope.slope, float(exact), rtol=1e-10)


@pytest.mark.parametrize(
    "function",
    [np.floor, np.sign, np.add.reduce, np.sum, math.sin, float, np.round],
    ids=lambda f: getattr(f, "__name__", str(f)),
)
def test_what_has_no_derivative_says_so_and_offers_differences(function):
    with pytest.raises(fd.InputError, match='derivatives="differences"') as caught:
        function(Dual(0.5, 1.0))
    assert caught.value.code == "no-derivative"


def end_gauge(x):
    """JCGM 100:2008, equation (H.3), in nanometres."""
    theta = x["mean temperature"] + x["cycle"]
    expansion = x["d alpha"] * theta + x["alpha"] * x["d theta"]
    comparator = x["difference"] + x["random"] + x["systematic"]
    return x["standard"] + comparator - x["standard"] * expansion


END_GAUGE_INPUTS = {
    "standard": fd.certificate(50.000623e6, 75, 3, dof=18, unit="nm"),
    "difference": fd.normal(215.0, 13 / np.sqrt(5), dof=24, unit="nm"),
    "random": fd.normal(0.0, 10 / 2.57, dof=5, unit="nm"),
    "systematic": fd.certificate(0.0, 20, 3, dof=8, unit="nm"),
    "alpha": fd.half_width(11.5e-6, 2e-6, unit="1/degC"),
    "mean temperature": fd.normal(-0.1, 0.2, unit="degC"),
    "cycle": fd.half_width(0.0, 0.5, "arcsine", unit="degC"),
    "d alpha": fd.half_width(0.0, 1e-6, dof=50, unit="1/degC"),
    "d theta": fd.half_width(0.0, 0.05, dof=2, unit="degC"),
}


@pytest.mark.parametrize("derivatives", ["exact", "differences"])
def test_end_gauge_of_jcgm_100_h1(derivatives):
    printed = PUBLISHED["JCGM100_H1"]["published"]
    y = fd.propagate(end_gauge, END_GAUGE_INPUTS, unit="nm", derivatives=derivatives)
    assert round(y.estimate * 1e-6, 6) == printed["l_mm"]
    assert round(y.standard_uncertainty) == printed["uc_nm"]
    assert round(y.effective_dof, 1) == printed["nu_eff"]
    expanded = y.expanded(0.99)
    assert expanded.dof == printed["nu_eff_truncated"]
    assert round(expanded.coverage_factor, 2) == printed["t99_16"]
    assert "nm" in repr(y) and "systematic" in y._repr_html_()


def test_several_outputs_of_jcgm_100_h2():
    """Resistance, reactance and impedance from simultaneous readings, tables H.2 and H.3."""
    data = PUBLISHED["JCGM100_H2"]["data"]
    inputs = fd.joint_readings(
        {"V": data["V_V"], "I": np.array(data["I_mA"]) * 1e-3, "phi": data["phi_rad"]}
    )
    correlation = inputs.correlation()
    pairs = [(0, 1), (0, 2), (1, 2)]
    assert [round(correlation[p], 2) for p in pairs] == [-0.36, 0.86, -0.65]

    def impedance(x):
        z = x["V"] / x["I"]
        return {"R": z * np.cos(x["phi"]), "X": z * np.sin(x["phi"]), "Z": z}

    y = fd.propagate(impedance, inputs, unit="ohm")
    assert list(y) == ["R", "X", "Z"]
    assert [round(e.estimate, 3) for e in y.values()] == [127.732, 219.847, 254.260]
    for estimate, u in zip(y.values(), [0.071, 0.295, 0.236], strict=True):
        # the guide prints 0.295 for 0.29558: half a unit and a little more
        assert estimate.standard_uncertainty == pytest.approx(u, abs=0.0006)
    r = [y.correlation[0, 1], y.correlation[0, 2], y.correlation[1, 2]]
    np.testing.assert_allclose(r, [-0.588, -0.485, 0.993], atol=0.0006)


def test_several_outputs_by_monte_carlo():
    inputs = fd.multivariate_normal(["a", "b"], [10.0, 2.0], [[0.04, 0.012], [0.012, 0.01]])

    def model(x):
        return x["a"] * x["b"], x["a"] / x["b"]

    y, m = fd.propagate(model, inputs), fd.monte_carlo(model, inputs, trials=200_000, seed=5)
    assert list(m) == ["y1", "y2"] and len(m) == 2
    np.testing.assert_allclose(m.covariance, y.covariance, rtol=0.05, atol=2e-3)
    np.testing.assert_allclose(m.correlation, y.correlation, atol=0.02)
    with pytest.raises(fd.InputError, match="those of the set"):
        fd.propagate(model, inputs, {("a", "b"): 0.1})


def test_nearest_correlations_are_offered_by_name():
    inputs = {name: fd.normal(0.0, 1.0) for name in "abc"}
    wanted = {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9}
    with pytest.raises(fd.CorrelationError, match="smallest eigenvalue -8"):
        fd.input_set(inputs, wanted)
    valid = fd.input_set(inputs, wanted, nearest=True).correlation()
    assert np.linalg.eigvalsh(valid).min() > -1e-12
    np.testing.assert_allclose(np.diag(valid), 1.0, rtol=1e-12)


def test_joint_readings_and_covariances_are_checked():
    with pytest.raises(fd.InputError, match="as many of each quantity"):
        fd.joint_readings({"a": [1.0, 2.0, 3.0], "b": [1.0, 2.0]})
    with pytest.raises(fd.RangeError, match="symmetric"):
        fd.multivariate_normal(["a", "b"], [0.0, 0.0], [[1.0, 0.5], [0.4, 1.0]])
    with pytest.raises(fd.FlowdoubtError, match="one a quantity"):
        fd.multivariate_normal(["a"], [0.0, 0.0], [[1.0]])
    both = fd.multivariate_normal(["a"], [0.0], [[1.0]]).joined_with(
        fd.input_set({"b": fd.exact(1.0)})
    )
    assert both.names == ["a", "b"]


DISTRIBUTIONS = [
    (fd.normal(3.0, 0.2), ("norm", (3.0, 0.2))),
    (fd.rectangular(1.0, 4.0), ("uniform", (1.0, 3.0))),
    (fd.arcsine(1.0, 4.0), ("arcsine", (1.0, 3.0))),
    (fd.triangular(1.0, 4.0), ("triang", (0.5, 1.0, 3.0))),
    (fd.student_t(1.0, 0.3, 4.5), ("t", (4.5, 1.0, 0.3))),
    (fd.exponential(2.0), ("expon", (0.0, 2.0))),
    (fd.gamma(3.5, 2.0), ("gamma", (3.5, 0.0, 2.0))),
    (fd.beta(2.5, 0.7, 1.0, 3.0), ("beta", (2.5, 0.7, 1.0, 2.0))),
    (fd.lognormal(0.3, 0.5), ("lognorm", (0.5, 0.0, float(np.exp(0.3))))),
    (fd.truncated_normal(0.0, 1.0, -0.5, 2.0), ("truncnorm", (-0.5, 2.0))),
]


def test_distributions_meet_scipy():
    from scipy import stats

    p = np.array([[0.001, 0.1, 0.5], [0.75, 0.975, 0.9999]])
    frozen = [getattr(stats, name)(*parameters) for _, (name, parameters) in DISTRIBUTIONS]
    made = [own for own, _ in DISTRIBUTIONS]
    x = np.array([own.quantile(p) for own in made])
    assert x.shape == (len(made), *p.shape) and isinstance(made[0].quantile(0.3), float)
    package = "package `scipy`"
    expected = [law.ppf(p) for law in frozen]
    against("quantiles of every distribution", package, x, expected, rtol=1e-9)
    for own, at in zip(made, x, strict=True):
        np.testing.assert_allclose(own.cdf(at), p, rtol=1e-11)
    found = [own.density(at) for own, at in zip(made, x, strict=True)]
    expected = [law.pdf(at) for law, at in zip(frozen, x, strict=True)]
    # near its end, the arcsine distribution of the package rounds the distance to it
    against("densities of every distribution", package, found, expected, rtol=1e-9, noise=1e-9)
    found, expected = [own.variance for own in made], [law.var() for law in frozen]
    against("variances of every distribution", package, found, expected, rtol=1e-10)


def test_correlated_propagation_meets_mpmath_and_the_matrix_product():
    def model(x):
        return np.exp(-x["a"]) * x["b"] ** 1.5 / np.arctan2(x["c"], x["a"] + x["b"])

    values = {"a": (0.4, 0.02), "b": (2.3, 0.1), "c": (1.1, 0.05)}
    r = {("a", "b"): 0.5, ("c", "b"): -0.3}
    y = fd.propagate(model, {name: fd.normal(*v) for name, v in values.items()}, r)

    def exact(a, b, c):
        return mpmath.exp(-a) * b ** mpmath.mpf("1.5") / mpmath.atan2(c, a + b)

    point = [mpmath.mpf(v) for v, _ in values.values()]
    with mpmath.workdps(30):
        orders = [(1, 0, 0), (0, 1, 0), (0, 0, 1)]
        gradient = np.array([float(mpmath.diff(exact, tuple(point), n)) for n in orders])
    correlation = np.array([[1, 0.5, 0], [0.5, 1, -0.3], [0, -0.3, 1]])
    u = np.array([u for _, u in values.values()])
    variance = gradient @ (correlation * np.outer(u, u)) @ gradient
    found = [*y.budget.columns()["sensitivity"], y.standard_uncertainty]
    what = "sensitivities and standard uncertainty, correlated inputs"
    source = "mpmath and the matrix product"
    against(what, source, found, [*gradient, np.sqrt(variance)], rtol=1e-12)


def test_monte_carlo_draws_are_those_of_the_core():
    """The same names, distributions and seed give the same draws as in a Rust model."""
    inputs = {"a": fd.normal(1.0, 0.1), "b": fd.rectangular(0.0, 1.0)}
    alone = fd.monte_carlo(lambda x: x["a"], {"a": inputs["a"]}, trials=1000, seed=4)
    among = fd.monte_carlo(lambda x: x["a"], inputs, trials=1000, seed=4)
    assert np.array_equal(alone.values(), among.values())


def test_monte_carlo_gives_the_draws_of_each_trial_whatever_the_number_of_trials():
    inputs = {"a": fd.readings([1.0, 1.2, 1.1, 0.9, 1.05]), "b": fd.triangular(2.0, 3.0)}

    def run(trials):
        m = fd.monte_carlo(lambda x: {"y": x["a"] / x["b"]}, inputs, trials=trials, seed=2)
        return m.in_order()["y"]

    # more than one block of the core
    assert np.array_equal(run(70_000)[:1000], run(1000))


@pytest.mark.parametrize(
    ("made", "mean", "variance"),
    [
        (fd.exact(3.0), 3.0, 0.0),
        (fd.normal(3.0, 0.2), 3.0, 0.04),
        (fd.rectangular(1.0, 4.0), 2.5, 9 / 12),
        (fd.triangular(1.0, 4.0), 2.5, 9 / 24),
        (fd.arcsine(1.0, 4.0), 2.5, 9 / 8),
        (fd.trapezoidal(1.0, 4.0, 0.5), 2.5, 9 * 1.25 / 24),
        (fd.curvilinear_trapezoid(1.0, 4.0, 0.3), 2.5, 9 / 12 + 0.09 / 9),
        (fd.exponential(2.0), 2.0, 4.0),
        (fd.gamma(5.0), 5.0, 5.0),
        (fd.beta(2.0, 3.0), 0.4, 0.04),
        (fd.lognormal(0.0, 0.5), math.exp(0.125), (math.exp(0.25) - 1) * math.exp(0.25)),
        (fd.truncated_normal(0.0, 1.0, lower=0.0), math.sqrt(2 / math.pi), 1 - 2 / math.pi),
        (fd.sample([1.0, 2.0, 3.0]), 2.0, 2 / 3),
        (fd.density_table([0.0, 1.0], [1.0, 1.0]), 0.5, 1 / 12),
        (fd.probability_table([0.0, 1.0], [0.0, 1.0]), 0.5, 1 / 12),
    ],
    ids=lambda v: v.distribution if isinstance(v, fd.Input) else "",
)
def test_inputs_have_the_mean_and_the_variance_of_their_distribution(made, mean, variance):
    """JCGM 101:2008, table 1 and clause 6.4; text-book moments for the others."""
    assert made.estimate == pytest.approx(mean, rel=1e-12)
    assert made.standard_uncertainty**2 == pytest.approx(variance, rel=1e-10)
    m = fd.monte_carlo(lambda x: x["x"], {"x": made}, trials=40_000, seed=11)
    # five standard errors of the mean
    assert abs(m.mean - mean) <= 5 * math.sqrt(variance / 40_000) + 1e-15
    assert m.standard_uncertainty == pytest.approx(math.sqrt(variance), rel=0.05, abs=1e-15)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: fd.normal(1.0, -0.1), "0 or above"),
        (lambda: fd.normal(math.nan, 0.1), "finite"),
        (lambda: fd.normal(1.0, 0.1, dof=0.0), "0.1 or above"),
        (lambda: fd.rectangular(2.0, 1.0), "above the lower limit"),
        (lambda: fd.rectangular(0.0, math.inf), r"rectangular\.upper: found inf"),
        (lambda: fd.readings([1.0]), "two readings or more"),
        (lambda: fd.readings([]), "two readings or more"),
        (lambda: fd.readings([1.0, math.nan]), r"readings\[1\]"),
        (lambda: fd.certificate(1.0, 0.1, 0.0), "coverage factor above 0"),
        (lambda: fd.half_width(1.0, 0.1, "round"), "rectangular, triangular, arcsine"),
        (lambda: fd.gamma(-1.0), "above 0"),
    ],
)
def test_bad_inputs_are_refused(make, words):
    with pytest.raises(fd.FlowdoubtError, match=words) as caught:
        make()
    assert caught.value.code and caught.value.field


def test_bad_models_and_correlations_are_refused():
    a, b = fd.normal(1.0, 0.1), fd.normal(2.0, 0.1)
    inputs = {"a": a, "b": b}

    def model(x):
        return x["a"] * x["b"]

    with pytest.raises(fd.RangeError, match="-1 to 1"):
        fd.propagate(model, inputs, {("a", "b"): 1.2})
    with pytest.raises(fd.InputError, match="did you mean `a`"):
        fd.propagate(model, inputs, {("aa", "b"): 0.2})
    three = {**inputs, "c": a}
    impossible = {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9}
    with pytest.raises(fd.CorrelationError, match="semi-definite"):
        fd.propagate(model, three, impossible)
    with pytest.raises(fd.InputError, match="allowed: an input"):
        fd.propagate(model, {"a": 1.0, "b": b})
    with pytest.raises(fd.InputError, match="one number for each measurand"):
        fd.propagate(lambda x: "wide", inputs)
    with pytest.raises(fd.InputError, match="exact', 'differences"):
        fd.propagate(model, inputs, derivatives="guess")
    with pytest.raises(fd.RangeError, match="finite"):
        fd.propagate(lambda x: x["a"] + math.inf, inputs)
    with pytest.raises(fd.InputError, match="one value for each trial"):
        fd.monte_carlo(lambda x: x["a"][:3], inputs, trials=1000)
    for call in (fd.propagate, fd.monte_carlo):
        with pytest.raises(fd.ModelError, match="ZeroDivisionError: division by zero") as caught:
            call(lambda x: 1 / 0, inputs)
        assert isinstance(caught.value.__cause__, ZeroDivisionError)
        assert caught.value.code == "model-raised"


def test_failed_trials_are_counted_and_shown():
    inputs = {"a": fd.normal(1.0, 0.5)}

    def model(x):
        with np.errstate(invalid="ignore"):
            return np.sqrt(x["a"])

    with pytest.raises(fd.TrialsError, match="of 10000 Monte Carlo trials") as caught:
        fd.monte_carlo(model, inputs, trials=10_000)
    assert "a = -" in str(caught.value)
    allowed = fd.monte_carlo(model, inputs, trials=10_000, allowed_failures=0.05)
    # Phi(-2) = 2.3 % of the trials
    assert 10_000 - allowed.trials == pytest.approx(228, abs=75)
    with pytest.raises(fd.TrialsError):
        fd.monte_carlo(model, inputs, trials=10_000, allowed_failures=0.01)


def test_differences_serve_models_that_take_floats_only():
    inputs = {"a": fd.normal(0.5, 0.01), "b": fd.exact(2.0)}
    y = fd.propagate(lambda x: math.sin(x["a"]) * x["b"], inputs, derivatives="differences")
    assert y.standard_uncertainty == pytest.approx(2 * math.cos(0.5) * 0.01, rel=1e-4)


def test_progress_bar(capsys):
    pytest.importorskip("tqdm")
    fd.monte_carlo(lambda x: x["a"], {"a": fd.normal(0, 1)}, trials=1000, progress=True)
    assert "Monte Carlo" in capsys.readouterr().err


def test_second_order_of_jcgm_100_h1():
    """H.1.7: the terms of second order are 11.7 nm and 1.7 nm, u_c becomes 34 nm."""
    order = fd.second_order(end_gauge, END_GAUGE_INPUTS, unit="nm")
    assert order.matters
    assert round(order.standard_uncertainty) == 34
    # both orders of a pair carry half of the square of the mixed derivative
    terms = order.terms()

    def pair(a, b):
        return math.sqrt(terms.get((a, b), 0.0) + terms.get((b, a), 0.0))

    theta = math.hypot(pair("d alpha", "mean temperature"), pair("d alpha", "cycle"))
    assert round(theta, 1) == 11.7
    assert round(pair("alpha", "d theta"), 1) == 1.7


def test_second_order_by_name_and_bias():
    inputs = {"a": fd.normal(0.5, 0.1), "b": fd.normal(2.0, 0.2)}
    orders = fd.second_order(lambda x: (x["a"] ** 2, x["a"] + x["b"], 3.0), inputs)
    assert list(orders) == ["y1", "y2", "y3"]
    # E(a^2) - E(a)^2 = u^2; var(a^2) = 4 a^2 u^2 + 2 u^4 for a normal a
    assert orders["y1"].bias == pytest.approx(0.01, rel=1e-12)
    exact = 4 * 0.25 * 0.01 + 2 * 0.1**4
    assert orders["y1"].standard_uncertainty ** 2 == pytest.approx(exact, rel=1e-12)
    assert orders["y2"].variance == 0.0 and not orders["y2"].matters
    assert orders["y3"].standard_uncertainty == 0.0


def test_coverage_regions_of_jcgm_102_9_2():
    """Two outputs of an additive model with normal inputs: k_p = 2.45 and k_q = 2.21."""
    inputs = {name: fd.normal(0.0, 1.0) for name in ("x1", "x2", "x3")}

    def model(x):
        return x["x1"] + x["x3"], x["x2"] + x["x3"]

    y = fd.propagate(model, inputs)
    np.testing.assert_allclose(y.covariance, [[2, 1], [1, 2]], rtol=1e-14)
    assert y.ellipsoidal_region(0.95).coverage_factor == pytest.approx(2.4477, abs=1e-4)
    m = fd.monte_carlo(model, inputs, trials=400_000, seed=9)
    ellipse, rectangle = m.ellipsoidal_region(0.95), m.rectangular_region(0.95)
    assert ellipse.coverage_factor == pytest.approx(2.45, abs=0.01)
    assert rectangle.coverage_factor == pytest.approx(2.21, abs=0.01)
    assert rectangle.half_widths == pytest.approx(2.21 * math.sqrt(2), abs=0.03)
    points = np.column_stack(list(m.in_order().values()))[:4000]
    inside = np.mean([ellipse.contains(point) for point in points])
    assert inside == pytest.approx(0.95, abs=0.02)


def test_adaptive_monte_carlo_settles_and_says_so():
    inputs = {"a": fd.normal(10.0, 1.0)}
    run = fd.adaptive_monte_carlo(lambda x: x["a"], inputs, digits=2, unit="mm")
    assert run.settled and run.batches >= 2
    assert "Settled after" in run.in_words and "mm" in run.in_words
    # JCGM 101:2008, 7.9.2: the tolerance of u = 1.0 to two digits is 0.05
    assert run.trials.standard_uncertainty == pytest.approx(1.0, abs=0.05)
    short = fd.adaptive_monte_carlo(lambda x: x["a"], inputs, digits=4, most_trials=20_000)
    assert not short.settled and "Not settled" in short.in_words
    several = fd.adaptive_monte_carlo(lambda x: (x["a"], -x["a"]), inputs, digits=1)
    assert list(several.trials) == ["y1", "y2"]


def test_sobol_indices_of_the_ishigami_function():
    """Closed form of T. Homma and A. Saltelli 1996, with a = 7, b = 0.1 (from memory)."""

    def ishigami(x):
        return np.sin(x["x1"]) + 7 * np.sin(x["x2"]) ** 2 + 0.1 * x["x3"] ** 4 * np.sin(x["x1"])

    inputs = {name: fd.rectangular(-np.pi, np.pi) for name in ("x1", "x2", "x3")}
    table = fd.sobol_indices(ishigami, inputs, trials=60_000, seed=3).to_pandas()
    v1 = 0.5 * (1 + 0.1 * np.pi**4 / 5) ** 2
    v2, v13 = 7**2 / 8, 0.1**2 * np.pi**8 * (1 / 18 - 1 / 50)
    v = v1 + v2 + v13
    expected = {"first_order": [v1 / v, v2 / v, 0.0], "total": [(v1 + v13) / v, v2 / v, v13 / v]}
    for column, exact in expected.items():
        # the interval of 95 % is two standard errors wide to each side; five are allowed
        margin = 2.5 * (table[f"{column}_high"] - table[column])
        assert np.all(np.abs(table[column] - exact) <= margin + 1e-12)


def test_interrupt_ends_a_run():
    """Ctrl-C in the middle of a run reaches the caller as it is."""
    calls = []

    def model(x):
        calls.append(len(x["a"]))
        if len(calls) == 3:
            raise KeyboardInterrupt
        return x["a"]

    with pytest.raises(KeyboardInterrupt):
        fd.monte_carlo(model, {"a": fd.normal(0, 1)}, trials=1_000_000)
    assert len(calls) == 3


def test_models_whose_outputs_change_are_refused():
    def model(x):
        return {"y": x["a"]} if len(x["a"]) == 1 else {"z": x["a"]}

    with pytest.raises(fd.InputError, match="as at the estimates"):
        fd.monte_carlo(model, {"a": fd.normal(0, 1)}, trials=1000)


def test_sobol_points_of_a_model():
    inputs = {"a": fd.normal(10.0, 0.1), "b": fd.rectangular(1.9, 2.1)}
    variance = (100.0 + 0.01) * 0.2**2 / 12 + 4.0 * 0.01  # of a product, exactly

    def product(x):
        return x["a"] * x["b"]

    found = {}
    for derivatives in ("exact", "differences", None):
        run = fd.low_discrepancy(product, inputs, points=64, derivatives=derivatives)
        u, error = found[derivatives] = run.outputs[0]["standard_uncertainty"]
        assert abs(u - np.sqrt(variance)) < 8 * error  # t with 15 degrees of freedom
    assert found["exact"] == pytest.approx(found["differences"], rel=1e-9)
    assert found["exact"][1] < 0.2 * found[None][1]
    # measurands in the order of the model
    both = fd.low_discrepancy(
        lambda x: {"sum": x["a"] + x["b"], "product": x["a"] * x["b"]}, inputs, points=64
    )
    assert both.outputs[1]["standard_uncertainty"] == found["exact"]
    assert both.outputs[0]["mean"][0] == pytest.approx(12.0, rel=1e-14)
    with pytest.raises(fd.FlowdoubtError, match="exact"):
        fd.low_discrepancy(product, inputs, derivatives="guessed")
    with pytest.raises(fd.ModelError, match="ZeroDivisionError"):
        fd.low_discrepancy(lambda x: 1 / 0, inputs)
