"""Golden values of tests and fits: scipy 1.17.1 and exact rational arithmetic.

Writes tests/golden/inference.json. Run from the repository root:

    python tests/golden/generate/inference.py [--check]

Chi-squared, F and Student quantities come from scipy.stats, sums of squares from fractions, lines
with uncertainty in both coordinates from a direct minimisation by scipy.optimize of the sum of
squares; where the uncertainties are independent, scipy.odr, if that scipy still has it, must agree
before the values are written.
"""

import warnings
from fractions import Fraction
from math import sqrt
from pathlib import Path

import numpy as np
from _committed import one_point_a_line, write_or_check
from scipy import optimize, stats

with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    try:
        from scipy import odr
    except ImportError:
        odr = None

GOLDEN = Path("tests/golden/inference.json")
RELATIVE_TOLERANCE = 1e-7


def tails():
    return {
        "chi_squared_upper_tail": [
            {"x": x, "dof": n, "p": float(stats.chi2.sf(x, n))}
            for n in (1.0, 2.0, 4.0, 9.5, 40.0, 1000.0)
            for x in (0.01, 1.0, 7.0, 55.0, 900.0, 1100.0)
            if stats.chi2.sf(x, n) > 1e-250
        ],
        "chi_squared_quantile": [
            {"p": p, "dof": n, "x": float(stats.chi2.ppf(p, n))}
            for n in (1.0, 2.0, 3.0, 9.5, 40.0, 1000.0)
            for p in (1e-6, 0.025, 0.5, 0.95, 0.999)
        ],
        "fisher_upper_tail": [
            {"f": f, "n1": a, "n2": b, "p": float(stats.f.sf(f, a, b))}
            for a, b in ((1.0, 5.0), (9.0, 40.0), (2.5, 17.0), (30.0, 200.0))
            for f in (0.1, 1.0, 2.26, 8.0)
        ],
        "fisher_quantile": [
            {"p": p, "n1": a, "n2": b, "f": float(stats.f.ppf(p, a, b))}
            for a, b in ((1.0, 5.0), (9.0, 40.0), (2.5, 17.0), (30.0, 200.0))
            for p in (0.01, 0.5, 0.95, 0.975, 0.999)
        ],
    }


READINGS = [10.02, 9.98, 10.05, 9.9, 10.0, 10.61, 9.97]
GROUPS = [[5.1, 5.3, 4.9, 5.2], [5.6, 5.4, 5.5], [4.8, 5.0, 5.1, 4.9, 5.05]]


def grubbs():
    n, mean, s = len(READINGS), np.mean(READINGS), np.std(READINGS, ddof=1)
    g = max(abs(x - mean) for x in READINGS) / s
    t = stats.t.isf(0.05 / (2 * n), n - 2)
    return {
        "readings": READINGS,
        "statistic": float(g),
        "critical_value": float((n - 1) / sqrt(n) * sqrt(t * t / (n - 2 + t * t))),
    }


def one_way():
    f, p = stats.f_oneway(*GROUPS)
    return {"groups": GROUPS, "f": float(f), "p_value": float(p)}


def weighted():
    x, u = [10.02, 9.98, 10.05, 9.9, 10.0], [0.03, 0.02, 0.04, 0.05, 0.01]
    fx, fw = [Fraction(v) for v in x], [1 / Fraction(v) ** 2 for v in u]
    y = sum(a * b for a, b in zip(fx, fw, strict=True)) / sum(fw)
    chi2 = sum((a - y) ** 2 * b for a, b in zip(fx, fw, strict=True))
    return {
        "results": x,
        "standard_uncertainties": u,
        "mean": float(y),
        "standard_uncertainty": sqrt(1 / sum(fw)),
        "chi_squared": float(chi2),
        "p_value": float(stats.chi2.sf(float(chi2), 4)),
        "birge_ratio": sqrt(chi2 / 4),
    }


RANDOM_EFFECTS = [
    ([10.1, 10.6, 9.7], [0.1, 0.2, 0.15]),
    ([1.0, 3.0], [0.3, 0.5]),
    ([5.02, 5.31, 4.88, 5.20, 5.64], [0.04, 0.10, 0.06, 0.30, 0.09]),
    ([7.0, 7.1, 6.95, 7.04], [0.1, 0.1, 0.2, 0.15]),
]


def between_sets(x, u, method):
    """Mean of results with an effect of each set, with numpy and the root finder of scipy."""
    x, u, dof = np.array(x), np.array(u), len(x) - 1

    def squares(variance):
        w = 1 / (u**2 + variance)
        return float((w * (x - (w * x).sum() / w.sum()) ** 2).sum())

    w = u**-2.0
    if method == "dersimonian-laird":
        variance = max(0.0, (squares(0.0) - dof) / (w.sum() - (w**2).sum() / w.sum()))
    elif method == "mandel-paule":
        agree = squares(0.0) <= dof
        variance = 0.0 if agree else optimize.brentq(lambda v: squares(v) - dof, 0, 1e3, xtol=1e-16)
    else:
        variance = max(0.0, float(np.var(x, ddof=1) - (u**2).mean()))
    if method == "equal-weights":
        known = sqrt((u**2 + variance).sum()) / len(x)
        mean, found = float(x.mean()), float(np.std(x, ddof=1)) / sqrt(len(x))
    else:
        w = 1 / (u**2 + variance)
        mean, known = float((w * x).sum() / w.sum()), float(w.sum()) ** -0.5
        found = known * sqrt(max(1.0, squares(variance) / dof))
    return {
        "mean": mean,
        "between_sets": sqrt(variance),
        "standard_uncertainty": found,
        "known": known,
    }


