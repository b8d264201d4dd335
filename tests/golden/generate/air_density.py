"""Golden values of the density of moist air: the CIPM-2007 equation and package `CoolProp`.

Writes tests/golden/air_density.json. Run from the repository root:

    python tests/golden/generate/air_density.py [--check]

CIPM-2007 after A. Picard, R. S. Davis, M. Glaeser and K. Fujii, Metrologia 45 (2008) 149, with
0.0004 of carbon dioxide; constants from memory and compared with public programs that have them.
CoolProp's humid air is a virial equation with Lemmon's air and IAPWS-95, another way altogether.
"""

from math import exp
from pathlib import Path

from _committed import one_point_a_line, write_or_check
from CoolProp.CoolProp import HAPropsSI

GOLDEN = Path("tests/golden/air_density.json")


def cipm_2007(kelvin, pascal, humidity):
    """Density in kg/m3."""
    t = kelvin - 273.15
    saturation = exp(
        1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    )
    enhancement = 1.00062 + 3.14e-8 * pascal + 5.6e-7 * t**2
    x = humidity * enhancement * saturation / pascal
    ratio = pascal / kelvin
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t**2
    first += (5.707e-6 - 2.051e-8 * t) * x + (1.9898e-4 - 2.376e-6 * t) * x**2
    compressibility = 1 - ratio * first + ratio**2 * (1.83e-11 - 0.765e-8 * x**2)
    return 3.483740e-3 * ratio / compressibility * (1 - 0.3780 * x)


def point(celsius, pascal, humidity):
    kelvin = celsius + 273.15
    volume = HAPropsSI("Vha", "T", kelvin, "P", pascal, "R", humidity)
    return {
        "temperature_k": kelvin,
        "pressure_pa": pascal,
        "humidity": humidity,
        "cipm_2007": cipm_2007(kelvin, pascal, humidity),
        "coolprop": 1 / volume,
    }


def main():
    points = [
        point(celsius, pascal, humidity)
        for celsius in (10.0, 15.0, 20.0, 25.0, 30.0)
        for pascal in (9.0e4, 1.01325e5, 1.1e5)
        for humidity in (0.2, 0.5, 0.8)
    ]
    write_or_check(GOLDEN, one_point_a_line({"points": points}), relative=1e-9)


if __name__ == "__main__":
    main()
