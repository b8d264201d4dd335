"""Golden values of glycol solutions, by CoolProp's incompressible fluids MEG and MPG.

Writes tests/golden/glycol.json. Run from the repository root:

    python tests/golden/generate/glycol.py [--check]
"""

from pathlib import Path

from _committed import one_point_a_line, write_or_check
from CoolProp.CoolProp import PropsSI

GOLDEN = Path("tests/golden/glycol.json")
RELATIVE_TOLERANCE = 1e-12

PRESSURE = 101325.0  # without influence in these fluids
FLUIDS = {"ethylene": "MEG", "propylene": "MPG"}
MASS_FRACTIONS = [0.05, 0.2, 0.35, 0.5, 0.6]
TEMPERATURES = [240.15, 258.15, 273.15, 293.15, 323.15, 363.15]


def points(fluid):
    for fraction in MASS_FRACTIONS:
        name = f"INCOMP::{fluid}[{fraction}]"
        freezing = PropsSI("T_freeze", "T", 300.0, "P", PRESSURE, name)
        for temperature in TEMPERATURES:
            if temperature < freezing:
                continue
            rho, mu = (PropsSI(key, "T", temperature, "P", PRESSURE, name) for key in "DV")
            yield {"T_K": temperature, "x": fraction, "rho": rho, "mu": mu, "freezing_K": freezing}


def main():
    golden = {glycol: list(points(fluid)) for glycol, fluid in FLUIDS.items()}
    write_or_check(GOLDEN, one_point_a_line(golden), relative=RELATIVE_TOLERANCE)


if __name__ == "__main__":
    main()