def random_effects():
    """Variances between sets confirmed with statsmodels 0.15.0, combine_effects, on 2026-11-30."""
    methods = ("mandel-paule", "dersimonian-laird", "equal-weights")
    return [
        {"results": x, "standard_uncertainties": u}
        | {method: between_sets(x, u, method) for method in methods}
        for x, u in RANDOM_EFFECTS
    ]


def ordinary_line(x, y):
    """Ordinary least squares in rational arithmetic, exact at the stored doubles."""
    fx, fy, n = [Fraction(v) for v in x], [Fraction(v) for v in y], len(x)
    mx, my = sum(fx) / n, sum(fy) / n
    sxx = sum((a - mx) ** 2 for a in fx)
    slope = sum((a - mx) * (b - my) for a, b in zip(fx, fy, strict=True)) / sxx
    intercept = my - slope * mx
    rss = sum((b - intercept - slope * a) ** 2 for a, b in zip(fx, fy, strict=True))
    s2 = rss / (n - 2)

    def root(q):
        return sqrt(q.numerator / q.denominator) if q < 1e300 else float("inf")

    return {
        "x": x,
        "y": y,
        "intercept": float(intercept),
        "slope": float(slope),
        "u_intercept": root(s2 * (Fraction(1, n) + mx**2 / sxx)),
        "u_slope": root(s2 / sxx),
        "residual_deviation": root(s2),
    }


def objective(p, x, y, covariance):
    """chi-squared of a line with the true abscissae eliminated, for any covariance matrix."""
    a, b = p
    n = len(x)
    d = np.hstack([-b * np.eye(n), np.eye(n)])
    v = d @ covariance @ d.T
    r = y - a - b * x
    return float(r @ np.linalg.solve(v, r))


def line_in_both(x, y, covariance):
    """Minimum and covariance of the parameters (inverse of half of the Hessian by Gauss-Newton)."""
    x, y, covariance = np.array(x), np.array(y), np.array(covariance)
    b, a = np.polyfit(x, y, 1)
    scale = np.array([max(abs(a), 1e-3), max(abs(b), 1e-3)])
    best = optimize.minimize(
        lambda q: objective(q * scale, x, y, covariance),
        np.array([a, b]) / scale,
        method="Nelder-Mead",
        options={"xatol": 1e-13, "fatol": 1e-15, "maxiter": 20000},
    )
    a, b = best.x * scale
    # whitened Jacobian of the full problem, unknowns: abscissae, intercept, slope
    n = len(x)
    dm = np.hstack([-b * np.eye(n), np.eye(n)])
    v = dm @ covariance @ dm.T
    r = y - a - b * x
    lam = np.linalg.solve(v, r)
    xi = x + (covariance @ dm.T @ lam)[:n] * -1
    j = np.zeros((2 * n, n + 2))
    j[:n, :n] = np.eye(n)
    j[n:, :n] = b * np.eye(n)
    j[n:, n] = 1
    j[n:, n + 1] = xi
    cov = np.linalg.inv(j.T @ np.linalg.solve(covariance, j))[-2:, -2:]
    return {
        "x": x.tolist(),
        "y": y.tolist(),
        "covariance": covariance.tolist(),
        "intercept": float(a),
        "slope": float(b),
        "chi_squared": float(best.fun),
        "u_intercept": float(np.sqrt(cov[0, 0])),
        "u_slope": float(np.sqrt(cov[1, 1])),
        "covariance_of_parameters": float(cov[0, 1]),
    }


def confirm_by_odr(line):
    """ODRPACK on the same data, independent coordinates."""
    if odr is None:
        return line
    n, u = len(line["x"]), np.sqrt(np.diag(line["covariance"]))
    data = odr.RealData(line["x"], line["y"], sx=u[:n], sy=u[n:])
    fit = odr.ODR(
        data, odr.Model(lambda b, x: b[0] + b[1] * x), beta0=[0.0, 2.0], sstol=1e-15, partol=1e-15
    ).run()
    assert np.allclose(fit.beta, [line["intercept"], line["slope"]], rtol=1e-7), fit.beta
    # cov_beta is the inverse normal matrix by finite differences
    u_fit = np.sqrt(np.diag(fit.cov_beta))
    assert np.allclose(u_fit, [line["u_intercept"], line["u_slope"]], rtol=1e-3), u_fit
    return line


def lines():
    x = [1.0, 2.1, 2.9, 4.2, 5.0, 6.1]
    y = [2.2, 4.1, 6.2, 8.0, 10.3, 11.9]
    rng = [0.05, 0.1, 0.08, 0.12, 0.05, 0.09]
    n = len(x)
    diagonal = np.diag([0.04**2] * n + [u**2 for u in rng])
    shared = diagonal.copy()
    shared[:n, :n] += 0.03**2  # a common offset of all abscissae
    shared[n:, n:] += np.outer(y, y) * 0.004**2  # a common relative error of all ordinates
    for i in range(n):  # and each point correlated with itself
        shared[i, n + i] = shared[n + i, i] = 0.3 * 0.04 * rng[i]
    only_y = np.diag([1e-14] * n + [u**2 for u in rng])
    return {
        "ordinary": ordinary_line(x, y),
        "steep": ordinary_line([1e6 + v for v in x], y),
        "both": confirm_by_odr(line_in_both(x, y, diagonal)),
        "shared": line_in_both(x, y, shared),
        "almost_exact_x": line_in_both(x, y, only_y),
    }


def golden():
    return {
        **tails(),
        "grubbs": grubbs(),
        "one_way": one_way(),
        "weighted": weighted(),
        "random_effects": random_effects(),
        "lines": lines(),
    }


def main():
    text = one_point_a_line(golden(), indent=1, lists=True)
    write_or_check(GOLDEN, text, relative=RELATIVE_TOLERANCE)


if __name__ == "__main__":
    main()
