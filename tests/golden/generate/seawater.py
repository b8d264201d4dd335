"""Golden values of sea water: density and sound speed of TEOS-10 by gsw.

Writes tests/golden/seawater.json. Run from the repository root:

    python tests/golden/generate/seawater.py [--check]

gsw evaluates the Gibbs function with its own arrangement of coefficients; another implementation
(iapws, formulations R13-08 and SR7-09) must agree, or nothing is written.
"""

import sys
from math import isclose
from pathlib import Path

import gsw
from _committed import one_point_a_line, write_or_check
from iapws import SeaWater

GOLDEN = Path("tests/golden/seawater.json")
RELATIVE_TOLERANCE = 1e-14
INDEPENDENT_TOLERANCE = 1e-13

ATMOSPHERE = 101325.0
TEMPERATURES = [273.15, 278.15, 288.15, 298.15, 305.65, 313.15]
PRESSURES = [ATMOSPHERE, 0.6e6, 3e6, 10e6]
SALINITIES = [0.0, 1e-4, 0.01, 0.03516504, 0.042]


def point(temperature, pressure, salinity):
    state = 1e3 * salinity, temperature - 273.15, 1e-4 * (pressure - ATMOSPHERE)
    rho = float(gsw.rho_t_exact(*state))
    c = float(gsw.sound_speed_t_exact(*state))
    other = SeaWater(T=temperature, P=1e-6 * pressure, S=salinity, fast=True)
    for found, check in ((rho, other.rho), (c, other.w)):
        if not isclose(found, check, rel_tol=INDEPENDENT_TOLERANCE):
            sys.exit(f"{state}: gsw {found}, iapws {check}")
    return {"T_K": temperature, "p_Pa": pressure, "S": salinity, "rho": rho, "c": c}


def golden():
    """The whole content of the file."""
    return {
        "source": "TEOS-10 Gibbs function by gsw, confirmed by iapws",
        "points": [point(t, p, s) for t in TEMPERATURES for p in PRESSURES for s in SALINITIES],
    }


def main():
    write_or_check(GOLDEN, one_point_a_line(golden()), relative=RELATIVE_TOLERANCE)


if __name__ == "__main__":
    main()
