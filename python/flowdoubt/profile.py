"""The velocity profile of fully developed flow in a round pipe.

The Reynolds number is that of the area mean velocity and the inside diameter; relative roughness
is equivalent sand roughness over inside diameter. Arguments are broadcast against each other.

Profile laws and friction laws are chosen by name: `LAWS` has the words to each name of a profile
law, `FRICTION_LAWS` the names of friction laws. Friction laws for smooth pipes refuse roughness.
"""

from typing import Final, NamedTuple

from numpy.typing import ArrayLike

from flowdoubt import _flowdoubt
from flowdoubt._arrays import FloatArray, FloatOrArray, elementwise

__all__ = [
    "FRICTION_LAWS",
    "LAWS",
    "LOGARITHMIC_CONSTANTS",
    "LogarithmicConstants",
    "chord_factor",
    "correction_factor",
    "friction_factor",
    "intermittency",
    "law_half_width",
    "velocity_shape",
]


class LogarithmicConstants(NamedTuple):
    """Published constants of the logarithmic law ``u+ = ln(y+)/kappa + B``.

    The profile factor needs `kappa` alone. `additive`, the ``B`` of a smooth pipe, is NaN where the
    source gives none.
    """

    name: str
    kappa: float
    additive: float
    source: str


LAWS: Final[dict[str, str]] = dict(_flowdoubt.profile_law_names())
FRICTION_LAWS: Final[tuple[str, ...]] = tuple(_flowdoubt.friction_law_names())
LOGARITHMIC_CONSTANTS: Final[tuple[LogarithmicConstants, ...]] = tuple(
    LogarithmicConstants(*constants) for constants in _flowdoubt.logarithmic_constants()
)


def friction_factor(
    reynolds: ArrayLike, relative_roughness: ArrayLike = 0.0, law: str = "colebrook"
) -> FloatOrArray:
    """Darcy's friction factor of turbulent flow.

    Parameters
    ----------
    reynolds
        Reynolds number, 2300 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law
        ``"colebrook"`` or ``"haaland"``; for smooth pipes only ``"prandtl"``,
        ``"zagarola_smits"``, ``"mckeon_2004"``, ``"mckeon"`` and ``"blasius"``.

    Examples
    --------
    >>> round(friction_factor(1e5), 5)
    0.01799
    """

    def of(re: FloatArray, rr: FloatArray) -> FloatArray:
        return _flowdoubt.friction_factor(re, rr, law)

    return elementwise(of, reynolds, relative_roughness)


def intermittency(reynolds: ArrayLike) -> FloatOrArray:
    """Share of time in which the flow is turbulent: 0 up to a Reynolds number of 2300, 1 from 4000.

    Examples
    --------
    >>> intermittency(3150.0)
    0.5
    """
    return elementwise(_flowdoubt.intermittency, reynolds)


def correction_factor(
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "wake",
    kappa: float | None = None,
    friction: str = "colebrook",
    *,
    n: float | None = None,
) -> FloatOrArray:
    """Profile factor: area mean velocity over the mean on a diametral path.

    Laminar below a Reynolds number of 2300 (exactly 3/4), turbulent above 4000, a mixture by
    intermittency between them. Crossed planes, two diametral paths whose velocities are averaged,
    have the same factor.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law
        Turbulent profile, a key of `LAWS`: with viscous layer and wake (``"wake"`` and others),
        logarithmic (``"logarithmic"`` and published sets of constants) or a power law
        (``"power"`` and published exponents).
    kappa
        Von Karman's constant of the logarithmic law, 0.40 if not given.
    friction
        Friction law, see `friction_factor`.
    n
        The reciprocal of the exponent, for the power law with a fixed one.

    Examples
    --------
    >>> correction_factor(1000.0)
    0.75
    >>> round(correction_factor(1e6, law="logarithmic"), 4)
    0.9545
    >>> round(correction_factor(1e5, law="power", n=7), 4)
    0.9333
    """
    laws = (law, kappa, n, friction)

    def of(re: FloatArray, rr: FloatArray) -> FloatArray:
        return _flowdoubt.correction_factor(re, rr, laws)

    return elementwise(of, reynolds, relative_roughness)


def chord_factor(
    reynolds: ArrayLike,
    offset: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "wake",
    kappa: float | None = None,
    friction: str = "colebrook",
    *,
    n: float | None = None,
) -> FloatOrArray:
    """Profile factor of a path beside the axis: area mean velocity over the mean on a chord.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    offset
        Distance of the chord from the axis over the radius, 0 to below 1.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law, kappa, friction, n
        As for `correction_factor`.

    Examples
    --------
    >>> chord_factor(1000.0, 0.5)
    1.0
    >>> round(chord_factor(1e5, 0.5, law="power", n=7), 5)
    0.99283
    """
    laws = (law, kappa, n, friction)

    def of(h: FloatArray, re: FloatArray, rr: FloatArray) -> FloatArray:
        return _flowdoubt.chord_factor([h, re, rr], laws)

    return elementwise(of, offset, reynolds, relative_roughness)


def velocity_shape(
    radius: ArrayLike,
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "wake",
    kappa: float | None = None,
    friction: str = "colebrook",
    *,
    n: float | None = None,
) -> FloatOrArray:
    """Velocity over its mean over the area, at a radius over the radius of the pipe.

    Its means over paths are the reciprocals of `correction_factor` and `chord_factor`. Turbulent
    laws mean nothing within some hundredths of a radius from the wall: the logarithmic law goes to
    minus infinity there, and a profile with wake ends somewhat above or below zero.

    Parameters
    ----------
    radius
        Relative radius, 0 to below 1.
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law, kappa, friction, n
        As for `correction_factor`.

    Examples
    --------
    >>> velocity_shape(0.0, 1000.0)
    2.0
    """
    laws = (law, kappa, n, friction)

    def of(r: FloatArray, re: FloatArray, rr: FloatArray) -> FloatArray:
        return _flowdoubt.velocity_shape([r, re, rr], laws)

    return elementwise(of, radius, reynolds, relative_roughness)


def law_half_width(
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "wake",
    friction: str = "colebrook",
    *,
    kappa: float | None = None,
    n: float | None = None,
) -> FloatOrArray:
    """Relative half-width of the doubt of the profile law, for a rectangular distribution.

    It is the largest distance of any law from the one chosen, wider in the transition.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law, friction, kappa, n
        As for `correction_factor`.

    Examples
    --------
    >>> law_half_width(1000.0)
    0.0
    >>> bool(law_half_width(1e4) > law_half_width(1e6) > 0.003)
    True
    """
    laws = (law, kappa, n, friction)

    def of(re: FloatArray, rr: FloatArray) -> FloatArray:
        return _flowdoubt.law_half_width(re, rr, laws)

    return elementwise(of, reynolds, relative_roughness)
