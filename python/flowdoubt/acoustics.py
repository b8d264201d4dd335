"""The sound path through wedge, wall, lining and liquid."""

from collections.abc import Sequence
from dataclasses import dataclass

from numpy.typing import ArrayLike

from flowdoubt import _core
from flowdoubt.edge.arrays import FloatOrArray, flattened, shaped

__all__ = ["Angles", "Path", "path"]


@dataclass(frozen=True)
class Angles:
    """Angles of the ray from the normal of the pipe wall, in radians."""

    wall: FloatOrArray
    liner: FloatOrArray | None
    """None where there is no liner."""
    layers: tuple[FloatOrArray, ...]
    """In the layers inside the liner, from outside to inside."""
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
    """Time in the layers on both sides, without wedges, cables and electronics, in s."""


def path(
    *,
    outside_diameter: ArrayLike,
    wall: ArrayLike,
    wall_speed: ArrayLike,
    liquid_speed: ArrayLike,
    wedge_angle: ArrayLike | None = None,
    wedge_speed: ArrayLike | None = None,
    spacing: ArrayLike | None = None,
    liner: ArrayLike | None = None,
    liner_speed: ArrayLike | None = None,
    layers: Sequence[tuple[ArrayLike, ArrayLike]] = (),
    couplant: ArrayLike | None = None,
    couplant_speed: ArrayLike | None = None,
    traverses: int = 2,
) -> Path:
    """Trace one diametral path by Snell's law.

    The angle of the ray comes from the wedge, or from the spacing of the exit points.

    Parameters
    ----------
    outside_diameter, wall, liner
        Lengths in m.
    wedge_angle
        Angle of the ray in the wedge, in rad; with `wedge_speed`.
    wedge_speed, wall_speed, liner_speed, liquid_speed
        Sound speeds in m/s, of the wave that travels in each layer.
    spacing
        Axial distance of the exit points in m, instead of the wedge.
    layers
        Thickness in m and sound speed in m/s of layers inside the liner, from outside to inside:
        a second liner, scale, deposit.
    couplant, couplant_speed
        Thickness in m of the couplant under one sensor, and its sound speed in m/s.
    traverses
        Number of crossings of the liquid, 1 to 8: odd on a direct path, even on a reflected one.

    Returns
    -------
    Path
        Angles, lengths and times, each of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Both or neither of wedge and spacing; a liner or couplant without its sound speed, or the
        other way round.
    RangeError
        A length or speed out of range, layers as thick as the radius, or total reflection, with
        the interface and the largest wedge angle that would do.

    Examples
    --------
    >>> from math import radians
    >>> pipe = dict(outside_diameter=0.1683, wall=0.0071, wall_speed=3230.0, liquid_speed=1482.3)
    >>> traced = path(wedge_angle=radians(40.0), wedge_speed=2430.0, **pipe)
    >>> round(traced.spacing * 1e3, 1)
    154.7
    >>> round(path(spacing=traced.spacing, **pipe).angles.liquid / radians(1.0), 3)
    23.085
    """
    wedge = [a for a in (wedge_angle, wedge_speed) if a is not None]
    aim = wedge if spacing is None else [spacing]
    if len(wedge) != (2 if spacing is None else 0):
        raise _core.InputError(
            "path: allowed: wedge_angle and wedge_speed together, or spacing alone"
        )
    crossed = [
        *_layer("couplant", couplant, couplant_speed),
        (wall, wall_speed),
        *_layer("liner", liner, liner_speed),
        *layers,
    ]
    parts = [part for layer in crossed for part in layer]
    arguments = [outside_diameter, liquid_speed, *aim, *parts]
    flat, shape = flattened(*arguments)
    pipe, aimed, rest = flat[:2], flat[2 : 2 + len(aim)], flat[2 + len(aim) :]
    pairs = [rest[i : i + 2] for i in range(0, len(rest), 2)]
    traced = _core.trace_path(pipe, aimed, pairs, couplant is not None, traverses)
    slowness, distance, in_liquid, in_layers, angle, in_wall, *inner = (
        shaped(column, shape) for column in traced
    )
    return Path(
        axial_slowness=slowness,
        angles=Angles(
            wall=in_wall,
            liner=None if liner is None else inner[0],
            layers=tuple(inner if liner is None else inner[1:]),
            liquid=angle,
        ),
        spacing=distance,
        time_in_liquid=in_liquid,
        dead_time=in_layers,
    )


def _layer(
    name: str, thickness: ArrayLike | None, speed: ArrayLike | None
) -> list[tuple[ArrayLike, ArrayLike]]:
    """Return a layer, or none where neither thickness nor sound speed is given."""
    if thickness is None and speed is None:
        return []
    if thickness is None or speed is None:
        raise _core.InputError(f"path: allowed: {name} and {name}_speed together")
    return [(thickness, speed)]
