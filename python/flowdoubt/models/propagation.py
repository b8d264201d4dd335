"""Propagation of uncertainty by derivatives: first and second order."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from flowdoubt._core import (
    Input,
    InputSet,
    SecondOrder,
)
from flowdoubt.edge.errors import refuse
from flowdoubt.models.calls import (
    SINGLE,
    Model,
    by_duals,
    call,
    derivatives_of,
    named,
    units,
)
from flowdoubt.models.dual import Dual, plain
from flowdoubt.models.inputs import input_set
from flowdoubt.models.results import Estimate, Estimates

if TYPE_CHECKING:
    pass

Correlations: TypeAlias = Mapping[tuple[str, str], float]


def set_of(inputs: Mapping[str, Input] | InputSet, correlations: Correlations | None) -> InputSet:
    """Return inputs by name and their correlations as a set, or the set that was given."""
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
        Inputs by name, see `flowdoubt.models.inputs`, or a set of inputs.
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

    Raises
    ------
    InputError
        What is no input; correlations beside a set of inputs, or of other names; a model that
        returns what is no number, or uses a function without derivative where derivatives are
        exact.
    RangeError
        A correlation outside -1 to 1; an estimate or a sensitivity coefficient that is not finite.
    CorrelationError
        Correlations that no random variables can have.
    ModelError
        A model that raised an exception, which is the cause.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> y = fd.propagate(lambda x: x["a"] * x["b"],
    ...                  {"a": fd.normal(10.0, 0.1), "b": fd.rectangular(1.9, 2.1)})
    >>> y.estimate, round(y.standard_uncertainty, 6)
    (20.0, 0.61101)
    """
    core = set_of(inputs, correlations)
    outputs, several, estimates, gradients = derivatives_of(model, core, derivatives)
    budgets = core._budgets(units(outputs, unit), estimates, gradients)
    members = {name: Estimate(b) for name, b in zip(outputs, budgets, strict=True)}
    return Estimates(members, core._joint_result(budgets)) if several else members[SINGLE]


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

    Returns
    -------
    SecondOrder or dict of SecondOrder
        By the names of outputs where the model has several.

    Raises
    ------
    FlowdoubtError
        As for `propagate` with exact derivatives.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> order = fd.second_order(lambda x: x["a"] ** 2, {"a": fd.normal(0.0, 0.1)})
    >>> order.matters, round(order.bias, 6), round(order.standard_uncertainty, 6)
    (True, 0.01, 0.014142)
    """
    core = set_of(inputs, correlations)
    x = core.estimates()
    outputs, several, estimates, gradients = by_duals(model, core)
    budgets = core._budgets(units(outputs, unit), estimates, gradients)
    n = len(x)

    def along(
        direction: NDArray[np.float64],
    ) -> list[tuple[float, NDArray[np.float64], NDArray[np.float64]]]:
        seeded = {
            name: Dual(Dual(Dual(float(v), seed), float(d)), float(d))
            for name, v, seed, d in zip(core.names, x, np.eye(n), direction, strict=True)
        }
        results, _ = named(call(model, seeded))
        return [_directional(results[name], n) for name in outputs]

    orders = core._second_order(budgets, along)
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
