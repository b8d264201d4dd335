"""Intervals against a virtual laboratory: a table by kind of site and the histogram of ranks.

    python benches/laboratory.py [sites of a kind]

The figures stand in notebooks/validation.md. Four hundred sites of a kind take some five minutes.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "python"))

from laboratory import calibration, worlds


def line_of(outcome, totals):
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
        f"{100 * totals.mean():.1f} %",
    ]
    return "| " + " | ".join(cells) + " |"


def main():
    """Print the table and the histogram."""
    sites = int(sys.argv[1]) if len(sys.argv) > 1 else 430
    outcomes = [calibration.outcome_of(kind, range(sites)) for kind in worlds.KINDS]
    print(
        "| kind of site | sites | first order | Monte Carlo | mean error / u | its deviation | "
        "chi-square of ranks | planned u / evaluated u | totals, first order |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    whole = calibration.together(outcomes)
    totals = [calibration.totals_held(kind, range(sites))[0] for kind in worlds.KINDS]
    for outcome, held in zip([*outcomes, whole], [*totals, np.concatenate(totals)], strict=True):
        print(line_of(outcome, held))
    error = 100 * np.sqrt(0.95 * 0.05 / len(whole.ranks))
    print(f"\nStandard error of a coverage of 95 %, all sites: {error:.2f} %.")
    print("Ranks of the truth among the trials, by tenths:", *whole.histogram())


if __name__ == "__main__":
    main()
