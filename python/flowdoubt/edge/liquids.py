"""What the modules of liquids share."""

from numpy.typing import ArrayLike

from flowdoubt import _core
from flowdoubt.edge.arrays import FloatOrArray, flattened, shaped
from flowdoubt.edge.text import shown

_PROPERTIES = ("density", "viscosity", "sound_speed")


def property_of(liquid: str, name: str, *state: ArrayLike) -> FloatOrArray:
    """Return a property at temperature, pressure and content."""
    flat, shape = flattened(*state)
    return shaped(_core.liquid_property(liquid, name, flat), shape)


def uncertainty_of(liquid: str, quantity: str, *state: ArrayLike) -> FloatOrArray:
    """Return the relative standard uncertainty of a property at a state."""
    if quantity not in _PROPERTIES:
        allowed = ", ".join(_PROPERTIES)
        raise _core.InputError(f"quantity: found `{shown(quantity)}`; allowed: {allowed}")
    flat, shape = flattened(*state)
    return shaped(_core.liquid_uncertainty(liquid, quantity, flat), shape)
