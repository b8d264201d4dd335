"""Golden values of every kind of distribution: mean, variance, and density and cdf at points.

Writes tests/golden/distributions.json. Run from the repository root:

    python tests/golden/generate/distributions.py [--check]

Densities are the textbook formulas, evaluated by mpmath with 40 digits at the exact doubles stored
in the file; distribution functions and moments are their integrals by quadrature where mpmath has
no closed form, so that they do not share an algebraic step with the library. Where scipy has the
distribution, the values must agree with it to 1e-9 before they are written.
"""

from math import isclose
from pathlib import Path

import mpmath as mp
from _committed import one_point_a_line, write_or_check
from scipy import stats

GOLDEN = Path("tests/golden/distributions.json")
RELATIVE_TOLERANCE = 4e-16
mp.mp.dps = 40
INF = mp.inf


def integral(f, points):
    return mp.quad(f, points)


class Kind:
    """A density with its break points; moments and cdf by quadrature unless overridden."""

    def __init__(self, parameters, density, breaks, scipy=None, cdf=None, moments=None):
        self.parameters, self.density, self.breaks = (
            parameters,
            density,
            [mp.mpf(b) for b in breaks],
        )
        self.scipy, self.closed_cdf, self.moments = scipy, cdf, moments

    def cdf(self, x):
        if self.closed_cdf:
            return self.closed_cdf(x)
        return integral(self.density, [b for b in self.breaks if b < x] + [x])

    def mean_and_variance(self):
        if self.moments:
            return self.moments
        mean = integral(lambda x: x * self.density(x), self.breaks)
        return mean, integral(lambda x: (x - mean) ** 2 * self.density(x), self.breaks)


def normal_pdf(z):
    return mp.exp(-z * z / 2) / mp.sqrt(2 * mp.pi)


def rectangular(a, b):
    return Kind(
        {"kind": "rectangular", "lower": a, "upper": b},
        lambda x: 1 / (mp.mpf(b) - a),
        [a, b],
        stats.uniform(a, b - a),
    )


def curvilinear(a, b, d):
    w, m = (mp.mpf(b) - a) / 2, (mp.mpf(a) + b) / 2

    def density(x):  # JCGM 101:2008, 6.4.3.2
        return mp.log((w + d) / max(abs(x - m), w - d)) / (4 * mp.mpf(d))

    return Kind(
        {"kind": "curvilinear_trapezoid", "lower": a, "upper": b, "limit_half_width": d},
        density,
        [mp.mpf(a) - d, mp.mpf(a) + d, mp.mpf(b) - d, mp.mpf(b) + d],
    )


def trapezoidal(a, b, beta):
    w, m = (mp.mpf(b) - a) / 2, (mp.mpf(a) + b) / 2
    top = mp.mpf(beta) * w

    def density(x):  # JCGM 101:2008, 6.4.4.2
        y = abs(x - m)
        return (1 if y < top else (w - y) / (w - top)) / (w * (1 + mp.mpf(beta)))

    return Kind(
        {"kind": "trapezoidal", "lower": a, "upper": b, "top_ratio": beta},
        density,
        [a, m - top, m + top, b],
        stats.trapezoid((1 - beta) / 2, (1 + beta) / 2, a, b - a),
    )


def triangular(a, b):
    w, m = (mp.mpf(b) - a) / 2, (mp.mpf(a) + b) / 2
    return Kind(
        {"kind": "triangular", "lower": a, "upper": b},
        lambda x: (w - abs(x - m)) / w**2,
        [a, m, b],
        stats.triang(0.5, a, b - a),
    )


def arcsine(a, b):
    w, m = (mp.mpf(b) - a) / 2, (mp.mpf(a) + b) / 2
    return Kind(
        {"kind": "arcsine", "lower": a, "upper": b},
        lambda x: 1 / (mp.pi * mp.sqrt(w**2 - (x - m) ** 2)),
        [a, m, b],
        stats.arcsine(a, b - a),
        cdf=lambda x: mp.mpf(1) / 2 + mp.asin((x - m) / w) / mp.pi,
        moments=(m, w**2 / 2),
    )


def normal(mu, s):
    return Kind(
        {"kind": "normal", "mean": mu, "standard_deviation": s},
        lambda x: normal_pdf((x - mu) / mp.mpf(s)) / s,
        [-INF, INF],
        stats.norm(mu, s),
        cdf=lambda x: mp.erfc(-(x - mu) / (mp.mpf(s) * mp.sqrt(2))) / 2,
        moments=(mp.mpf(mu), mp.mpf(s) ** 2),
    )


