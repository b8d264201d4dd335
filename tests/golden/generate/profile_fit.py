"""The three constants of the default profile law, fitted to measured and simulated profiles.

Writes tests/golden/profile_fit.json. Run from the repository root:

    python tests/golden/generate/profile_fit.py [--check]

The law is Cess's eddy viscosity with von Karman's constant, the damping length of the wall layer
and the level on the axis free (`cess` in wake_fit.py). Each profile of
tests/published/pipe_profiles.json from a Reynolds number of 15 000 up has five factors, for the
diameter and four chords, and its bulk and axis velocity. The law predicts the factors from the
Reynolds number with Colebrook's friction, as the library does, and the velocities from the friction
Reynolds number of the profile.

Residuals differ far more between sources than within one, so neither least squares nor equal
weights would say what is meant; the fit makes the largest of them, over the sizes below, nearly as
small as it can be made: it minimises the sum of their eighth powers. Every source is also held out
in turn; the file has what the others then predict for it. Constants are rounded to as many digits
as move no factor by 1e-4.
"""

import json
import sys
from pathlib import Path

import numpy as np
from _committed import one_point_a_line, write_or_check
from numpy.polynomial import legendre
from scipy.optimize import least_squares
from wake_fit import DOUBLES, FITTED, cess

# beside itself and what it writes
DEPENDS = ["tests/published/pipe_profiles.json", "tests/golden/generate/wake_fit.py"]
DATA = Path("tests/published/pipe_profiles.json")
GOLDEN = Path("tests/golden/profile_fit.json")
RELATIVE_TOLERANCE = 2e-4  # the least of a sum of eighth powers is flat

LEAST_REYNOLDS = 15e3
OFFSETS = (0.0, 0.2, 0.309, 0.5, 0.7)
NAMES = ("k", *(f"k_{h}" for h in OFFSETS[1:]))
# relative sizes of residuals: of the factor, of chords, of both velocities
SIZES = {"yao_2023": (0.25e-2, 0.35e-2), "mckeon_2004": (0.25e-2, 0.35e-2)}
SIZES["wu_moin_2008"] = (0.5e-2, 0.6e-2)
VELOCITY_SIZE = 2e-2
POWERS = (2, 4, 8)  # one after the other, each from where the last one ended
START = (0.43, 27.0, 0.24)
NODES = 160


def colebrook(reynolds):
    root = np.full_like(reynolds, 7.0)
    for _ in range(60):
        root = -2 * np.log10(2.51 * root / reynolds)
    return root**-2


def wallward(scale):
    """Nodes from the wall, 0, to 1, and their weights; see `path_excess` in wake_fit.py."""
    s, weights = legendre.leggauss(NODES)
    s, weights = (s + 1) / 2, weights / 2
    log_b = np.log1p(scale / 5)[:, None]
    power = np.exp(s * log_b)
    return (power - 1) / (scale / 5)[:, None], log_b * power / (scale / 5)[:, None] * weights


class Law:
    """The profile at some friction Reynolds numbers."""

    def __init__(self, constants, reynolds):
        kappa, damping_length, on_axis = (float(c).hex() for c in constants)
        number = float.fromhex
        m = type("m", (), {**vars(DOUBLES), "number": number, "fraction": number})
        shear = cess(kappa, damping_length, on_axis)
        self.reynolds = np.asarray(reynolds, dtype=float)
        self.shear = lambda y: shear(y, self.reynolds[:, None], m)

    def on_chord(self, offset):
        """Mean velocity on the chord, by parts along it."""
        square = 1 - offset**2
        w, weights = wallward(self.reynolds * square)
        along = np.sqrt(square) * (1 - w)
        r = np.hypot(offset, along)
        y = square * w * (2 - w) / (1 + r)
        return (along**2 * self.shear(y) * weights).sum(axis=1)

    def moment(self, power):
        y, weights = wallward(self.reynolds)
        return ((1 - y) ** power * self.shear(y) * weights).sum(axis=1)

    bulk = property(lambda self: self.moment(3))
    axis = property(lambda self: self.moment(1))


def factors(constants, reynolds):
    """Profile factors, one row for each Reynolds number, one column for each offset."""
    friction_velocity = np.sqrt(colebrook(reynolds) / 8)
    law = Law(constants, reynolds * friction_velocity / 2)
    bulk = law.bulk
    excess = np.array([law.on_chord(h) - bulk for h in OFFSETS])
    return (1 / (1 + friction_velocity * excess)).T


def column(profiles, name):
    return np.array([float(p[name]) for p in profiles])


def residuals(constants, profiles):
    """Relative residuals over their sizes."""
    measured = np.array([column(profiles, name) for name in NAMES]).T
    sizes = np.array([[SIZES[p["set"]][min(i, 1)] for i in range(len(OFFSETS))] for p in profiles])
    of_factors = (factors(constants, column(profiles, "Re")) / measured - 1) / sizes
    law = Law(constants, column(profiles, "R_plus"))
    of_bulk = (law.bulk / column(profiles, "bulk") - 1) / VELOCITY_SIZE
    of_axis = (law.axis / column(profiles, "axis") - 1) / VELOCITY_SIZE
    return np.concatenate([of_factors.ravel(), of_bulk, of_axis])


def fitted(profiles):
    profiles = [p for p in profiles if p["Re"] >= LEAST_REYNOLDS]
    found = np.array(START)
    for power in POWERS:

        def powers(constants, power=power):
            r = residuals(constants, profiles)
            return np.sign(r) * np.abs(r) ** (power / 2)

        found = least_squares(powers, found, x_scale=START, xtol=1e-12, ftol=1e-12).x
    return found, np.abs(residuals(found, profiles)).max()


def said(constants, largest):
    kappa, damping_length, on_axis = (round(float(c), 4) for c in constants)
    return {
        "kappa": kappa,
        "damping_length": damping_length,
        "on_axis": on_axis,
        "largest_residual_over_size": round(float(largest), 3),
    }


def predicted(constants, profiles):
    rows = factors(constants, column(profiles, "Re")).tolist()
    law = Law(constants, column(profiles, "R_plus"))
    own = zip(law.bulk.tolist(), law.axis.tolist(), strict=True)
    return [
        {"Re": p["Re"], **dict(zip(NAMES, row, strict=True)), "bulk": bulk, "axis": axis}
        for p, row, (bulk, axis) in zip(profiles, rows, own, strict=True)
    ]


def main():
    profiles = json.loads(DATA.read_text())["profiles"]
    fit, largest = fitted(profiles)
    rounded = np.array([float(text) for text in FITTED])
    moved = factors(rounded, column(profiles, "Re")) / factors(fit, column(profiles, "Re")) - 1
    if np.abs(moved).max() > 1e-4:
        sys.exit(f"the rounded constants {FITTED} are not those of the fit {fit}")
    held_out = {}
    for name in SIZES:
        others = [p for p in profiles if p["set"] != name]
        out = [p for p in profiles if p["set"] == name]
        constants, of_others = fitted(others)
        held_out[name] = {
            "constants": said(constants, of_others),
            "predictions": predicted(constants, out),
        }
    golden = {
        "constants": said(fit, largest),
        "predictions": predicted(rounded, profiles),
        "held_out": held_out,
    }
    write_or_check(
        GOLDEN, one_point_a_line(golden), relative=RELATIVE_TOLERANCE, absolute=RELATIVE_TOLERANCE
    )


if __name__ == "__main__":
    main()
