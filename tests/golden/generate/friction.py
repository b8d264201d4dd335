"""Golden values of Darcy's friction factor of turbulent pipe flow.

Writes tests/golden/friction.json. Run from the repository root:

    python tests/golden/generate/friction.py [--check]

All laws are solved with mpmath; each result is stored as the double nearest to it. Another
implementation of Colebrook-White and Haaland's law (package fluids) must agree, or nothing is
written. With --check the file is recomputed and compared instead, and the exit status is 1 if a
number differs by more than one unit in the last place.
"""

import sys
from math import isclose
from pathlib import Path

from _committed import one_point_a_line, write_or_check
from fluids.friction import Colebrook, Haaland
from mpmath import findroot, log10, mp, mpf

GOLDEN = Path("tests/golden/friction.json")
RELATIVE_TOLERANCE = 2.3e-16
INDEPENDENT_TOLERANCE = 1e-13
mp.dps = 40

REYNOLDS = [2300.0, 4000.0, 1e4, 3e4, 1e5, 3e5, 1e6, 1e7, 1e8]
RELATIVE_ROUGHNESS = [0.0, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.05]
# 1/sqrt(f) = slope log10(Re sqrt(f)) + offset (constants from memory)
SMOOTH = {
    "prandtl": ("2.0", "-0.8", "L. Prandtl 1935, T. von Karman"),
    "zagarola_smits": (
        "1.889",
        "-0.3577",
        "M. V. Zagarola and A. J. Smits 1998, J. Fluid Mech. 373, 33",
    ),
    "mckeon_2004": ("1.930", "-0.537", "B. J. McKeon et al. 2004, J. Fluid Mech. 511, 41"),
    "mckeon": (
        "1.920",
        "-0.475",
        "B. J. McKeon, M. V. Zagarola and A. J. Smits 2005, J. Fluid Mech. 538, 429",
    ),
}


def solve(right_side):
    """The friction factor f from 1/sqrt(f) = right_side(1/sqrt(f))."""
    return float(findroot(lambda x: x - right_side(x), 7) ** -2)


def colebrook(reynolds, roughness):
    smooth, rough = mpf("2.51") / reynolds, roughness / mpf("3.7")
    factor = solve(lambda x: -2 * log10(rough + smooth * x))
    other = Colebrook(reynolds, roughness)
    if not isclose(factor, other, rel_tol=INDEPENDENT_TOLERANCE):
        sys.exit(f"Colebrook at {reynolds}, {roughness}: {factor}, but fluids has {other}")
    return factor


def haaland(reynolds, roughness):
    rough = (roughness / mpf("3.7")) ** mpf("1.11")
    factor = float((mpf("1.8") * log10(rough + mpf("6.9") / reynolds)) ** -2)
    other = Haaland(reynolds, roughness)
    if not isclose(factor, other, rel_tol=INDEPENDENT_TOLERANCE):
        sys.exit(f"Haaland at {reynolds}, {roughness}: {factor}, but fluids has {other}")
    return factor


def smooth(name, reynolds):
    slope, offset, _ = SMOOTH[name]
    return solve(lambda x: mpf(slope) * log10(reynolds / x) + mpf(offset))


def rough_points(law):
    return [
        {"Re": reynolds, "roughness": e, "f": law(reynolds, e)}
        for reynolds in REYNOLDS
        for e in RELATIVE_ROUGHNESS
    ]


def golden():
    """The whole content of the file."""
    return {
        "colebrook": {
            "source": "C. F. Colebrook 1939, J. Inst. Civ. Eng. 11, 133",
            "points": rough_points(colebrook),
        },
        "haaland": {
            "source": "S. E. Haaland 1983, J. Fluids Eng. 105, 89",
            "points": rough_points(haaland),
        },
        "blasius": {
            "source": "H. Blasius 1913",
            "points": [
                {"Re": reynolds, "f": float(mpf("0.3164") / mpf(reynolds) ** mpf("0.25"))}
                for reynolds in REYNOLDS
            ],
        },
    } | {
        name: {
            "source": source,
            "points": [{"Re": reynolds, "f": smooth(name, reynolds)} for reynolds in REYNOLDS],
        }
        for name, (_, _, source) in SMOOTH.items()
    }


def main():
    text = one_point_a_line(golden())
    write_or_check(GOLDEN, text, relative=RELATIVE_TOLERANCE)


if __name__ == "__main__":
    main()
