//! What was programmed into the meter against what was surveyed.

use super::standardised;
use crate::error::Result;
use crate::evaluate::Evaluation;
use crate::model::{Intermediates, Programmed, Quantity, SiteModel};
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output, propagate};
use crate::units::Unit;
use serde::Serialize;

/// One programmed parameter beside its surveyed value, in SI units.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ProgrammedCheck {
    /// The parameter in words.
    pub parameter: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// As programmed.
    pub programmed: f64,
    /// As surveyed or computed.
    pub surveyed: f64,
    /// Standard uncertainty of the surveyed value.
    pub standard_uncertainty: f64,
    /// Programmed less surveyed, in standard uncertainties.
    pub standardised: f64,
}

impl ProgrammedCheck {
    /// Relative difference of programmed from surveyed value.
    pub fn relative_difference(&self) -> f64 {
        self.programmed / self.surveyed - 1.0
    }
}

/// A parameter that can be programmed.
#[derive(Debug, Clone, Copy)]
enum Parameter {
    InsideDiameter,
    AxialSlowness,
    LiquidSoundSpeed,
    Wall,
    WallSoundSpeed,
    Liner,
    LinerSoundSpeed,
    KinematicViscosity,
    Roughness,
    ProfileFactor,
}

impl Parameter {
    const ALL: [Parameter; 10] = [
        Parameter::InsideDiameter,
        Parameter::AxialSlowness,
        Parameter::LiquidSoundSpeed,
        Parameter::Wall,
        Parameter::WallSoundSpeed,
        Parameter::Liner,
        Parameter::LinerSoundSpeed,
        Parameter::KinematicViscosity,
        Parameter::Roughness,
        Parameter::ProfileFactor,
    ];

    /// In words, with its unit.
    fn in_words(self) -> (&'static str, &'static str) {
        match self {
            Parameter::InsideDiameter => ("inside diameter", "m"),
            Parameter::AxialSlowness => ("axial slowness of the ray", "s/m"),
            Parameter::LiquidSoundSpeed => ("sound speed of the liquid", "m/s"),
            Parameter::Wall => ("wall thickness", "m"),
            Parameter::WallSoundSpeed => ("sound speed of the wall", "m/s"),
            Parameter::Liner => ("liner thickness", "m"),
            Parameter::LinerSoundSpeed => ("sound speed of the liner", "m/s"),
            Parameter::KinematicViscosity => ("kinematic viscosity", "m2/s"),
            Parameter::Roughness => ("roughness", "m"),
            Parameter::ProfileFactor => ("profile factor", "1"),
        }
    }

    fn programmed(self, programmed: &Programmed) -> Option<f64> {
        match self {
            Parameter::InsideDiameter => programmed.inside_diameter,
            Parameter::AxialSlowness => programmed.axial_slowness,
            Parameter::LiquidSoundSpeed => programmed.liquid_sound_speed,
            Parameter::Wall => programmed.wall,
            Parameter::WallSoundSpeed => programmed.wall_sound_speed,
            Parameter::Liner => programmed.liner,
            Parameter::LinerSoundSpeed => programmed.liner_sound_speed,
            Parameter::KinematicViscosity => programmed.kinematic_viscosity,
            Parameter::Roughness => programmed.roughness,
            // a meter that shows the path velocity has no factor to compare
            Parameter::ProfileFactor => programmed.profile_factor.filter(|k| *k != 1.0),
        }
    }

    fn surveyed<S: Scalar>(self, model: &SiteModel, x: &[S], steps: &Intermediates<S>) -> S {
        match self {
            Parameter::InsideDiameter => steps.inside_diameter,
            Parameter::AxialSlowness => steps.path.axial_slowness,
            Parameter::LiquidSoundSpeed => steps.liquid_sound_speed,
            Parameter::Wall => steps.surveyed_wall,
            Parameter::WallSoundSpeed => model.sum_of(Quantity::WallSoundSpeed, x),
            Parameter::Liner => model.sum_of(Quantity::Liner, x),
            Parameter::LinerSoundSpeed => model.sum_of(Quantity::LinerSoundSpeed, x),
            Parameter::KinematicViscosity => steps.kinematic_viscosity,
            Parameter::Roughness => model.sum_of(Quantity::Roughness, x),
            Parameter::ProfileFactor => steps.profile_factor,
        }
    }
}

/// Relative difference of a number that was stated twice, each with its own steps.
const ROUNDING: f64 = 1e-12;

/// What the site has of parameters that were programmed.
struct Surveyed<'a> {
    model: &'a SiteModel,
    parameters: Vec<(Parameter, f64)>,
}

impl MeasurementModel for Surveyed<'_> {
    type Outputs<S: Scalar> = Vec<S>;

    fn outputs(&self) -> Vec<Output> {
        let output = |(parameter, _): &(Parameter, f64)| {
            let (words, unit) = parameter.in_words();
            Output {
                name: words.to_owned(),
                unit: Unit::named(unit),
            }
        };
        self.parameters.iter().map(output).collect()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<Vec<S>> {
        let steps = self.model.steps(x);
        let parameters = self.parameters.iter();
        Ok(parameters
            .map(|(parameter, _)| parameter.surveyed(self.model, x, &steps))
            .collect())
    }
}

impl Evaluation {
    /// Programmed against surveyed parameters; empty on a basis other than the indicated one.
    ///
    /// # Errors
    /// None that the evaluation itself would not have met.
    pub fn programmed_check(&self) -> Result<Vec<ProgrammedCheck>> {
        let Some(programmed) = self.model.choices().programmed else {
            return Ok(Vec::new());
        };
        let stated = Parameter::ALL.into_iter();
        let surveyed = Surveyed {
            model: &self.model,
            parameters: stated
                .filter_map(|parameter| Some((parameter, parameter.programmed(&programmed)?)))
                .collect(),
        };
        if surveyed.parameters.is_empty() {
            return Ok(Vec::new());
        }
        let budgets = propagate(&surveyed, self.as_stated())?;
        let checks = surveyed.parameters.iter().zip(budgets);
        Ok(checks
            .map(|((parameter, programmed), budget)| {
                let (parameter, unit) = parameter.in_words();
                let difference = programmed - budget.estimate;
                let rounding = difference.abs() <= ROUNDING * programmed.abs();
                ProgrammedCheck {
                    parameter,
                    unit,
                    programmed: *programmed,
                    surveyed: budget.estimate,
                    standard_uncertainty: budget.standard_uncertainty,
                    standardised: standardised(
                        if rounding { 0.0 } else { difference },
                        budget.standard_uncertainty,
                    ),
                }
            })
            .collect())
    }
}
