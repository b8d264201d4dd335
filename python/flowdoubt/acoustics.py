"""The sound path through wedge, wall, liner and liquid."""

from dataclasses import dataclass

from numpy.typing import ArrayLike

from flowdoubt import _flowdoubt
from flowdoubt._arrays import FloatOrArray, flattened, shaped

__all__ = ["Angles", "Path", "path"]


@dataclass(frozen=True)
class Angles:
    """Angles of the ray from the normal of the pipe wall, in radians."""

    wall: FloatOrArray
    liner: FloatOrArray
    liquid: FloatOrArray


@dataclass(frozen=True)
class Path:
    """A traced sound path; every field has the common shape of the arguments of `path`."""

    axial_slowness: FloatOrArray
    """Sine of the wedge angle over the sound speed of the wedge, in s/m."""
    angles: Angles
    spacing: FloatOrArray
    """Axial distance of the exit points of the two wedges, in m."""
    time_in_liquid: FloatOrArray
    """Time in the liquid at rest, in s."""
    dead_time: FloatOrArray
    """Time in wall and liner on both sides, without wedges, cables and electronics, in s."""


def path(
    *,
    outside_diameter: ArrayLike,
    wall: ArrayLike,
    wedge_angle: ArrayLike,
    wedge_speed: ArrayLike,
    wall_speed: ArrayLike,
    liquid_speed: ArrayLike,
    liner: ArrayLike = 0.0,
    liner_speed: ArrayLike = 1500.0,
    traverses: int = 2,
) -> Path:
    """Trace one diametral path by Snell's law.

    Parameters
    ----------
    outside_diameter, wall, liner
        Lengths in m.
    wedge_angle
        Angle of the ray in the wedge, in rad.
    wedge_speed, wall_speed, liner_speed, liquid_speed
        Sound speeds in m/s, of the wave that travels in each layer.
    traverses
        Number of crossings of the liquid: 1 on a direct path, 2 on the usual reflected one.

    Raises
    ------
    RangeError
        A length or speed out of range, or total reflection, with the interface and the largest
        wedge angle that would do.

    Examples
    --------
    >>> from math import radians
    >>> traced = path(outside_diameter=0.1683, wall=0.0071, wedge_angle=radians(40.0),
    ...               wedge_speed=2430.0, wall_speed=3230.0, liquid_speed=1482.3)
    >>> round(traced.spacing * 1e3, 1)
    154.7
    """
    arguments = (
        outside_diameter,
        wall,
        liner,
        wedge_angle,
        wedge_speed,
        wall_speed,
        liner_speed,
        liquid_speed,
    )
    flat, shape = flattened(*arguments)
    columns = [shaped(column, shape) for column in _flowdoubt.trace_path(flat, traverses)]
    slowness, in_wall, in_liner, in_liquid, spacing, time_in_liquid, time_in_wall = columns
    return Path(
        axial_slowness=slowness,
        angles=Angles(wall=in_wall, liner=in_liner, liquid=in_liquid),
        spacing=spacing,
        time_in_liquid=time_in_liquid,
        dead_time=time_in_wall,
    )
