//! One face for all liquids whose properties follow from their state.

use super::glycol::{self, Glycol};
use super::tabulated::TabulatedLiquid;
use super::{seawater, water};
use crate::error::Result;
use crate::scalar::Scalar;
use std::sync::Arc;

/// What determines the properties of a liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State<S> {
    /// Temperature, in K.
    pub temperature: S,
    /// Absolute pressure, in Pa; a table has no use for it.
    pub pressure: S,
    /// Absolute salinity of sea water, or mass fraction of glycol, in kg/kg; others have no use
    /// for it.
    pub content: S,
}

/// A liquid whose properties are computed.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Liquid {
    /// Water, see [`water`].
    Water,
    /// Sea water, see [`seawater`].
    SeaWater,
    /// A solution of glycol in water, see [`glycol`]; its sound speed is not computed.
    Glycol(Glycol),
    /// A liquid given by a table.
    Tabulated(Arc<TabulatedLiquid>),
}

/// How far a computed property can be trusted: the relative standard uncertainty of the
/// formulation, with its source in words.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormulationUncertainty {
    /// Relative standard uncertainty.
    pub relative: f64,
    /// Where it comes from.
    pub source: &'static str,
}

/// The uncertainties of the three properties of a liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct FormulationUncertainties {
    /// Of the density.
    pub density: FormulationUncertainty,
    /// Of the viscosity.
    pub viscosity: FormulationUncertainty,
    /// Of the sound speed; `None` where it is not computed.
    pub sound_speed: Option<FormulationUncertainty>,
}

/// How equations write the properties of a liquid, and where the formulations come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Equations {
    /// Density of the state.
    pub(crate) density: &'static str,
    /// Kinematic viscosity of the state at density `rho`.
    pub(crate) kinematic_viscosity: &'static str,
    /// Sound speed of the state.
    pub(crate) sound_speed: &'static str,
    /// Sources of density, viscosity and sound speed.
    pub(crate) sources: [&'static str; 3],
}

impl Liquid {
    /// Its properties in equations, with the symbols of temperature `T`, pressure `p`, salinity
    /// `S_A` and mass fraction `w`.
    pub(crate) fn equations(&self) -> Equations {
        match self {
            Liquid::Water => Equations {
                density: "water_density(T, p)",
                kinematic_viscosity: "water_viscosity(T, rho)/rho",
                sound_speed: "water_sound_speed(T, p)",
                sources: ["IAPWS R6-95(2018)", "IAPWS R12-08", "IAPWS R6-95(2018)"],
            },
            Liquid::SeaWater => Equations {
                density: "sea_water_density(T, p, S_A)",
                kinematic_viscosity: "sea_water_viscosity(T, S_A)/rho",
                sound_speed: "sea_water_sound_speed(T, p, S_A)",
                sources: [
                    "IAPWS R13-08 (TEOS-10)",
                    "Sharqawy et al. 2010",
                    "IAPWS R13-08 (TEOS-10)",
                ],
            },
            Liquid::Glycol(_) => Equations {
                density: "glycol_density(T, w)",
                kinematic_viscosity: "glycol_viscosity(T, w)/rho",
                sound_speed: "",
                sources: ["Melinder 2010"; 3],
            },
            Liquid::Tabulated(_) => Equations {
                density: "table_density(T)",
                kinematic_viscosity: "table_kinematic_viscosity(T, rho)",
                sound_speed: "table_sound_speed(T)",
                sources: ["table of the site file"; 3],
            },
        }
    }

    /// The names under which liquids are chosen; a table has its own way in.
    pub const NAMES: [&'static str; 4] =
        ["water", "sea water", "ethylene glycol", "propylene glycol"];

    /// The liquid of a name; `None` for a name not among [`Self::NAMES`].
    pub fn named(name: &str) -> Option<Liquid> {
        match name {
            "water" => Some(Liquid::Water),
            "sea water" => Some(Liquid::SeaWater),
            "ethylene glycol" => Some(Liquid::Glycol(Glycol::Ethylene)),
            "propylene glycol" => Some(Liquid::Glycol(Glycol::Propylene)),
            _ => None,
        }
    }

    /// The name under which it is chosen; a table is `tabulated`.
    pub fn name(&self) -> &'static str {
        match self {
            Liquid::Water => "water",
            Liquid::SeaWater => "sea water",
            Liquid::Glycol(Glycol::Ethylene) => "ethylene glycol",
            Liquid::Glycol(Glycol::Propylene) => "propylene glycol",
            Liquid::Tabulated(_) => "tabulated",
        }
    }

    /// Density, in kg/m3.
    pub fn density<S: Scalar>(&self, at: &State<S>) -> S {
        match self {
            Liquid::Water => water::density(at.temperature, at.pressure),
            Liquid::SeaWater => seawater::density(at.temperature, at.pressure, at.content),
            Liquid::Glycol(glycol) => glycol.density(at.temperature, at.content),
            Liquid::Tabulated(table) => table.density(at.temperature),
        }
    }

