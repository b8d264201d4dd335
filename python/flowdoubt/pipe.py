"""Pipes: dimensions by standard, materials as ranges, wall readings on a grid, expansion.

A table says what a pipe was ordered as, not what hangs there: measure before an uncertainty is
claimed. Lengths in m.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from flowdoubt import _core

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

__all__ = [
    "Dimensions",
    "Figure",
    "Material",
    "Range",
    "Strain",
    "WallGrid",
    "dimensions",
    "material",
    "materials",
    "pressure_strain",
    "schedules",
    "sizes",
    "wall_grid",
]


@dataclass(frozen=True)
class Range:
    """An estimate and the half-width of the limits about it, in SI units."""

    estimate: float
    half_width: float


@dataclass(frozen=True)
class Dimensions:
    """What a standard lets pass, in m."""

    outside_diameter: Range
    wall: Range


@dataclass(frozen=True)
class Figure:
    """A range with its source, and how well that is known: seen, judged or memory."""

    estimate: float
    half_width: float
    source: str
    status: str


@dataclass(frozen=True)
class Material:
    """A material at about 20 degC; SI units; None where nothing is known."""

    name: str
    longitudinal_speed: Figure
    shear_speed: Figure | None
    longitudinal_speed_per_kelvin: Figure | None
    shear_speed_per_kelvin: Figure | None
    density: Figure
    expansion: Figure | None
    youngs_modulus: Figure | None
    poisson_ratio: Figure
    roughness: Figure


@dataclass(frozen=True)
class WallGrid:
    """What a grid of wall readings says, in m; None where there are too few readings."""

    mean: float
    smallest: float
    largest: float
    standard_deviation: float | None
    eccentricity: float | None
    """Distance of the bore from the centre of the outside."""
    direction: float | None
    """Where the wall is thickest, in radians from the first position."""
    residual: float | None
    """Standard deviation of what neither the mean nor the eccentricity explains."""


@dataclass(frozen=True)
class Strain:
    """Relative growth of bore and outside diameter."""

    bore: float
    outside: float


def dimensions(standard: str, size: str, schedule: str | None = None) -> Dimensions:
    """Outside diameter and wall that a standard lets pass.

    Parameters
    ----------
    standard
        ``ASME B36.10M``, ``ASME B36.19M``, ``EN 10220`` or ``ISO 4427`` (plastic pipe).
    size
        Nominal size, such as ``6`` (inches) or ``DN 150``; for plastic pipe the outside diameter
        as text with a unit.
    schedule
        Such as ``40`` or ``STD``; the nominal wall as text with a unit for ``EN 10220``; such as
        ``SDR 11`` for plastic pipe.

    Returns
    -------
    Dimensions
        Ranges in m.

    Raises
    ------
    InputError
        Another standard, or a size or schedule that it does not have; a schedule that is missing.
    UnitError
        Text that is no length, where a diameter or a wall is asked for.
    RangeError
        A diameter or a wall out of range.

    Examples
    --------
    >>> dimensions("ASME B36.10M", "DN 150", "40").wall.estimate
    0.00711
    >>> dimensions("ISO 4427", "110 mm", "SDR 11").outside_diameter.estimate
    0.110545
    """
    outside, wall = _core.pipe_dimensions(standard, size, schedule)
    return Dimensions(Range(*outside), Range(*wall))


def sizes(standard: str) -> list[str]:
    """Nominal sizes of ``ASME B36.10M`` or ``ASME B36.19M``, in inches.

    Parameters
    ----------
    standard
        ``"ASME B36.10M"`` or ``"ASME B36.19M"``.

    Returns
    -------
    list of str
        Sizes that `dimensions` takes.

    Raises
    ------
    InputError
        Another standard.

    Examples
    --------
    >>> sizes("ASME B36.10M")[:4]
    ['1/8', '1/4', '3/8', '1/2']
    """
    return _core.pipe_sizes(standard)


def schedules(standard: str, size: str) -> list[str]:
    """Schedules of a size of ``ASME B36.10M`` or ``ASME B36.19M``.

    Parameters
    ----------
    standard
        ``"ASME B36.10M"`` or ``"ASME B36.19M"``.
    size
        Nominal size, such as ``6`` (inches) or ``DN 150``.

    Returns
    -------
    list of str
        Schedules that `dimensions` takes.

    Raises
    ------
    InputError
        Another standard, or a size that it does not have.

    Examples
    --------
    >>> schedules("ASME B36.19M", "DN 150")
    ['5S', '10S', '40S', '80S']
    """
    return _core.pipe_schedules(standard, size)


def materials() -> list[str]:
    """Names of all materials.

    Returns
    -------
    list of str
        Names that `material` takes.

    Examples
    --------
    >>> "ductile iron" in materials()
    True
    """
    return _core.material_names()


def material(name: str) -> Material:
    """Return what is known of a material before anything was measured on it.

    Parameters
    ----------
    name
        The name of a material, see `materials`.

    Returns
    -------
    Material
        Ranges in SI units, each with its source.

    Raises
    ------
    InputError
        A name that no material has.

    Examples
    --------
    >>> steel = material("steel")
    >>> steel.name, steel.shear_speed.estimate, steel.shear_speed.half_width
    ('carbon steel', 3230.0, 35.0)
    """
    found, figures = _core.material(name)
    known = {key: None if figure is None else Figure(*figure) for key, figure in figures.items()}
    return Material(name=found, **known)  # type: ignore[arg-type]


def wall_grid(readings: ArrayLike) -> WallGrid:
    """Mean, scatter and eccentricity from wall readings on a grid.

    Parameters
    ----------
    readings
        Walls in m, shape (rings, positions): the same positions in each ring, spaced evenly round
        the pipe.

    Returns
    -------
    WallGrid
        Lengths in m.

    Raises
    ------
    InputError
        What is no grid of numbers, or one without readings.
    RangeError
        A wall that is not finite or not above 0.

    Examples
    --------
    >>> grid = wall_grid([[7.3e-3, 7.1e-3, 6.9e-3, 7.1e-3]])
    >>> round(grid.mean * 1e3, 3), round(grid.eccentricity * 1e3, 3)
    (7.1, 0.2)
    """
    try:
        array = np.ascontiguousarray(np.asarray(readings, dtype=np.float64))
    except (TypeError, ValueError) as error:
        raise _core.InputError(f"readings: not a grid of numbers ({error})") from None
    if array.ndim != 2:
        raise _core.InputError(f"readings: found shape {array.shape}; allowed: (rings, positions)")
    walls, scatter = _core.wall_grid(array)
    return WallGrid(*walls, *scatter)


def pressure_strain(
    outside_diameter: float,
    inside_diameter: float,
    pressure: float,
    youngs_modulus: float,
    poisson_ratio: float = 0.3,
    ends: Literal["open", "closed", "anchored"] = "closed",
) -> Strain:
    """Growth of a pipe under inside pressure (Lame, thick wall).

    Parameters
    ----------
    outside_diameter, inside_diameter
        In m, without pressure.
    pressure
        Inside less outside pressure, in Pa.
    youngs_modulus
        In Pa.
    poisson_ratio
        Without unit.
    ends
        How the ends take the thrust.

    Returns
    -------
    Strain
        Relative growth of bore and outside diameter.

    Raises
    ------
    InputError
        Other ends.
    RangeError
        A bore that is not above 0 and below the outside diameter, another number out of range, or a
        pressure that widens the bore by more than 5 %.

    Examples
    --------
    >>> f"{pressure_strain(0.1683, 0.15408, 1e6, 207e9, 0.29).bore:.2e}"
    '4.90e-05'
    """
    return Strain(
        *_core.pressure_strain(
            outside_diameter, inside_diameter, pressure, youngs_modulus, poisson_ratio, ends
        )
    )
