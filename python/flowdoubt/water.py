"""Liquid water after IAPWS.

Temperature in kelvin, absolute pressure in pascal, over 273.15 K to 503.15 K (0 to 230 degC) and
from saturation to 10 MPa. Scalars and arrays are broadcast against each other; the result has
their common shape. Density and sound speed are IAPWS-95 (R6-95) to a relative 1e-9, viscosity is
R12-08. A state that is not liquid or out of range raises `RangeError`.
"""

from functools import partial

from numpy.typing import ArrayLike

from flowdoubt import _core
from flowdoubt.edge.arrays import FloatOrArray, elementwise

__all__ = [
    "density",
    "dynamic_viscosity",
    "kinematic_viscosity",
    "saturation_pressure",
    "sound_speed",
]

ATMOSPHERE = 101325.0


def density(temperature: ArrayLike, pressure: ArrayLike = ATMOSPHERE) -> FloatOrArray:
    """Density in kg/m3.

    Parameters
    ----------
    temperature
        Temperature in K.
    pressure
        Absolute pressure in Pa.

    Returns
    -------
    float or ndarray
        In kg/m3. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state that is no liquid water, or out of range.

    References
    ----------
    IAPWS R6-95(2018).

    Examples
    --------
    >>> round(density(293.15), 4)
    998.2072
    """
    return elementwise(partial(_core.water_property, "density"), temperature, pressure)


def sound_speed(temperature: ArrayLike, pressure: ArrayLike = ATMOSPHERE) -> FloatOrArray:
    """Sound speed in m/s.

    Parameters
    ----------
    temperature
        Temperature in K.
    pressure
        Absolute pressure in Pa.

    Returns
    -------
    float or ndarray
        In m/s. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state that is no liquid water, or out of range.

    References
    ----------
    IAPWS R6-95(2018).

    Examples
    --------
    >>> round(sound_speed(293.15), 3)
    1482.346
    """
    return elementwise(partial(_core.water_property, "sound_speed"), temperature, pressure)


def dynamic_viscosity(temperature: ArrayLike, pressure: ArrayLike = ATMOSPHERE) -> FloatOrArray:
    """Dynamic viscosity in Pa s.

    Parameters
    ----------
    temperature
        Temperature in K.
    pressure
        Absolute pressure in Pa.

    Returns
    -------
    float or ndarray
        In Pa s. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state that is no liquid water, or out of range.

    References
    ----------
    IAPWS R12-08, without the critical enhancement.

    Examples
    --------
    >>> round(dynamic_viscosity(293.15) * 1e3, 4)
    1.0016
    """
    name = "dynamic_viscosity"
    return elementwise(partial(_core.water_property, name), temperature, pressure)


def kinematic_viscosity(temperature: ArrayLike, pressure: ArrayLike = ATMOSPHERE) -> FloatOrArray:
    """Kinematic viscosity in m2/s.

    Parameters
    ----------
    temperature
        Temperature in K.
    pressure
        Absolute pressure in Pa.

    Returns
    -------
    float or ndarray
        In m2/s. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state that is no liquid water, or out of range.

    References
    ----------
    IAPWS R12-08 and R6-95(2018).

    Examples
    --------
    >>> round(kinematic_viscosity(293.15) * 1e6, 4)
    1.0034
    """
    name = "kinematic_viscosity"
    return elementwise(partial(_core.water_property, name), temperature, pressure)


def saturation_pressure(temperature: ArrayLike) -> FloatOrArray:
    """Pressure in Pa below which water boils (IAPWS SR1-86).

    Parameters
    ----------
    temperature
        Temperature in K.

    Returns
    -------
    float or ndarray
        In Pa. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A temperature out of range.

    References
    ----------
    IAPWS SR1-86; W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783.

    Examples
    --------
    >>> round(saturation_pressure(373.1243) / 1e5, 3)
    1.013
    """
    return elementwise(_core.saturation_pressure, temperature)
