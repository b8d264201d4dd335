"""Make verification.toml of the demonstration site and the readings of its runs, all invented.

Twelve runs against a master meter in the bypass of the supply main: three flows, two placements of
the sensors, two runs each.

Run from the repository root:

    python notebooks/demo/make_verification.py [--check]

With --check the files are compared with a fresh computation, and the exit status is 1 if one
differs.
"""

import sys
from math import asin, cos, pi, radians, sin
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
SEED = 20260924
ROWS, INTERVAL_S = 36, 5
DURATION_S = ROWS * INTERVAL_S

# The site as it "really" is, a little off what the survey found, as in make_readings.py.
PAINT_M, WALL_M, DEPOSIT_M = 0.27e-3, 8.78e-3, 0.12e-3
INSIDE_DIAMETER_M = 1.2770 / pi - 2 * (PAINT_M + WALL_M + DEPOSIT_M)
AXIAL_SLOWNESS_S_M = sin(radians(39.58)) / 2430.0
DEAD_TIME_S = 27.7e-6
ZERO_S = 0.2e-9
TRAVERSES = 2
SOUND_SPEED_8_M_S, SLOPE_M_S_K = 1440.5, 4.15
# Area mean over path mean, and what the meter reads too much by in each placement.
PROFILE_FACTOR = 0.9495
PLACEMENTS = {"A": 0.0020, "B": 0.0052}
# Path velocities of the flow points, and how far runs scatter.
POINTS = {"low": 1.31, "middle": 1.96, "high": 2.62}
RUN_TO_RUN = 0.0009

HEAD = """\
# Demonstration verification. Town, plant, reference and every figure of evidence are invented.

[verification]
name = "Supply meter against the master meter in the bypass"
note = "Two placements of the sensors, three flows, two runs each."
question = "error as installed"
indicated = "computed from its readings"
permissible_error = "3 %"
rule = "guarded acceptance"
probability = 0.95
repeatability = "pooled"
prior = { standard_deviation = "1.2 %", evidence = "forty verifications of such meters, judgement" }

[reference]
name = "electromagnetic meter, 300 mm, on loan"
kind = "master meter"
meter = "upstream"
calibration_factor = { value = "1.0000", expanded_uncertainty = "0.20 %", coverage_factor = 2, \
evidence = "calibration certificate, part that is common to all flows" }
duration = { value = "180.0 s", half_width = "0.05 s", shape = "rectangular", evidence = "one \
clock starts and stops both meters" }
absolute_pressure = { value = "6.4 bar", half_width = "0.3 bar", shape = "rectangular", evidence = \
"plant gauge" }
line_volume = { value = "7.6 m3", half_width = "5 %", shape = "rectangular", evidence = "65 m of \
main between the meters, drawing" }
line_expansion = "12 ppm/K"
"""

POINT = """
[[point]]
name = "{name}"
error = {{ value = "{error:.2f} %", standard_uncertainty = "0.06 %", evidence = "calibration \
certificate, at this flow" }}
"""

RUN = """
[[run]]
point = "{point}"
placement = "{placement}"
readings = "verification/{file}"
volume = {{ value = "{volume:.3f} m3", half_width = "0.005 m3", shape = "rectangular", evidence = \
"resolution of the totaliser" }}
line_temperature_start = {{ value = "{start:.2f} degC", standard_uncertainty = "0.05 K" }}
line_temperature_end = {{ value = "{end:.2f} degC", standard_uncertainty = "0.05 K" }}
"""


def readings(generator, velocity):
    """The content of a file of readings at a mean velocity on the path."""
    lines = ["time,transit_time_us,time_difference_ns,temperature_degC"]
    for i in range(ROWS):
        temperature = 8.1 + 0.04 * generator.standard_normal()
        sound_speed = SOUND_SPEED_8_M_S + SLOPE_M_S_K * (temperature - 8.0)
        angle = asin(AXIAL_SLOWNESS_S_M * sound_speed)
        in_liquid = TRAVERSES * INSIDE_DIAMETER_M / (sound_speed * cos(angle))
        here = velocity * (1 + 0.004 * generator.standard_normal())
        difference = 2 * here * AXIAL_SLOWNESS_S_M * in_liquid
        transit_ns = 1e9 * (in_liquid + DEAD_TIME_S) + 2.0 * generator.standard_normal()
        difference_ns = 1e9 * (difference + ZERO_S) + 0.8 * generator.standard_normal()
        minute, second = divmod(INTERVAL_S * i, 60)
        lines.append(
            f"2026-09-24T09:{minute:02d}:{second:02d},"
            f"{transit_ns / 1e3:.4f},{difference_ns:.2f},{temperature:.2f}"
        )
    return "\n".join(lines) + "\n"


def texts():
    """The content of every file by its path from here."""
    generator = np.random.default_rng(SEED)
    files, runs = {}, []
    certificate = {"low": 0.08, "middle": 0.03, "high": -0.04}
    area = pi / 4 * INSIDE_DIAMETER_M**2
    number = 0
    for placement, bias in PLACEMENTS.items():
        for point, velocity in POINTS.items():
            for _ in range(2):
                number += 1
                file = f"run_{number:02d}.csv"
                true_velocity = velocity * (1 + 0.01 * generator.standard_normal())
                volume = area * PROFILE_FACTOR * true_velocity * DURATION_S
                shown = true_velocity * (1 + bias + RUN_TO_RUN * generator.standard_normal())
                files[f"verification/{file}"] = readings(generator, shown)
                start = 8.1 + 0.05 * generator.standard_normal()
                end = 8.1 + 0.05 * generator.standard_normal()
                indicated = volume * (1 + certificate[point] / 100)
                runs.append(
                    RUN.format(
                        point=point,
                        placement=placement,
                        file=file,
                        volume=indicated,
                        start=start,
                        end=end,
                    )
                )
    points = [POINT.format(name=name, error=error) for name, error in certificate.items()]
    files["verification.toml"] = HEAD + "".join(points) + "".join(runs)
    return files


def main():
    for name, text in texts().items():
        path = HERE / name
        if "--check" not in sys.argv[1:]:
            path.write_text(text)
        elif path.read_text() != text:
            sys.exit(f"{name} differs from its script")


if __name__ == "__main__":
    main()
