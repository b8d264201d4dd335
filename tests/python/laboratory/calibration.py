"""How often intervals hold the truth of many worlds, and where the truth ranks among the trials.

Ranks of truths that were drawn as stated are uniform where the whole chain is right: S. Talts, M.
Betancourt, D. Simpson, A. Vehtari and A. Gelman, Validating Bayesian inference algorithms with
simulation-based calibration (arXiv 1804.06788, 2018).
"""

from dataclasses import dataclass, fields
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from scipy import stats

import flowdoubt as fd

from . import measured, verifications, worlds

TRIALS = 999
BINS = 10


@dataclass
class Outcome:
    """What came of the worlds of one kind; every field but the kind has a number a result."""

    kind: str
    first_order: np.ndarray
    """Whether the interval of first order held the truth."""
    monte_carlo: np.ndarray
    """Whether the symmetric interval of the trials did."""
    predicted: np.ndarray
    """Share of the trials in the interval of first order."""
    ranks: np.ndarray
    """How many of the trials were below the truth."""
    normalised: np.ndarray
    """Truth less estimate, in standard uncertainties of first order."""
    in_trials: np.ndarray
    """Truth less mean of the trials, in their standard deviations."""
    planned: np.ndarray
    """Planned over evaluated standard uncertainty; NaN where nothing is planned."""

    @classmethod
    def of(cls, kind, rows):
        """From a row for each result."""
        return cls(str(kind), *(np.array(column) for column in zip(*rows, strict=True)))

    def __len__(self):
        return len(self.ranks)

    def histogram(self, bins=BINS):
        """How many ranks lie in each of equal bins."""
        return np.histogram(self.ranks, bins=bins, range=(0, TRIALS + 1))[0]

    def chi_square(self):
        """Of the ranks against equal tenths, with nine degrees of freedom."""
        expected = len(self) / BINS
        return float(np.sum((self.histogram() - expected) ** 2) / expected)


def together(outcomes, kind="all"):
    """Several kinds as one."""
    names = [field.name for field in fields(Outcome)][1:]
    joined = [np.concatenate([getattr(outcome, name) for outcome in outcomes]) for name in names]
    return Outcome(kind, *joined)


def compared(truth, estimate, u, expanded, trials, planned=np.nan):
    """A row of an outcome, all in one unit."""
    away = truth - estimate
    trials = np.sort(trials)
    low, high = trials[24], trials[974]
    inside = np.mean(abs(trials - estimate) <= expanded)
    rank = np.sum(trials < truth)
    in_trials = (truth - trials.mean()) / trials.std(ddof=1)
    held = abs(away) <= expanded, low <= truth <= high
    return *held, inside, rank, away / u, in_trials, planned


def outcome_of(kind, seeds):
    """Make the worlds of a kind, evaluate and plan each, and see what became of the truth."""
    return Outcome.of(kind, [of_world(worlds.consistent(kind, seed), seed) for seed in seeds])


def of_world(world, seed):
    """The row of a world."""
    site = fd.Site.from_toml(world.site)
    evaluation = site.evaluate(world.readings)
    channel = "volume_flow" if "volume_flow_m3_h" in world.readings else "time_difference"
    (readings, *_) = world.readings.values()
    flow = f"{world.volume_flow!r} m3/s"
    plan = site.plan(flow, scatter={channel: "1 %"}, readings=len(readings))
    planned = plan.budget(0).result("SI")[1] / evaluation.result("SI")[1]
    return of_evaluation(evaluation, world.volume_flow, seed, planned)


def of_evaluation(evaluation, truth, seed, planned=np.nan):
    """The row of an evaluation; the truth in m3/s."""
    estimate, u = evaluation.result("SI")
    expanded = evaluation.expanded().value("SI")
    trials = evaluation.monte_carlo(trials=TRIALS, seed=seed + 1).values("SI")
    return compared(truth, estimate, u, expanded, trials, planned)


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


def verified(kind, seeds):
    """Make verifications of a kind and see what became of the true error of one of the points.

    Errors of points are correlated, and ranks of both would not be independent.
    """
    rows = [_of_verification(verifications.consistent(kind, seed), seed) for seed in seeds]
    return Outcome.of(kind, rows)


def _of_verification(world, seed):
    site = fd.Site.from_toml(world.site)
    with TemporaryDirectory() as folder:
        for number, rows in enumerate(world.readings, 1):
            text = "volume_flow_m3_h\n" + "".join(f"{value!r}\n" for value in rows.tolist())
            (Path(folder) / f"{number}.csv").write_text(text)
        file = Path(folder) / "verification.toml"
        result = site.verify(fd.verification.Verification.from_toml(world.verification, file))
    point = seed % len(world.errors)
    trials = result.monte_carlo(trials=TRIALS, seed=seed + 1).errors[point].values("SI")
    budget = result.point_budget(point)
    expanded = budget.expanded(0.95).value("SI")
    return compared(world.errors[point], *budget.result("SI"), expanded, trials)


def reconciled(kind, seeds):
    """Reconcile timed sites with their transit times: the flows, and what was adjusted.

    Returns the outcome of the flows; by the name of the adjusted input its errors in standard
    uncertainties and whether its interval held the truth; and the chi-squares of the adjustments.
    """
    rows, of_inputs, chi_squares = [], {}, []
    for seed in seeds:
        world = worlds.consistent(kind, seed)
        found = fd.Site.from_toml(world.site).evaluate(world.readings).reconciled()
        rows.append(of_evaluation(found.after, world.volume_flow, seed))
        chi_squares.append(found.chi_square)
        lines = found.after.budget.columns()
        degrees = dict(zip(lines["input"], lines["dof"], strict=True))
        columns = (found.adjustments[key] for key in ("input", "after", "uncertainty_after"))
        for name, after, u in zip(*columns, strict=True):
            if name in world.truths:
                away = (world.truths[name] - after) / u
                factor = stats.t.ppf(0.975, degrees[name])
                of_inputs.setdefault(name, []).append((away, abs(away) <= factor))
    return Outcome.of(kind, rows), of_inputs, np.array(chi_squares)


def outcome_of_measured(profile, seeds, scale=1.0):
    """Evaluate sites whose flow has a measured profile, see `measured.world`."""
    rows = []
    for seed in seeds:
        world = measured.world(profile, seed, scale)
        evaluation = fd.Site.from_toml(world.site).evaluate(world.readings)
        rows.append(of_evaluation(evaluation, world.volume_flow, seed))
    return Outcome.of(f"{profile.group}: {profile.source}", rows)
