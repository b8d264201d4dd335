"""Input quantities in the words in which evidence comes.

Each function returns an `Input` for `flowdoubt.propagate` and `flowdoubt.monte_carlo`. Numbers are
in any consistent units; ``unit`` is a label for tables and ``evidence`` says where the input comes
from. Distributions are those of JCGM 101:2008, table 1, and some more.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from flowdoubt._core import Input, InputSet, RangeError
from flowdoubt.edge.errors import refuse

__all__ = [
    "Input",
    "InputSet",
    "arcsine",
    "beta",
    "certificate",
    "curvilinear_trapezoid",
    "density_table",
    "exact",
    "exponential",
    "gamma",
    "half_width",
    "input_set",
    "joint_readings",
    "lognormal",
    "multivariate_normal",
    "normal",
    "probability_table",
    "readings",
    "rectangular",
    "sample",
    "student_t",
    "trapezoidal",
    "triangular",
    "truncated_normal",
]


def _of(kind: str, unit: str, evidence: str, **parameters: Any) -> Input:
    for name, value in parameters.items():
        for number in value if isinstance(value, list) else [value]:
            if number is not None and not math.isfinite(number):
                raise refuse(
                    f"{kind}.{name}: found {number}; allowed: finite numbers",
                    code="out-of-range",
                    field=f"{kind}.{name}",
                    value=number,
                    allowed="finite numbers",
                    kind=RangeError,
                )
    import json

    return Input.of_distribution(json.dumps({"kind": kind, **parameters}), unit, evidence)


def _numbers(values: ArrayLike) -> list[float]:
    return [float(v) for v in np.asarray(values, dtype=np.float64).ravel()]


def exact(value: float, *, unit: str = "", evidence: str = "") -> Input:
    """Return a quantity that is known exactly.

    Parameters
    ----------
    value
        The value.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        A value that is not finite or beyond 1e100.

    Examples
    --------
    >>> exact(3.0).standard_uncertainty
    0.0
    """
    return _of("fixed", unit, evidence, value=float(value))


def normal(
    estimate: float,
    standard_uncertainty: float,
    *,
    dof: float = math.inf,
    unit: str = "",
    evidence: str = "",
) -> Input:
    """Return an estimate with a standard uncertainty.

    Finite degrees of freedom make it Student's t (JCGM 101:2008, 6.4.9.7).

    Parameters
    ----------
    estimate
        The best estimate.
    standard_uncertainty
        Its standard uncertainty.
    dof
        Degrees of freedom, above 0; infinite where the uncertainty is certain.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Numbers that are not finite or beyond 1e100, a negative standard uncertainty, degrees of
        freedom below 0.1.

    Examples
    --------
    >>> normal(10.0, 0.1).standard_uncertainty
    0.1
    """
    return Input.of_standard_uncertainty(estimate, standard_uncertainty, dof, unit, evidence)


def certificate(
    estimate: float,
    expanded_uncertainty: float,
    coverage_factor: float,
    *,
    dof: float = math.inf,
    unit: str = "",
    evidence: str = "",
) -> Input:
    """Return an estimate with expanded uncertainty and coverage factor (JCGM 100:2008, 4.3.3).

    Parameters
    ----------
    estimate
        The value of the certificate.
    expanded_uncertainty
        Its expanded uncertainty.
    coverage_factor
        The factor by which it was expanded.
    dof
        Degrees of freedom, above 0; infinite where the uncertainty is certain.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Numbers that are not finite or beyond 1e100, a negative uncertainty, a coverage factor that
        is not above 0, degrees of freedom below 0.1.

    Examples
    --------
    >>> certificate(10.0, 0.2, 2).standard_uncertainty
    0.1
    """
    return Input.of_expanded_uncertainty(
        estimate, expanded_uncertainty, coverage_factor, dof, unit, evidence
    )


def half_width(
    estimate: float,
    half_width: float,
    shape: str = "rectangular",
    *,
    dof: float = math.inf,
    unit: str = "",
    evidence: str = "",
) -> Input:
    """Return an estimate between limits (JCGM 100:2008, 4.3.7).

    Parameters
    ----------
    estimate, half_width
        The middle of the limits and half of their distance.
    shape
        ``"rectangular"``, ``"triangular"`` or ``"arcsine"``.
    dof
        Degrees of freedom that express uncertainty of the half-width itself (JCGM 100:2008, G.4.2).
    unit, evidence
        Words for tables.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    InputError
        Another shape.
    RangeError
        Numbers that are not finite or beyond 1e100, a negative half-width, degrees of freedom below
        0.1.

    Examples
    --------
    >>> round(half_width(0.0, 3.0).standard_uncertainty, 6)
    1.732051
    """
    return Input.of_half_width(estimate, half_width, shape, dof, unit, evidence)


def readings(values: ArrayLike, *, unit: str = "", evidence: str = "") -> Input:
    """Return the mean of independent repeated readings (JCGM 100:2008, 4.2).

    Parameters
    ----------
    values
        Readings, shape ``(n,)``, two or more.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The mean, with ``n - 1`` degrees of freedom.

    Raises
    ------
    InputError
        Fewer than two readings, or readings that are not numbers.
    RangeError
        Readings that are not finite or beyond 1e100.

    Examples
    --------
    >>> wall = readings([7.1, 7.3, 7.2])
    >>> round(wall.estimate, 6), wall.dof
    (7.2, 2.0)
    """
    numbers = np.ascontiguousarray(np.asarray(values, dtype=np.float64).ravel())
    return Input.of_readings(numbers, unit, evidence)


def rectangular(lower: float, upper: float, *, unit: str = "", evidence: str = "") -> Input:
    """Return a quantity between limits of which nothing else is known (JCGM 101:2008, 6.4.2).

    Parameters
    ----------
    lower
        The lower limit.
    upper
        The upper limit.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Limits that are not finite, or an upper one not above the lower one.

    Examples
    --------
    >>> round(rectangular(0.0, 12.0).standard_uncertainty, 6)  # 12 / sqrt(12)
    3.464102
    """
    return _of("rectangular", unit, evidence, lower=float(lower), upper=float(upper))


def triangular(lower: float, upper: float, *, unit: str = "", evidence: str = "") -> Input:
    """Return the sum of two rectangular quantities of equal width (JCGM 101:2008, 6.4.5).

    Parameters
    ----------
    lower
        The lower limit.
    upper
        The upper limit.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Limits that are not finite, or an upper one not above the lower one.

    Examples
    --------
    >>> round(triangular(0.0, 12.0).standard_uncertainty, 6)  # 12 / sqrt(24)
    2.44949
    """
    return _of("triangular", unit, evidence, lower=float(lower), upper=float(upper))


def arcsine(lower: float, upper: float, *, unit: str = "", evidence: str = "") -> Input:
    """Return a quantity that cycles between limits (JCGM 101:2008, 6.4.6).

    Parameters
    ----------
    lower
        The lower limit.
    upper
        The upper limit.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Limits that are not finite, or an upper one not above the lower one.

    Examples
    --------
    >>> round(arcsine(-1.0, 1.0).standard_uncertainty, 6)  # 1 / sqrt(2)
    0.707107
    """
    return _of("arcsine", unit, evidence, lower=float(lower), upper=float(upper))


def trapezoidal(
    lower: float, upper: float, top_ratio: float, *, unit: str = "", evidence: str = ""
) -> Input:
    """Return the sum of two rectangular quantities (JCGM 101:2008, 6.4.4).

    ``top_ratio`` is the width of the top over that of the base, from 0 to below 1.

    Parameters
    ----------
    lower
        The lower limit.
    upper
        The upper limit.
    top_ratio
        Width of the top over that of the base.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Limits that are not finite, or an upper one not above the lower one; a ratio outside 0 to
        below 1.

    Examples
    --------
    >>> round(trapezoidal(0.0, 12.0, 0.5).standard_uncertainty, 6)  # 6 sqrt(1.25 / 6)
    2.738613
    """
    limits = {"lower": float(lower), "upper": float(upper)}
    return _of("trapezoidal", unit, evidence, **limits, top_ratio=float(top_ratio))


def curvilinear_trapezoid(
    lower: float, upper: float, limit_half_width: float, *, unit: str = "", evidence: str = ""
) -> Input:
    """Return a quantity between limits that are inexactly known (JCGM 101:2008, 6.4.3).

    Each limit lies within ``limit_half_width`` of the value given.

    Parameters
    ----------
    lower
        The lower limit as stated.
    upper
        The upper limit as stated.
    limit_half_width
        By how much each limit may be off.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Limits that are not finite, or an upper one not above the lower one; a `limit_half_width`
        that is not above 0 and below half of their distance.

    Examples
    --------
    >>> limits = curvilinear_trapezoid(-3.0, 3.0, 0.5)
    >>> round(limits.standard_uncertainty, 6)  # sqrt(6**2 / 12 + 0.5**2 / 9)
    1.740051
    """
    limits = {"lower": float(lower), "upper": float(upper)}
    width = float(limit_half_width)
    return _of("curvilinear_trapezoid", unit, evidence, **limits, limit_half_width=width)


def student_t(
    location: float, scale: float, dof: float, *, unit: str = "", evidence: str = ""
) -> Input:
    """Return a scaled and shifted Student's t (JCGM 101:2008, 6.4.9).

    Parameters
    ----------
    location
        The centre.
    scale
        The factor on the deviation of Student's t.
    dof
        Degrees of freedom, above 0.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Numbers that are not finite or beyond 1e100, a negative scale, degrees of freedom below 0.1.

    Examples
    --------
    >>> round(student_t(10.0, 0.1, 5.0).variance, 6)  # 0.1**2 * 5 / 3
    0.016667
    """
    return Input.of_standard_uncertainty(location, scale, dof, unit, evidence)


def exponential(mean: float, *, unit: str = "", evidence: str = "") -> Input:
    """Return a non-negative quantity of which the best estimate alone is known (6.4.10).

    Parameters
    ----------
    mean
        The best estimate, above 0.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        A mean that is not finite or not above 0.

    Examples
    --------
    >>> exponential(2.0).standard_uncertainty
    2.0
    """
    return _of("exponential", unit, evidence, mean=float(mean))


def gamma(shape: float, scale: float = 1.0, *, unit: str = "", evidence: str = "") -> Input:
    """Return a gamma distribution; shape ``q + 1`` for ``q`` counted objects (6.4.11).

    Parameters
    ----------
    shape
        Parameter of the shape, above 0.
    scale
        Parameter of the scale, above 0, in the unit of the quantity.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        A shape or scale that is not finite or not above 0.

    Examples
    --------
    >>> round(gamma(3.0).standard_uncertainty, 6)  # sqrt(3), for two counted objects
    1.732051
    """
    return _of("gamma", unit, evidence, shape=float(shape), scale=float(scale))


def beta(
    alpha: float,
    beta: float,
    lower: float = 0.0,
    upper: float = 1.0,
    *,
    unit: str = "",
    evidence: str = "",
) -> Input:
    """Return a beta distribution between limits, such as a proportion.

    Parameters
    ----------
    alpha
        First parameter of the shape, above 0.
    beta
        Second parameter of the shape, above 0.
    lower
        The lower limit.
    upper
        The upper limit.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Limits that are not finite, or an upper one not above the lower one; an `alpha` or `beta`
        that is not finite or not above 0.

    Examples
    --------
    >>> round(beta(2.0, 3.0).estimate, 6)  # 2 / (2 + 3)
    0.4
    """
    shape = {"alpha": float(alpha), "beta": float(beta)}
    return _of("beta", unit, evidence, **shape, lower=float(lower), upper=float(upper))


def lognormal(
    log_mean: float, log_standard_deviation: float, *, unit: str = "", evidence: str = ""
) -> Input:
    """Return a positive quantity whose logarithm is normal.

    Parameters
    ----------
    log_mean
        Mean of the logarithm.
    log_standard_deviation
        Standard deviation of the logarithm.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Numbers that are not finite or give no finite variance; a deviation that is not above 0.

    Examples
    --------
    >>> round(lognormal(0.0, 0.1).estimate, 6)  # exp(0.1**2 / 2)
    1.005013
    """
    spread = float(log_standard_deviation)
    return _of("lognormal", unit, evidence, log_mean=float(log_mean), log_standard_deviation=spread)


def truncated_normal(
    location: float,
    scale: float,
    lower: float | None = None,
    upper: float | None = None,
    *,
    unit: str = "",
    evidence: str = "",
) -> Input:
    """Return a normal distribution that never goes beyond its limits.

    Parameters
    ----------
    location
        Mean of the normal distribution before it is cut.
    scale
        Its standard deviation.
    lower
        The lower limit; none if not given.
    upper
        The upper limit; none if not given.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    RangeError
        Numbers that are not finite, a scale that is not above 0, an upper limit that is not above
        the lower one, next to no probability between the limits.

    Examples
    --------
    >>> round(truncated_normal(0.0, 1.0, lower=0.0).estimate, 6)  # sqrt(2 / pi)
    0.797885
    """
    limits = {"lower": lower, "upper": upper}
    return _of(
        "truncated_normal", unit, evidence, location=float(location), scale=float(scale), **limits
    )


def sample(values: ArrayLike, *, unit: str = "", evidence: str = "") -> Input:
    """Return a distribution in which each of the values is as probable as any other.

    Parameters
    ----------
    values
        Values, shape ``(n,)``.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    InputError
        No value, or values that are not numbers.
    RangeError
        Values that are not finite.

    Examples
    --------
    >>> sample([1.0, 2.0, 3.0]).estimate
    2.0
    """
    return _of("sample", unit, evidence, values=_numbers(values))


def density_table(x: ArrayLike, density: ArrayLike, *, unit: str = "", evidence: str = "") -> Input:
    """Return a density given at points and straight between them; it need not be normalised.

    Parameters
    ----------
    x
        Points in rising order, shape ``(n,)``.
    density
        Density at each point, shape ``(n,)``.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    InputError
        Fewer than two points, columns of different length, or what is no number.
    RangeError
        Numbers that are not finite, points that do not rise, a negative density, none above 0.

    Examples
    --------
    >>> round(density_table([0.0, 1.0], [1.0, 1.0]).estimate, 6)
    0.5
    """
    return _of("density_table", unit, evidence, x=_numbers(x), density=_numbers(density))


def probability_table(
    x: ArrayLike, probability: ArrayLike, *, unit: str = "", evidence: str = ""
) -> Input:
    """Return a distribution function given at points and straight between them.

    Parameters
    ----------
    x
        Points in rising order, shape ``(n,)``.
    probability
        Probability of values up to each point, shape ``(n,)``, from 0 to 1.
    unit
        Unit of the quantity, in words for budgets.
    evidence
        Where the value comes from, in words, for budgets.

    Returns
    -------
    Input
        The input.

    Raises
    ------
    InputError
        Fewer than two points, columns of different length, or what is no number.
    RangeError
        Numbers that are not finite, points that do not rise, probabilities that fall or do not go
        from 0 to 1.

    Examples
    --------
    >>> table = probability_table([0.0, 1.0], [0.0, 1.0])
    >>> round(table.standard_uncertainty, 6)  # 1 / sqrt(12)
    0.288675
    """
    probabilities = _numbers(probability)
    return _of("probability_table", unit, evidence, x=_numbers(x), probability=probabilities)


def input_set(
    inputs: Mapping[str, Input],
    correlations: Mapping[tuple[str, str], float] | None = None,
    *,
    nearest: bool = False,
) -> InputSet:
    """Return inputs by name with their correlations, checked together.

    `flowdoubt.propagate` and `flowdoubt.monte_carlo` take a set in place of a mapping.

    Parameters
    ----------
    inputs
        Inputs by name.
    correlations
        Correlation coefficients by pairs of names.
    nearest
        Replace correlations that no random variables can have by the nearest valid ones
        (Higham 2002) instead of refusing them. `InputSet.correlation` shows the result.

    Returns
    -------
    InputSet
        The inputs, checked.

    Raises
    ------
    InputError
        What is no input; a correlation with a name that is none of theirs, or of an input with
        itself.
    RangeError
        A correlation outside -1 to 1.
    CorrelationError
        Correlations that no random variables can have, unless the `nearest` are asked for.

    Examples
    --------
    >>> a, b, c = normal(0, 1), normal(0, 1), normal(0, 1)
    >>> wanted = {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): 0.2}
    >>> joined = input_set({"a": a, "b": b, "c": c}, wanted, nearest=True)
    >>> bool(joined.correlation()[0, 2] > 0.2)
    True
    """
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
    make = InputSet._nearest if nearest else InputSet
    return make(list(inputs.items()), pairs)


def multivariate_normal(
    names: Sequence[str], estimates: ArrayLike, covariance: ArrayLike
) -> InputSet:
    """Return jointly normal quantities (JCGM 101:2008, 6.4.8).

    Parameters
    ----------
    names
        Names of the quantities.
    estimates, covariance
        Vector estimate, shape ``(n,)``, and covariance matrix, shape ``(n, n)``.

    Returns
    -------
    InputSet
        The inputs, with their correlation.

    Raises
    ------
    InputError
        Estimates or a matrix of another length than the names; a name given twice.
    RangeError
        Numbers that are not finite, a negative variance, a matrix that is not symmetric, a
        correlation outside -1 to 1.
    CorrelationError
        A matrix that no random variables can have.

    Examples
    --------
    >>> multivariate_normal(["a", "b"], [1.0, 2.0], [[0.04, 0.01], [0.01, 0.09]]).names
    ['a', 'b']
    """
    matrix = np.ascontiguousarray(np.atleast_2d(np.asarray(covariance, dtype=np.float64)))
    return InputSet.multivariate_normal(
        list(names), np.ascontiguousarray(np.asarray(estimates, dtype=np.float64).ravel()), matrix
    )


def joint_readings(readings: Mapping[str, ArrayLike]) -> InputSet:
    """Return means of quantities that were read at the same times, with their correlation.

    The budget uses JCGM 100:2008, 5.2.3 and H.2; Monte Carlo draws from the multivariate t
    distribution of JCGM 102:2011, 5.3.2.4.

    Parameters
    ----------
    readings
        Readings by name, each of shape ``(n,)``; the same place was read at the same time.

    Returns
    -------
    InputSet
        The means, with their correlation.

    Raises
    ------
    InputError
        Not as many readings of each quantity, fewer than one more than there are quantities, or
        readings that are not numbers.
    RangeError
        Readings that are not finite or beyond 1e100.

    Examples
    --------
    >>> both = joint_readings({"a": [1.0, 1.2, 1.1, 0.9], "b": [2.0, 2.3, 2.1, 1.9]})
    >>> bool(both.correlation()[0, 1] > 0.9)
    True
    """
    lengths = {len(np.atleast_1d(np.asarray(values))) for values in readings.values()}
    if len(lengths) != 1:
        raise refuse(
            f"readings: found {sorted(lengths)} readings; allowed: as many of each quantity",
            code="length",
            field="readings",
            value=sorted(lengths),
            allowed="as many of each quantity",
        )
    columns = [np.asarray(values, dtype=np.float64).ravel() for values in readings.values()]
    return InputSet.joint_readings(list(readings), np.ascontiguousarray(np.vstack(columns)))
