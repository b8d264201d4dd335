"""The velocity profile of fully developed flow in a round pipe.

The Reynolds number is that of the area mean velocity and the inside diameter; relative roughness
is equivalent sand roughness over inside diameter. Arguments are broadcast against each other.
"""

from numpy.typing import ArrayLike

from flowdoubt import _flowdoubt
from flowdoubt._arrays import FloatArray, FloatOrArray, elementwise

__all__ = ["correction_factor", "friction_factor", "law_half_width"]


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
        ``"colebrook"`` or, for smooth pipes, ``"mckeon"``.

    Examples
    --------
    >>> round(friction_factor(1e5), 5)
    0.01799
    """

    def of(re: FloatArray, rr: FloatArray) -> FloatArray:
        return _flowdoubt.friction_factor(re, rr, law)

    return elementwise(of, reynolds, relative_roughness)


def correction_factor(
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "wake",
    kappa: float | None = None,
    friction: str = "colebrook",
) -> FloatOrArray:
    """Profile factor: area mean velocity over the mean on a diametral path.

    Laminar below a Reynolds number of 2300 (exactly 3/4), turbulent above 4000, a mixture by
    intermittency between them.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law
        Turbulent profile: ``"wake"``, ``"logarithmic"`` or ``"power"``.
    kappa
        Von Karman's constant of the logarithmic law, 0.40 if not given.
    friction
        Friction law, see `friction_factor`.

    Examples
    --------
    >>> correction_factor(1000.0)
    0.75
    >>> round(correction_factor(1e6, law="logarithmic"), 4)
    0.9545
    """

    def of(re: FloatArray, rr: FloatArray) -> FloatArray:
        return _flowdoubt.correction_factor(re, rr, law, kappa, friction)

    return elementwise(of, reynolds, relative_roughness)


def law_half_width(
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "wake",
    friction: str = "colebrook",
) -> FloatOrArray:
    """Relative half-width of the doubt of the profile law, for a rectangular distribution.

    It is the largest distance of any law from the one chosen, wider in the transition.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law, friction
        As for `correction_factor`.

    Examples
    --------
    >>> law_half_width(1000.0)
    0.0
    >>> bool(law_half_width(1e4) > law_half_width(1e6) > 0.003)
    True
    """

    def of(re: FloatArray, rr: FloatArray) -> FloatArray:
        return _flowdoubt.law_half_width(re, rr, law, friction)

    return elementwise(of, reynolds, relative_roughness)
