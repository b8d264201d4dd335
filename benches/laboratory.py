"""Intervals against a virtual laboratory: tables by kind, and pictures of the ranks of the truth.

    python benches/laboratory.py [sites of a kind] [--pictures folder]

The tables stand in notebooks/validation.md, the pictures beside it in notebooks/demo. Two hundred
sites of a kind take some five minutes of processor time.
"""

import argparse
import sys
import time
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib import pyplot as plt
from scipy import stats

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "python"))

from laboratory import calibration, measured, verifications, worlds

BINS = 20
RECONCILED = tuple(kind for kind in worlds.KINDS if kind.basis == "timed")


def table(heads, rows):
    """Print a table of markdown."""
    print("\n| " + " | ".join(heads) + " |")
    print("|" + "---|" * len(heads))
    for row in rows:
        print("| " + " | ".join(row) + " |", flush=True)


def percent(share):
    return f"{100 * share:.1f} %"


def error_of(count):
    """Standard error of a coverage of 95 %."""
    return percent(np.sqrt(0.95 * 0.05 / count))


HEADS = (
    "sites",
    "standard error",
    "first order",
    "first order, by the trials",
    "Monte Carlo",
    "mean error / u",
    "its deviation",
    "chi-square of ranks",
)


def cells(outcome):
    """What all tables say of a kind."""
    return [
        outcome.kind,
        str(len(outcome)),
        error_of(len(outcome)),
        percent(outcome.first_order.mean()),
        percent(outcome.predicted.mean()),
        percent(outcome.monte_carlo.mean()),
        f"{outcome.normalised.mean():+.3f}",
        f"{outcome.normalised.std():.3f}",
        f"{outcome.chi_square():.1f}",
    ]


def flows(sites):
    """Flows and totals of sites of every kind; their outcomes."""
    seeds = range(sites)
    outcomes = [calibration.outcome_of(kind, seeds) for kind in worlds.KINDS]
    beyond = [calibration.outcome_of(kind, seeds) for kind in worlds.NONLINEAR]
    totals = [calibration.totals_held(kind, seeds)[0] for kind in worlds.KINDS]
    together = calibration.together
    outcomes.append(together(outcomes, "all of these"))
    totals.append(np.concatenate(totals))
    rows = [
        [*cells(outcome), f"{np.median(outcome.planned):.3f}", percent(held.mean())]
        for outcome, held in zip(outcomes, totals, strict=True)
    ]
    rows += [[*cells(outcome), f"{np.median(outcome.planned):.3f}", ""] for outcome in beyond]
    table(["kind of site", *HEADS, "planned u / evaluated u", "totals, first order"], rows)
    print("\nRanks of all of these, by tenths:", *outcomes[-1].histogram())
    return outcomes[:-1], beyond


def errors(count):
    """Errors of verifications of every kind; their outcomes."""
    outcomes = [calibration.verified(kind, range(count)) for kind in verifications.KINDS]
    table(["verification", *HEADS], map(cells, outcomes))
    return outcomes


def reconciled(count):
    """Reconciled sites of the timed basis; the outcomes of their flows."""
    found = [calibration.reconciled(kind, range(count)) for kind in RECONCILED]
    outcomes = [outcome for outcome, _, _ in found]
    whole = calibration.together(outcomes, "reconciled flows")
    rows = []
    for name in dict.fromkeys(name for _, of_inputs, _ in found for name in of_inputs):
        each = [row for _, of_inputs, _ in found for row in of_inputs.get(name, [])]
        away, held = np.array(each).T
        row = f"`{name}`", str(away.size), error_of(away.size), percent(held.mean())
        rows.append([*row, f"{away.mean():+.3f}", f"{away.std():.3f}"])
    table(["of all reconciled sites", *HEADS], [cells(whole)])
    table(["reconciled input", *HEADS[:3], *HEADS[5:7]], rows)
    chi_squares = np.concatenate([values for _, _, values in found])
    p = stats.kstest(chi_squares, stats.chi2(1).cdf).pvalue
    refused = np.mean(chi_squares > stats.chi2.ppf(0.95, 1))
    print(
        f"\nChi-squares of {chi_squares.size} adjustments: mean {chi_squares.mean():.2f}, "
        f"{percent(refused)} beyond the limit of 5 %, against one degree of freedom p = {p:.2f} "
        "(Kolmogorov and Smirnov)."
    )
    return outcomes


