"""Conformity with specified requirements and the risks of a wrong decision (JCGM 106:2012).

True values are judged by a tolerance interval, measured values by an acceptance interval; what lies
between their limits is a guard band. All values have one unit: for results of a site, and for
trials, that is the SI unit.
"""

from __future__ import annotations

import math
from typing import Any, Literal, TypeAlias, overload

from numpy.typing import ArrayLike

from flowdoubt import _core
from flowdoubt._core import (
    Budget,
    Evaluation,
    GlobalRisks,
    Input,
    ItemsAndMeasurement,
    Permissible,
    SpecificRisks,
    Trials,
)
from flowdoubt.edge.arrays import FloatOrArray, shaped
from flowdoubt.edge.columns import aligned
from flowdoubt.edge.errors import refuse
from flowdoubt.models import Estimate

__all__ = [
    "GlobalRisks",
    "ItemsAndMeasurement",
    "Permissible",
    "SpecificRisks",
    "acceptance_interval",
    "acceptance_limit",
    "conformance_probability",
    "items_and_measurement",
    "maximum_permissible_error",
    "measurement_capability_index",
    "specific_risks",
    "tolerance_interval",
]

Quantity: TypeAlias = Input | Estimate | Budget | Evaluation | Trials
Uncertainty: TypeAlias = ArrayLike | None
_QUANTITIES = "an input, an estimate, a budget, an evaluation, trials, or a number with its u"


def tolerance_interval(lower: float | None = None, upper: float | None = None) -> Permissible:
    """Interval of permissible values of a property, with one limit or two.

    Parameters
    ----------
    lower, upper
        The tolerance limits, which belong to the interval (JCGM 106:2012, 3.3.5).

    Returns
    -------
    Permissible
        ``lower`` and ``upper`` (infinite where there is none), ``contains(values)``,
        ``guarded(guard_band)``.

    Raises
    ------
    FlowdoubtError
        No limit, a limit that is not finite, limits in the wrong order.

    Examples
    --------
    >>> tolerance_interval(upper=-5.4)
    <Permissible values of -5.4 and below>
    >>> tolerance_interval(12.5, 16.3).contains([12.0, 12.5, 15.0]).tolist()
    [False, True, True]
    """
    return Permissible(lower, upper)


def maximum_permissible_error(largest_error: float, nominal: float = 0.0) -> Permissible:
    """Tolerance interval of errors up to a maximum to both sides (JCGM 106:2012, 3.3.18).

    Parameters
    ----------
    largest_error
        The maximum permissible error, above zero.
    nominal
        The middle of the interval; zero for an error of indication.

    Returns
    -------
    Permissible
        The interval.

    Raises
    ------
    RangeError
        An error that is not above zero, or numbers that are not finite.

    Examples
    --------
    >>> maximum_permissible_error(0.5)
    <Permissible values from -0.5 to 0.5>
    """
    return Permissible.about(nominal, largest_error)


def acceptance_interval(tolerance: Permissible, guard_band: float = 0.0) -> Permissible:
    """Interval of permissible measured values.

    Parameters
    ----------
    tolerance
        The tolerance interval.
    guard_band
        By how much each limit moves inwards: above zero for guarded acceptance (JCGM 106:2012,
        8.3.2), below zero for guarded rejection (8.3.3), zero for simple acceptance (8.2).

    Returns
    -------
    Permissible
        The interval.

    Raises
    ------
    FlowdoubtError
        A guard band that is not finite or leaves nothing.

    Examples
    --------
    >>> acceptance_interval(maximum_permissible_error(1.0), guard_band=0.25)
    <Permissible values from -0.75 to 0.75>
    """
    return tolerance.guarded(guard_band)


