"""Turbulent pipe flow with viscous layer and wake: Chebyshev fits and golden values.

Writes src/profile/wake_fit.rs and tests/golden/wake.json. Run from the repository root:

    python tests/golden/generate/wake_fit.py [--check]

The path excess is the mean velocity on a diametral path less the mean over the area, in units of
the friction velocity. The fits come from Gauss-Legendre quadrature in doubles, the golden values
from mpmath with 30 digits, so that a test against the golden values also tests the quadrature.
With --check both files are recomputed and compared instead, and the exit status is 1 if anything
differs beyond rounding.
"""

import sys
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import mpmath
import numpy as np
from _committed import one_point_a_line, write_or_check
from numpy.polynomial import chebyshev, legendre

FIT = Path("src/profile/wake_fit.rs")
GOLDEN = Path("tests/golden/wake.json")
RELATIVE_TOLERANCE = 1e-13
COEFFICIENT_TOLERANCE = 5e-13  # absolute, beside the relative one

FRICTION_REYNOLDS = (50.0, 5e6)
SHIFT = 30.0  # of the friction Reynolds number in the variable of the series
DEGREE = 26
LARGEST_ERROR = 3e-9  # of a series against the quadrature, in friction velocities
DECIMALS = 15  # of the coefficients
# of the quadrature; exact to 2e-14, but 5e-9 for Cantwell, whose slope is a root on the axis
NODES = 160
GOLDEN_FRICTION_REYNOLDS = [
    *(50.0, 70.0, 100.0, 150.0, 180.0, 300.0, 500.0, 1000.0, 2003.0, 3000.0, 5000.0, 1e4, 2e4),
    *(5e4, 1e5, 2e5, 5e5, 1e6, 2e6, 5e6),
]
GOLDEN_CHORDS = [(r, h) for r in (100.0, 1000.0, 1e5) for h in (0.05, 0.25, 0.5, 0.809017, 0.97)]
GOLDEN_RADII = [(r, x) for r in (100.0, 1000.0, 1e5) for x in (0.0, 0.3, 0.75, 0.99)]

CESS_SOURCE = (
    "R. D. Cess 1958, Westinghouse Research Report 8-0529-R24, in the form of"
    " W. C. Reynolds and W. G. Tiederman 1967, J. Fluid Mech. 27, 253"
)
# kappa, damping length and level on the axis of the default, rounded from profile_fit.py
FITTED = ("0.422", "26.2", "0.243")
DOUBLES = SimpleNamespace(
    sqrt=np.sqrt, exp=np.exp, number=float, fraction=lambda text: float(Fraction(text))
)
DIGITS = SimpleNamespace(
    sqrt=mpmath.sqrt,
    exp=mpmath.exp,
    number=mpmath.mpf,
    fraction=lambda text: mpmath.mpf(Fraction(text).numerator) / Fraction(text).denominator,
)


# The shear g = -(1/r) du+/dr of each profile at r = 1 - y, r = radius/R, with friction Reynolds
# number R+; `m` has the functions of doubles or of mpmath.


def cess(kappa, damping_length, on_axis):
    """The eddy viscosity of the outer layer, over kappa u* y, falls from 1 at the wall to half of
    `on_axis` on the axis: (1 - r^2)/2 (1 - (1 - on_axis)(1 - r^2)), where 1 - r^2 = y (2 - y)."""

    def shear(y, reynolds, m):
        kappa_, a, axis = m.number(kappa), m.number(damping_length), m.fraction(on_axis)
        square = y * (2 - y)
        outer = kappa_ * reynolds * square * (1 - (1 - axis) * square)
        damping = 1 - m.exp(-y * reynolds / a)
        return 2 * reynolds / (1 + m.sqrt(1 + (outer * damping) ** 2))

    return shear


def reichardt(y, reynolds, m):
    """u+ = ln(1 + 0.4 c y+)/0.4 + 7.8 (1 - exp(-y+/11) - (y+/11) exp(-y+/3)), where
    c = 1.5 (1 + r)/(1 + 2 r^2)."""
    kappa, wall = m.number("0.4"), reynolds * y
    # c y = n/d
    n, d = 3 * y * (2 - y) / 2, 3 - 4 * y + 2 * y * y
    slope = (3 * (1 - y) * d + n * 4 * (1 - y)) / d**2
    core = reynolds * slope / (1 + kappa * reynolds * n / d)
    layer = m.exp(-wall / 11) / 11 + (wall / 33 - m.number(1) / 11) * m.exp(-wall / 3)
    return (core + m.number("7.8") * reynolds * layer) / (1 - y)


