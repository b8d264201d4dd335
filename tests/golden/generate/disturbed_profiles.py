"""Golden values of disturbed velocity profiles and cross flow, by numerical quadrature.

Writes tests/golden/disturbed_profiles.json. Run from the repository root:

    python tests/golden/generate/disturbed_profiles.py [--check]

The velocity fields are written down here once more and integrated with scipy: over the area, over
diametral paths and, for the cross flow, along the diameter. The core has closed forms instead.
With --check the file is recomputed and compared.
"""

from itertools import product
from math import cos, pi, radians, sin
from pathlib import Path

from _committed import one_point_a_line, write_or_check
from scipy.integrate import quad

GOLDEN = Path("tests/golden/disturbed_profiles.json")
RELATIVE_TOLERANCE = 1e-11
ABSOLUTE_TOLERANCE = 1e-12

COEFFICIENTS = [
    (0.0, 0.0, 0.0, 0.0),
    (0.62, 0.5, -0.116, 0.0),
    (-0.7, 0.3, 0.0, 0.4),
    (0.4, 0.6, 0.2, 2.5),
]
ORIENTATIONS_DEG = [0.0, 30.0, 75.0, 90.0, 200.0]
CROSS_FLOWS = [(0.1, 0.0, 0.0, 0.0), (0.05, 0.32, 0.1, 0.0), (0.0, 0.3, 0.2, 1.1)]


def integral(function, low, high):
    # substituting r = 1 - s^8 takes the singular slope from the wall
    if high == 1.0:
        end = (1.0 - low) ** 0.125
        return quad(lambda s: function(1.0 - s**8) * 8 * s**7, 0.0, end, epsabs=0, epsrel=1e-13)[0]
    return quad(function, low, high, epsabs=1e-15, epsrel=1e-13)[0]


def raw(r, t, flattening, skew, lobes, axis):
    around = flattening + skew * cos(t - axis) + lobes * cos(2 * (t - axis))
    return (1 - r) ** (1 / 7) + r * (1 - r) ** 0.25 * around


def area_mean(coefficients):
    # the mean over equally spaced angles is exact for so short a Fourier series
    angles = [2 * pi * i / 8 for i in range(8)]
    return sum(
        integral(lambda r, t=t: 2 * r * raw(r, t, *coefficients), 0.0, 1.0) for t in angles
    ) / len(angles)


def path_mean(coefficients, orientation):
    halves = (orientation, orientation + pi)
    return sum(integral(lambda r, t=t: raw(r, t, *coefficients), 0.0, 1.0) for t in halves) / 2


def cross_flow_mean(cells, swirl, offset, offset_angle, orientation):
    """Mean of the component along the diameter, from the components in x and y."""
    ex, ey = cos(orientation), sin(orientation)

    def along(s):
        x, y = s * ex, s * ey
        # cells: v_r = V (1 - r^2) cos t, v_t = -V (1 - 3 r^2) sin t, in x and y
        vx = cells * (1 - x * x - 3 * y * y)
        vy = cells * 2 * x * y
        vx -= swirl * (y - offset * sin(offset_angle))
        vy += swirl * (x - offset * cos(offset_angle))
        return vx * ex + vy * ey

    return quad(along, -1.0, 1.0, epsabs=1e-14)[0] / 2


def golden():
    """The whole content of the file."""
    paths = []
    for coefficients, degrees in product(COEFFICIENTS, ORIENTATIONS_DEG):
        mean = path_mean(coefficients, radians(degrees)) / area_mean(coefficients)
        names = ("flattening", "skew", "lobes", "axis")
        paths.append(
            dict(zip(names, coefficients, strict=True))
            | {"orientation_deg": degrees, "path_mean": mean}
        )
    crossings = []
    for flow, degrees in product(CROSS_FLOWS, ORIENTATIONS_DEG):
        names = ("cells", "swirl", "offset", "offset_angle")
        mean = cross_flow_mean(*flow, radians(degrees))
        crossings.append(
            dict(zip(names, flow, strict=True)) | {"orientation_deg": degrees, "path_mean": mean}
        )
    return {
        "source": "scipy.integrate.quad of the fields as documented",
        "profiles": paths,
        "cross_flows": crossings,
    }


def main():
    text = one_point_a_line(golden())
    write_or_check(GOLDEN, text, relative=RELATIVE_TOLERANCE, absolute=ABSOLUTE_TOLERANCE)


if __name__ == "__main__":
    main()
