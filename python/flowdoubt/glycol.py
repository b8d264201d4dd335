"""Solutions of ethylene and propylene glycol in water, after Melinder.

Temperature in kelvin, from freezing to 373.15 K; mass fraction of glycol from 0 to 0.6. There is
no sound speed here: none could be verified over temperature and concentration, and solutions in
plant carry inhibitors. Measure it on site or take it from the data sheet of the liquid.
"""

from functools import partial

from numpy.typing import ArrayLike

from flowdoubt import _core
from flowdoubt.edge.arrays import FloatOrArray, elementwise
from flowdoubt.edge.errors import refuse
from flowdoubt.edge.liquids import property_of, uncertainty_of
from flowdoubt.edge.text import shown

__all__ = [
    "density",
    "dynamic_viscosity",
    "freezing_temperature",
    "kinematic_viscosity",
    "relative_uncertainty",
]


def _name(glycol: str) -> str:
    if glycol not in ("ethylene", "propylene"):
        raise _core.InputError(f"glycol: found `{shown(glycol)}`; allowed: ethylene, propylene")
    return f"{glycol} glycol"


def density(glycol: str, temperature: ArrayLike, mass_fraction: ArrayLike) -> FloatOrArray:
    """Density in kg/m3.

    Parameters
    ----------
    glycol
        ``ethylene`` or ``propylene``.
    temperature
        Temperature in K.
    mass_fraction
        Mass of glycol in mass of solution.

    Returns
    -------
    float or ndarray
        In kg/m3. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Another glycol; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state out of range, or below the temperature at which the solution begins to freeze.

    References
    ----------
    A. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIR 2010.

    Examples
    --------
    >>> round(density("ethylene", 293.15, 0.3), 2)
    1038.05
    """
    return property_of(_name(glycol), "density", temperature, 0.0, mass_fraction)


def dynamic_viscosity(
    glycol: str, temperature: ArrayLike, mass_fraction: ArrayLike
) -> FloatOrArray:
    """Dynamic viscosity in Pa s.

    Parameters
    ----------
    glycol
        ``"ethylene"`` or ``"propylene"``.
    temperature
        Temperature in K, of any shape.
    mass_fraction
        Mass of glycol in mass of solution.

    Returns
    -------
    float or ndarray
        In Pa s. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Another glycol; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state out of range, or below the temperature at which the solution begins to freeze.

    References
    ----------
    A. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIR 2010.

    Examples
    --------
    >>> round(dynamic_viscosity("ethylene", 293.15, 0.3) * 1e3, 2)
    2.17
    """
    return property_of(_name(glycol), "dynamic_viscosity", temperature, 0.0, mass_fraction)


def kinematic_viscosity(
    glycol: str, temperature: ArrayLike, mass_fraction: ArrayLike
) -> FloatOrArray:
    """Kinematic viscosity in m2/s.

    Parameters
    ----------
    glycol
        ``"ethylene"`` or ``"propylene"``.
    temperature
        Temperature in K, of any shape.
    mass_fraction
        Mass of glycol in mass of solution.

    Returns
    -------
    float or ndarray
        In m2/s. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Another glycol; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A state out of range, or below the temperature at which the solution begins to freeze.

    References
    ----------
    A. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIR 2010.

    Examples
    --------
    >>> round(kinematic_viscosity("propylene", 293.15, 0.3) * 1e6, 2)
    2.9
    """
    return property_of(_name(glycol), "kinematic_viscosity", temperature, 0.0, mass_fraction)


def freezing_temperature(glycol: str, mass_fraction: ArrayLike) -> FloatOrArray:
    """Temperature in K at which a solution begins to freeze.

    Parameters
    ----------
    glycol
        ``"ethylene"`` or ``"propylene"``.
    mass_fraction
        Mass of glycol in mass of solution.

    Returns
    -------
    float or ndarray
        In K. A number for numbers, else an array of the shape to which the arguments broadcast.

    Raises
    ------
    InputError
        Another glycol; arguments that are not numbers, or whose shapes do not fit together.
    RangeError
        A mass fraction out of range.

    References
    ----------
    A. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIR 2010.

    Examples
    --------
    >>> round(freezing_temperature("ethylene", 0.3) - 273.15, 1)
    -14.6
    """
    propylene = _name(glycol) == "propylene glycol"
    function = partial(_core.glycol_freezing_temperature, propylene)
    return elementwise(function, mass_fraction)


def relative_uncertainty(
    quantity: str, glycol: str, temperature: ArrayLike, mass_fraction: ArrayLike
) -> FloatOrArray:
    """Relative standard uncertainty of ``density`` or ``viscosity``.

    Parameters
    ----------
    quantity
        ``"density"`` or ``"viscosity"``.
    glycol
        ``"ethylene"`` or ``"propylene"``.
    temperature
        Temperature in K, of any shape.
    mass_fraction
        Mass of glycol in mass of solution.

    Returns
    -------
    float or ndarray
        As a ratio. A number for numbers, else an array of the shape to which the arguments
        broadcast.

    Raises
    ------
    InputError
        Another quantity or glycol; arguments that are not numbers, or whose shapes do not fit
        together.
    RangeError
        A state out of range, or below the temperature at which the solution begins to freeze.

    Examples
    --------
    >>> relative_uncertainty("viscosity", "ethylene", 293.15, 0.3)
    0.025
    """
    if quantity == "sound_speed":
        raise refuse(
            "quantity: found 'sound_speed', for which there is no formulation; allowed: 'density', "
            "'viscosity'",
            code="unknown-name",
            field="quantity",
            value=quantity,
            allowed="'density', 'viscosity'",
        )
    return uncertainty_of(_name(glycol), quantity, temperature, 0.0, mass_fraction)
