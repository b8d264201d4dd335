"""Liquid water: Chebyshev fits of density and sound speed, and golden values.

Writes src/liquid/water_fit.rs and tests/golden/water.json. Run from the repository root:

    python tests/golden/generate/water_fit.py [--check]

The fits are made from one implementation of IAPWS-95 (CoolProp), the golden values from another
(iapws), so that a test against the golden values also tests the fits. With --check both files are
recomputed and compared instead, and the exit status is 1 if anything differs beyond rounding.
"""

import sys
from math import isclose
from pathlib import Path

import CoolProp
import numpy as np
from _committed import one_point_a_line, write_or_check
from iapws import IAPWS95
from iapws._iapws import _Viscosity
from numpy.polynomial import chebyshev

FIT = Path("src/liquid/water_fit.rs")
GOLDEN = Path("tests/golden/water.json")
RELATIVE_TOLERANCE = 1e-11
COEFFICIENT_TOLERANCE = 3e-11  # absolute, beside the relative one

IAPWS95_SOURCE = "IAPWS R6-95(2018)"
VISCOSITY_SOURCE = "IAPWS R12-08, without the critical enhancement"

# The fit is made over a little more than the validity, where a series is at its worst.
TEMPERATURE_K, PRESSURE_PA = (270.0, 510.0), (0.0, 12e6)
VALID_TEMPERATURE_K, VALID_PRESSURE_PA = (273.15, 503.15), (0.0, 10e6)
DEGREE_T, DEGREE_P = 22, 5
DECIMALS = 11  # of the coefficients: rounding adds less than 1e-12 to the relative error

GOLDEN_TEMPERATURES_K = [
    *(273.15, 278.15, 283.15, 293.15, 298.15, 313.15, 333.15, 353.15, 372.0),
    *(393.15, 423.15, 453.15, 483.15, 503.15),
]
GOLDEN_PRESSURES_PA = [101325.0, 1e6, 3e6, 6e6, 10e6]

# IAPWS R6-95(2018), Table 7, liquid states in the range of the fit: T/K, rho/(kg/m3), p/Pa,
# c/(m/s).
DENSITY_CHECK = [
    (300.0, 996.556, 0.0992418352e6, 1501.51914),
    (500.0, 838.025, 10.0003858e6, 1271.28441),
]
# IAPWS R12-08, Table 4: T/K, rho/(kg/m3), mu/(Pa s).
VISCOSITY_CHECK = [
    (298.15, 998.0, 889.735100e-6),
    (298.15, 1200.0, 1437.649467e-6),
    (373.15, 1000.0, 307.883622e-6),
    (433.15, 1.0, 14.538324e-6),
    (433.15, 1000.0, 217.685358e-6),
    (873.15, 1.0, 32.619287e-6),
    (873.15, 100.0, 35.802262e-6),
    (873.15, 600.0, 77.430195e-6),
    (1173.15, 1.0, 44.217245e-6),
    (1173.15, 100.0, 47.640433e-6),
    (1173.15, 400.0, 64.154608e-6),
]


def liquid_state(water, temperature, pressure):
    """Density and sound speed on the liquid branch, metastable below the saturation pressure.

    Newton's rule from the dense side: p(rho) is convex, so it cannot leave the branch.
    """
    density, step = 1010.0, np.inf
    while abs(step) > 1e-8:  # kg/m3; the next error is of the order of its square
        water.update(CoolProp.DmassT_INPUTS, density, temperature)
        slope = water.first_partial_deriv(CoolProp.iP, CoolProp.iDmass, CoolProp.iT)
        step = (pressure - water.p()) / slope
        density += step
    water.update(CoolProp.DmassT_INPUTS, density, temperature)
    return density, water.speed_sound()


def liquid_surface(temperatures, pressures):
    """Densities and sound speeds over a grid, each as an array [temperature, pressure]."""
    water = CoolProp.AbstractState("HEOS", "Water")
    water.specify_phase(CoolProp.iphase_liquid)
    states = [[liquid_state(water, t, p) for p in pressures] for t in temperatures]
    return np.moveaxis(np.array(states), 2, 0)


def interval(unit, limits):
    """Numbers in -1..1 mapped onto the interval."""
    return np.mean(limits) + unit * np.diff(limits) / 2


def unit(values, limits):
    """The inverse of `interval`."""
    return (values - np.mean(limits)) / (np.diff(limits) / 2)


def fits():
    """The coefficients of density and of sound speed, each as an array [degree T, degree p].

    The interpolating series at Chebyshev's points of a higher degree, truncated.
    """
    x, y = chebyshev.chebpts1(2 * DEGREE_T), chebyshev.chebpts1(4 * DEGREE_P)
    surface = liquid_surface(interval(x, TEMPERATURE_K), interval(y, PRESSURE_PA))
    from_x = np.linalg.inv(chebyshev.chebvander(x, len(x) - 1))
    from_y = np.linalg.inv(chebyshev.chebvander(y, len(y) - 1))
    series = from_x @ surface @ from_y.T
    return np.round(series[:, : DEGREE_T + 1, : DEGREE_P + 1], DECIMALS) + 0.0  # no -0.0


