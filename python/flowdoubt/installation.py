"""Disturbed profiles downstream of fittings and their effect on a diametral path.

Straight runs are in inside diameters, from the end of the fitting to the middle of the sound path.
Orientations are in radians, between the path plane and the plane of the bend nearest upstream; for
a valve from its stem, for an eccentric reducer or enlargement from the direction of eccentricity.

The shapes are published, their coefficients are not: those of one bend reproduce published orders
of magnitude, all others are judgement. The half-widths are wide accordingly.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from flowdoubt import _core
from flowdoubt.edge.arrays import FloatArray, FloatOrArray, flattened, shaped

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike

__all__ = [
    "FITTINGS",
    "Advice",
    "Profile",
    "StraightRuns",
    "caution",
    "cross_flow_half_width",
    "factor",
    "half_width",
    "path_error",
    "profile",
    "recommended_orientation",
    "standard_uncertainty",
    "straight_run_in_practice",
]

FITTINGS: tuple[str, ...] = tuple(_core.FITTINGS)
"""The names of the fittings."""


def _for_mountings(
    function: Callable[[FloatArray, FloatArray | None], FloatArray],
    straight_run: ArrayLike,
    orientation: ArrayLike | None,
) -> FloatOrArray:
    if orientation is None:
        (run,), shape = flattened(straight_run)
        return shaped(function(run, None), shape)
    (run, angle), shape = flattened(straight_run, orientation)
    return shaped(function(run, angle), shape)


def factor(
    fitting: str,
    *,
    straight_run: ArrayLike,
    orientation: ArrayLike | None = None,
    planes: int = 1,
) -> FloatOrArray:
    """Installation factor: true over undisturbed profile factor at the place of measurement.

    The indicated flow times this factor is the true one, as far as the axial profile goes.

    Parameters
    ----------
    fitting
        One of `FITTINGS`.
    straight_run
        In inside diameters, 1 to 1000.
    orientation
        Angle in radians; if not given, the factor of the mean orientation.
    planes
        1, or 2 for the mean of two planes at right angles.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another fitting; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A straight run or a number of planes out of range, an orientation that is not finite.

    Examples
    --------
    >>> import math
    >>> bool(factor("single_bend", straight_run=3.0, orientation=0.0) > 1.05)
    True
    >>> round(factor("single_bend", straight_run=50.0, planes=2), 6)
    1.0
    """

    def of(run: FloatArray, angle: FloatArray | None) -> FloatArray:
        return _core.installation("factor", fitting, run, angle, planes)

    return _for_mountings(of, straight_run, orientation)


def half_width(
    fitting: str,
    *,
    straight_run: ArrayLike,
    orientation: ArrayLike | None = None,
    planes: int = 1,
) -> FloatOrArray:
    """Relative half-width of the uncertainty of `factor`, for a rectangular distribution.

    Large near the fitting, falling with the run, never below 0.5 %. Without an orientation it
    includes what the orientation can do.

    Parameters
    ----------
    fitting
        One of `FITTINGS`.
    straight_run
        In inside diameters, 1 to 1000.
    orientation
        Angle in radians; if not given, whatever it may be is part of the uncertainty.
    planes
        1, or 2 for the mean of two planes at right angles.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another fitting; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A straight run or a number of planes out of range, an orientation that is not finite.

    Examples
    --------
    >>> near, far = half_width("single_bend", straight_run=[2.0, 20.0], orientation=0.0)
    >>> bool(near > 0.05 > 0.02 > far > 0.005)
    True
    """

    def of(run: FloatArray, angle: FloatArray | None) -> FloatArray:
        return _core.installation("half_width", fitting, run, angle, planes)

    return _for_mountings(of, straight_run, orientation)


def standard_uncertainty(
    fitting: str,
    *,
    straight_run: ArrayLike,
    orientation: ArrayLike | None = None,
    planes: int = 1,
) -> FloatOrArray:
    """Relative standard uncertainty that belongs to `half_width`.

    Parameters
    ----------
    fitting
        One of `FITTINGS`.
    straight_run
        In inside diameters, 1 to 1000.
    orientation
        Angle in radians; if not given, whatever it may be is part of the uncertainty.
    planes
        1, or 2 for the mean of two planes at right angles.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another fitting; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A straight run or a number of planes out of range, an orientation that is not finite.

    Examples
    --------
    >>> u = standard_uncertainty("single_bend", straight_run=10.0)
    >>> round(half_width("single_bend", straight_run=10.0) / u, 6)  # sqrt(3)
    1.732051
    """

    def of(run: FloatArray, angle: FloatArray | None) -> FloatArray:
        return _core.installation("uncertainty", fitting, run, angle, planes)

    return _for_mountings(of, straight_run, orientation)


def cross_flow_half_width(
    fitting: str,
    *,
    straight_run: ArrayLike,
    orientation: ArrayLike | None = None,
    planes: int = 1,
    traverses: int = 1,
    angle_in_liquid: float | None = None,
) -> FloatOrArray:
    """Relative half-width of what cross flow does to a direct path; zero for a reflected one.

    Parameters
    ----------
    fitting, straight_run, orientation, planes
        As for `factor`.
    traverses
        Number of traverses, 1 to 8; even numbers are reflected paths.
    angle_in_liquid
        Angle of the ray from the normal of the wall in radians, 22 degrees if not given.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another fitting; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A straight run, number of planes or traverses, or angle out of range.

    Examples
    --------
    >>> cross_flow_half_width("pump", straight_run=5.0, traverses=2)
    0.0
    """

    def of(run: FloatArray, angle: FloatArray | None) -> FloatArray:
        return _core.cross_flow_half_width(fitting, run, angle, planes, traverses, angle_in_liquid)

    return _for_mountings(of, straight_run, orientation)


def path_error(
    fitting: str, *, straight_run: ArrayLike, orientation: ArrayLike, planes: int = 1
) -> FloatOrArray:
    """Relative error of the indicated flow, as the analytic profile has it.

    It follows the pattern also where its orientation is not known on a real site, so it shows what
    an orientation can do.

    Parameters
    ----------
    fitting
        One of `FITTINGS`.
    straight_run
        In inside diameters, 1 to 1000.
    orientation
        Angle in radians.
    planes
        1, or 2 for the mean of two planes at right angles.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another fitting; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A straight run or a number of planes out of range, an orientation that is not finite.

    Examples
    --------
    >>> from flowdoubt import installation
    >>> round(installation.path_error("single_bend", straight_run=10.0, orientation=0.0), 4)
    -0.0107
    """

    def of(run: FloatArray, angle: FloatArray) -> FloatArray:
        return _core.path_error(fitting, run, angle, planes)

    (run, angle), shape = flattened(straight_run, orientation)
    return shaped(of(run, angle), shape)


@dataclass(frozen=True)
class Profile:
    """Velocities over a cross-section, in area mean velocities; NaN outside the pipe.

    All fields are square arrays; `x` points to the outer side of the bend.
    """

    x: FloatArray
    """Distance from the axis in pipe radii."""
    y: FloatArray
    """Distance from the axis in pipe radii."""
    axial: FloatArray
    cross_x: FloatArray
    cross_y: FloatArray


def profile(fitting: str, *, straight_run: float, points: int = 101) -> Profile:
    """Velocity field downstream of a fitting.

    Parameters
    ----------
    fitting
        One of `FITTINGS`.
    straight_run
        In inside diameters, 1 to 1000.
    points
        Number of points on a diameter.

    Returns
    -------
    Profile
        Coordinates and velocities, shape ``(points, points)``.

    Raises
    ------
    InputError
        Another fitting, or a negative number of points.
    RangeError
        A straight run out of range.

    Examples
    --------
    >>> field = profile("enlargement", straight_run=2.0, points=51)
    >>> bool(field.axial[25, 25] > 1.3)
    True
    """
    line = np.linspace(-1.0, 1.0, points)
    x, y = np.meshgrid(line, line)
    radius, angle = np.hypot(x, y), np.arctan2(y, x)
    inside = radius <= 1.0
    axial, cross_x, cross_y = _core.disturbed_velocity(
        fitting, straight_run, radius[inside], angle[inside]
    )

    def field(values: FloatArray) -> FloatArray:
        full = np.full(x.shape, np.nan)
        full[inside] = values
        return full

    return Profile(x, y, field(axial), field(cross_x), field(cross_y))


@dataclass(frozen=True)
class Advice:
    """Where to put a path downstream of a fitting."""

    orientation: float | None
    """Angle in radians; None where any will do or none is better than another."""
    planes: int
    reason: str


def recommended_orientation(fitting: str) -> Advice:
    """Orientation that the family of a fitting suggests, with the reason in words.

    Close to a fitting, two planes and a reflected path are better than one plane at any
    orientation.

    Parameters
    ----------
    fitting
        One of `FITTINGS`.

    Returns
    -------
    Advice
        Orientation, planes and reason.

    Raises
    ------
    InputError
        Another fitting.

    Examples
    --------
    >>> round(recommended_orientation("single_bend").orientation, 3)
    1.571
    """
    orientation, planes, reason = _core.recommended_orientation(fitting)
    return Advice(orientation, planes, reason)


@dataclass(frozen=True)
class StraightRuns:
    """Straight runs that are usual around a path, in inside diameters."""

    upstream: tuple[float, float]
    """Least and most."""
    downstream: float


def straight_run_in_practice(fitting: str) -> StraightRuns:
    """Straight runs of common practice, which has no source.

    Parameters
    ----------
    fitting
        One of `FITTINGS`.

    Returns
    -------
    StraightRuns
        In inside diameters.

    Raises
    ------
    FlowdoubtError
        Another fitting.

    Examples
    --------
    >>> straight_run_in_practice("pump")
    StraightRuns(upstream=(20.0, 30.0), downstream=5.0)
    """
    least, most, downstream = _core.straight_runs(fitting)
    return StraightRuns((least, most), downstream)


def caution(fitting: str, *, straight_run: float) -> str | None:
    """Words of caution where the straight run is shorter than common practice, else None.

    Parameters
    ----------
    fitting
        One of `FITTINGS`.
    straight_run
        In inside diameters, 1 to 1000.

    Returns
    -------
    str or None
        One sentence.

    Raises
    ------
    InputError
        Another fitting.
    RangeError
        A straight run out of range.

    Examples
    --------
    >>> caution("pump", straight_run=50.0) is None
    True
    """
    return _core.straight_run_caution(fitting, straight_run)
