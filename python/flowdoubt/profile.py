"""The velocity profile of fully developed flow in a round pipe.

The Reynolds number is that of the area mean velocity and the inside diameter; relative roughness
is equivalent sand roughness over inside diameter. Arguments are broadcast against each other.

Profile laws and friction laws are chosen by name: `LAWS` has the words to each name of a profile
law, `FRICTION_LAWS` the names of friction laws. Friction laws for smooth pipes refuse roughness.
"""

from typing import Final, NamedTuple

from numpy.typing import ArrayLike

from flowdoubt import _core
from flowdoubt.edge.arrays import FloatArray, FloatOrArray, elementwise

__all__ = [
    "FRICTION_LAWS",
    "LAWS",
    "LOGARITHMIC_CONSTANTS",
    "TRANSITION_REYNOLDS",
    "LogarithmicConstants",
    "chord_factor",
    "correction_factor",
    "friction_factor",
    "friction_uncertainty",
    "intermittency",
    "law_uncertainty",
    "path_factor",
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


LAWS: Final[dict[str, str]] = dict(_core.profile_law_names())
FRICTION_LAWS: Final[tuple[str, ...]] = tuple(_core.friction_law_names())
LOGARITHMIC_CONSTANTS: Final[tuple[LogarithmicConstants, ...]] = tuple(
    LogarithmicConstants(*constants) for constants in _core.logarithmic_constants()
)
TRANSITION_REYNOLDS: Final[float] = _core.TRANSITION_REYNOLDS


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

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another law; roughness with a law for smooth pipes; arguments that are not numbers, or whose
        shapes do not fit together.
    RangeError
        A Reynolds number or roughness out of range.

    References
    ----------
    C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133; S. E. Haaland, J. Fluids Eng. 105 (1983) 89;
    M. V. Zagarola and A. J. Smits, J. Fluid Mech. 373 (1998) 33; B. J. McKeon and others, J. Fluid
    Mech. 511 (2004) 41 and 538 (2005) 429; H. Blasius 1913.

    Examples
    --------
    >>> round(friction_factor(1e5), 5)
    0.01799
    """

    def of(re: FloatArray, rr: FloatArray) -> FloatArray:
        return _core.friction_factor(re, rr, law)

    return elementwise(of, reynolds, relative_roughness)


def intermittency(
    reynolds: ArrayLike, transition_reynolds: ArrayLike = TRANSITION_REYNOLDS
) -> FloatOrArray:
    """Share of time in which the flow is turbulent.

    With the usual `transition_reynolds` it is 0 up to a Reynolds number of 1830 and 1 from 3018;
    another one moves the curve along the logarithm of the Reynolds number.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    transition_reynolds
        Reynolds number at which the flow is turbulent half of the time, 1900 to 20 000. Pipes whose
        inlets are not especially quiet have 1950 to 3150.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A Reynolds number out of range.

    Examples
    --------
    >>> intermittency([1800.0, 2350.0, 3050.0]).tolist()
    [0.0, 0.5, 1.0]
    """
    return elementwise(_core.intermittency, reynolds, transition_reynolds)


def correction_factor(
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "fitted",
    kappa: float | None = None,
    friction: str = "colebrook",
    *,
    n: float | None = None,
) -> FloatOrArray:
    """Profile factor: area mean velocity over the mean on a diametral path.

    Laminar below a Reynolds number of 1830 (exactly 3/4), turbulent above 3018, a mixture by
    intermittency between them; where the transition lies differs from pipe to pipe, see
    `intermittency`. Crossed planes, two diametral paths whose velocities are averaged, have the
    same factor.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law
        Turbulent profile, a key of `LAWS`: fitted to measurements (``"fitted"``, the default),
        older ones with viscous layer and wake (``"wake"`` and others), logarithmic
        (``"logarithmic"`` and published sets of constants) or a power law
        (``"power"`` and published exponents).
    kappa
        Von Karman's constant of the logarithmic law, 0.40 if not given.
    friction
        Friction law, see `friction_factor`.
    n
        The reciprocal of the exponent, for the power law with a fixed one.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another law; constants that do not go with it; roughness with a law for smooth pipes;
        arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A Reynolds number, roughness or constant out of range.

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
        return _core.correction_factor(re, rr, laws)

    return elementwise(of, reynolds, relative_roughness)


def chord_factor(
    reynolds: ArrayLike,
    offset: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "fitted",
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

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        As for `correction_factor`.
    RangeError
        As for `correction_factor`; an offset outside 0 to below 1.

    Examples
    --------
    >>> chord_factor(1000.0, 0.5)
    1.0
    >>> round(chord_factor(1e5, 0.5, law="power", n=7), 5)
    0.99283
    """
    laws = (law, kappa, n, friction)

    def of(h: FloatArray, re: FloatArray, rr: FloatArray) -> FloatArray:
        return _core.chord_factor([h, re, rr], laws)

    return elementwise(of, offset, reynolds, relative_roughness)


def velocity_shape(
    radius: ArrayLike,
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "fitted",
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

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        As for `correction_factor`.
    RangeError
        As for `correction_factor`; a radius outside 0 to below 1.

    Examples
    --------
    >>> velocity_shape(0.0, 1000.0)
    2.0
    """
    laws = (law, kappa, n, friction)

    def of(r: FloatArray, re: FloatArray, rr: FloatArray) -> FloatArray:
        return _core.velocity_shape([r, re, rr], laws)

    return elementwise(of, radius, reynolds, relative_roughness)


def path_factor(
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    *,
    offset: ArrayLike = 0.0,
    beam: ArrayLike = 0.0,
    friction_ratio: ArrayLike = 1.0,
    transition_reynolds: ArrayLike = TRANSITION_REYNOLDS,
    law: str = "fitted",
    friction: str = "colebrook",
    kappa: float | None = None,
    n: float | None = None,
) -> FloatOrArray:
    """Profile factor of any path, with what is known of beam, friction and transition.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    offset
        Distance of the path from the axis over the radius, 0 to 0.7.
    beam
        Width of the beam over the inside diameter, 0 to 0.9; with the offset below 0.95. Over it
        chords are averaged.
    friction_ratio
        True friction factor over that of the law, 0.5 to 2.
    transition_reynolds
        As for `intermittency`.
    law, friction, kappa, n
        As for `correction_factor`.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        As for `correction_factor`.
    RangeError
        As for `correction_factor`; an offset, beam, friction ratio or transition out of range.

    Examples
    --------
    >>> round(path_factor(2e5, beam=0.5) / path_factor(2e5), 3)
    1.02
    """
    laws = (law, kappa, n, friction)

    def of(*columns: FloatArray) -> FloatArray:
        return _core.path_factor(list(columns), laws)

    return elementwise(
        of, reynolds, relative_roughness, offset, beam, friction_ratio, transition_reynolds
    )


def friction_uncertainty(reynolds: ArrayLike, relative_roughness: ArrayLike = 0.0) -> FloatOrArray:
    """Relative standard uncertainty of the friction factor where the roughness is known.

    That of a smooth pipe is 2.4 %, from measurements; halfway to full roughness it is five times as
    much, since roughness of one size and of many sizes differ there.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A Reynolds number or roughness out of range.

    Examples
    --------
    >>> round(friction_uncertainty(1e5), 3)
    0.024
    """
    return elementwise(_core.friction_uncertainty, reynolds, relative_roughness)


def law_uncertainty(
    reynolds: ArrayLike,
    relative_roughness: ArrayLike = 0.0,
    law: str = "fitted",
    friction: str = "colebrook",
    *,
    kappa: float | None = None,
    n: float | None = None,
) -> FloatOrArray:
    """Relative standard uncertainty of the profile law on a diametral path.

    It comes from residuals of the default law against measured and simulated profiles and from the
    disagreement between them; to that of another law its distance from the default law is added in
    quadrature. Friction and transition have uncertainties of their own.

    Parameters
    ----------
    reynolds
        Reynolds number, 0 to 1e8.
    relative_roughness
        Relative roughness, 0 to 0.05.
    law, friction, kappa, n
        As for `correction_factor`.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    FlowdoubtError
        As for `correction_factor`.

    Examples
    --------
    >>> round(law_uncertainty(1e5), 4)
    0.0018
    >>> bool(law_uncertainty(1e5, law="logarithmic") > 0.01)
    True
    """
    laws = (law, kappa, n, friction)

    def of(re: FloatArray, rr: FloatArray) -> FloatArray:
        return _core.law_uncertainty(re, rr, laws)

    return elementwise(of, reynolds, relative_roughness)