def student(mu, s, dof):
    n = mp.mpf(dof)

    def density(x):
        t = (x - mu) / mp.mpf(s)
        return (1 + t * t / n) ** (-(n + 1) / 2) / (mp.sqrt(n) * mp.beta(n / 2, 0.5)) / s

    return Kind(
        {"kind": "student_t", "location": mu, "scale": s, "dof": dof},
        density,
        [-INF, mu, INF],
        stats.t(dof, mu, s),
        moments=(mp.mpf(mu), mp.mpf(s) ** 2 * n / (n - 2)),
    )


def exponential(mean):
    m = mp.mpf(mean)
    return Kind(
        {"kind": "exponential", "mean": mean},
        lambda x: mp.exp(-x / m) / m,
        [0, INF],
        stats.expon(0, mean),
        cdf=lambda x: -mp.expm1(-x / m),
        moments=(m, m * m),
    )


def gamma(shape, scale):
    a, s = mp.mpf(shape), mp.mpf(scale)
    return Kind(
        {"kind": "gamma", "shape": shape, "scale": scale},
        lambda x: mp.exp((a - 1) * mp.log(x / s) - x / s - mp.loggamma(a)) / s,
        [0, INF],
        stats.gamma(shape, 0, scale),
        cdf=lambda x: mp.gammainc(a, 0, x / s, regularized=True),
        moments=(a * s, a * s * s),
    )


def beta(alpha, b, lower, upper):
    p, q, w = mp.mpf(alpha), mp.mpf(b), mp.mpf(upper) - lower

    def density(x):
        t = (x - lower) / w
        return t ** (p - 1) * (1 - t) ** (q - 1) / mp.beta(p, q) / w

    return Kind(
        {"kind": "beta", "alpha": alpha, "beta": b, "lower": lower, "upper": upper},
        density,
        [lower, upper],
        stats.beta(alpha, b, lower, upper - lower),
        cdf=lambda x: mp.betainc(p, q, 0, (x - lower) / w, regularized=True),
        moments=(lower + w * p / (p + q), w**2 * p * q / ((p + q) ** 2 * (p + q + 1))),
    )


def lognormal(m, s):
    return Kind(
        {"kind": "lognormal", "log_mean": m, "log_standard_deviation": s},
        lambda x: normal_pdf((mp.log(x) - m) / mp.mpf(s)) / (x * s),
        [0, INF],
        stats.lognorm(s, 0, float(mp.exp(m))),
        cdf=lambda x: mp.erfc(-(mp.log(x) - m) / (mp.mpf(s) * mp.sqrt(2))) / 2,
        moments=(
            mp.exp(m + mp.mpf(s) ** 2 / 2),
            mp.expm1(mp.mpf(s) ** 2) * mp.exp(2 * mp.mpf(m) + mp.mpf(s) ** 2),
        ),
    )


def truncated(mu, s, lower, upper):
    lo = -INF if lower is None else mp.mpf(lower)
    hi = INF if upper is None else mp.mpf(upper)
    sigma = mp.mpf(s)

    def phi(z):
        return mp.erfc(-z / mp.sqrt(2)) / 2

    mass = phi((hi - mu) / sigma) - phi((lo - mu) / sigma)
    a, b = (lo - mu) / sigma, (hi - mu) / sigma
    fa, fb = (normal_pdf(v) if mp.isfinite(v) else mp.mpf(0) for v in (a, b))
    za, zb = (0 if not mp.isfinite(v) else v * f for v, f in ((a, fa), (b, fb)))
    shift = (fa - fb) / mass
    return Kind(
        {"kind": "truncated_normal", "location": mu, "scale": s, "lower": lower, "upper": upper},
        lambda x: normal_pdf((x - mu) / sigma) / (sigma * mass),
        [lo, hi],
        stats.truncnorm(float(a), float(b), mu, s),
        cdf=lambda x: (phi((x - mu) / sigma) - phi((lo - mu) / sigma)) / mass,
        moments=(mu + sigma * shift, sigma**2 * (1 + (za - zb) / mass - shift**2)),
    )


def density_table(xs, ds):
    xs_, ds_ = [mp.mpf(x) for x in xs], [mp.mpf(d) for d in ds]
    total = sum((ds_[i] + ds_[i + 1]) / 2 * (xs_[i + 1] - xs_[i]) for i in range(len(xs) - 1))

    def density(x):
        i = max(k for k in range(len(xs) - 1) if xs_[k] <= x)
        t = (x - xs_[i]) / (xs_[i + 1] - xs_[i])
        return (ds_[i] + (ds_[i + 1] - ds_[i]) * t) / total

    return Kind({"kind": "density_table", "x": xs, "density": ds}, density, xs)