def largest_errors(coefficients, temperature_limits, pressure_limits):
    """The largest relative errors of the two fits over a dense grid."""
    t, p = np.linspace(*temperature_limits, 171), np.linspace(*pressure_limits, 41)
    exact = liquid_surface(t, p)
    x, y = unit(t, TEMPERATURE_K), unit(p, PRESSURE_PA)
    fitted = np.array([chebyshev.chebgrid2d(x, y, c) for c in coefficients])
    return np.abs(fitted / exact - 1).max(axis=(1, 2))


def rust_matrix(matrix):
    """The matrix as a Rust array, one row a line."""
    rows = ("    [" + ", ".join(repr(float(c)) for c in row) + "],\n" for row in matrix)
    return "[\n" + "".join(rows) + "]"


def rust_module(coefficients):
    in_box = largest_errors(coefficients, TEMPERATURE_K, PRESSURE_PA)
    if in_box[0] > 2e-10 or in_box[1] > 2e-9:
        sys.exit(f"the fits are too poor: {in_box}")
    valid = largest_errors(coefficients, VALID_TEMPERATURE_K, VALID_PRESSURE_PA)
    density, sound_speed = coefficients
    shape = f"[[f64; {DEGREE_P + 1}]; {DEGREE_T + 1}]"
    return f"""\
//! Density and sound speed of liquid water, as Chebyshev series in temperature and pressure.
//!
//! Row index: degree in temperature; column index: degree in pressure. Both variables are mapped
//! linearly from the box below onto -1..1. Where the pressure is below saturation the series
//! continue smoothly into the metastable liquid.
//!
//! | quantity | largest relative error in the box | at 273.15..503.15 K, up to 10 MPa |
//! |---|---|---|
//! | density | {in_box[0]:.1e} | {valid[0]:.1e} |
//! | sound speed | {in_box[1]:.1e} | {valid[1]:.1e} |
//!
//! Errors are those of the series against the formulation, not of the formulation.
//!
//! # Source
//! {IAPWS95_SOURCE}, Eqs. (4) to (6), Tables 1 to 3. Generated by
//! `python tests/golden/generate/water_fit.py`; do not edit.

/// Range of temperature over which the series were fitted, in K.
pub const TEMPERATURE_K: [f64; 2] = [{TEMPERATURE_K[0]}, {TEMPERATURE_K[1]}];

/// Range of pressure over which the series were fitted, in Pa (absolute).
pub const PRESSURE_PA: [f64; 2] = [{PRESSURE_PA[0]}, {PRESSURE_PA[1] / 1e6}e6];

/// Coefficients of the density, in kg/m3.
#[rustfmt::skip]
pub const DENSITY: {shape} = {rust_matrix(density)};

/// Coefficients of the sound speed, in m/s.
#[rustfmt::skip]
pub const SOUND_SPEED: {shape} = {rust_matrix(sound_speed)};
"""


def golden_point(temperature, pressure):
    """One liquid state. Of iapws only the density is exact to 1e-13 when the pressure is given."""
    density = IAPWS95(T=temperature, P=pressure * 1e-6).rho
    viscosity = _Viscosity(density, temperature)
    return {
        "T_K": temperature,
        "p_Pa": pressure,
        "rho": density,
        "c": IAPWS95(T=temperature, rho=density).w,
        "mu": viscosity,
        "nu": viscosity / density,
    }


def require_published(computed, published):
    """Stop unless the formulation gives a published check value to its last digits."""
    if not isclose(computed, published, rel_tol=5e-8):
        sys.exit(f"check value {published} not reproduced: {computed}")


def golden():
    """The whole content of the file of golden values."""
    for temperature, density, pressure, sound_speed in DENSITY_CHECK:
        state = IAPWS95(T=temperature, rho=density)
        require_published(state.P * 1e6, pressure)
        require_published(state.w, sound_speed)
    for temperature, density, viscosity in VISCOSITY_CHECK:
        require_published(_Viscosity(density, temperature), viscosity)
    return {
        "units": {"T_K": "K", "p_Pa": "Pa", "rho": "kg/m3", "c": "m/s", "mu": "Pa s", "nu": "m2/s"},
        "liquid": {
            "source": f"{IAPWS95_SOURCE}, Table 3; {VISCOSITY_SOURCE}, Eqs. (10) to (12)",
            "points": [
                golden_point(t, p)
                for t in GOLDEN_TEMPERATURES_K
                for p in GOLDEN_PRESSURES_PA
                if t < 373.0 or p > IAPWS95(T=t, x=0).P * 1e6  # liquid
            ],
        },
        "density_check": {
            "source": f"{IAPWS95_SOURCE}, Table 7",
            "points": [
                dict(zip(("T_K", "rho", "p_Pa", "c"), row, strict=True)) for row in DENSITY_CHECK
            ],
        },
        "viscosity_check": {
            "source": f"{VISCOSITY_SOURCE}, Table 4",
            "points": [
                dict(zip(("T_K", "rho", "mu"), row, strict=True)) for row in VISCOSITY_CHECK
            ],
        },
    }


def main():
    relative = RELATIVE_TOLERANCE
    write_or_check(FIT, rust_module(fits()), relative=relative, absolute=COEFFICIENT_TOLERANCE)
    write_or_check(GOLDEN, one_point_a_line(golden()), relative=relative)


if __name__ == "__main__":
    main()
