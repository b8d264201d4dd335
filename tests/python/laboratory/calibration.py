"""How often intervals hold the truth of many worlds, and where the truth ranks among the trials.

Ranks of truths that were drawn as stated are uniform where the whole chain is right: S. Talts, M.
Betancourt, D. Simpson, A. Vehtari and A. Gelman, Validating Bayesian inference algorithms with
simulation-based calibration (arXiv 1804.06788, 2018).
"""

from dataclasses import dataclass

import numpy as np

import flowdoubt as fd

from . import worlds

TRIALS = 999
BINS = 10


@dataclass
class Outcome:
    """What came of the worlds of one kind; every field but the kind has a number a world."""

    kind: str
    first_order: np.ndarray
    """Whether the interval of first order held the truth."""
    monte_carlo: np.ndarray
    """Whether the symmetric interval of the trials did."""
    ranks: np.ndarray
    """How many of the trials were below the truth."""
    normalised: np.ndarray
    """Truth less estimate, in standard uncertainties."""
    planned: np.ndarray
    """Planned over evaluated standard uncertainty."""

    def histogram(self):
        """How many ranks lie in each tenth."""
        return np.histogram(self.ranks, bins=BINS, range=(0, TRIALS + 1))[0]

    def chi_square(self):
        """Of the ranks against equal tenths, with nine degrees of freedom."""
        expected = len(self.ranks) / BINS
        return float(np.sum((self.histogram() - expected) ** 2) / expected)


def outcome_of(kind, seeds):
    """Make the worlds of a kind, evaluate and plan each, and see what became of the truth."""
    rows = [_of_world(worlds.consistent(kind, seed), seed) for seed in seeds]
    columns = [np.array(column) for column in zip(*rows, strict=True)]
    return Outcome(kind, *columns)


def together(outcomes):
    """All kinds as one."""
    fields = ("first_order", "monte_carlo", "ranks", "normalised", "planned")
    joined = [np.concatenate([getattr(outcome, name) for outcome in outcomes]) for name in fields]
    return Outcome("all", *joined)


def _of_world(world, seed):
    site = fd.Site.from_toml(world.site)
    evaluation = site.evaluate(world.readings)
    # worlds are in SI
    estimate, u = evaluation.result("SI")
    away = world.volume_flow - estimate
    expanded = evaluation.expanded().value("SI")
    trials = np.sort(evaluation.monte_carlo(trials=TRIALS, seed=seed + 1).values("SI"))
    low, high = trials[24], trials[974]
    channel = "volume_flow" if "volume_flow_m3_h" in world.readings else "time_difference"
    (readings, *_) = world.readings.values()
    plan = site.plan(
        f"{world.volume_flow!r} m3/s", scatter={channel: "1 %"}, readings=len(readings)
    )
    planned = plan.budget(0).result("SI")[1]
    return (
        abs(away) <= expanded,
        low <= world.volume_flow <= high,
        np.sum(trials < world.volume_flow),
        away / u,
        planned / u,
    )


def totals_held(kind, seeds):
    """Whether the interval of a total held the truth, and the error in standard uncertainties."""
    return np.array([_total_of(worlds.log(kind, seed)) for seed in seeds]).T


def _total_of(world):
    series = fd.Site.from_toml(world.site).evaluate_series(world.readings, interval="60 s")
    flow = world.volume_flow * world.course
    truth = 60.0 * (flow.sum() - (flow[0] + flow[-1]) / 2)
    total = series.total
    away = truth - total.value("m3")
    expanded = total.expanded(0.95)
    half_width = expanded.expanded_uncertainty
    u = half_width / expanded.coverage_factor
    scale = total.value("m3") / total.estimate
    return abs(away) <= half_width * scale, away / (u * scale)
