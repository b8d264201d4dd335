//! The measurement model of a site: from readings to volume flow, every step by name.

use super::{Intermediates, Quantity};
use crate::acoustics::{
    Geometry, Layer, Path, velocity_from_geometry, velocity_from_time, velocity_of_programmed_meter,
};
use crate::error::{Error, Result};
use crate::liquid::water;
use crate::profile::{FrictionLaw, ProfileLaw, factor_for_path_velocity};
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output};
use crate::units::{Dimension, Unit};
use crate::{acoustics, pipe, profile};
use serde::{Deserialize, Serialize};

/// How the path velocity follows from what is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// From time difference and transit time.
    Timed,
    /// From time difference, diameter and sound speed of the liquid.
    Geometric,
    /// From the volume flow or velocity that the meter indicates, taken back through the
    /// parameters programmed into it.
    Indicated,
}

impl Basis {
    /// The basis in one word.
    pub fn in_words(self) -> &'static str {
        match self {
            Basis::Timed => "timed",
            Basis::Geometric => "geometric",
            Basis::Indicated => "indicated",
        }
    }
}

/// Which outside dimension was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DiameterFrom {
    /// The circumference, by tape.
    Circumference,
    /// The diameter, by calliper or from a table.
    Diameter,
}

/// Where the properties of the liquid come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LiquidModel {
    /// The IAPWS formulations, from temperature and pressure.
    Water,
    /// Stated in the site file.
    Stated,
}

impl LiquidModel {
    const NAMES: [&'static str; 2] = ["water", "stated"];

    pub(super) fn from_name(name: &str, field: &str) -> Result<LiquidModel> {
        match name {
            "water" => Ok(LiquidModel::Water),
            "stated" => Ok(LiquidModel::Stated),
            _ => Err(Error::unknown_name(field, name, &Self::NAMES)),
        }
    }
}

/// The parameters programmed into a meter. They are exact: the meter computed with them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Programmed {
    /// Inside diameter, in m.
    pub inside_diameter: Option<f64>,
    /// Profile factor that the meter applied.
    pub profile_factor: f64,
    /// Axial slowness in s/m; `None` where the meter was told of the sensors as they are.
    pub axial_slowness: Option<f64>,
}

const COUNT: usize = Quantity::ALL.len();

/// The measurement model of one diametral path.
///
/// ```text
/// Q = K_cal K_inst K_mount K_law k(Re, roughness) (pi/4) D^2 v,    Re = 4 Q / (pi D nu)
/// ```
/// The velocity `v` follows from the readings by the [`Basis`]. Each quantity is the sum of its
/// inputs; a quantity without inputs has its default value.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteModel {
    basis: Basis,
    traverses: u32,
    diameter_from: DiameterFrom,
    liquid: LiquidModel,
    law: ProfileLaw,
    friction: FrictionLaw,
    programmed: Option<Programmed>,
    flow_unit: Unit,
    /// The quantity to which each input is a term.
    terms: Vec<Quantity>,
}

impl SiteModel {
    pub(super) fn new(
        basis: Basis,
        traverses: u32,
        diameter_from: DiameterFrom,
        liquid: LiquidModel,
        law: ProfileLaw,
        friction: FrictionLaw,
        programmed: Option<Programmed>,
    ) -> SiteModel {
        SiteModel {
            basis,
            traverses,
            diameter_from,
            liquid,
            law,
            friction,
            programmed,
            flow_unit: Dimension::VolumeFlow.si_unit(),
            terms: Vec::new(),
        }
    }

    /// The same model with the quantity of each input and the unit of the output.
    pub(crate) fn with_terms(mut self, terms: Vec<Quantity>, flow_unit: Unit) -> SiteModel {
        self.terms = terms;
        self.flow_unit = flow_unit;
        self
    }

    /// How the path velocity follows from the readings.
    pub fn basis(&self) -> Basis {
        self.basis
    }
    /// Number of traverses.
    pub fn traverses(&self) -> u32 {
        self.traverses
    }
    /// The profile law.
    pub fn profile_law(&self) -> ProfileLaw {
        self.law
    }
    /// The friction law.
    pub fn friction_law(&self) -> FrictionLaw {
        self.friction
    }
    /// Where the properties of the liquid come from.
    pub fn liquid(&self) -> LiquidModel {
        self.liquid
    }
    /// The parameters programmed into the meter, on the indicated basis.
    pub fn programmed(&self) -> Option<&Programmed> {
        self.programmed.as_ref()
    }
    /// The quantity of each input.
    pub fn terms(&self) -> &[Quantity] {
        &self.terms
    }