def acceptance_limit(
    tolerance_limit: float,
    side: Literal["lower", "upper"],
    *,
    standard_uncertainty: float | None = None,
    relative_standard_uncertainty: float | None = None,
    dof: float = math.inf,
    probability: float = 0.95,
    rule: Literal["guarded_acceptance", "guarded_rejection"] = "guarded_acceptance",
) -> float:
    """Return the acceptance limit at which the decision is right with a chosen probability.

    Parameters
    ----------
    tolerance_limit
        The limit of true values.
    side
        ``"lower"`` or ``"upper"``. Other limits do not enter; an interval that is short for the
        uncertainty also needs a look at `conformance_probability`.
    standard_uncertainty, relative_standard_uncertainty
        One of them: the same at all values, or a share of the measured value.
    dof
        Degrees of freedom of the uncertainty: normal where infinite, Student's t otherwise.
    probability
        From 0.5 to below 1; one less this is the largest specific risk that is accepted.
    rule
        ``"guarded_acceptance"``: what is accepted conforms with this probability.
        ``"guarded_rejection"``: what is rejected does not conform with this probability.

    Returns
    -------
    float
        The limit of measured values.

    Raises
    ------
    FlowdoubtError
        Numbers outside their range, neither or both of the uncertainties.

    Notes
    -----
    JCGM 106:2012, 8.3.2, 8.3.3 and their examples.

    Examples
    --------
    The threshold of a speed measurement and the decision limit of a screening test:

    >>> round(acceptance_limit(100.0, "upper", relative_standard_uncertainty=0.02,
    ...                        probability=0.999, rule="guarded_rejection"))
    107
    >>> round(acceptance_limit(2.0, "upper", standard_uncertainty=0.2, dof=9,
    ...                        rule="guarded_rejection"), 2)
    2.37
    """
    absolute, relative = standard_uncertainty, relative_standard_uncertainty
    if absolute is not None and relative is None:
        u, share = absolute, False
    elif relative is not None and absolute is None:
        u, share = relative, True
    else:
        allowed = "one of standard_uncertainty and relative_standard_uncertainty"
        found = "neither" if absolute is None else "both"
        raise refuse(
            f"standard_uncertainty: found {found}; allowed: {allowed}",
            field="standard_uncertainty",
            value=found,
            allowed=allowed,
        )
    return _core.acceptance_limit(tolerance_limit, side, rule, u, share, dof, probability)


@overload
def conformance_probability(
    quantity: Quantity | float,
    tolerance: Permissible,
    standard_uncertainty: float | None = None,
    dof: float = math.inf,
) -> float: ...
@overload
def conformance_probability(
    quantity: ArrayLike,
    tolerance: Permissible,
    standard_uncertainty: ArrayLike,
    dof: ArrayLike = math.inf,
) -> FloatOrArray: ...
def conformance_probability(
    quantity: Any,
    tolerance: Permissible,
    standard_uncertainty: Uncertainty = None,
    dof: ArrayLike = math.inf,
) -> FloatOrArray:
    """Probability that an item conforms, given what is known of its property.

    Parameters
    ----------
    quantity
        Estimates of any shape, with their ``standard_uncertainty``; or an input, an estimate, a
        budget or an evaluation; or Monte Carlo trials, of which the share within the limits is
        taken.
    tolerance
        The tolerance interval.
    standard_uncertainty
        Standard uncertainties of the estimates, 0 or above.
    dof
        Their degrees of freedom: normal where infinite, Student's t otherwise. Results bring
        their own effective degrees of freedom.

    Returns
    -------
    float, or an array of the shape of the arguments

    Raises
    ------
    FlowdoubtError
        Numbers that are not finite or outside their range, an estimate without its uncertainty.

    Notes
    -----
    JCGM 106:2012, clause 7; 7.2.3 for Student's t.

    Examples
    --------
    The breakdown voltage and the motor oil of JCGM 106:2012, 7.3 and 7.4:

    >>> round(conformance_probability(-5.47, tolerance_interval(upper=-5.40), 0.05), 2)
    0.92
    >>> round(conformance_probability(13.6, tolerance_interval(12.5, 16.3), 1.8), 2)
    0.66
    """
    if isinstance(quantity, Quantity):
        if standard_uncertainty is not None:
            raise refuse(
                f"standard_uncertainty: found one beside {type(quantity).__name__}; allowed: only "
                "with numbers",
                field="standard_uncertainty",
                value=standard_uncertainty,
                allowed="only with numbers",
            )
        return tolerance._of_quantity(_known(quantity, "quantity"))
    if standard_uncertainty is None:
        raise refuse(
            "standard_uncertainty: missing; needed: the standard uncertainty of a number",
            code="missing",
            field="standard_uncertainty",
            allowed="the standard uncertainty of a number",
        )
    flat, shape = aligned(estimate=quantity, standard_uncertainty=standard_uncertainty, dof=dof)
    return shaped(tolerance._of_columns(*flat), shape)