def probability_table(xs, ps):
    def density(x):
        i = max(k for k in range(len(xs) - 1) if xs[k] <= x)
        return (mp.mpf(ps[i + 1]) - ps[i]) / (mp.mpf(xs[i + 1]) - xs[i])

    return Kind({"kind": "probability_table", "x": xs, "probability": ps}, density, xs)


CASES = [
    (rectangular(-1.0, 3.0), [-0.75, 1.0, 2.875]),
    (curvilinear(-1.0, 3.0, 0.25), [-1.1875, -0.9, -0.75, 0.5, 1.0, 2.9, 3.2]),
    (curvilinear(0.0, 1e-3, 4.9e-4), [-4.5e-4, 1e-4, 4.995e-4, 5e-4, 9e-4, 1.4e-3]),
    (trapezoidal(-1.0, 3.0, 0.25), [-0.9, 0.25, 0.75, 1.0, 2.0, 2.9375]),
    (trapezoidal(-1.0, 3.0, 0.0), [-0.5, 1.0, 2.5]),
    (triangular(-1.0, 3.0), [-0.9375, 0.5, 1.0, 2.5]),
    (arcsine(-1.0, 3.0), [-0.9375, 0.5, 1.0, 2.984375]),
    (normal(2.0, 0.5), [-1.0, 1.5, 2.0, 3.25]),
    (student(2.0, 0.5, 5.0), [-8.0, 1.5, 2.5, 4.0]),
    (student(2.0, 0.5, 30.5), [0.0, 1.5, 2.5, 4.0]),
    (exponential(2.5), [1e-9, 0.5, 2.5, 30.0]),
    (gamma(1.0, 1.0), [1e-3, 1.0, 12.0]),
    (gamma(8.0, 1.0), [0.5, 4.0, 7.5, 9.5, 30.0]),
    (gamma(0.3, 2.0), [1e-12, 0.01, 0.5, 8.0]),
    (gamma(1250.0, 0.25), [260.0, 312.5, 313.0, 350.0]),
    (beta(1.0, 1.0, 0.0, 1.0), [0.25, 0.875]),
    (beta(3.0, 9.0, 0.0, 1.0), [0.01, 0.2, 0.5, 0.9]),
    (beta(0.5, 0.25, -2.0, 6.0), [-1.9375, 0.0, 5.5, 5.9375]),
    (beta(120.0, 480.0, 0.0, 1.0), [0.125, 0.1875, 0.2, 0.25]),
    (lognormal(0.5, 0.25), [0.5, 1.5, 2.0, 5.0]),
    (lognormal(-7.0, 1.5), [1e-6, 1e-3, 0.25]),
    (truncated(1.0, 0.5, 0.0, None), [0.0625, 0.75, 1.0, 2.5]),
    (truncated(1.0, 0.5, None, 0.25), [-2.0, -0.5, 0.125]),
    (truncated(1.0, 0.5, 4.0, 9.0), [4.015625, 4.25, 5.0]),
    (truncated(1.0, 0.5, 0.75, 0.750030517578125), [0.75000762939453125, 0.75002288818359375]),
    (truncated(1.0, 0.5, 0.5, 3.0), [0.5625, 1.0, 2.0]),
    (density_table([0.0, 1.0, 1.5, 4.0], [0.0, 3.0, 1.0, 0.5]), [0.25, 1.25, 1.5, 3.0]),
    (probability_table([0.0, 1.0, 1.5, 4.0], [0.0, 0.125, 0.5, 1.0]), [0.25, 1.25, 3.0]),
]


def entry(kind, points):
    mean, variance = kind.mean_and_variance()
    rows = [
        {"x": x, "density": float(kind.density(mp.mpf(x))), "cdf": float(kind.cdf(mp.mpf(x)))}
        for x in points
    ]
    if kind.scipy is not None:
        for row in rows:
            assert isclose(kind.scipy.pdf(row["x"]), row["density"], rel_tol=1e-9), (
                kind.parameters,
                row,
            )
            assert isclose(kind.scipy.cdf(row["x"]), row["cdf"], rel_tol=1e-8), (
                kind.parameters,
                row,
            )
        assert isclose(kind.scipy.mean(), float(mean), rel_tol=1e-9), kind.parameters
    return {
        "parameters": kind.parameters,
        "confirmed_by_scipy": kind.scipy is not None,
        "mean": float(mean),
        "variance": float(variance),
        "points": rows,
    }


def main():
    text = one_point_a_line(
        {"distributions": [entry(kind, points) for kind, points in CASES]}, indent=1, lists=True
    )
    write_or_check(GOLDEN, text, relative=RELATIVE_TOLERANCE)


if __name__ == "__main__":
    main()