def real(count):
    """Sites in which the profile is a measured one."""
    rows = []
    for scale, words in ((1.0, "as at other sites"), (0.1, "a tenth")):
        by_source = {}
        for profile in measured.factors():
            own = by_source.setdefault((profile.group, profile.source.split()[0]), [])
            seeds = range(count if profile.group != "transition" else max(1, count // 5))
            own.append(calibration.outcome_of_measured(profile, seeds, scale))
        for group in measured.GROUPS:
            whole = []
            for (of_group, source), own in by_source.items():
                if of_group == group:
                    whole += own
                    rows.append(_real_row(f"{group}: {source}", words, own))
            rows.append(_real_row(f"{group}, all", words, whole))
    heads = ["profiles", "other uncertainties", "number", "sites", "first order", "Monte Carlo"]
    table([*heads, "mean error / u", "mean error / u of the trials"], rows)


def _real_row(name, words, own):
    outcome = calibration.together(own)
    return [
        name,
        words,
        str(len(own)),
        str(len(outcome)),
        percent(outcome.first_order.mean()),
        percent(outcome.monte_carlo.mean()),
        f"{outcome.normalised.mean():+.2f}",
        f"{outcome.in_trials.mean():+.2f}",
    ]


def ranks_on(axes, outcome, bins):
    """A histogram of ranks with the bands that hold 95 and 99.7 % of the bars of flat ranks."""
    count, x = len(outcome), np.arange(bins + 1) / bins
    flat, deviation = count / bins, np.sqrt(count / bins * (1 - 1 / bins))
    for p, colour in ((0.997, "#e6ecf2"), (0.95, "#cfdae6")):
        low, high = stats.binom.interval(p, count, 1 / bins)
        axes.axhspan(low, high, color=colour, linewidth=0)
    axes.axhline(flat, color="#7a8794", linewidth=0.6)
    axes.stairs(outcome.histogram(bins), x, baseline=None, color="#1f4e79", linewidth=1.2)
    axes.set_title(f"{outcome.kind} ({count})", fontsize=6, loc="left", pad=3)
    span = (flat - 5 * deviation, flat + 5 * deviation)
    axes.set(xlim=(0, 1), ylim=span, xticks=(0, 0.5, 1), yticks=())
    axes.tick_params(labelsize=6, length=2)
    axes.spines[["top", "right", "left"]].set_visible(False)


def picture(path, outcomes, columns, bins):
    """Draw histograms in rows of so many columns."""
    rows = -(-len(outcomes) // columns)
    size = (10.0, 1.15 * rows + 0.4)
    figure, grid = plt.subplots(rows, columns, figsize=size, layout="constrained", squeeze=False)
    for axes in grid.flat:
        axes.set_visible(False)
    for axes, outcome in zip(grid.flat, outcomes, strict=False):
        axes.set_visible(True)
        ranks_on(axes, outcome, bins)
    figure.supxlabel("share of the trials below the truth", fontsize=8)
    figure.savefig(path, metadata={"Date": None, "Creator": None})
    plt.close(figure)


def pictures(folder, of_flows, beyond, of_errors, of_reconciled):
    """One picture of groups, and one of every kind of site."""
    matplotlib.use("svg")
    # the same bytes on every run
    matplotlib.rcParams["svg.hashsalt"] = "flowdoubt"
    # dozens of titles as outlines would be ten times as large
    matplotlib.rcParams["svg.fonttype"] = "none"
    together, everything = calibration.together, [*of_flows, *beyond]

    def having(word):
        return together([o for o in everything if word in o.kind.split(", ")], word)

    words = [*worlds.BASES, "lined", "painted", "downstream of a bend", "glycol", "laminar"]
    groups = [together(everything, "flows of all sites"), *map(having, words)]
    groups += [having("transition"), having("off the axis"), having("up to Re 1e7")]
    for question in verifications.QUESTIONS:
        own = [outcome for outcome in of_errors if outcome.kind.startswith(question)]
        groups.append(together(own, question))
    groups.append(together(of_reconciled, "reconciled flows"))
    picture(folder / "ranks.svg", groups, 4, BINS)
    picture(folder / "ranks_by_kind.svg", [*everything, *of_errors], 4, calibration.BINS)


def main():
    """Print the tables and draw the pictures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("sites", type=int, nargs="?", default=200, help="of a kind")
    parser.add_argument("--pictures", type=Path, help="folder to draw in")
    chosen = parser.parse_args()
    of_flows, beyond = flows(chosen.sites)
    of_errors = errors(chosen.sites)
    of_reconciled = reconciled(max(1, chosen.sites // 2))
    real(max(1, chosen.sites // 7))
    if chosen.pictures:
        pictures(chosen.pictures, of_flows, beyond, of_errors, of_reconciled)
    print(f"\nProcessor time {time.process_time():.0f} s.")


if __name__ == "__main__":
    main()
