"""Golden values of monotone piecewise cubic interpolation, by scipy's PchipInterpolator.

Writes tests/golden/monotone_cubic.json. Run from the repository root:

    python tests/golden/generate/monotone_cubic.py [--check]
"""

from pathlib import Path

import numpy as np
from _committed import one_point_a_line, write_or_check
from scipy.interpolate import PchipInterpolator

GOLDEN = Path("tests/golden/monotone_cubic.json")
RELATIVE_TOLERANCE = 1e-12
ABSOLUTE_TOLERANCE = 1e-12

# Each table reaches another branch of the slopes.
TABLES = {
    "falling, uneven": ([0.0, 1.0, 1.5, 4.0, 10.0], [9.0, 5.0, 4.0, 2.0, 1.5]),
    "extrema and a plateau": ([-2.0, 0.0, 1.0, 3.0, 4.0, 7.0], [1.0, 4.0, 2.0, 2.0, 5.0, 0.0]),
    "ends limited to zero and to three secants": (
        [0.0, 1.0, 2.0, 3.0, 3.2],
        [0.0, 0.1, 3.0, 1.0, 1.3],
    ),
    "end with a turn": ([0.0, 3.0, 3.5, 5.0], [0.0, 1.0, -4.0, -5.0]),
    "three points": ([293.15, 313.15, 353.15], [1460.0, 1390.0, 1255.0]),
    "two points": ([1.0, 4.0], [2.0, -1.0]),
}


def table(x, y):
    curve = PchipInterpolator(x, y)
    inside = np.linspace(x[0], x[-1], 23)
    return {
        "x": x,
        "y": y,
        "points": [
            {"x": float(at), "y": float(curve(at)), "slope": float(curve(at, 1))} for at in inside
        ],
    }


def main():
    golden = {name: table(x, y) for name, (x, y) in TABLES.items()}
    text = one_point_a_line(golden, lists=True)
    write_or_check(GOLDEN, text, relative=RELATIVE_TOLERANCE, absolute=ABSOLUTE_TOLERANCE)


if __name__ == "__main__":
    main()
