"""Any measurement model written as an ordinary Python function.

The function takes a mapping of input names to values and returns the measurand, or a mapping of
names to several measurands. It is called with dual numbers for the sensitivity coefficients and
with arrays for Monte Carlo, so it is written with arithmetic and numpy functions.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from flowdoubt import _flowdoubt
from flowdoubt._dual import Dual, plain
from flowdoubt._errors import refuse
from flowdoubt._flowdoubt import (
    FlowdoubtError,
    Input,
    InputSet,
    ModelError,
    SecondOrder,
    Sensitivity,
    Tallied,
    TalliedTrials,
    Tally,
    TallyPlan,
    Trials,
)
from flowdoubt._jobs import Looker, keeps, progress_bar, tallied
from flowdoubt._results import AdaptiveTrials, Estimate, Estimates, JointTrials, TalliedJoint
from flowdoubt.inputs import input_set

if TYPE_CHECKING:
    from concurrent.futures import Executor

__all__ = [
    "AdaptiveTrials",
    "Estimate",
    "Estimates",
    "JointTrials",
    "TalliedJoint",
    "adaptive_monte_carlo",
    "monte_carlo",
    "propagate",
    "second_order",
    "sobol_indices",
]

Model: TypeAlias = Callable[[dict[str, Any]], Any]
Correlations: TypeAlias = Mapping[tuple[str, str], float]

_SINGLE = "y"


def _input_set(
    inputs: Mapping[str, Input] | InputSet, correlations: Correlations | None
) -> InputSet:
    if not isinstance(inputs, InputSet):
        return input_set(inputs, correlations)
    if correlations:
        raise refuse(
            "correlations: found correlations beside a set of inputs; allowed: those of the set",
            field="correlations",
            value=correlations,
            allowed="none beside a set of inputs",
        )
    return inputs


def _call(model: Model, x: dict[str, Any]) -> Any:
    try:
        return model(x)
    except FlowdoubtError:
        raise
    except Exception as error:
        raise refuse(
            f"the model raised {type(error).__name__}: {error}",
            code="model-raised",
            field="model",
            value=error,
            allowed="a model that returns numbers for these inputs",
            kind=ModelError,
        ) from error


def _named(result: Any) -> tuple[dict[str, Any], bool]:
    """Return the outputs by name, and whether the model returned more than one."""
    if isinstance(result, Mapping):
        return {str(name): value for name, value in result.items()}, True
    if isinstance(result, tuple | list):
        return {f"{_SINGLE}{i + 1}": value for i, value in enumerate(result)}, True
    return {_SINGLE: result}, False


def _units(names: Mapping[str, Any], unit: str | Mapping[str, str]) -> list[tuple[str, str]]:
    if isinstance(unit, str):
        return [(name, unit) for name in names]
    return [(name, unit.get(name, "")) for name in names]


def propagate(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    correlations: Correlations | None = None,
    *,
    unit: str | Mapping[str, str] = "",
    derivatives: Literal["exact", "differences"] = "exact",
) -> Estimate | Estimates:
    """Propagate uncertainty through a model to first order (JCGM 100:2008, 5.1 and 5.2).

    Parameters
    ----------
    model
        A function of a dictionary of input values.
    inputs
        Inputs by name, see `flowdoubt.inputs`, or a set of inputs.
    correlations
        Correlation coefficients by pairs of names.
    unit
        Unit of the measurand, or units by name, for tables.
    derivatives
        ``"exact"`` calls the model with dual numbers. ``"differences"`` calls it with floats, two
        for each input, and takes central differences over one standard uncertainty to each side
        (JCGM 100:2008, 5.1.3 note 2): for models that only take floats.

    Returns
    -------
    Estimate, or Estimates by name where the model returns a mapping or a tuple.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> y = fd.propagate(lambda x: x["a"] * x["b"],
    ...                  {"a": fd.normal(10.0, 0.1), "b": fd.rectangular(1.9, 2.1)})
    >>> y.estimate, round(y.standard_uncertainty, 6)
    (20.0, 0.61101)
    """
    core = _input_set(inputs, correlations)
    if derivatives == "exact":
        outputs, several, estimates, gradients = _by_duals(model, core)
    elif derivatives == "differences":
        outputs, several, estimates, gradients = _by_differences(model, core)
    else:
        raise refuse(
            f"derivatives: found {derivatives!r}; allowed: 'exact', 'differences'",
            code="unknown-name",
            field="derivatives",
            value=derivatives,
            allowed="exact, differences",
        )
    budgets = core.budgets(_units(outputs, unit), estimates, gradients)
    members = {name: Estimate(b) for name, b in zip(outputs, budgets, strict=True)}
    return Estimates(members, core.joint_result(budgets)) if several else members[_SINGLE]


def second_order(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    correlations: Correlations | None = None,
    *,
    unit: str | Mapping[str, str] = "",
) -> SecondOrder | dict[str, SecondOrder]:
    """Propagate uncertainty to second order (JCGM 100:2008, 5.1.2 note).

    The result says whether second order matters, by what the standard uncertainty changes and how
    far the mean of the measurand lies from its estimate. The terms are those of normal inputs.

    Parameters
    ----------
    model, inputs, correlations, unit
        As for `propagate`.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> order = fd.second_order(lambda x: x["a"] ** 2, {"a": fd.normal(0.0, 0.1)})
    >>> order.matters, round(order.bias, 6), round(order.standard_uncertainty, 6)
    (True, 0.01, 0.014142)
    """
    core = _input_set(inputs, correlations)
    x = core.estimates()
    outputs, several, estimates, gradients = _by_duals(model, core)
    budgets = core.budgets(_units(outputs, unit), estimates, gradients)
    n = len(x)

    def along(
        direction: NDArray[np.float64],
    ) -> list[tuple[float, NDArray[np.float64], NDArray[np.float64]]]:
        seeded = {
            name: Dual(Dual(Dual(float(v), seed), float(d)), float(d))
            for name, v, seed, d in zip(core.names, x, np.eye(n), direction, strict=True)
        }
        results, _ = _named(_call(model, seeded))
        return [_directional(results[name], n) for name in outputs]

    orders = core.second_order(budgets, along)
    return dict(zip(outputs, orders, strict=True)) if several else orders[0]


def _directional(y: Any, n: int) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    """Return curvature, gradient of the slope and gradient of the curvature along a direction."""

    def part(z: Any, name: str) -> Any:
        return getattr(z, name) if isinstance(z, Dual) else (z if name == "value" else 0.0)

    def gradient(z: Any) -> NDArray[np.float64]:
        return np.ascontiguousarray(np.broadcast_to(part(z, "slope"), (n,)), dtype=np.float64)

    once = part(part(y, "value"), "slope")
    twice = part(part(y, "slope"), "slope")
    return float(plain(twice)), gradient(once), gradient(twice)


def _number(name: str, value: Any) -> float:
    try:
        return float(value)
    except (TypeError, ValueError):
        raise refuse(
            f"{name}: the model returned {type(value).__name__}; allowed: one number for each "
            "measurand",
            field=name,
            value=value,
            allowed="a number",
        ) from None


_Derivatives: TypeAlias = tuple[dict[str, Any], bool, NDArray[np.float64], NDArray[np.float64]]


def _by_duals(model: Model, core: InputSet) -> _Derivatives:
    """Return outputs, whether there are several, estimates and gradients, by dual numbers."""
    x = core.estimates()
    seeded = {
        name: Dual(float(v), seed)
        for name, v, seed in zip(core.names, x, np.eye(len(x)), strict=True)
    }
    outputs, several = _named(_call(model, seeded))
    estimates = np.array([_number(name, plain(y)) for name, y in outputs.items()])
    gradients = np.array(
        [y.slope if isinstance(y, Dual) else np.zeros(len(x)) for y in outputs.values()]
    )
    return outputs, several, estimates, gradients


def _by_differences(model: Model, core: InputSet) -> _Derivatives:
    """Return the same by central differences, from a model that takes floats."""
    x = core.estimates()

    def at(point: NDArray[np.float64]) -> tuple[dict[str, Any], bool]:
        values = [float(v) for v in point]
        return _named(_call(model, dict(zip(core.names, values, strict=True))))

    outputs, several = at(x)
    estimates = np.array([_number(n, y) for n, y in outputs.items()])
    gradients = np.zeros((len(outputs), len(x)))
    for i, u in enumerate(core.standard_uncertainties()):
        if u == 0.0:
            continue
        step = np.zeros(len(x))
        step[i] = u
        above, below = (at(x + step)[0], at(x - step)[0])
        for k, name in enumerate(outputs):
            gradients[k, i] = (_number(name, above[name]) - _number(name, below[name])) / (2 * u)
    return outputs, several, estimates, gradients


def monte_carlo(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    correlations: Correlations | None = None,
    *,
    trials: int = 1_000_000,
    seed: int = 1,
    unit: str | Mapping[str, str] = "",
    allowed_failures: float = 0.0,
    keep: bool | None = None,
    executor: Executor | None = None,
    progress: bool = False,
) -> Trials | JointTrials | TalliedTrials | TalliedJoint:
    """Propagate distributions through a model (JCGM 101:2008, clause 7).

    Correlated inputs that are not normal are joined by a Gaussian copula.

    Parameters
    ----------
    model
        A function of a dictionary of arrays of shape ``(n,)``, called block by block.
    inputs, correlations, unit
        As for `propagate`.
    trials, seed
        Number of trials and seed; the same seed gives the same draws, whatever the other inputs.
    allowed_failures
        The share of trials that may give no finite result.
    keep
        Whether all values are kept, up to 2e8 trials; the default is to do so without an executor.
        Otherwise trials are tallied and forgotten: memory does not grow with their number, and
        quantiles come with the bound of their error.
    executor
        An executor of `concurrent.futures`, such as a process pool or that of a Dask client, whose
        workers make the trials. The model must be such that it can be pickled for them. Results
        have the same bits as without.
    progress
        Show a progress bar; needs the package tqdm.

    Returns
    -------
    Trials, or JointTrials by name where the model returns a mapping or a tuple. Of tallies:
    TalliedTrials, TalliedJoint.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> m = fd.monte_carlo(lambda x: x["a"] * x["b"],
    ...                    {"a": fd.normal(10.0, 0.1), "b": fd.rectangular(1.9, 2.1)},
    ...                    trials=100_000, seed=1)
    >>> round(m.standard_uncertainty, 1)
    0.6
    """
    core = _input_set(inputs, correlations)
    blocks = _Blocks(model, core)
    named = blocks.units(unit)
    if keeps(keep, executor):
        with progress_bar(trials if progress else None) as looker:
            joint = core.monte_carlo(blocks, named, trials, seed, allowed_failures, looker)
        return blocks.by_name(joint)
    plan = core.tally_plan(blocks, named, trials, seed, allowed_failures)
    all_outputs = tallied(_Source(core, blocks, named), plan, executor, progress)
    members = dict(zip(blocks.outputs, all_outputs.members(), strict=True))
    return TalliedJoint(members, all_outputs) if blocks.several else members[_SINGLE]


def adaptive_monte_carlo(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    correlations: Correlations | None = None,
    *,
    digits: int = 2,
    coverage_probability: float = 0.95,
    kind: Literal["symmetric", "shortest"] = "symmetric",
    seed: int = 1,
    most_trials: int = 20_000_000,
    unit: str | Mapping[str, str] = "",
    allowed_failures: float = 0.0,
) -> AdaptiveTrials:
    """Add Monte Carlo trials until the results settle (JCGM 101:2008, 7.9; JCGM 102:2011, 7.8).

    Parameters
    ----------
    model, inputs, correlations, unit, allowed_failures
        As for `monte_carlo`.
    digits
        Number of significant digits of the standard uncertainty to settle, 1 to 4.
    coverage_probability, kind
        The coverage interval whose ends must settle too.
    seed, most_trials
        The seed, and the number of trials after which to stop.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> run = fd.adaptive_monte_carlo(lambda x: x["a"], {"a": fd.normal(0.0, 1.0)}, digits=1)
    >>> run.settled
    True
    """
    core = _input_set(inputs, correlations)
    blocks = _Blocks(model, core)
    run = core.adaptive(
        blocks,
        blocks.units(unit),
        digits,
        coverage_probability,
        kind,
        seed,
        most_trials,
        allowed_failures,
    )
    return AdaptiveTrials(blocks.by_name(run.trials), run.settled, run.batches, run.in_words)


def sobol_indices(
    model: Model,
    inputs: Mapping[str, Input] | InputSet,
    *,
    trials: int = 65_536,
    seed: int = 1,
    confidence: float = 0.95,
    unit: str | Mapping[str, str] = "",
) -> Sensitivity | dict[str, Sensitivity]:
    """Estimate first-order and total Sobol indices, with confidence intervals.

    The model is evaluated ``trials * (n + 2)`` times for ``n`` independent inputs.

    Parameters
    ----------
    model, inputs, unit
        As for `monte_carlo`.
    trials, seed
        Trials in each of the two samples, and the seed.
    confidence
        Confidence level of the intervals, which tell of the sampling only.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> shares = fd.sobol_indices(lambda x: x["a"] + 2 * x["b"],
    ...                           {"a": fd.normal(0.0, 1.0), "b": fd.normal(0.0, 1.0)})
    >>> shares.to_pandas()["total"].round(1).to_dict()
    {'a': 0.2, 'b': 0.8}
    """
    core = _input_set(inputs, None)
    blocks = _Blocks(model, core)
    indices = core.sobol_indices(blocks, blocks.units(unit), trials, seed, confidence)
    return dict(zip(blocks.outputs, indices, strict=True)) if blocks.several else indices[0]


class _Blocks:
    """A model as the core calls it: arrays in the order of the inputs, arrays out."""

    def __init__(self, model: Model, core: InputSet) -> None:
        self.model, self.names = model, core.names
        # one call at the estimates tells the names of the outputs
        estimates = {n: np.array([v]) for n, v in zip(core.names, core.estimates(), strict=True)}
        outputs, self.several = _named(_call(model, estimates))
        self.outputs = list(outputs)

    def __call__(self, columns: list[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
        size = len(columns[0]) if columns else 0
        results, _ = _named(_call(self.model, dict(zip(self.names, columns, strict=True))))
        if list(results) != self.outputs:
            raise refuse(
                f"the model returned {list(results)}; allowed: {self.outputs}, as at the estimates",
                field="model",
                value=list(results),
                allowed=", ".join(self.outputs),
            )
        return [_block(name, values, size) for name, values in results.items()]

    def units(self, unit: str | Mapping[str, str]) -> list[tuple[str, str]]:
        return _units(dict.fromkeys(self.outputs), unit)

    def by_name(self, joint: _flowdoubt.JointTrials) -> Trials | JointTrials:
        members = dict(zip(self.outputs, joint.members(), strict=True))
        return JointTrials(members, joint) if self.several else members[_SINGLE]


@dataclass(frozen=True)
class _Source:
    """Inputs and model of a run whose trials are tallied, see `flowdoubt._jobs.Source`."""

    core: InputSet
    blocks: _Blocks
    named: list[tuple[str, str]]

    def tally(self, plan: TallyPlan, looker: Looker | None) -> Tallied:
        return self.core.tally(self.blocks, self.named, plan, looker)

    def tally_part(self, plan: TallyPlan, first: int, last: int, looker: Looker | None) -> bytes:
        return self.core.tally_part(self.blocks, self.named, plan, first, last, looker)

    def tally_finish(self, plan: TallyPlan, tally: Tally) -> Tallied:
        return self.core.tally_finish(self.blocks, self.named, plan, tally)


def _block(name: str, values: Any, size: int) -> NDArray[np.float64]:
    block = np.asarray(values, dtype=np.float64)
    if block.shape not in ((), (size,)):
        raise refuse(
            f"{name}: the model returned shape {block.shape}; allowed: ({size},), one value for "
            "each trial",
            code="length",
            field=name,
            value=block.shape,
            allowed=f"({size},)",
        )
    return np.ascontiguousarray(np.broadcast_to(block, (size,)))
