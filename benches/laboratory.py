"""Intervals against a virtual laboratory: a table by kind of site and the histogram of ranks.

    python benches/laboratory.py [sites of a kind]

The figures stand in notebooks/validation.md. A thousand sites of each kind take some two minutes.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "python"))

from laboratory import calibration, worlds


def line_of(outcome):
    """A row of the table."""
    count = len(outcome.ranks)
    cells = [
        outcome.kind,
        str(count),
        f"{100 * outcome.first_order.mean():.1f} %",
        f"{100 * outcome.monte_carlo.mean():.1f} %",
        f"{outcome.normalised.mean():+.3f}",
        f"{outcome.normalised.std():.3f}",
        f"{outcome.chi_square():.1f}",
        f"{np.median(outcome.planned):.3f}",
    ]
    return "| " + " | ".join(cells) + " |"


def main():
    """Print the table and the histogram."""
    sites = int(sys.argv[1]) if len(sys.argv) > 1 else 850
    outcomes = [calibration.outcome_of(kind, range(sites)) for kind in worlds.KINDS]
    print(
        "| kind of site | sites | first order | Monte Carlo | mean error / u | its deviation | "
        "chi-square of ranks | planned u / evaluated u |"
    )
    print("|---|---|---|---|---|---|---|---|")
    whole = calibration.together(outcomes)
    for outcome in [*outcomes, whole]:
        print(line_of(outcome))
    error = 100 * np.sqrt(0.95 * 0.05 / len(whole.ranks))
    print(f"\nStandard error of a coverage of 95 %, all sites: {error:.2f} %.")
    print("Ranks of the truth among the trials, by tenths:", *whole.histogram())


if __name__ == "__main__":
    main()
