"""Logged readings and a folder of sites for the notebook on series. Everything is invented.

They are made when asked for, always with the same numbers, and are not kept: a year of 1-minute
readings has 525 600 rows.
"""

import shutil
from pathlib import Path

import numpy as np
import pandas as pd

import flowdoubt as fd

SEED = 20260101
HERE = Path(__file__).parent
# The site as it "really" is, a little off what the survey found; as in make_readings.py.
PAINT_M, WALL_M, DEPOSIT_M = 0.27e-3, 8.78e-3, 0.12e-3
INSIDE_DIAMETER_M = 1.2770 / np.pi - 2 * (PAINT_M + WALL_M + DEPOSIT_M)
AXIAL_SLOWNESS_S_M = np.sin(np.radians(39.58)) / 2430.0
DEAD_TIME_S = 27.7e-6
ZERO_S = 0.2e-9
TRAVERSES = 2
PRESSURE_PA = 7.2e5


def year(days=365):
    """Return a log of 1-minute readings with what happens to logs in a year."""
    generator = np.random.default_rng(SEED)
    rows = 1440 * days
    time = pd.date_range("2026-01-01", periods=rows, freq="min", name="time")
    day = np.arange(rows) / 1440
    season = -np.cos(2 * np.pi * (day - 25) / 365)
    hour = np.sin(2 * np.pi * (day % 1 - 0.3))
    temperature = 8.0 + 1.2 * season + 0.25 * hour
    velocity = 2.0 + 0.9 * season + (0.25 + 0.1 * season) * hour
    velocity += 0.01 * generator.standard_normal(rows)
    sound_speed = fd.water.sound_speed(temperature + 273.15, pressure=PRESSURE_PA)
    cosine = np.sqrt(1 - (AXIAL_SLOWNESS_S_M * sound_speed) ** 2)
    in_liquid = TRAVERSES * INSIDE_DIAMETER_M / (sound_speed * cosine)
    difference = 2 * velocity * AXIAL_SLOWNESS_S_M * in_liquid + ZERO_S

    def noise():
        return generator.standard_normal(rows)

    log = pd.DataFrame(
        {
            "transit_time_us": np.round(1e6 * (in_liquid + DEAD_TIME_S) + 0.002 * noise(), 4),
            "time_difference_ns": np.round(1e9 * difference + 0.8 * noise(), 2),
            "temperature_degC": np.round(temperature + 0.03 * noise(), 2),
        },
        index=time,
    )
    # readings that dropped out, a meter that lost its signal, a logger that was off
    log.iloc[generator.choice(rows, rows // 4000, replace=False), 1] = np.nan
    start = int(0.31 * rows)
    log.iloc[start : start + 40, 0] = 0.0
    start = int(0.58 * rows)
    log = pd.concat([log.iloc[:start], log.iloc[start + 2 * rows // 365 :]])
    # a block that was written twice
    start = int(0.8 * rows)
    return pd.concat([log.iloc[:start], log.iloc[start - 90 :]])


def sites(folder, count=12):
    """Write sites with their readings to a folder; the sensors of the last do not fit its pipe."""
    folder = Path(folder)
    text = (HERE / "site.toml").read_text()
    readings = pd.read_csv(HERE / "readings.csv")
    for number in range(1, count + 1):
        own = text.replace("plant 2, supply main", f"substation {number:02d}")
        if number == count:
            own = own.replace('"39.6 deg"', '"60 deg"')
        (folder / f"substation_{number:02d}.toml").write_text(own)
        scaled = readings.copy()
        scaled["time_difference_ns"] *= 0.4 + 0.6 * number / count
        scaled.to_csv(folder / f"substation_{number:02d}.csv", index=False)
    # one that keeps its files in a folder of its own
    main = folder / "plant_2"
    main.mkdir()
    shutil.copy(HERE / "site.toml", main)
    shutil.copy(HERE / "readings.csv", main)
