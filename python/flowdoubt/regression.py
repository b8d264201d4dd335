"""Straight lines for calibration, such as a meter factor over flow.

The cases are those of ISO/TS 28037:2010 by what is known of the points. ``x`` and ``y`` may have
any unit; uncertainties have that of their coordinate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flowdoubt import _core
from flowdoubt._core import Input, RangeError
from flowdoubt.edge.arrays import FloatArray, FloatOrArray, shaped
from flowdoubt.edge.columns import aligned, column, column_or_same, matrix
from flowdoubt.edge.errors import refuse
from flowdoubt.models.inputs import normal

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl

__all__ = ["Prediction", "StraightLine", "as_inputs", "straight_line"]


def straight_line(
    x: ArrayLike,
    y: ArrayLike,
    *,
    u_y: ArrayLike | None = None,
    u_x: ArrayLike | None = None,
    covariance_y: ArrayLike | None = None,
    covariance: ArrayLike | None = None,
) -> StraightLine:
    """Fit ``y = intercept + slope x`` to points by least squares.

    ==============================  ==============================================================
    given                           fit
    ==============================  ==============================================================
    nothing                         ordinary: x exact, y equally uncertain by what the scatter
                                    tells (JCGM 100:2008, H.3)
    ``u_y``                         weighted (ISO/TS 28037:2010, clause 6)
    ``u_x`` and ``u_y``             both coordinates uncertain, independent (clause 7)
    ``covariance_y``                y uncertain and correlated (clause 9)
    ``covariance``                  all variances and covariances (clause 10)
    ==============================  ==============================================================

    Parameters
    ----------
    x, y
        Points, shape ``(n,)`` each, three or more.
    u_y, u_x
        Standard uncertainties, shape ``(n,)``, or one number for all points. Those of x may be
        zero.
    covariance_y
        Covariance matrix of y, shape ``(n, n)``.
    covariance
        Covariance matrix of all coordinates, shape ``(2 n, 2 n)``: first all x, then all y.

    Returns
    -------
    StraightLine
        ``intercept`` and ``slope`` with ``intercept_uncertainty``, ``slope_uncertainty``,
        ``covariance`` and ``correlation``; ``residuals``, ``residual_deviation``, ``dof``;
        ``chi_squared`` and its ``p_value`` (None for an ordinary fit); ``range`` of x;
        ``predict(x)``, ``solve(y)``; ``to_pandas()``, ``to_polars()``.

    Raises
    ------
    FlowdoubtError
        Fewer than three points, columns of different length, x all equal, numbers that are not
        finite, an uncertainty of y not above zero, ``u_x`` without ``u_y``, a matrix that is no
        covariance matrix, a fit that does not converge.

    Examples
    --------
    >>> line = straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
    >>> round(line.intercept, 6), round(line.slope, 6), round(line.slope_uncertainty, 6)
    (0.15, 1.94, 0.044721)
    >>> at = line.predict([1.5, 2.5])
    >>> at.value.round(6).tolist(), at.standard_uncertainty.round(6).tolist()
    ([3.06, 5.0], [0.067082, 0.05])
    >>> back = line.solve(5.0, 0.1)
    >>> round(back.value, 6), round(back.standard_uncertainty, 6)
    (2.5, 0.057631)
    """
    px, py = column("x", x), column("y", y)
    given = {"covariance": covariance, "covariance_y": covariance_y, "u_y": u_y, "u_x": u_x}
    names = [name for name, value in given.items() if value is not None]
    if names in (["u_x"], ["covariance_y", "u_x"]):
        raise refuse(
            "u_y: missing; needed: the standard uncertainties of y beside those of x",
            code="missing",
            field="u_y",
            allowed="the standard uncertainties of y beside those of x",
        )
    if len(names) > 1 and names != ["u_y", "u_x"]:
        found = " and ".join(names)
        raise refuse(
            f"{names[0]}: found {found}; allowed: one statement of the uncertainty of the points",
            field=names[0],
            value=found,
            allowed="one statement of the uncertainty of the points",
        )
    if covariance is not None:
        return _core.StraightLine._generalized(px, py, matrix("covariance", covariance))
    if covariance_y is not None:
        return _core.StraightLine._generalized(
            px, py, _exact_x(px, matrix("covariance_y", covariance_y))
        )
    if u_y is None:
        return _core.StraightLine._ordinary(px, py)
    of_y = column_or_same("u_y", u_y, py)
    if u_x is None:
        return _core.StraightLine._weighted(px, py, of_y)
    return _core.StraightLine._with_uncertainties(px, column_or_same("u_x", u_x, px), py, of_y)


def _exact_x(x: FloatArray, covariance_y: FloatArray) -> FloatArray:
    """Return the covariance matrix of all coordinates where x is exact."""
    n = len(x)
    if covariance_y.shape != (n, n):
        raise refuse(
            f"covariance_y: found shape {covariance_y.shape}; allowed: ({n}, {n})",
            code="length",
            field="covariance_y",
            value=covariance_y.shape,
            allowed=f"({n}, {n})",
        )
    covariance = np.zeros((2 * n, 2 * n))
    covariance[n:, n:] = covariance_y
    return covariance


@dataclass(frozen=True)
class Prediction:
    """What a line gives at known values: floats for a single value, arrays for several.

    Predictions from one line are correlated, since they share its parameters; where several enter
    one model, use `as_inputs`.
    """

    names: tuple[str, str]
    """The coordinate that was given and the one that was found."""
    given: FloatOrArray
    given_uncertainty: FloatOrArray
    value: FloatOrArray
    """The estimate."""
    standard_uncertainty: FloatOrArray
    """Its standard uncertainty."""
    dof: float
    """Degrees of freedom of an ordinary fit; infinite where uncertainties were given."""
    extrapolated: bool | NDArray[np.bool_]
    """Whether the abscissa lies outside the range of the points."""

    def columns(self) -> dict[str, Any]:
        """Return the columns of a table by name.

        Returns
        -------
        dict
            Values and standard uncertainties by column.

        Examples
        --------
        >>> from flowdoubt import regression
        >>> line = regression.straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
        >>> at = line.predict([1.5, 2.5])
        >>> list(at.columns())[:2]
        ['x', 'u_x']
        """
        given, found = self.names
        columns = {
            given: self.given,
            f"u_{given}": self.given_uncertainty,
            found: self.value,
            f"u_{found}": self.standard_uncertainty,
            "extrapolated": self.extrapolated,
        }
        return {name: np.ravel(np.asarray(values)) for name, values in columns.items()}

    def to_pandas(self) -> pd.DataFrame:
        """Return a row for each value.

        Returns
        -------
        pandas.DataFrame
            A row for each value.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> from flowdoubt import regression
        >>> line = regression.straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
        >>> at = line.predict([1.5, 2.5])
        >>> len(at.to_pandas())
        2
        """
        import pandas as pd

        return pd.DataFrame(self.columns())

    def to_polars(self) -> pl.DataFrame:
        """Return a row for each value.

        Returns
        -------
        polars.DataFrame
            A row for each value.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> from flowdoubt import regression
        >>> line = regression.straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
        >>> at = line.predict([1.5, 2.5])
        >>> at.to_polars().height
        2
        """
        import polars as pl

        return pl.DataFrame(self.columns())


class StraightLine(_core.StraightLine):
    """A straight line through points, with the covariance matrix of its parameters.

    Made by `straight_line` (JCGM 100:2008, H.3; ISO/TS 28037:2010).
    """

    def predict(
        self, x: ArrayLike, u_x: ArrayLike | None = None, *, extrapolate: bool = False
    ) -> Prediction:
        """Return the line at ``x``, with its standard uncertainty (JCGM 100:2008, H.3.4).

        The uncertainty is that of the line, not that of a new point beside it.

        Parameters
        ----------
        x
            Abscissae of any shape, in the unit of the points.
        u_x
            Their standard uncertainties, independent of the points (ISO/TS 28037:2010, 11.2).
        extrapolate
            Allow abscissae outside the range of the points.

        Returns
        -------
        Prediction

        Raises
        ------
        FlowdoubtError
            Numbers that are not finite, a negative uncertainty, an extrapolation not asked for.

        Examples
        --------
        >>> from flowdoubt import regression
        >>> line = regression.straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
        >>> round(line.predict(2.5).value, 3)
        5.0
        """
        given, shape = aligned(x=x, u_x=0.0 if u_x is None else u_x)
        x_flat, u_flat = given
        found = self._predict_columns(x_flat, u_flat)
        return _prediction(self, ("x", "y"), given, found, given[0], shape, extrapolate)

    def solve(
        self, y: ArrayLike, u_y: ArrayLike | None = None, *, extrapolate: bool = False
    ) -> Prediction:
        """Return where the line takes the value ``y``, with its standard uncertainty.

        ISO/TS 28037:2010, 11.1.

        Parameters
        ----------
        y
            Values of any shape, in the unit of the points.
        u_y
            Their standard uncertainties, independent of the points.
        extrapolate
            Allow abscissae outside the range of the points.

        Returns
        -------
        Prediction

        Raises
        ------
        FlowdoubtError
            As for `predict`; a line without slope.

        Examples
        --------
        >>> from flowdoubt import regression
        >>> line = regression.straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
        >>> round(line.solve(5.0, 0.1).value, 3)
        2.5
        """
        given, shape = aligned(y=y, u_y=0.0 if u_y is None else u_y)
        y_flat, u_flat = given
        found = self._solve_columns(y_flat, u_flat)
        return _prediction(self, ("y", "x"), given, found, found[0], shape, extrapolate)

    def to_pandas(self) -> pd.DataFrame:
        """Return the points with fitted values and residuals as a data frame.

        Returns
        -------
        pandas.DataFrame
            A row for each point.

        Raises
        ------
        ModuleNotFoundError
            Without the package pandas.

        Examples
        --------
        >>> from flowdoubt import regression
        >>> line = regression.straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
        >>> len(line.to_pandas())
        4
        """
        import pandas as pd

        return pd.DataFrame(self._columns())

    def to_polars(self) -> pl.DataFrame:
        """Return the points with fitted values and residuals as a data frame.

        Returns
        -------
        polars.DataFrame
            A row for each point.

        Raises
        ------
        ModuleNotFoundError
            Without the package polars.

        Examples
        --------
        >>> from flowdoubt import regression
        >>> line = regression.straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
        >>> line.to_polars().height
        4
        """
        import polars as pl

        return pl.DataFrame(self._columns())

    def _columns(self) -> dict[str, FloatArray]:
        fitted, _ = self._predict_columns(self.x, np.zeros_like(self.x))
        return {"x": self.x, "y": self.y, "fitted": fitted, "residual": self.residuals}


def as_inputs(
    line: StraightLine,
    *,
    intercept: str = "intercept",
    slope: str = "slope",
    evidence: str = "",
) -> tuple[dict[str, Input], dict[tuple[str, str], float]]:
    """Intercept and slope as inputs of a measurement model, with their correlation.

    Parameters
    ----------
    line
        A fitted line.
    intercept, slope
        The names of the inputs.
    evidence
        Where the line comes from, in words.

    Returns
    -------
    tuple
        Inputs by name, and correlations by pairs of names, for `flowdoubt.propagate` and
        `flowdoubt.monte_carlo`.

    Raises
    ------
    InputError
        One name for both.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> line = straight_line([1.0, 2.0, 3.0, 4.0], [2.1, 3.9, 6.2, 7.8], u_y=0.1)
    >>> inputs, correlations = as_inputs(line)
    >>> y = fd.propagate(lambda p: p["intercept"] + 1.5 * p["slope"], inputs, correlations)
    >>> round(y.estimate, 6), round(y.standard_uncertainty, 6)
    (3.06, 0.067082)
    """
    if intercept == slope:
        raise refuse(
            f"slope: found {slope!r}, the name of the intercept; allowed: another name",
            field="slope",
            value=slope,
            allowed="another name than the intercept has",
        )
    stated = {
        intercept: (line.intercept, line.intercept_uncertainty),
        slope: (line.slope, line.slope_uncertainty),
    }
    inputs = {
        name: normal(value, u, dof=_dof(line), evidence=evidence)
        for name, (value, u) in stated.items()
    }
    # what has no uncertainty is correlated with nothing
    exact = math.isnan(line.correlation)
    return inputs, {} if exact else {(intercept, slope): line.correlation}


def _dof(line: StraightLine) -> float:
    """Degrees of freedom of the parameters: of the scatter, if that is the evidence."""
    return line.dof if line.chi_squared is None else math.inf


def _prediction(
    line: StraightLine,
    names: tuple[str, str],
    given: list[FloatArray],
    found: tuple[FloatArray, FloatArray],
    abscissae: FloatArray,
    shape: tuple[int, ...],
    extrapolate: bool,
) -> Prediction:
    low, high = line.range
    # a value at an end of the range may come back from rounding just outside
    slack = 1e-12 * (high - low)
    outside = (abscissae < low - slack) | (abscissae > high + slack)
    if outside.any() and not extrapolate:
        i = int(np.argmax(outside))
        raise refuse(
            f"x[{i}]: found {abscissae[i]}; allowed: {low} to {high}, the range of the points, or "
            "extrapolate=True",
            code="out-of-range",
            field=f"x[{i}]",
            value=abscissae[i],
            allowed=f"{low} to {high}, or extrapolate=True",
            kind=RangeError,
        )
    return Prediction(
        names=names,
        given=shaped(given[0], shape),
        given_uncertainty=shaped(given[1], shape),
        value=shaped(found[0], shape),
        standard_uncertainty=shaped(found[1], shape),
        dof=_dof(line),
        extrapolated=outside.reshape(shape) if shape else bool(outside[0]),
    )
