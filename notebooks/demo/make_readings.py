"""Make readings.csv of the demonstration site: 360 readings, one every 5 s, all invented.

Run from the repository root:

    python notebooks/demo/make_readings.py [--check]

With --check the file is compared with a fresh computation and the exit status is 1 if it differs.
"""

import sys
from math import asin, cos, pi, radians, sin
from pathlib import Path

import numpy as np

FILE = Path(__file__).with_name("readings.csv")
SEED = 20260917
ROWS = 360
INTERVAL_S = 5

# The site as it "really" is, a little off what the survey found.
PAINT_M, WALL_M, DEPOSIT_M = 0.27e-3, 8.78e-3, 0.12e-3
INSIDE_DIAMETER_M = 1.2770 / pi - 2 * (PAINT_M + WALL_M + DEPOSIT_M)
AXIAL_SLOWNESS_S_M = sin(radians(39.58)) / 2430.0
DEAD_TIME_S = 27.7e-6
ZERO_S = 0.2e-9
TRAVERSES = 2
# A straight line for the sound speed of water at 0.72 MPa between 6 and 10 degC is enough here.
SOUND_SPEED_8_M_S, SLOPE_M_S_K = 1440.5, 4.15
MEAN_PATH_VELOCITY_M_S = 2.62


def correlated_noise(generator, rows, memory):
    """Noise of unit variance whose value is remembered from row to row by the factor `memory`."""
    noise = generator.standard_normal(rows)
    for i in range(1, rows):
        noise[i] = memory * noise[i - 1] + (1 - memory**2) ** 0.5 * noise[i]
    return noise


def text():
    """The whole content of the file."""
    generator = np.random.default_rng(SEED)
    temperature = 8.1 + 0.05 * correlated_noise(generator, ROWS, 0.8)
    velocity = MEAN_PATH_VELOCITY_M_S * (1 + 0.006 * correlated_noise(generator, ROWS, 0.3))
    lines = ["time,transit_time_us,time_difference_ns,temperature_degC"]
    for i in range(ROWS):
        sound_speed = SOUND_SPEED_8_M_S + SLOPE_M_S_K * (temperature[i] - 8.0)
        angle = asin(AXIAL_SLOWNESS_S_M * sound_speed)
        in_liquid = TRAVERSES * INSIDE_DIAMETER_M / (sound_speed * cos(angle))
        difference = 2 * velocity[i] * AXIAL_SLOWNESS_S_M * in_liquid
        transit_ns = 1e9 * (in_liquid + DEAD_TIME_S) + 2.0 * generator.standard_normal()
        difference_ns = 1e9 * (difference + ZERO_S) + 0.8 * generator.standard_normal()
        minute, second = divmod(INTERVAL_S * i, 60)
        lines.append(
            f"2026-09-17T10:{minute:02d}:{second:02d},"
            f"{transit_ns / 1e3:.4f},{difference_ns:.2f},{temperature[i]:.2f}"
        )
    return "\n".join(lines) + "\n"


def main():
    if "--check" not in sys.argv[1:]:
        FILE.write_text(text())
    elif FILE.read_text() != text():
        sys.exit(f"{FILE.name} differs from its script")


if __name__ == "__main__":
    main()
