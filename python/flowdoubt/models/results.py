"""What propagation and Monte Carlo of a model written in Python return."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from flowdoubt import _core
from flowdoubt._core import EllipsoidalRegion, Expanded, RectangularRegion, TalliedTrials
from flowdoubt.models.budget import Budget
from flowdoubt.models.trials import Trials

_Member = TypeVar("_Member")
_Core = TypeVar("_Core", _core.JointResult, _core.JointTrials, _core.Tallied)
_Regions = TypeVar("_Regions", _core.JointResult, _core.JointTrials)


@dataclass(frozen=True)
class Estimate:
    """An estimate of one measurand with its uncertainty (JCGM 100:2008)."""

    budget: Budget

    @property
    def unit(self) -> str:
        """The unit of estimate and uncertainty."""
        return self.budget.unit

    def value(self, unit: str | None = None) -> float:
        """Return the estimate, in another unit or in ``"SI"`` if asked for.

        Parameters
        ----------
        unit
            A unit of the quantity, or ``"SI"``; the unit of the result if not given.

        Returns
        -------
        float
            The estimate.

        Raises
        ------
        UnitError
            Text that is no unit, or one of another kind of quantity.
        InputError
            A conversion from a unit that is not known.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> inputs = {"a": fd.normal(2.0, 0.1), "b": fd.exact(3.0)}
        >>> y = fd.propagate(lambda x: x["a"] * x["b"], inputs)
        >>> y.value()
        6.0
        """
        return self.budget.value(unit)

    def result(self, unit: str | None = None) -> tuple[float, float]:
        """Return estimate and standard uncertainty, in another unit if asked for.

        Parameters
        ----------
        unit
            A unit of the quantity, or ``"SI"``; the unit of the result if not given.

        Returns
        -------
        tuple of float
            Estimate and standard uncertainty.

        Raises
        ------
        UnitError
            Text that is no unit, or one of another kind of quantity.
        InputError
            A conversion from a unit that is not known.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> inputs = {"a": fd.normal(2.0, 0.1), "b": fd.exact(3.0)}
        >>> y = fd.propagate(lambda x: x["a"] * x["b"], inputs)
        >>> [round(number, 3) for number in y.result()]
        [6.0, 0.3]
        """
        return self.budget.result(unit)

    def to_pint(self, registry: Any = None) -> tuple[Any, Any]:
        """Return estimate and standard uncertainty as pint quantities.

        Parameters
        ----------
        registry
            A registry of pint; that of the application if not given.

        Returns
        -------
        tuple of pint.Quantity
            Estimate and standard uncertainty.

        Raises
        ------
        ModuleNotFoundError
            Without the package pint, where no registry is given.
        InputError
            A unit that the registry does not know.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> y = fd.propagate(lambda x: 2.0 * x["a"], {"a": fd.normal(2.0, 0.1)}, unit="V")
        >>> value, u = y.to_pint()
        >>> f"{value:~P}"
        '4.0 V'
        """
        return self.budget.to_pint(registry)

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
        """Return the expanded uncertainty for a coverage probability.

        Parameters
        ----------
        coverage_probability
            From above 0 to below 1.

        Returns
        -------
        Expanded
            Expanded uncertainty, coverage factor and degrees of freedom.

        Raises
        ------
        RangeError
            A coverage probability that is not between 0 and 1.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> inputs = {"a": fd.normal(2.0, 0.1), "b": fd.exact(3.0)}
        >>> y = fd.propagate(lambda x: x["a"] * x["b"], inputs)
        >>> round(y.expanded(0.95).expanded_uncertainty, 3)
        0.588
        """
        return self.budget.expanded(coverage_probability)

    def __repr__(self) -> str:
        return f"<Estimate of {self.budget.result_in_words}>"

    def _repr_html_(self) -> str:
        return self.budget._repr_html_()

    def _repr_latex_(self) -> str:
        return self.budget._repr_latex_()


@dataclass(frozen=True)
class _Joint(Mapping[str, _Member], Generic[_Member, _Core]):
    """Results of several measurands by name, with what they share."""

    members: dict[str, _Member]
    core: _Core

    def __getitem__(self, name: str) -> _Member:
        return self.members[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.members)

    def __len__(self) -> int:
        return len(self.members)

    @property
    def covariance(self) -> NDArray[np.float64]:
        """Covariance matrix, shape ``(m, m)``, in the order of the members."""
        return self.core.covariance

    @property
    def correlation(self) -> NDArray[np.float64]:
        """Correlation matrix, shape ``(m, m)``."""
        return self.core.correlation


class _WithRegions(_Joint[_Member, _Regions]):
    """Results of which coverage regions are known."""

    def ellipsoidal_region(self, coverage_probability: float = 0.95) -> EllipsoidalRegion:
        """Return the hyper-ellipsoidal coverage region (JCGM 102:2011, 6.5.2 and 7.7.2).

        Parameters
        ----------
        coverage_probability
            From above 0 to below 1.

        Returns
        -------
        EllipsoidalRegion
            The region about the estimates.

        Raises
        ------
        RangeError
            A coverage probability that is not between 0 and 1.
        InputError
            Measurands without uncertainty, or that determine each other.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> inputs = {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
        >>> model = lambda x: {"sum": x["a"] + x["b"], "product": x["a"] * x["b"]}
        >>> both = fd.propagate(model, inputs)
        >>> import numpy as np
        >>> region = both.ellipsoidal_region(0.95)
        >>> region.contains(np.array([3.0, 2.0]))
        True
        """
        return self.core.ellipsoidal_region(coverage_probability)

    def rectangular_region(self, coverage_probability: float = 0.95) -> RectangularRegion:
        """Return the hyper-rectangular coverage region (JCGM 102:2011, 6.5.3 and 7.7.3).

        Parameters
        ----------
        coverage_probability
            From above 0 to below 1.

        Returns
        -------
        RectangularRegion
            The region about the estimates.

        Raises
        ------
        RangeError
            A coverage probability that is not between 0 and 1.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> inputs = {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
        >>> model = lambda x: {"sum": x["a"] + x["b"], "product": x["a"] * x["b"]}
        >>> both = fd.propagate(model, inputs)
        >>> import numpy as np
        >>> region = both.rectangular_region(0.95)
        >>> region.contains(np.array([3.0, 2.0]))
        True
        """
        return self.core.rectangular_region(coverage_probability)


class Estimates(_WithRegions[Estimate, _core.JointResult]):
    """Estimates of several measurands that share their inputs (JCGM 102:2011)."""


class JointTrials(_WithRegions[Trials, _core.JointTrials]):
    """Monte Carlo trials of several measurands that share their inputs (JCGM 102:2011)."""

    def in_order(self) -> dict[str, NDArray[np.float64]]:
        """Return the values of every measurand in the order of the trials, shape ``(trials,)``.

        Returns
        -------
        dict of ndarray
            Values by the name of the measurand, each of shape ``(trials,)``.

        Examples
        --------
        >>> import flowdoubt as fd
        >>> inputs = {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
        >>> model = lambda x: {"sum": x["a"] + x["b"], "product": x["a"] * x["b"]}
        >>> both = fd.monte_carlo(model, inputs, trials=10_000, seed=1)
        >>> list(both.in_order())
        ['sum', 'product']
        """
        return dict(zip(self.members, self.core.values(), strict=True))


class TalliedJoint(_Joint[TalliedTrials, _core.Tallied]):
    """Monte Carlo trials of several measurands, of which no values were kept."""


@dataclass(frozen=True)
class AdaptiveTrials:
    """Monte Carlo trials that were added until the results settled (JCGM 101:2008, 7.9)."""

    trials: Trials | JointTrials
    settled: bool
    batches: int
    in_words: str

    def __repr__(self) -> str:
        return f"<AdaptiveTrials: {self.in_words}>"