def cantwell(y, reynolds, m):
    """Mixing length; du+/dr = -R+ (sqrt(1 + 4 L^2 r) - 1)/(2 L^2) without its cancellation."""
    kappa, a, m_, b, n = (m.number(x) for x in ("0.4092", "20.095", "1.621", "0.3195", "1.619"))
    wall = 1 - m.exp(-((y * reynolds / a) ** m_))
    length = kappa * y * reynolds * wall / (1 + (y / b) ** n) ** (1 / n)
    return 2 * reynolds / (1 + m.sqrt(1 + 4 * length**2 * (1 - y)))


# name, shear, source
PROFILES = [
    (
        "fitted",
        cess(*FITTED),
        f"{CESS_SOURCE}; constants fitted to measured and simulated profiles by profile_fit.py:"
        " kappa = {}, A+ = {}, {} on the axis".format(*FITTED),
    ),
    (
        "cess",
        cess("0.426", "25.4", "1/3"),
        f"{CESS_SOURCE}; constants J. C. del Alamo and J. Jimenez 2006, J. Fluid Mech. 559, 205,"
        " which suit channel flow at a friction Reynolds number of 2003:"
        " kappa = 0.426, A+ = 25.4",
    ),
    ("cess_040", cess("0.40", "25", "1/3"), f"{CESS_SOURCE}; kappa = 0.40, A+ = 25 from memory"),
    (
        "reichardt",
        reichardt,
        "H. Reichardt 1951, Z. angew. Math. Mech. 31, 208, with kappa = 0.40 and the factor"
        " 1.5 (1 + r)/(1 + 2 r^2) on y+ (from memory)",
    ),
    (
        "cantwell",
        cantwell,
        "B. J. Cantwell 2019, J. Fluid Mech. 878, 834: mean parameters"
        " (kappa seen in the abstract, form and others from memory)",
    ),
]

# With u+ = 0 at the wall, integration by parts gives
#     path mean = int r^2 g dr,    area mean = int r^3 g dr,
# and the excess of the one over the other is int r^2 (1 - r) g dr, all from 0 to 1.


def path_excess(shear, friction_reynolds):
    """Path mean less area mean, in friction units, by Gauss-Legendre quadrature.

    Nodes are clustered at the wall by y = (b^s - 1)/(b - 1), s from 0 to 1, with b such that the
    first of them are evenly spaced up to about five viscous lengths.
    """
    s, weights = legendre.leggauss(NODES)
    s, weights = (s + 1) / 2, weights / 2
    reynolds = np.asarray(friction_reynolds)[..., None]
    log_b = np.log1p(reynolds / 5)
    y = np.expm1(s * log_b) / np.expm1(log_b)
    dy_ds = log_b * np.exp(s * log_b) / np.expm1(log_b)
    integrand = (1 - y) ** 2 * y * shear(y, reynolds, DOUBLES)
    return (integrand * dy_ds * weights).sum(axis=-1)


def series(shear):
    """Coefficients, and the largest error of the series against the quadrature."""

    def excess_at(x):
        # x in -1..1 is the linear map of (R+ + shift)^(-1/4)
        first, last = (np.array(FRICTION_REYNOLDS) + SHIFT) ** -0.25
        return path_excess(shear, ((first + last + x * (last - first)) / 2) ** -4.0 - SHIFT)

    # The interpolating series of a higher degree, truncated.
    coefficients = chebyshev.chebinterpolate(excess_at, 2 * DEGREE)[: DEGREE + 1]
    coefficients = np.round(coefficients, DECIMALS) + 0.0  # no -0.0
    x = np.linspace(-1, 1, 4001)
    error = np.abs(chebyshev.chebval(x, coefficients) - excess_at(x)).max()
    if error > LARGEST_ERROR:
        sys.exit(f"the fit is too poor: {error}")
    return coefficients, error


