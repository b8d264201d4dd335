"""How a model written in Python is called: with numbers, with dual numbers, with blocks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from flowdoubt import _core
from flowdoubt._core import (
    FlowdoubtError,
    InputSet,
    ModelError,
    Tallied,
    Tally,
    TallyPlan,
)
from flowdoubt.edge.errors import refuse
from flowdoubt.models.dual import Dual, plain
from flowdoubt.models.jobs import Looker
from flowdoubt.models.results import JointTrials
from flowdoubt.models.trials import Trials

Model: TypeAlias = Callable[[dict[str, Any]], Any]

SINGLE = "y"


def call(model: Model, x: dict[str, Any]) -> Any:
    """Return what the model returns; what it raises becomes a `ModelError`."""
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


def named(result: Any) -> tuple[dict[str, Any], bool]:
    """Return the outputs by name, and whether the model returned more than one."""
    if isinstance(result, Mapping | tuple | list) and not result:
        raise refuse(
            f"model: returned {result!r}; allowed: a number, or numbers by name",
            field="model",
            value=result,
            allowed="a number, or numbers by name",
        )
    if isinstance(result, Mapping):
        return {str(name): value for name, value in result.items()}, True
    if isinstance(result, tuple | list):
        return {f"{SINGLE}{i + 1}": value for i, value in enumerate(result)}, True
    return {SINGLE: result}, False


def units(names: Mapping[str, Any], unit: str | Mapping[str, str]) -> list[tuple[str, str]]:
    """Return outputs with their units, all with one or each with its own."""
    if isinstance(unit, str):
        return [(name, unit) for name in names]
    return [(name, unit.get(name, "")) for name in names]


def number(name: str, value: Any) -> float:
    """Return an output as a number; refuse what is none."""
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


Derivatives: TypeAlias = tuple[dict[str, Any], bool, NDArray[np.float64], NDArray[np.float64]]


def by_duals(model: Model, core: InputSet) -> Derivatives:
    """Return outputs, whether there are several, estimates and gradients, by dual numbers."""
    x = core.estimates()
    seeded = {
        name: Dual(float(v), seed)
        for name, v, seed in zip(core.names, x, np.eye(len(x)), strict=True)
    }
    outputs, several = named(call(model, seeded))
    estimates = np.array([number(name, plain(y)) for name, y in outputs.items()])
    gradients = np.array(
        [y.slope if isinstance(y, Dual) else np.zeros(len(x)) for y in outputs.values()]
    )
    return outputs, several, estimates, gradients


def by_differences(model: Model, core: InputSet) -> Derivatives:
    """Return the same by central differences, from a model that takes floats."""
    x = core.estimates()

    def at(point: NDArray[np.float64]) -> tuple[dict[str, Any], bool]:
        values = [float(v) for v in point]
        return named(call(model, dict(zip(core.names, values, strict=True))))

    outputs, several = at(x)
    estimates = np.array([number(n, y) for n, y in outputs.items()])
    gradients = np.zeros((len(outputs), len(x)))
    for i, u in enumerate(core.standard_uncertainties()):
        if u == 0.0:
            continue
        step = np.zeros(len(x))
        step[i] = u
        above, below = (at(x + step)[0], at(x - step)[0])
        for k, name in enumerate(outputs):
            gradients[k, i] = (number(name, above[name]) - number(name, below[name])) / (2 * u)
    return outputs, several, estimates, gradients


def derivatives_of(model: Model, core: InputSet, derivatives: str) -> Derivatives:
    """Return the same by the way that is named."""
    if derivatives == "exact":
        return by_duals(model, core)
    if derivatives == "differences":
        return by_differences(model, core)
    raise refuse(
        f"derivatives: found {derivatives!r}; allowed: 'exact', 'differences'",
        code="unknown-name",
        field="derivatives",
        value=derivatives,
        allowed="exact, differences",
    )


class Blocks:
    """A model as the core calls it: arrays in the order of the inputs, arrays out."""

    def __init__(self, model: Model, core: InputSet) -> None:
        self.model, self.names = model, core.names
        # one call at the estimates tells the names of the outputs
        estimates = {n: np.array([v]) for n, v in zip(core.names, core.estimates(), strict=True)}
        outputs, self.several = named(call(model, estimates))
        self.outputs = list(outputs)

    def __call__(self, columns: list[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
        """Return the outputs of a block of trials."""
        size = len(columns[0]) if columns else 0
        results, _ = named(call(self.model, dict(zip(self.names, columns, strict=True))))
        if list(results) != self.outputs:
            raise refuse(
                f"the model returned {list(results)}; allowed: {self.outputs}, as at the estimates",
                field="model",
                value=list(results),
                allowed=", ".join(self.outputs),
            )
        return [_block(name, values, size) for name, values in results.items()]

    def units(self, unit: str | Mapping[str, str]) -> list[tuple[str, str]]:
        """Return the outputs with their units."""
        return units(dict.fromkeys(self.outputs), unit)

    def by_name(self, joint: _core.JointTrials) -> Trials | JointTrials:
        """Return trials of one output, or of several by name."""
        members = dict(zip(self.outputs, joint.members(), strict=True))
        return JointTrials(members, joint) if self.several else members[SINGLE]


@dataclass(frozen=True)
class Source:
    """Inputs and model of a run whose trials are tallied, see `flowdoubt.models.jobs.Source`."""

    core: InputSet
    blocks: Blocks
    named: list[tuple[str, str]]

    def _tally(self, plan: TallyPlan, looker: Looker | None) -> Tallied:
        return self.core._tally(self.blocks, self.named, plan, looker)

    def _tally_part(self, plan: TallyPlan, first: int, last: int, looker: Looker | None) -> bytes:
        return self.core._tally_part(self.blocks, self.named, plan, first, last, looker)

    def _tally_finish(self, plan: TallyPlan, tally: Tally) -> Tallied:
        return self.core._tally_finish(self.blocks, self.named, plan, tally)


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
