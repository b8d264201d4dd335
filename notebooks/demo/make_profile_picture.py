"""Draw profile_laws.svg, the picture of profile laws and their uncertainty in the book.

Run from the repository root: python notebooks/demo/make_profile_picture.py
"""

from pathlib import Path

import matplotlib
import matplotlib.pyplot as plt

from flowdoubt import plots

HERE = Path(__file__).parent


def main() -> None:
    matplotlib.use("svg")
    # the same bytes on every run
    matplotlib.rcParams["svg.hashsalt"] = "flowdoubt"
    figure, (smooth, rough) = plt.subplots(2, 1, figsize=(7.0, 8.2), layout="constrained")
    plots.profile_laws(smooth)
    plots.profile_roughness(rough)
    figure.savefig(HERE / "profile_laws.svg", metadata={"Date": None, "Creator": None})


if __name__ == "__main__":
    main()
