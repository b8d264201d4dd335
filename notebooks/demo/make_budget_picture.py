"""Draw budget.svg, the picture of the budget in the README.

Run from the repository root: python notebooks/demo/make_budget_picture.py
"""

from pathlib import Path

import matplotlib

import flowdoubt as fd
from flowdoubt import plots

HERE = Path(__file__).parent


def main() -> None:
    matplotlib.use("svg")
    # the same bytes on every run
    matplotlib.rcParams["svg.hashsalt"] = "flowdoubt"
    evaluation = fd.Site.load(HERE / "site.toml").evaluate(HERE / "readings.csv")
    axes = plots.contributions(evaluation.budget)
    axes.figure.savefig(HERE / "budget.svg", metadata={"Date": None, "Creator": None})


if __name__ == "__main__":
    main()
