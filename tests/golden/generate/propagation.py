"""Golden values of the propagation of uncertainty, first and second order, with correlation.

Writes tests/golden/propagation.json. Run from the repository root:

    python tests/golden/generate/propagation.py [--check]

Derivatives to third order by mpmath's numerical differentiation with 60 digits, then the explicit
matrix products: U_y = C U_x C^T (JCGM 102:2011, 6.2.1), and for second order with jointly normal
inputs tr(H U H U) / 2 + (U g) . grad tr(H U). Nothing here shares a step with dual numbers.
"""

import json
import re
from itertools import product
from pathlib import Path

import mpmath as mp
from _committed import write_or_check

GOLDEN = Path("tests/golden/propagation.json")
RELATIVE_TOLERANCE = 1e-15
mp.mp.dps = 60

ESTIMATES = [1.25, 0.75, 2.5, 0.375]
UNCERTAINTIES = [0.125, 0.0625, 0.25, 0.03125]
CORRELATIONS = {(0, 1): 0.5, (0, 2): -0.25, (1, 3): 0.375}


def first(a, b, c, d):
    return mp.sqrt(a * c) * mp.exp(-b) + mp.sin(d * c) / a


def second(a, b, c, d):
    return mp.log(a + c) * mp.power(b, c) - mp.atan(d / b)


MODELS = [first, second]
N = len(ESTIMATES)


def derivative(f, order):
    """Partial derivative; `order[i]` times by input i."""
    if not any(order):
        return f(*ESTIMATES)
    return mp.diff(f, tuple(mp.mpf(x) for x in ESTIMATES), tuple(order))


def counts(*indices):
    return [indices.count(i) for i in range(N)]


def covariance():
    u = mp.matrix(N, N)
    for i, j in product(range(N), repeat=2):
        r = 1 if i == j else CORRELATIONS.get((min(i, j), max(i, j)), 0)
        u[i, j] = mp.mpf(UNCERTAINTIES[i]) * UNCERTAINTIES[j] * r
    return u


def second_order(f, u):
    """Variance of second order and bias of the mean."""
    g = mp.matrix([derivative(f, counts(i)) for i in range(N)])
    h = mp.matrix(N, N)
    for i, j in product(range(N), repeat=2):
        h[i, j] = derivative(f, counts(i, j))
    hu = h * u
    hu2 = hu * hu
    slope = mp.matrix(
        [
            sum(derivative(f, counts(i, j, k)) * u[j, k] for j, k in product(range(N), repeat=2))
            for i in range(N)
        ]
    )
    ug = u * g
    trace = sum(hu2[i, i] for i in range(N)) / 2
    return trace + sum(ug[i] * slope[i] for i in range(N)), sum(hu[i, i] for i in range(N)) / 2


def golden():
    u = covariance()
    c = mp.matrix(len(MODELS), N)
    for k, f in enumerate(MODELS):
        for i in range(N):
            c[k, i] = derivative(f, counts(i))
    uy = c * u * c.T
    orders = [second_order(f, u) for f in MODELS]
    return {
        "estimates": ESTIMATES,
        "standard_uncertainties": UNCERTAINTIES,
        "correlations": [[i, j, r] for (i, j), r in CORRELATIONS.items()],
        "outputs": [float(f(*[mp.mpf(x) for x in ESTIMATES])) for f in MODELS],
        "sensitivities": [[float(c[k, i]) for i in range(N)] for k in range(len(MODELS))],
        "covariance": [[float(uy[k, m]) for m in range(2)] for k in range(2)],
        "second_order_variance": [float(v) for v, _ in orders],
        "bias": [float(b) for _, b in orders],
    }


def one_list_a_line(data):
    """JSON text with every innermost list on one line."""
    text = json.dumps(data, indent=1)
    return re.sub(r"\[([^\[\]{}]*)\]", lambda m: "[" + " ".join(m[1].split()) + "]", text) + "\n"


def main():
    text = one_list_a_line(golden())
    write_or_check(GOLDEN, text, relative=RELATIVE_TOLERANCE)


if __name__ == "__main__":
    main()
