"""Verification of a meter against a reference: weighing, a volumetric tank or a master meter.

A verification file states the runs, the reference and how they are judged, every quantity with
its uncertainty as in the site file; `Site.verify` compares both sides. The functions here are the
pieces that are of use alone.

Examples
--------
>>> import flowdoubt as fd
>>> site = fd.Site.load("notebooks/demo/site.toml")
>>> result = site.verify("notebooks/demo/verification.toml")
>>> result.accepted
True
"""

from __future__ import annotations

from numpy.typing import ArrayLike

from flowdoubt import _core
from flowdoubt._core import (
    VERIFICATION_CAUTIONS,
    Verification,
    VerificationResult,
    VerificationTrials,
)
from flowdoubt.edge.arrays import FloatOrArray, shaped
from flowdoubt.edge.columns import aligned

__all__ = [
    "VERIFICATION_CAUTIONS",
    "Verification",
    "VerificationResult",
    "VerificationTrials",
    "air_density",
    "buoyancy_factor",
    "diverter_error",
    "e_n",
    "zeta_score",
]


def e_n(
    x: ArrayLike,
    expanded_x: ArrayLike,
    reference: ArrayLike,
    expanded_reference: ArrayLike,
    correlation: ArrayLike = 0.0,
) -> FloatOrArray:
    """Difference of two results over the expanded uncertainty of the difference.

    Parameters
    ----------
    x, reference
        The two results, in the same unit.
    expanded_x, expanded_reference
        Their expanded uncertainties, of the same coverage probability (usually 95 %).
    correlation
        The correlation coefficient of the two; ISO/IEC 17043 takes them as independent.

    Returns
    -------
    float or array
        ``E_n``; the results agree where it is within 1 of zero.

    Raises
    ------
    FlowdoubtError
        Numbers that are not finite, negative uncertainties, a difference without uncertainty.

    Examples
    --------
    >>> round(e_n(100.8, 0.9, 100.0, 0.6), 4)
    0.7396
    """
    flat, shape = aligned(
        x=x,
        expanded_x=expanded_x,
        reference=reference,
        expanded_reference=expanded_reference,
        correlation=correlation,
    )
    return shaped(_core.scores(*flat), shape)


def zeta_score(
    x: ArrayLike,
    u_x: ArrayLike,
    reference: ArrayLike,
    u_reference: ArrayLike,
    correlation: ArrayLike = 0.0,
) -> FloatOrArray:
    """Difference of two results over the standard uncertainty of the difference (ISO 13528).

    As `e_n`, with standard uncertainties: satisfactory up to 2, questionable up to 3,
    unsatisfactory beyond.

    Parameters
    ----------
    x
        Results, of any shape.
    u_x
        Their standard uncertainties.
    reference
        Reference values.
    u_reference
        Their standard uncertainties.
    correlation
        Correlation of both.

    Returns
    -------
    float or ndarray
        The score. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    FlowdoubtError
        As for `e_n`.

    Examples
    --------
    >>> round(zeta_score(100.8, 0.45, 100.0, 0.3), 4)
    1.4792
    """
    flat, shape = aligned(
        x=x, u_x=u_x, reference=reference, u_reference=u_reference, correlation=correlation
    )
    return shaped(_core.scores(*flat), shape)


def air_density(
    temperature: ArrayLike, pressure: ArrayLike = 101325.0, relative_humidity: ArrayLike = 0.5
) -> FloatOrArray:
    """Density of moist air in kg/m3 by the approximation formula of OIML R 111.

    Parameters
    ----------
    temperature
        In K, 283.15 to 303.15.
    pressure
        In Pa, 90 000 to 110 000.
    relative_humidity
        As a ratio, 0 to 0.8.

    Returns
    -------
    float or ndarray
        In kg/m3. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    FlowdoubtError
        Air outside the range of the formula.

    Examples
    --------
    >>> round(air_density(293.15), 4)
    1.1993
    """
    flat, shape = aligned(
        temperature=temperature, pressure=pressure, relative_humidity=relative_humidity
    )
    return shaped(_core.air_density(*flat), shape)


def buoyancy_factor(
    liquid_density: ArrayLike, air_density: ArrayLike = 1.2, weight_density: ArrayLike = 8000.0
) -> FloatOrArray:
    """Mass of a liquid over the indication of a scale that was adjusted with weights.

    Parameters
    ----------
    liquid_density, air_density, weight_density
        In kg/m3.

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
        Air of negative density, weights or a liquid that are no denser than it.

    Examples
    --------
    >>> round(buoyancy_factor(998.2), 6)
    1.001053
    """
    flat, shape = aligned(
        air_density=air_density, weight_density=weight_density, liquid_density=liquid_density
    )
    return shaped(_core.buoyancy_factor(*flat), shape)


def diverter_error(
    duration: float,
    mass: float,
    burst_duration: float,
    burst_mass: float,
    bursts: int,
    flow_ratio: float = 1.0,
) -> float:
    """Error of a diverter in s, indicated less effective duration, from a long run and short ones.

    Parameters
    ----------
    duration, mass
        Indicated duration in s and mass in kg of one long run.
    burst_duration, burst_mass
        The sums over the short runs.
    bursts
        Number of short runs.
    flow_ratio
        Mean flow of the short runs over that of the long run, as a meter in the line shows it.

    Returns
    -------
    float
        In s.

    Raises
    ------
    InputError
        A negative number of short runs.
    RangeError
        A duration, mass or flow ratio that is not above 0; fewer short runs than 2.

    Examples
    --------
    >>> round(diverter_error(600.0, 5999.8, 600.0, 5996.0, 20), 9)
    0.02
    """
    return _core.diverter_error(duration, mass, burst_duration, burst_mass, bursts, flow_ratio)
