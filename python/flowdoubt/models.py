"""Any measurement model written as an ordinary Python function.

The function takes a mapping of input names to values and returns the measurand, or a mapping of
names to several measurands. It is called with dual numbers for the sensitivity coefficients and
with arrays for Monte Carlo, so it is written with arithmetic and numpy functions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from flowdoubt._dual import Dual, plain
from flowdoubt._errors import refuse
from flowdoubt._flowdoubt import (
    Budget,
    Expanded,
    FlowdoubtError,
    Input,
    InputSet,
    ModelError,
    Trials,
)

__all__ = ["Estimate", "Estimates", "JointTrials", "monte_carlo", "propagate"]

Model: TypeAlias = Callable[[dict[str, Any]], Any]
Correlations: TypeAlias = Mapping[tuple[str, str], float]
_Member = TypeVar("_Member")

# Trials that are handed to the model in one call.
BLOCK = 65_536
_SINGLE = "y"


@dataclass(frozen=True)
class Estimate:
    """An estimate of one measurand with its uncertainty (JCGM 100:2008)."""

    budget: Budget

    @property
    def estimate(self) -> float:
        """The estimate."""
        return self.budget.estimate

    @property
    def standard_uncertainty(self) -> float:
        """The combined standard uncertainty."""
        return self.budget.standard_uncertainty

    @property
    def effective_dof(self) -> float:
        """The effective degrees of freedom (Welch-Satterthwaite)."""
        return self.budget.effective_dof

    def expanded(self, coverage_probability: float = 0.95) -> Expanded:
        """Return the expanded uncertainty for a coverage probability."""
        return self.budget.expanded(coverage_probability)

    def __repr__(self) -> str:
        return f"<Estimate of {self.budget.result_in_words}>"

    def _repr_html_(self) -> str:
        return self.budget._repr_html_()


@dataclass(frozen=True)
class _Joint(Mapping[str, _Member]):
    """Results of several measurands by name, with what they share."""

    members: dict[str, _Member]
    covariance: NDArray[np.float64]
    """Covariance matrix, shape ``(m, m)``, in the order of the members."""
    correlation: NDArray[np.float64]
    """Correlation matrix, shape ``(m, m)``."""

    def __getitem__(self, name: str) -> _Member:
        return self.members[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.members)

    def __len__(self) -> int:
        return len(self.members)


class Estimates(_Joint[Estimate]):
    """Estimates of several measurands that share their inputs (JCGM 102:2011)."""


class JointTrials(_Joint[Trials]):
    """Monte Carlo trials of several measurands that share their inputs (JCGM 102:2011)."""


def _input_set(inputs: Mapping[str, Input], correlations: Correlations | None) -> InputSet:
    for name, value in inputs.items():
        if not isinstance(value, Input):
            raise refuse(
                f"{name}: found {type(value).__name__}; allowed: an input such as "
                "fd.normal(10.0, 0.1) or fd.exact(10.0)",
                field=name,
                value=value,
                allowed="an input",
            )
    pairs = [(a, b, float(r)) for (a, b), r in (correlations or {}).items()]
    return InputSet(list(inputs.items()), pairs)


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
    inputs: Mapping[str, Input],
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
        Inputs by name, see `flowdoubt.inputs`.
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
    x = core.estimates()
    if derivatives == "exact":
        seeds = np.eye(len(x))
        seeded = {
            name: Dual(float(v), seed) for name, v, seed in zip(core.names, x, seeds, strict=True)
        }
        outputs, several = _named(_call(model, seeded))
        estimates = np.array([_number(n, plain(y)) for n, y in outputs.items()])
        gradients = np.array(
            [y.slope if isinstance(y, Dual) else np.zeros(len(x)) for y in outputs.values()]
        )
    elif derivatives == "differences":
        outputs, several, estimates, gradients = _by_differences(model, core, x)
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
    if not several:
        return members[_SINGLE]
    covariance, correlation = core.joint_result(budgets)
    return Estimates(members, covariance, correlation)


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


def _by_differences(
    model: Model, core: InputSet, x: NDArray[np.float64]
) -> tuple[dict[str, Any], bool, NDArray[np.float64], NDArray[np.float64]]:
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
    inputs: Mapping[str, Input],
    correlations: Correlations | None = None,
    *,
    trials: int = 1_000_000,
    seed: int = 1,
    unit: str | Mapping[str, str] = "",
    allowed_failures: float = 0.0,
    progress: bool = False,
) -> Trials | JointTrials:
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
    progress
        Show a progress bar; needs the package tqdm.

    Returns
    -------
    Trials, or JointTrials by name where the model returns a mapping or a tuple.

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
    draws = core.draws(trials, seed, allowed_failures)
    columns: dict[str, NDArray[np.float64]] = {}
    several = False
    for start in _steps(trials, progress):
        size = min(BLOCK, trials - start)
        x = dict(zip(core.names, draws.block(start, size), strict=True))
        outputs, several = _named(_call(model, x))
        for name, values in outputs.items():
            column = columns.setdefault(name, np.empty(trials))
            column[start : start + size] = _block(name, values, size)
    results, covariance, correlation = draws.trials(_units(columns, unit), list(columns.values()))
    members = dict(zip(columns, results, strict=True))
    return JointTrials(members, covariance, correlation) if several else members[_SINGLE]


def _steps(trials: int, progress: bool) -> Any:
    starts = range(0, trials, BLOCK)
    if not progress:
        return starts
    from tqdm.auto import tqdm

    return tqdm(starts, desc="Monte Carlo", unit="block")


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
    return block
