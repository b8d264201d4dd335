"""Sea water: TEOS-10, with the viscosity of Sharqawy and others.

Temperature in kelvin, 273.15 to 313.15 K; absolute pressure in pascal, up to 10 MPa; absolute
salinity in kg/kg, up to 0.042. Scalars and arrays are broadcast against each other. A state out of
range raises `RangeError`.
"""

from numpy.typing import ArrayLike

from flowdoubt.edge.arrays import FloatOrArray
from flowdoubt.edge.liquids import property_of, uncertainty_of

__all__ = [
    "density",
    "dynamic_viscosity",
    "kinematic_viscosity",
    "relative_uncertainty",
    "sound_speed",
]

ATMOSPHERE = 101325.0
REFERENCE_SALINITY = 0.03516504
"""Absolute salinity at practical salinity 35, in kg/kg."""


def density(
    temperature: ArrayLike,
    pressure: ArrayLike = ATMOSPHERE,
    salinity: ArrayLike = REFERENCE_SALINITY,
) -> FloatOrArray:
    """Density in kg/m3.

    Parameters
    ----------
    temperature
        Temperature in K.
    pressure
        Absolute pressure in Pa.
    salinity
        Absolute salinity in kg/kg.

    Returns
    -------
    float or ndarray
        In kg/m3. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state out of range.

    References
    ----------
    TEOS-10 (IAPWS R13-08).

    Examples
    --------
    >>> round(density(298.15), 4)
    1023.3436
    """
    return property_of("sea water", "density", temperature, pressure, salinity)


def sound_speed(
    temperature: ArrayLike,
    pressure: ArrayLike = ATMOSPHERE,
    salinity: ArrayLike = REFERENCE_SALINITY,
) -> FloatOrArray:
    """Sound speed in m/s.

    Parameters
    ----------
    temperature
        Temperature in K, of any shape.
    pressure
        Absolute pressure in Pa.
    salinity
        Absolute salinity in kg/kg.

    Returns
    -------
    float or ndarray
        In m/s. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state out of range.

    References
    ----------
    TEOS-10 (IAPWS R13-08).

    Examples
    --------
    >>> round(sound_speed(298.15), 4)
    1534.3571
    """
    return property_of("sea water", "sound_speed", temperature, pressure, salinity)


def dynamic_viscosity(
    temperature: ArrayLike,
    pressure: ArrayLike = ATMOSPHERE,
    salinity: ArrayLike = REFERENCE_SALINITY,
) -> FloatOrArray:
    """Dynamic viscosity in Pa s, that of atmospheric pressure.

    Parameters
    ----------
    temperature
        Temperature in K, of any shape.
    pressure
        Absolute pressure in Pa.
    salinity
        Absolute salinity in kg/kg.

    Returns
    -------
    float or ndarray
        In Pa s. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state out of range.

    References
    ----------
    M. H. Sharqawy, J. H. Lienhard and S. M. Zubair, Desalin. Water Treat. 16 (2010) 354.

    Examples
    --------
    >>> round(dynamic_viscosity(298.15, salinity=0.035) * 1e3, 3)
    0.959
    """
    return property_of("sea water", "dynamic_viscosity", temperature, pressure, salinity)


def kinematic_viscosity(
    temperature: ArrayLike,
    pressure: ArrayLike = ATMOSPHERE,
    salinity: ArrayLike = REFERENCE_SALINITY,
) -> FloatOrArray:
    """Kinematic viscosity in m2/s.

    Parameters
    ----------
    temperature
        Temperature in K, of any shape.
    pressure
        Absolute pressure in Pa.
    salinity
        Absolute salinity in kg/kg.

    Returns
    -------
    float or ndarray
        In m2/s. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state out of range.

    References
    ----------
    As `density` and `dynamic_viscosity`.

    Examples
    --------
    >>> round(kinematic_viscosity(298.15) * 1e6, 4)
    0.9373
    """
    return property_of("sea water", "kinematic_viscosity", temperature, pressure, salinity)


def relative_uncertainty(
    quantity: str,
    temperature: ArrayLike,
    pressure: ArrayLike = ATMOSPHERE,
    salinity: ArrayLike = REFERENCE_SALINITY,
) -> FloatOrArray:
    """Relative standard uncertainty of ``density``, ``viscosity`` or ``sound_speed``.

    Parameters
    ----------
    quantity
        ``"density"``, ``"viscosity"`` or ``"sound_speed"``.
    temperature
        Temperature in K, of any shape.
    pressure
        Absolute pressure in Pa.
    salinity
        Absolute salinity in kg/kg.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another quantity; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state out of range.

    Examples
    --------
    >>> relative_uncertainty("sound_speed", 298.15)
    0.0002
    """
    return uncertainty_of("sea water", quantity, temperature, pressure, salinity)
