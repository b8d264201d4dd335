"""Type A evaluation: statistics of repeated readings (JCGM 100:2008, 4.2 and H.5).

Readings are lists, arrays or columns of a data frame, all in one unit, which is that of means and
deviations. A result becomes an input of a measurement model by ``fd.normal(a.mean,
a.standard_uncertainty, dof=a.dof)``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeAlias

from numpy.typing import ArrayLike

from flowdoubt import _core
from flowdoubt._core import (
    Autocorrelated,
    OneWay,
    OutlierTest,
    Pooled,
    RandomEffects,
    TypeA,
    WeightedMean,
)
from flowdoubt.edge.arrays import FloatArray
from flowdoubt.edge.columns import aligned, column, column_or_same
from flowdoubt.edge.errors import refuse

__all__ = [
    "Autocorrelated",
    "OneWay",
    "OutlierTest",
    "Pooled",
    "RandomEffects",
    "TypeA",
    "WeightedMean",
    "autocorrelated",
    "autocorrelation",
    "from_statistics",
    "grubbs_critical_value",
    "mean",
    "one_way",
    "outlier_test",
    "pooled",
    "random_effects",
    "variance_inflation",
    "weighted_mean",
]

Series: TypeAlias = ArrayLike | TypeA
Groups: TypeAlias = Mapping[Any, Series] | Iterable[Series] | ArrayLike


def mean(readings: ArrayLike) -> TypeA:
    """Mean of independent repeated readings and its standard uncertainty.

    Parameters
    ----------
    readings
        Readings, shape ``(n,)``, two or more.

    Returns
    -------
    TypeA
        ``mean``, ``standard_deviation`` of a single reading, ``standard_uncertainty`` of the mean
        ``s / sqrt(n)``, ``dof``, ``count``.

    Raises
    ------
    FlowdoubtError
        Fewer than two readings, readings that are not finite.

    Notes
    -----
    JCGM 100:2008, 4.2.1 to 4.2.3.

    Examples
    --------
    >>> a = mean([7.1, 7.3, 7.2, 7.2])
    >>> round(a.mean, 6), round(a.standard_uncertainty, 6), a.dof
    (7.2, 0.040825, 3.0)
    """
    return TypeA.of(column("readings", readings), "readings")


def from_statistics(
    means: ArrayLike, standard_deviations: ArrayLike, counts: ArrayLike
) -> list[TypeA]:
    """Series of readings of which the statistics alone are stated.

    Parameters
    ----------
    means, standard_deviations
        Mean and experimental standard deviation of single readings of each series, shape
        ``(m,)``.
    counts
        Number of readings of each series, shape ``(m,)``, or one number for all.

    Returns
    -------
    list of TypeA
        Takes the place of the readings in `pooled` and `one_way`.

    Raises
    ------
    FlowdoubtError
        Columns of different length, a count that is not a whole number or below two, a negative
        standard deviation.

    Examples
    --------
    >>> [a.standard_uncertainty for a in from_statistics([10.0, 11.0], [0.2, 0.4], 4)]
    [0.1, 0.2]
    """
    names = ("means", "standard_deviations", "counts")
    column("means", means)
    (m, s, n), _ = aligned(**dict(zip(names, (means, standard_deviations, counts), strict=True)))
    series = []
    for i, (one_mean, deviation, count) in enumerate(zip(m, s, n, strict=True)):
        if not (count >= 0 and count == int(count)):
            raise refuse(
                f"counts[{i}]: found {count}; allowed: a whole number, two or more",
                code="out-of-range",
                field=f"counts[{i}]",
                value=count,
                allowed="a whole number, two or more",
                kind=_core.RangeError,
            )
        field = f"series[{i}]"
        series.append(TypeA.from_statistics(int(count), float(one_mean), float(deviation), field))
    return series


def pooled(series: Groups) -> Pooled:
    """Pooled experimental standard deviation of several series of readings.

    Parameters
    ----------
    series
        Series of readings taken under the same conditions, which may differ in mean and length: a
        list of columns, a mapping of names to columns, an array of shape ``(series, readings)``,
        or the result of `from_statistics`.

    Returns
    -------
    Pooled
        ``standard_deviation`` of a single reading, ``dof``, and ``of_mean(count)``, the standard
        uncertainty of the mean of ``count`` new readings.

    Raises
    ------
    FlowdoubtError
        No series, a series of fewer than two readings, readings that are not finite.

    Notes
    -----
    JCGM 100:2008, 4.2.4 note and H.3.6 note.

    Examples
    --------
    >>> p = pooled([[1.0, 3.0], [5.0, 5.0, 8.0]])
    >>> round(p.standard_deviation, 6), p.dof, round(p.of_mean(4), 6)
    (1.632993, 3.0, 0.816497)
    """
    return Pooled.of(_series("series", series))


def autocorrelated(
    readings: ArrayLike,
    *,
    time_constant: float | None = None,
    window: float | None = None,
    interval: float | None = None,
) -> Autocorrelated:
    """Mean of readings that depend on each other, such as a logged flow.

    Parameters
    ----------
    readings
        A stationary series taken at equal intervals, in order, shape ``(n,)``, two or more.
    time_constant, window
        Damping of the meter where it is known: the time constant of a lag of first order, or the
        length of the window over which it takes means. In the unit of `interval`.
    interval
        Time from reading to reading; needed beside damping.

    Returns
    -------
    Autocorrelated
        ``mean``, ``standard_uncertainty``, ``effective_count`` (the number of independent
        readings whose mean is known as well, at most ``n``), ``dof``, ``standard_deviation``,
        ``count``, and ``from_damping``: whether stated damping gives a larger standard
        uncertainty than the readings show.

    Raises
    ------
    FlowdoubtError
        Fewer than two readings, readings that are not finite, damping that is not above zero or
        that stands without `interval`.

    Notes
    -----
    JCGM 100:2008, 4.2.7 asks for such a treatment. The variance of the mean is the power spectrum
    at frequency zero over ``n``. It is found from the first terms of the cosine transform, as many
    of them as do not fall with frequency; no model of the noise is fitted (Müller 2007;
    Lazarus, Lewis, Stock and Watson 2018). Student's t with ``dof`` belongs to it. What damping
    alone would make of independent noise is a lower bound.

    A drift is not a stationary series, yet it passes as three independent readings, however long
    it is: look at a long series of which ``effective_count`` is that small.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(1)
    >>> smoothed = np.convolve(rng.normal(size=5003), np.ones(4) / 4, "valid")
    >>> a = autocorrelated(smoothed)
    >>> a.count, bool(250 < a.effective_count < 1400)
    (5000, True)
    """
    return Autocorrelated.of(
        column("readings", readings), "readings", time_constant, window, interval
    )


def autocorrelation(readings: ArrayLike, lags: int) -> FloatArray:
    """Autocorrelation coefficients of a series.

    Parameters
    ----------
    readings
        A series taken at equal intervals, in order, shape ``(n,)``, two or more.
    lags
        The last lag, in readings.

    Returns
    -------
    ndarray
        Coefficients from lag one to `lags`, or to the last lag that there is, shape ``(lags,)``;
        zero where readings do not vary.

    Raises
    ------
    FlowdoubtError
        Fewer than two readings, readings that are not finite.

    Notes
    -----
    Box and Jenkins, Time Series Analysis, Holden-Day 1970, 2.1.5.

    Examples
    --------
    >>> [float(r) for r in autocorrelation([1.0, -1.0, 1.0, -1.0], 2)]
    [-0.75, 0.5]
    """
    return _core.autocorrelation(column("readings", readings), lags)


def variance_inflation(count: int, autocorrelation: ArrayLike) -> float:
    """By what factor the variance of a mean exceeds that of independent readings.

    Parameters
    ----------
    count
        Number of readings, ``n``.
    autocorrelation
        Known autocorrelation coefficients from lag one on; further ones are zero.

    Returns
    -------
    float
        ``1 + 2 sum((1 - k / n) rho_k)`` over lags ``k`` below ``n``.

    Raises
    ------
    FlowdoubtError
        No reading, a coefficient outside -1 to 1.

    Notes
    -----
    G. V. Bayley and J. M. Hammersley, J. R. Stat. Soc. Suppl. 8 (1946) 184.

    Examples
    --------
    >>> variance_inflation(2, [0.5])
    1.5
    """
    return _core.variance_inflation(count, column("autocorrelation", autocorrelation))


def weighted_mean(
    results: ArrayLike, standard_uncertainties: ArrayLike, significance: float = 0.05
) -> WeightedMean:
    """Weighted mean of independent results for one quantity that agree.

    Parameters
    ----------
    results
        Results, shape ``(n,)``, two or more.
    standard_uncertainties
        Their standard uncertainties, shape ``(n,)``, or one number for all.
    significance
        The least p-value of results that are taken to agree. With 0 nothing is refused, to see how
        far results lie apart; the standard uncertainty is then too small.

    Returns
    -------
    WeightedMean
        ``mean``, ``standard_uncertainty``, ``chi_squared`` with ``dof`` and ``p_value``,
        ``birge_ratio``, ``differences`` of the results from the mean with
        ``difference_uncertainties``; and ``consistent(significance=0.05)``.

    Raises
    ------
    FlowdoubtError
        Results that do not agree (code ``disagree``), for which there is `random_effects`. Fewer
        than two results, columns of different length, an uncertainty not above zero, numbers that
        are not finite.

    Notes
    -----
    M. G. Cox, Metrologia 39 (2002) 589, procedure A, whose step 4 is the refusal; R. T. Birge,
    Phys. Rev. 40 (1932) 207.

    Examples
    --------
    >>> w = weighted_mean([10.0, 10.3], [0.1, 0.2])
    >>> round(w.mean, 6), round(w.standard_uncertainty, 6), round(w.chi_squared, 6)
    (10.06, 0.089443, 1.8)
    >>> w.consistent()
    True
    """
    x = column("results", results)
    name = "standard_uncertainties"
    return WeightedMean.of(x, column_or_same(name, standard_uncertainties, x), significance)


def random_effects(
    results: ArrayLike, standard_uncertainties: ArrayLike, method: str = "mandel-paule"
) -> RandomEffects:
    """Mean of independent results of several sets, each with an effect of its own.

    Sets are placements of the sensors, laboratories, certificates: whatever adds to its results
    something that their uncertainties do not contain.

    Parameters
    ----------
    results
        Results, one a set, shape ``(k,)``, two or more.
    standard_uncertainties
        Their standard uncertainties, shape ``(k,)``, or one number for all.
    method
        How the standard deviation between sets is estimated: ``"mandel-paule"``,
        ``"dersimonian-laird"``, or ``"equal-weights"`` for sets whose stated uncertainties differ
        by more than a factor of three.

    Returns
    -------
    RandomEffects
        ``mean`` with ``standard_uncertainty`` after Hartung and Knapp and ``dof``, ``k - 1``;
        ``expanded(coverage_probability=0.95)`` by Student's t; ``between_sets``, the standard
        deviation of the effect of a set; ``weights``, which add up to one;
        ``standard_uncertainty_for_known_between_sets``, that of DerSimonian and Laird;
        ``without_effect``, the weighted mean as if the results agreed.

    Raises
    ------
    FlowdoubtError
        Fewer than two results, columns of different length, an uncertainty not above zero, numbers
        that are not finite, an unknown method.

    Notes
    -----
    R. C. Paule and J. Mandel, J. Res. Natl. Bur. Stand. 87 (1982) 377; R. DerSimonian and N. Laird,
    Control. Clin. Trials 7 (1986) 177; G. Knapp and J. Hartung, Stat. Med. 22 (2003) 2693.

    With the normal distribution the interval for 95 % of three sets covers 80 % to 85 %; this one
    covers 94.5 % or more by simulation where uncertainties differ by a factor of three at most, and
    82 % at a factor of ten. With equal weights it covers 95 % or more in all cases.

    Examples
    --------
    >>> r = random_effects([10.0, 10.3, 10.9], 0.1)
    >>> round(r.mean, 6), round(r.standard_uncertainty, 6), r.dof
    (10.4, 0.264575, 2.0)
    >>> round(r.between_sets, 6)
    0.447214
    """
    x = column("results", results)
    name = "standard_uncertainties"
    return RandomEffects.of(x, column_or_same(name, standard_uncertainties, x), method)


def outlier_test(readings: ArrayLike, significance: float = 0.05) -> OutlierTest:
    """Grubbs' test of the reading farthest from the mean; it reports and removes nothing.

    Parameters
    ----------
    readings
        Independent readings, shape ``(n,)``, three or more.
    significance
        The probability with which the test finds an outlier among normal readings without one.

    Returns
    -------
    OutlierTest
        ``index`` (counted from 0) and ``reading``, ``statistic``, ``critical_value``,
        ``p_value``, ``stands_out``, ``in_words``.

    Raises
    ------
    FlowdoubtError
        Fewer than three readings, readings that are all equal or not finite, a level outside 0
        to 1.

    Notes
    -----
    F. E. Grubbs, Ann. Math. Stat. 21 (1950) 27, two-sided.

    Examples
    --------
    >>> t = outlier_test([10.2, 10.1, 10.3, 10.2, 11.9])
    >>> t.index, t.stands_out
    (4, True)
    >>> t.in_words.split(":")[0]
    'Reading 5 (11.9) stands out'
    """
    return OutlierTest.of(column("readings", readings), significance, "readings")


def grubbs_critical_value(count: int, significance: float = 0.05) -> float:
    """Return the value that Grubbs' statistic of normal readings exceeds with a probability.

    Parameters
    ----------
    count
        Number of readings, three or more.
    significance
        The probability, two-sided.

    Returns
    -------
    float
        The critical value.

    Raises
    ------
    InputError
        A negative number of readings.
    RangeError
        Fewer than three readings, or a significance that is not between 0 and 1.

    Examples
    --------
    >>> round(grubbs_critical_value(10), 3)
    2.29
    """
    return _core.grubbs_critical_value(count, significance)


def one_way(groups: Groups, by: Iterable[Any] | None = None) -> OneWay:
    """One-way analysis of variance: repeatability within and between groups.

    Parameters
    ----------
    groups
        Readings of each group, such as a placement of the sensors or a day: a list of columns, a
        mapping of names to columns, an array of shape ``(groups, readings)``, or the result of
        `from_statistics`. With ``by``, one column of all readings.
    by
        The group of each reading, shape ``(n,)``: names or numbers.

    Returns
    -------
    OneWay
        ``mean`` of the group means with ``standard_uncertainty`` and ``dof``, which hold whether
        or not groups differ; ``between_deviation`` (``s_a``) and ``within_deviation`` (``s_b``)
        with ``between_dof`` and ``within_dof``; ``f`` and its ``p_value``;
        ``between_component``, the standard deviation ``s_B`` of the effect between groups; and
        ``without_between_effect()``, standard uncertainty and degrees of freedom if there is
        none.

    Raises
    ------
    FlowdoubtError
        Fewer than two groups, fewer than two readings in a group, readings that are not finite or
        do not vary within any group.

    Notes
    -----
    JCGM 100:2008, H.5. Unequal groups: H. Scheffé, The Analysis of Variance, Wiley 1959, 7.2.

    Examples
    --------
    >>> a = one_way({"first": [1.0, 2.0, 3.0], "second": [4.0, 5.0, 6.0]})
    >>> a.mean, a.within_deviation, a.f
    (3.5, 1.0, 13.5)
    >>> b = one_way([1.0, 4.0, 2.0, 5.0, 3.0, 6.0], by=["a", "b", "a", "b", "a", "b"])
    >>> b.f
    13.5
    """
    if by is not None:
        groups = _split(column("groups", groups), by)
    return OneWay.of(_series("groups", groups), "groups")


def _series(field: str, series: Any) -> list[TypeA]:
    """Return the statistics of each member of a list or mapping of columns."""
    if hasattr(series, "columns"):
        raise refuse(
            f"{field}: found a data frame; allowed: a list or a mapping of columns, or a column of "
            "readings with the group of each",
            code="wrong-type",
            field=field,
            value="data frame",
            allowed="a list or a mapping of columns",
        )
    if isinstance(series, Mapping):
        members = [(f"{field}[{name!r}]", one) for name, one in series.items()]
    else:
        try:
            members = [(f"{field}[{i}]", one) for i, one in enumerate(series)]
        except TypeError:
            raise refuse(
                f"{field}: found {type(series).__name__}; allowed: a list or a mapping of columns",
                code="wrong-type",
                field=field,
                value=type(series).__name__,
                allowed="a list or a mapping of columns",
            ) from None
    return [
        one if isinstance(one, TypeA) else TypeA.of(column(name, one), name)
        for name, one in members
    ]


def _split(readings: Iterable[float], by: Iterable[Any]) -> dict[Any, list[float]]:
    """Sort readings into groups, in order of appearance."""
    values, labels = list(readings), list(by)
    if len(labels) != len(values):
        raise refuse(
            f"by: found {len(labels)}; allowed: {len(values)}, one a reading",
            code="length",
            field="by",
            value=len(labels),
            allowed=f"{len(values)}, one a reading",
        )
    groups: dict[Any, list[float]] = {}
    for i, (value, label) in enumerate(zip(values, labels, strict=True)):
        # of what is missing, NaN differs from itself and NA cannot say
        try:
            missing = label is None or bool(label != label)
        except TypeError:
            missing = True
        if missing:
            raise refuse(
                f"by[{i}]: found {label}; allowed: the name of a group",
                code="missing",
                field=f"by[{i}]",
                value=label,
                allowed="the name of a group",
            )
        groups.setdefault(label, []).append(float(value))
    return groups