def constant(name, shear):
    coefficients, error = series(shear)
    rows = "".join(f"    {float(c)!r},\n" for c in coefficients)
    return f"""
/// Profile `{name}`; the largest error against the quadrature is {error:.0e}.
#[rustfmt::skip]
pub(super) const {name.upper()}: [f64; {DEGREE + 1}] = [
{rows}];
"""


def rust_module():
    low, high = FRICTION_REYNOLDS
    return f"""\
//! Path excess of turbulent flow in a smooth pipe, as Chebyshev series.
//!
//! The path excess is the mean velocity on a diametral path less the mean over the area, in units
//! of the friction velocity. The variable is (R+ + shift)^(-1/4), where R+ = R u*/nu is the
//! friction Reynolds number, mapped linearly from the range below onto -1..1; that takes half as
//! many terms as the logarithm. Coefficients are dimensionless, from degree 0 upwards.
//!
//! # Source
//! The profiles of `wake.rs`. Generated by `python tests/golden/generate/wake_fit.py`; do not
//! edit.

/// Range of the friction Reynolds number over which the series were fitted.
pub(super) const FRICTION_REYNOLDS: [f64; 2] = [{low}, {high / 1e6}e6];
/// What is added to the friction Reynolds number in the variable.
pub(super) const SHIFT: f64 = {SHIFT};
{"".join(constant(name, shear) for name, shear, _ in PROFILES)}"""


def integral(f, low, reynolds):
    """The integral over y from the wall to `low`, in panels that narrow towards both ends."""
    wall_layers = [2**k / reynolds for k in range(-1, 46) if 2**k / reynolds < low / 2]
    inner = [low * (1 - mpmath.mpf(4) ** -k) for k in range(1, 12)]
    return mpmath.quad(f, [0, *wall_layers, *inner, low], method="gauss-legendre")


def golden_point(shear, friction_reynolds):
    reynolds = mpmath.mpf(friction_reynolds)

    def total(weight):
        return integral(lambda y: weight(y) * shear(y, reynolds, DIGITS), mpmath.mpf(1), reynolds)

    excess = total(lambda y: (1 - y) ** 2 * y)
    bulk = total(lambda y: (1 - y) ** 3)
    return {
        "R_plus": friction_reynolds,
        "Delta": float(excess),
        "U_bulk_plus": float(bulk),
        "Re": float(2 * reynolds * bulk),
        "k": float(bulk / (bulk + excess)),
    }


def golden_chord(shear, friction_reynolds, offset):
    """Mean over a chord less that over a diameter, by the substitution r^2 = h^2 + s^2 undone:
    the chord mean is int sqrt(r^2 - h^2) r g dr / l from h to 1."""
    reynolds, h = mpmath.mpf(friction_reynolds), mpmath.mpf(offset)

    def mean(h):
        def weighted(y):
            r = 1 - y
            # never below zero at the end of the chord, where rounding may make it so
            return mpmath.sqrt(abs(r * r - h * h)) * r * shear(y, reynolds, DIGITS)

        return integral(weighted, 1 - h, reynolds) / mpmath.sqrt(1 - h * h)

    return {"R_plus": friction_reynolds, "h": offset, "difference": float(mean(h) - mean(0))}


def golden_velocity(shear, friction_reynolds, r):
    reynolds = mpmath.mpf(friction_reynolds)

    def sheared(power, low):
        return integral(lambda y: (1 - y) ** power * shear(y, reynolds, DIGITS), low, reynolds)

    difference = sheared(1, 1 - mpmath.mpf(r)) - sheared(3, mpmath.mpf(1))
    return {"R_plus": friction_reynolds, "r": r, "difference": float(difference)}


def golden():
    """The whole content of the file of golden values."""
    mpmath.mp.dps = 30
    return {
        name: {
            "source": source,
            "points": [golden_point(shear, reynolds) for reynolds in GOLDEN_FRICTION_REYNOLDS],
            "chords": [golden_chord(shear, *point) for point in GOLDEN_CHORDS],
            "velocities": [golden_velocity(shear, *point) for point in GOLDEN_RADII],
        }
        for name, shear, source in PROFILES
    }


def main():
    relative = RELATIVE_TOLERANCE
    write_or_check(FIT, rust_module(), relative=relative, absolute=COEFFICIENT_TOLERANCE)
    write_or_check(GOLDEN, one_point_a_line(golden()), relative=relative)


if __name__ == "__main__":
    main()