    /// Kinematic viscosity in m2/s; `density` in kg/m3 is that of the state, by formulation or
    /// better known. A table of kinematic viscosity has no use for it.
    pub fn kinematic_viscosity<S: Scalar>(&self, at: &State<S>, density: S) -> S {
        match self {
            Liquid::Water => water::viscosity_at_density(at.temperature, density) / density,
            Liquid::SeaWater => seawater::dynamic_viscosity(at.temperature, at.content) / density,
            Liquid::Glycol(glycol) => {
                glycol.dynamic_viscosity(at.temperature, at.content) / density
            }
            Liquid::Tabulated(table) => {
                table.kinematic_viscosity_at_density(at.temperature, density)
            }
        }
    }

    /// Dynamic viscosity, in Pa s.
    pub fn dynamic_viscosity<S: Scalar>(&self, at: &State<S>) -> S {
        let density = self.density(at);
        self.kinematic_viscosity(at, density) * density
    }

    /// Sound speed in m/s; NaN for a solution of glycol, whose sound speed must be stated.
    pub fn sound_speed<S: Scalar>(&self, at: &State<S>) -> S {
        match self {
            Liquid::Water => water::sound_speed(at.temperature, at.pressure),
            Liquid::SeaWater => seawater::sound_speed(at.temperature, at.pressure, at.content),
            Liquid::Glycol(_) => S::constant(f64::NAN),
            Liquid::Tabulated(table) => table.sound_speed(at.temperature),
        }
    }

    /// Whether the sound speed is computed rather than stated.
    pub fn has_sound_speed(&self) -> bool {
        !matches!(self, Liquid::Glycol(_))
    }

    /// Whether pressure is part of the state.
    pub fn needs_pressure(&self) -> bool {
        matches!(self, Liquid::Water | Liquid::SeaWater)
    }

    /// Vapour pressure in Pa, below which the liquid boils; `None` for a table.
    ///
    /// That of pure water stands for solutions as well: salt and glycol lower it (by about 2 % in
    /// sea water, by Raoult's law), so the margin to boiling is rather larger.
    pub fn vapour_pressure<S: Scalar>(&self, temperature: S) -> Option<S> {
        match self {
            Liquid::Tabulated(_) => None,
            _ => Some(water::saturation_pressure(temperature)),
        }
    }

    /// Refuses a state outside the validity of the formulation.
    ///
    /// # Errors
    /// Temperature, pressure or content outside its range; a liquid that boils or freezes.
    pub fn check(&self, at: &State<f64>) -> Result<()> {
        match self {
            Liquid::Water => water::check(at.temperature, at.pressure),
            Liquid::SeaWater => seawater::check(at.temperature, at.pressure, at.content),
            Liquid::Glycol(glycol) => glycol.check(at.temperature, at.content),
            Liquid::Tabulated(table) => table.check(at.temperature),
        }
    }

    /// The formulation's own standard uncertainties.
    pub fn uncertainties(&self, at: &State<f64>) -> FormulationUncertainties {
        // stated for a coverage factor of 2
        let half = |expanded: f64, source: &'static str| FormulationUncertainty {
            relative: 0.5 * expanded,
            source,
        };
        let t = at.temperature;
        match self {
            Liquid::Water => {
                const IAPWS_95: &str = "IAPWS R6-95(2018), stated uncertainty";
                let viscosity = "IAPWS R12-08, stated uncertainty";
                let sound_speed = water::sound_speed_relative_uncertainty(t);
                FormulationUncertainties {
                    density: half(water::DENSITY_RELATIVE_UNCERTAINTY, IAPWS_95),
                    viscosity: half(water::VISCOSITY_RELATIVE_UNCERTAINTY, viscosity),
                    sound_speed: Some(half(sound_speed, IAPWS_95)),
                }
            }
            Liquid::SeaWater => {
                let density = "IAPWS R13-08(2008), stated uncertainty";
                let viscosity = "Sharqawy et al. 2010, stated uncertainty";
                let sound_speed = "largest distance of TEOS-10 to Chen and Millero 1977";
                FormulationUncertainties {
                    density: half(seawater::DENSITY_RELATIVE_UNCERTAINTY, density),
                    viscosity: half(seawater::VISCOSITY_RELATIVE_UNCERTAINTY, viscosity),
                    sound_speed: Some(half(
                        seawater::SOUND_SPEED_RELATIVE_UNCERTAINTY,
                        sound_speed,
                    )),
                }
            }
            Liquid::Glycol(_) => {
                let source = "Melinder 2010, uncertainty by judgement";
                FormulationUncertainties {
                    density: half(glycol::DENSITY_RELATIVE_UNCERTAINTY, source),
                    viscosity: half(glycol::VISCOSITY_RELATIVE_UNCERTAINTY, source),
                    sound_speed: None,
                }
            }
            Liquid::Tabulated(table) => {
                let of = |relative: f64| FormulationUncertainty {
                    relative,
                    source: "table of the liquid, stated uncertainty",
                };
                FormulationUncertainties {
                    density: of(table.density_uncertainty(t) / table.density(t)),
                    viscosity: of(table.viscosity_relative_uncertainty(t)),
                    sound_speed: Some(of(table.sound_speed_uncertainty(t) / table.sound_speed(t))),
                }
            }
        }
    }
}
