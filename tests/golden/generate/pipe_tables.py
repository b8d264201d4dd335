"""Golden values of pipe dimensions after ASME B36.10M and B36.19M.

Writes tests/golden/pipe_tables.json. Run from the repository root:

    python tests/golden/generate/pipe_tables.py [--check]

Every size and schedule of both standards as the package fluids has them, in m. With --check the
file is compared instead, and the exit status is 1 if a number differs.
"""

from pathlib import Path

from _committed import one_point_a_line, write_or_check
from fluids.piping import nearest_pipe, schedule_lookup

GOLDEN = Path("tests/golden/pipe_tables.json")
RELATIVE_TOLERANCE = 1e-12
SCHEDULES = {
    "ASME B36.10M": [
        "5",
        "10",
        "20",
        "30",
        "40",
        "60",
        "80",
        "100",
        "120",
        "140",
        "160",
        "STD",
        "XS",
        "XXS",
    ],
    "ASME B36.19M": ["5S", "10S", "40S", "80S"],
}


def point(size, schedule):
    """One pipe; the bore is kept to confirm outside diameter and wall."""
    _, bore, diameter, wall = nearest_pipe(NPS=size, schedule=schedule)
    return {
        "nps": size,
        "schedule": schedule,
        "outside_diameter": round(diameter, 7),
        "wall": round(wall, 7),
        "bore": round(bore, 7),
    }


def golden():
    """The whole content of the file."""
    return {
        standard: {
            "source": "fluids.piping, which names the standard",
            "points": [
                point(size, schedule)
                for schedule in schedules
                for size in schedule_lookup[schedule][0]
            ],
        }
        for standard, schedules in SCHEDULES.items()
    }


def main():
    write_or_check(GOLDEN, one_point_a_line(golden()), relative=RELATIVE_TOLERANCE)


if __name__ == "__main__":
    main()
