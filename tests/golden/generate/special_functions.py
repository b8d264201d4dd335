"""Golden values of the normal distribution and of Student's t.

Writes tests/golden/special_functions.json. Run from the repository root:

    python tests/golden/generate/special_functions.py [--check]

Everything is computed at the exact doubles stored in the file, with 260 digits, of which at least
50 remain after the worst cancellation; each result is stored as the double nearest to it. With
--check the file is recomputed and compared instead, and the exit status is 1 if a number differs
by more than one unit in the last place.
"""

from math import nextafter
from pathlib import Path

from _committed import one_point_a_line, write_or_check
from mpmath import beta, erfc, erfinv, findroot, hyp2f1, log, mp, mpf, sqrt

GOLDEN = Path("tests/golden/special_functions.json")
RELATIVE_TOLERANCE = 2.3e-16
mp.dps = 260

NORMAL_PROBABILITIES = [
    *(1e-300, 1e-200, 1e-100, 1e-50, 1e-30, 1e-20, 1e-16, 1e-12, 1e-10, 1e-8, 1e-6, 1e-5, 1e-4),
    *(1e-3, 0.005, 0.01, 0.02275013194817921, 0.024997895148220435, 0.025, 0.05, 0.074, 0.076),
    *(0.1, 0.15865525393145705, 0.25, 0.4, 0.49, nextafter(0.5, 0), 0.5, 0.5 + 1e-9, 0.6, 0.75),
    *(0.9, 0.924, 0.926, 0.95, 0.975, 0.995, 0.9995, 1 - 1e-6, 1 - 1e-12, 1 - 2**-53),
]
NORMAL_ARGUMENTS = [
    *(-37.0, -30.0, -20.0, -10.0, -8.0, -6.0, -5.0, -4.0, -3.0, -2.0, -1.959963984540054, -1.0),
    *(-0.5, -1e-8, 0.0, 1e-8, 0.5, 1.0, 1.959963984540054, 3.0, 5.0, 8.0),
]
DEGREES_OF_FREEDOM = [
    *(0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 9.0, 16.0, 16.7411, 30.0, 100.0, 999.0, 1000.0, 9999.0),
    *(1e4, 1e5, 1e6, 1e7, 1e9),
]
STUDENT_PROBABILITIES = [
    *(1e-10, 0.025, 0.5 + 1e-9, 0.6, 0.75, 0.9, 0.95, 0.975, 0.995, 0.9995, 1 - 1e-6)
]
STUDENT_ARGUMENTS = [-30.0, -6.0, -2.0, -0.5, 0.0, 1e-6, 1.0, 2.5, 12.0]
STUDENT_CDF_DEGREES = [0.5, 1.0, 2.0, 5.0, 16.7411, 1000.0, 1e6]


def normal_cdf(x):
    """Abramowitz & Stegun 1964, 26.2.29, with the complement 7.1.2."""
    return erfc(-x / sqrt(mpf(2))) / 2


def normal_quantile(p):
    """The inverse of `normal_cdf`; on a logarithmic scale in the far tails."""
    p = mpf(p)
    if p > 0.5:
        return -normal_quantile(1 - p)
    if p > 1e-5:
        return sqrt(mpf(2)) * erfinv(2 * p - 1)
    return findroot(lambda x: log(normal_cdf(x)) - log(p), -sqrt(-2 * log(p)))


def incomplete_beta_ratio(a, b, x, one_minus_x):
    """I_x(a, b), NIST DLMF 8.17.2 and 8.17.8."""
    return x**a * one_minus_x**b * hyp2f1(a + b, 1, a + 1, x) / (a * beta(a, b))


def student_tail(t, dof):
    """P(T > t) for t >= 0: Abramowitz & Stegun 1964, 26.5.27, with the symmetry 26.5.2."""
    x, one_minus_x = dof / (dof + t**2), t**2 / (dof + t**2)
    half = mpf(1) / 2
    if t**2 < dof:  # then the other series converges slowly
        return half - incomplete_beta_ratio(half, dof / 2, one_minus_x, x) / 2
    return incomplete_beta_ratio(dof / 2, half, x, one_minus_x) / 2


def student_cdf(t, dof):
    t, dof = mpf(t), mpf(dof)
    return student_tail(-t, dof) if t < 0 else 1 - student_tail(t, dof)


def student_density(t, dof):
    """Abramowitz & Stegun 1964, 26.7.1, integrand."""
    return (1 + t**2 / dof) ** (-(dof + 1) / 2) / (sqrt(dof) * beta(dof / 2, mpf(1) / 2))


def student_quantile(p, dof):
    """Newton's rule for ln P(T > t) as a function of ln t, which is concave: it cannot cycle.

    The step is limited so that P does not vanish among the digits of `student_tail` on the way.
    """
    p, dof = mpf(p), mpf(dof)
    if p < 0.5:
        return -student_quantile(1 - p, dof)
    t, step = mpf(1), mpf(1)
    while abs(step) > mpf(10) ** -25:  # the next error is of the order of its square
        tail = student_tail(t, dof)
        step = min(log(tail / (1 - p)) * tail / (t * student_density(t, dof)), mpf(1))
        t *= mp.exp(step)
    return t


def golden():
    """The whole content of the file."""
    source = "Abramowitz and Stegun 1964, Handbook of Mathematical Functions, "
    return {
        "normal_quantile": {
            "source": source + "26.2.2 (inverse)",
            "points": [{"p": p, "x": float(normal_quantile(p))} for p in NORMAL_PROBABILITIES],
        },
        "normal_cdf": {
            "source": source + "26.2.2",
            "points": [{"x": x, "p": float(normal_cdf(x))} for x in NORMAL_ARGUMENTS],
        },
        "student_quantile": {
            "source": source + "26.7.1 (inverse)",
            "points": [
                {"p": p, "dof": dof, "t": float(student_quantile(p, dof))}
                for dof in DEGREES_OF_FREEDOM
                for p in STUDENT_PROBABILITIES
            ],
        },
        "student_cdf": {
            "source": source + "26.7.1",
            "points": [
                {"t": t, "dof": dof, "p": float(student_cdf(t, dof))}
                for dof in STUDENT_CDF_DEGREES
                for t in STUDENT_ARGUMENTS
            ],
        },
    }


def main():
    text = one_point_a_line(golden())
    write_or_check(GOLDEN, text, relative=RELATIVE_TOLERANCE)


if __name__ == "__main__":
    main()