    /// What a site file must state of a quantity, if it must.
    pub(super) fn needs(&self, q: Quantity) -> Option<&'static str> {
        let times = self.basis != Basis::Indicated;
        // a meter that was told of other sensors must be put right by those it has
        let wedge = times || self.programmed.is_some_and(|p| p.axial_slowness.is_some());
        let stated_liquid = self.liquid == LiquidModel::Stated;
        match q {
            Quantity::Wall => Some("wall thickness, as text with a unit or a table"),
            Quantity::WallSoundSpeed if times => Some("sound speed of the wave in the wall"),
            Quantity::WedgeAngle if wedge => Some("angle of the ray in the wedge"),
            Quantity::WedgeSoundSpeed if wedge => Some("sound speed of the wedge"),
            Quantity::Pressure if !stated_liquid => Some("absolute pressure of the water"),
            Quantity::KinematicViscosity if stated_liquid => {
                Some("kinematic viscosity of the liquid")
            }
            Quantity::LiquidSoundSpeed if stated_liquid => Some("sound speed of the liquid"),
            _ => None,
        }
    }

    /// The value of every quantity from the inputs.
    fn quantities<S: Scalar>(&self, x: &[S]) -> [S; COUNT] {
        let mut values = std::array::from_fn(|i| S::constant(Quantity::ALL[i].default_value()));
        let mut stated = [false; COUNT];
        for (&q, &term) in self.terms.iter().zip(x) {
            let i = q as usize;
            values[i] = if stated[i] { values[i] + term } else { term };
            stated[i] = true;
        }
        values
    }

    /// Every step of the evaluation, by name.
    pub fn steps<S: Scalar>(&self, x: &[S]) -> Intermediates<S> {
        let values = self.quantities(x);
        let of = |q: Quantity| values[q as usize];

        // the bore
        let outside_diameter = match self.diameter_from {
            DiameterFrom::Circumference => {
                pipe::diameter_from_circumference(of(Quantity::OutsideCircumference))
            }
            DiameterFrom::Diameter => of(Quantity::OutsideDiameter),
        };
        let (wall, liner) = (of(Quantity::Wall), of(Quantity::Liner));
        let inside_diameter = pipe::inside_diameter(outside_diameter, wall, liner);
        let area = pipe::area(inside_diameter);

        // the liquid
        let (liquid_sound_speed, kinematic_viscosity) = match self.liquid {
            LiquidModel::Stated => (
                of(Quantity::LiquidSoundSpeed),
                of(Quantity::KinematicViscosity),
            ),
            LiquidModel::Water => {
                let (t, p) = (of(Quantity::Temperature), of(Quantity::Pressure));
                let density = water::density(t, p) * of(Quantity::DensityFactor);
                let viscosity =
                    water::viscosity_at_density(t, density) * of(Quantity::ViscosityFactor);
                let sound_speed = water::sound_speed(t, p) * of(Quantity::SoundSpeedFactor);
                (sound_speed, viscosity / density)
            }
        };

        // the sound path and the velocity on it
        let path = Path::trace(&Geometry {
            wedge_angle: of(Quantity::WedgeAngle),
            wedge_sound_speed: of(Quantity::WedgeSoundSpeed),
            wall: Layer {
                thickness: wall,
                sound_speed: of(Quantity::WallSoundSpeed),
            },
            liner: Layer {
                thickness: liner,
                sound_speed: of(Quantity::LinerSoundSpeed),
            },
            inside_diameter,
            liquid_sound_speed,
            traverses: self.traverses,
        });
        let dead_time = of(Quantity::ElectronicsDelay)
            + of(Quantity::CableDelay)
            + of(Quantity::WedgeDelay)
            + path.time_in_wall;
        let time_in_liquid = of(Quantity::TransitTime) - dead_time;
        let time_difference = of(Quantity::TimeDifference) - of(Quantity::ZeroTimeDifference);
        let path_velocity = match self.basis {
            Basis::Timed => {
                velocity_from_time(time_difference, time_in_liquid, path.axial_slowness)
            }
            Basis::Geometric => velocity_from_geometry(
                time_difference,
                &path,
                liquid_sound_speed,
                inside_diameter,
                self.traverses,
            ),
            Basis::Indicated => self.indicated_velocity(&of, path.axial_slowness),
        };

        // the profile, solved together with the flow
        let factors = of(Quantity::CalibrationFactor)
            * of(Quantity::LawFactor)
            * of(Quantity::InstallationFactor)
            * of(Quantity::RemountingFactor);
        let relative_roughness = of(Quantity::Roughness) / inside_diameter;
        let path_reynolds = (factors * path_velocity).abs() * inside_diameter / kinematic_viscosity;
        let profile_factor =
            factor_for_path_velocity(path_reynolds, relative_roughness, self.law, self.friction);
        let mean_velocity = factors * profile_factor * path_velocity;
        Intermediates {
            outside_diameter,
            inside_diameter,
            area,
            liquid_sound_speed,
            kinematic_viscosity,
            path,
            dead_time,
            time_in_liquid,
            time_difference,
            path_velocity,
            relative_roughness,
            reynolds: profile_factor * path_reynolds,
            profile_factor,
            mean_velocity,
            volume_flow: area * mean_velocity,
        }
    }

    /// The velocity on the path from what the meter indicates.
    fn indicated_velocity<S: Scalar>(&self, of: &impl Fn(Quantity) -> S, slowness: S) -> S {
        let Some(programmed) = self.programmed else {
            return S::constant(f64::NAN); // not reached: the site file must state them
        };
        let from_flow = self.terms.contains(&Quantity::IndicatedFlow);
        let indicated = match programmed.inside_diameter {
            Some(d) if from_flow => of(Quantity::IndicatedFlow) / pipe::area(d),
            _ => of(Quantity::IndicatedVelocity),
        };
        let ratio = programmed
            .axial_slowness
            .map_or(S::constant(1.0), |programmed| {
                S::constant(programmed) / slowness
            });
        velocity_of_programmed_meter(
            indicated - of(Quantity::ZeroVelocity),
            ratio,
            programmed.profile_factor,
        )
    }

    /// The steps at estimates, unless no measurement can have led to them; then words say why.
    ///
    /// # Errors
    /// No sound path, a pipe without bore, water that is not liquid, a transit time shorter than
    /// the dead time, a Reynolds number outside the profile laws.
    pub fn checked_steps(&self, x: &[f64]) -> Result<Intermediates<f64>> {
        let values = self.quantities(x);
        let of = |q: Quantity| values[q as usize];
        let steps = self.steps(x);
        let bore = steps.inside_diameter;
        let allowed = "above 0: wall and liner must be thinner than the radius";
        Error::range(bore > 0.0, "pipe.inside_diameter", bore, "m", allowed)?;
        if self.liquid == LiquidModel::Water {
            water::check(of(Quantity::Temperature), of(Quantity::Pressure))?;
        }
        if self.basis != Basis::Indicated {
            acoustics::check(&Geometry {
                wedge_angle: of(Quantity::WedgeAngle),
                wedge_sound_speed: of(Quantity::WedgeSoundSpeed),
                wall: Layer {
                    thickness: of(Quantity::Wall),
                    sound_speed: of(Quantity::WallSoundSpeed),
                },
                liner: Layer {
                    thickness: of(Quantity::Liner),
                    sound_speed: of(Quantity::LinerSoundSpeed),
                },
                inside_diameter: bore,
                liquid_sound_speed: steps.liquid_sound_speed,
                traverses: self.traverses,
            })?;
        }
        if self.basis == Basis::Timed {
            let time = of(Quantity::TransitTime);
            let allowed = format!("above the dead time, {:.4e} s", steps.dead_time);
            Error::range(
                time > steps.dead_time,
                "readings.transit_time",
                time,
                "s",
                allowed,
            )?;
        }
        profile::check(steps.reynolds, steps.relative_roughness)?;
        Ok(steps)
    }
}

impl MeasurementModel for SiteModel {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "volume flow".to_owned(),
            unit: self.flow_unit.clone(),
        }]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([self.steps(x).volume_flow])
    }
}