def specific_risks(
    quantity: Quantity | float,
    tolerance: Permissible,
    standard_uncertainty: float | None = None,
    dof: float = math.inf,
) -> SpecificRisks:
    """Risks of the decision on one measured item.

    Parameters
    ----------
    quantity, tolerance, standard_uncertainty, dof
        As for `conformance_probability`, for one item.

    Returns
    -------
    SpecificRisks
        ``consumers_risk``, the probability that the item does not conform if it is accepted;
        ``producers_risk``, the probability that it conforms if it is rejected.

    Raises
    ------
    FlowdoubtError
        As for `conformance_probability`.
    InputError
        More than one item.

    Notes
    -----
    JCGM 106:2012, 3.3.13, 3.3.14 and 9.3.2.

    Examples
    --------
    >>> risks = specific_risks(-5.47, tolerance_interval(upper=-5.40), 0.05)
    >>> round(risks.consumers_risk, 2), round(risks.producers_risk, 2)
    (0.08, 0.92)
    """
    p = conformance_probability(quantity, tolerance, standard_uncertainty, dof)
    if not isinstance(p, float):
        raise refuse(
            f"quantity: found shape {p.shape}; allowed: one item",
            code="length",
            field="quantity",
            value=p.shape,
            allowed="one item",
        )
    return SpecificRisks.of(p)


def measurement_capability_index(tolerance: Permissible, standard_uncertainty: float) -> float:
    """Measurement capability index: the tolerance over four standard uncertainties.

    Parameters
    ----------
    tolerance
        A tolerance interval with two limits.
    standard_uncertainty
        The standard uncertainty of the measurement.

    Returns
    -------
    float
        The index.

    Raises
    ------
    InputError
        A tolerance interval with one limit.
    RangeError
        A standard uncertainty that is not above zero.

    Notes
    -----
    JCGM 106:2012, 7.6.2, formula (12).

    Examples
    --------
    >>> measurement_capability_index(maximum_permissible_error(1.0), 0.125)
    4.0
    """
    return tolerance.capability_index(standard_uncertainty)


def items_and_measurement(
    prior: Quantity, measurement_uncertainty: float, tolerance: Permissible
) -> ItemsAndMeasurement:
    """Items of which the distribution is known, and how they are measured.

    Parameters
    ----------
    prior
        The distribution of true values before measurement, any that has a density.
    measurement_uncertainty
        The standard uncertainty of the measurement, normal and the same for all items.
    tolerance
        The tolerance interval.

    Returns
    -------
    ItemsAndMeasurement
        ``global_risks(acceptance=None)``; ``guard_band(consumers_risk)``, with which the global
        consumer's risk is the one chosen; ``conformance_probability(measured)`` and
        ``specific_risks(measured)`` of measured items, by Bayes's theorem.

    Raises
    ------
    FlowdoubtError
        A measurement uncertainty not above zero, a prior without density.

    Notes
    -----
    JCGM 106:2012, clause 9.

    Examples
    --------
    The resistors and the ball bearings of JCGM 106:2012, 9.5:

    >>> import flowdoubt as fd
    >>> tolerance = tolerance_interval(1499.8, 1500.2)
    >>> resistors = items_and_measurement(fd.normal(1500.0, 0.12), 0.04, tolerance)
    >>> risks = resistors.global_risks(acceptance_interval(tolerance, 0.02))
    >>> round(risks.consumers_risk, 2), round(risks.producers_risk, 2)
    (0.01, 0.07)
    >>> bearings = items_and_measurement(fd.gamma(4.0, 0.25), 0.25, tolerance_interval(upper=2.0))
    >>> round(2.0 - bearings.guard_band(0.001), 1)
    1.7
    """
    return ItemsAndMeasurement(_known(prior, "prior"), measurement_uncertainty, tolerance)


def _known(quantity: Any, field: str) -> Input | Budget | Evaluation | Trials:
    """Return what the core takes a distribution from."""
    if isinstance(quantity, Estimate):
        return quantity.budget
    if isinstance(quantity, Input | Budget | Evaluation | Trials):
        return quantity
    raise refuse(
        f"{field}: found {type(quantity).__name__}; allowed: {_QUANTITIES}",
        code="wrong-type",
        field=field,
        value=type(quantity).__name__,
        allowed=_QUANTITIES,
    )
