"""Work that goes on for long or on all threads: processes, threads and Ctrl-C are tried with it."""

import functools
import hashlib
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import flowdoubt as fd
from flowdoubt.site.plan import _request

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"


@functools.cache
def site():
    return fd.Site.load(DEMO / "site.toml")


@functools.cache
def evaluation():
    return site().evaluate(str(DEMO / "readings.csv"))


@functools.cache
def verified():
    return site().verify(DEMO / "verification.toml")


@functools.cache
def kept(trials):
    return evaluation().monte_carlo(trials)


@functools.cache
def record(trials):
    return evaluation().record(kept(trials))


@functools.cache
def record_of_verification(trials):
    return verified().record(verified().monte_carlo(trials))


@functools.cache
def log(rows):
    lines = (DEMO / "readings.csv").read_text().splitlines()
    readings = np.array([[float(cell) for cell in line.split(",")[1:]] for line in lines[1:]])
    copies = np.tile(readings, (-(-rows // len(readings)), 1))[:rows]
    return dict(zip(lines[0].split(",")[1:], copies.T, strict=True))


def plan(points):
    flows = [f"{flow:.6f} m3/h" for flow in np.linspace(300, 1500, points)]
    return site().plan(flows, ["8 degC"])


@functools.cache
def planned(points):
    return plan(points)


@functools.cache
def plan_of_windows(windows):
    temperatures = [f"{celsius:.6f} degC" for celsius in np.linspace(5, 30, windows)]
    return site().plan(["900 m3/h"], temperatures)


def sites(count):
    # one site again and again, under other names
    file = str(DEMO / "site.toml")
    names = [file.replace("demo/", "demo/" + number * "./") for number in range(count)]
    found = fd.evaluate_sites({name: str(DEMO / "readings.csv") for name in names})
    return found.columns(si=True)["volume_flow_m3_s"]


@functools.cache
def noise(count):
    return np.random.default_rng(1).normal(size=count)


def difference_over_sum(x):
    return (x["a"] - x["b"]) / (x["a"] + x["b"])


INPUTS = {"a": fd.normal(10.0, 0.1, dof=12.0), "b": fd.truncated_normal(2.0, 0.3, lower=1.0)}


def settled(most):
    # as many digits as so many trials are enough for, or not
    try:
        return evaluation().adaptive_monte_carlo(digits=2 if most < 1e6 else 4, most_trials=most)
    except fd.FlowdoubtError as error:
        return error


@dataclass(frozen=True)
class Work:
    """A function of an amount of work, with what is soon done and what takes a second or so."""

    of: Callable[[int], Any]
    few: int
    many: int
    # the entries of the public interface that it goes through
    tries: tuple[str, ...] = ()

    def digest(self, amount: int) -> str:
        """Tell results apart, whatever they are."""
        found = self.of(amount)
        found = found.tobytes() if isinstance(found, np.ndarray) else repr(found).encode()
        return hashlib.sha256(found).hexdigest()


WORK = {
    "trials that are kept": Work(
        lambda n: evaluation().monte_carlo(n).interval(),
        20_000,
        4_000_000,
        ("Evaluation.monte_carlo",),
    ),
    "tallies": Work(
        lambda n: evaluation().monte_carlo(n, keep=False).to_bytes(),
        20_000,
        4_000_000,
    ),
    "adaptive trials": Work(
        lambda n: str(settled(n)),
        100_000,
        5_000_000,
        ("Evaluation.adaptive_monte_carlo",),
    ),
    "Sobol points": Work(
        lambda n: evaluation().low_discrepancy(n).outputs,
        1024,
        2**18,
        ("Evaluation.low_discrepancy",),
    ),
    "stress test": Work(
        lambda n: evaluation().stress_test(trials=n).stresses,
        10_000,
        300_000,
        ("Evaluation.stress_test",),
    ),
    "validation": Work(
        lambda n: evaluation().validate(kept(n)).verdict,
        10_000,
        10_000,
        ("Evaluation.validate",),
    ),
    "plan": Work(lambda n: plan(n).points, 20, 1000, ("Site.plan",)),
    "targets": Work(
        lambda n: planned(n)._towards("2 %", *_request(None, None)).reachable, 20, 6000
    ),
    "windows": Work(lambda n: plan_of_windows(n).windows, 4, 16),
    "stress test of a plan": Work(
        lambda n: planned(3).stress_test(1, trials=n).stresses,
        10_000,
        300_000,
        ("Plan.stress_test",),
    ),
    "series": Work(
        lambda n: site().evaluate_series(log(n), interval="5 s").total.estimate,
        3000,
        400_000,
        ("Site.evaluate_series",),
    ),
    "trials of a verification": Work(
        lambda n: verified().monte_carlo(n).errors[0].values(),
        10_000,
        300_000,
        ("VerificationResult.monte_carlo",),
    ),
    "record reproduced": Work(
        lambda n: str(record(n).reproduce()),
        20_000,
        5_000_000,
        ("Record.reproduce",),
    ),
    "verification reproduced": Work(
        lambda n: str(record_of_verification(n).reproduce()), 10_000, 200_000
    ),
    "sites": Work(sites, 8, 600, ("evaluate_sites",)),
    "trials of a Python model": Work(
        lambda n: fd.monte_carlo(difference_over_sum, INPUTS, trials=n).interval(),
        20_000,
        2_000_000,
        ("monte_carlo",),
    ),
    "adaptive trials of a Python model": Work(
        lambda n: str(
            fd.adaptive_monte_carlo(difference_over_sum, INPUTS, digits=1, most_trials=n)
        ),
        1_000_000,
        1_000_000,
        ("adaptive_monte_carlo", "InputSet.adaptive"),
    ),
    "Sobol points of a Python model": Work(
        lambda n: fd.low_discrepancy(difference_over_sum, INPUTS, points=n).outputs,
        1024,
        2**17,
        ("low_discrepancy", "InputSet.low_discrepancy"),
    ),
    "sensitivity indices": Work(
        lambda n: fd.sobol_indices(difference_over_sum, INPUTS, trials=n).columns(),
        10_000,
        2_000_000,
        ("sobol_indices",),
    ),
    "evaluation of long columns": Work(
        lambda n: site().evaluate(log(n)).standard_uncertainty, 1000, 100_000
    ),
    "line with uncertainty in both coordinates": Work(
        lambda n: (
            fd.regression.straight_line(
                noise(n).cumsum(), noise(n), u_x=np.full(n, 0.1), u_y=np.full(n, 0.1)
            ).slope
        ),
        20,
        500,
    ),
    "autocorrelation": Work(lambda n: fd.statistics.autocorrelation(noise(300_000), n), 10, 1000),
    "mean of a long series": Work(
        lambda n: fd.statistics.autocorrelated(noise(n)).standard_uncertainty, 1000, 400_000
    ),
}


def digests(names=None):
    """Digests of the few, as a child process is asked for them."""
    return {name: WORK[name].digest(WORK[name].few) for name in names or WORK}


if __name__ == "__main__":
    import time

    for name in sys.argv[1:] or WORK:
        for amount in (WORK[name].few, WORK[name].many):
            begun = time.perf_counter()
            digest = WORK[name].digest(amount)
            again = time.perf_counter()
            same = WORK[name].digest(amount) == digest
            print(
                f"{name:36} {amount:10} {again - begun:6.2f} {time.perf_counter() - again:6.2f} s",
                same,
                flush=True,
            )
