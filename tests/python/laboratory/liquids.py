"""Liquids by the packages `iapws`, `gsw` and `CoolProp`, as site files state them.

Each function states the liquid and returns its true sound speed in m/s, kinematic viscosity in
m2/s and density in kg/m3.
"""

import gsw
import numpy as np
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95, _iapws

ATMOSPHERE = 101325.0
# relative standard uncertainties that the package states of density, viscosity and sound speed
WATER = (1.5e-5, 5e-3, 2.5e-5)
SEA_WATER = (2e-5, 7.5e-3, 2e-4)
GLYCOL = (2.5e-3, 2.5e-2)


def water_at(temperature, pressure):
    """Sound speed, kinematic viscosity and density of water at K and Pa."""
    state = IAPWS95(T=temperature, P=pressure / 1e6)
    return state.w, _iapws._Viscosity(state.rho, temperature) / state.rho, state.rho


def _state(say, celsius, u=0.2):
    temperature = say.stated("liquid", "temperature", celsius, u, "degC", 1.0) + 273.15
    return temperature, say.stated("liquid", "absolute_pressure", 5.0, 0.1, "bar", 1e5)


def as_wrong_as_stated(say, uncertainties, sound_speed, viscosity, density):
    """What the formulation gives, as wrong as it may be."""
    of_density, of_viscosity, of_sound_speed = (
        1 + u * say.generator.standard_normal() for u in uncertainties
    )
    viscosity *= of_viscosity / of_density
    return sound_speed * of_sound_speed, viscosity, density * of_density


def water(say, lowest=5.0, highest=60.0):
    """Water, with the uncertainties of IAPWS R6-95 and R12-08."""
    say.key("liquid", 'kind = "water"')
    state = _state(say, say.generator.uniform(lowest, highest))
    return as_wrong_as_stated(say, WATER, *water_at(*state))


def hot_water(say):
    """Water whose viscosity leads to large Reynolds numbers."""
    return water(say, 40.0, 90.0)


def sea_water_viscosity(celsius, salinity):
    """Dynamic viscosity in Pa s, salinity in kg/kg.

    M. H. Sharqawy, J. H. Lienhard and S. M. Zubair, Desalination and Water Treatment 16 (2010) 354,
    equations 22 and 23.
    """
    pure = 4.2844e-5 + 1 / (0.157 * (celsius + 64.993) ** 2 - 91.296)
    a = 1.541 + 1.998e-2 * celsius - 9.52e-5 * celsius**2
    b = 7.974 - 7.561e-2 * celsius + 4.724e-4 * celsius**2
    return pure * (1 + a * salinity + b * salinity**2)


def sea_water(say):
    """Sea water, density and sound speed of TEOS-10 by `gsw`."""
    say.key("liquid", 'kind = "sea water"')
    celsius = say.generator.uniform(5.0, 30.0)
    temperature, pressure = _state(say, celsius)
    salinity = say.stated("liquid", "salinity", 35.0, 0.5, "g/kg", 1e-3)
    celsius = temperature - 273.15
    state = (1e3 * salinity, celsius, (pressure - ATMOSPHERE) / 1e4)
    viscosity, density = sea_water_viscosity(celsius, salinity), gsw.rho_t_exact(*state)
    return as_wrong_as_stated(
        say, SEA_WATER, gsw.sound_speed_t_exact(*state), viscosity / density, density
    )


def stated(say, lowest=0.5, highest=3.0):
    """A liquid of which the file states sound speed and viscosity."""
    say.key("liquid", 'kind = "stated"')
    sound_speed = say.stated("liquid", "sound_speed", 1480.0, 3.0, "m/s", 1.0)
    nu = float(np.exp(say.generator.uniform(np.log(lowest), np.log(highest))))
    return sound_speed, say.stated("liquid", "kinematic_viscosity", nu, 0.02 * nu, "mm2/s", 1e-6), 0


def oil(say):
    """The same as viscous as lubricants."""
    return stated(say, 20.0, 200.0)


def glycol(say):
    """Propylene glycol by `CoolProp`, with a sound speed that somebody measured six times."""
    say.key("liquid", 'kind = "propylene glycol"')
    temperature = say.stated("liquid", "temperature", say.generator.uniform(0, 40), 0.3, "degC", 1)
    percent = say.generator.uniform(25.0, 50.0)
    fraction = say.stated("liquid", "mass_fraction", percent, 0.5, "%", 1e-2)
    sound_speed = say.generator.uniform(1550.0, 1650.0)
    say.measured("liquid", "sound_speed", sound_speed, 2.0, "m/s", 1.0, 6)
    fluid = f"INCOMP::MPG[{fraction:.12g}]"
    kelvin = temperature + 273.15
    density, viscosity = (PropsSI(p, "T", kelvin, "P", ATMOSPHERE, fluid) for p in ("D", "V"))
    return as_wrong_as_stated(say, (*GLYCOL, 0.0), sound_speed, viscosity / density, density)


def tabulated(say):
    """A table of toluene by the equation of state in `CoolProp`, every 5 K; the same share of all
    values of a column is unknown."""
    kelvin = np.arange(273.15, 339.0, 5.0)
    properties = {
        "sound_speed": ("A", "m/s", "0.2 %"),
        "density": ("D", "kg/m3", "0.1 %"),
        "dynamic_viscosity": ("V", "Pa s", "2 %"),
    }

    def of(letter, temperature):
        return float(PropsSI(letter, "T", temperature, "P", 5e5, "Toluene"))

    say.key("liquid", 'kind = "tabulated"')
    celsius = say.generator.uniform(10.0, 55.0)
    temperature = say.stated("liquid", "temperature", celsius, 0.3, "degC", 1.0) + 273.15
    say.key("liquid.table", f"temperature = {[f'{t:.2f} K' for t in kelvin]}")
    truths = []
    for name, (letter, unit, u) in properties.items():
        values = [f"{of(letter, t):.12g} {unit}" for t in kelvin]
        say.key("liquid.table", f"{name} = {values}")
        uncertainty = "viscosity" if name == "dynamic_viscosity" else name
        say.key("liquid.table", f'{uncertainty}_uncertainty = "{u}"')
        share = float(u.split()[0]) / 100
        truths.append(of(letter, temperature) * (1 + share * say.generator.standard_normal()))
    sound_speed, density, viscosity = truths
    return sound_speed, viscosity / density, density
