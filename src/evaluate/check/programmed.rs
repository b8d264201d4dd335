//! What was programmed into the meter against what was surveyed.

use super::standardised;
use crate::error::Result;
use crate::evaluate::Evaluation;
use crate::model::SiteModel;
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output, propagate};
use crate::units::Unit;
use serde::Serialize;

/// One programmed parameter beside its surveyed value, in SI units.
#[derive(Debug, Clone, PartialEq, Serialize)]
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

/// Inside diameter, axial slowness and profile factor of the surveyed site.
struct Surveyed<'a>(&'a SiteModel);

impl MeasurementModel for Surveyed<'_> {
    type Outputs<S: Scalar> = [S; 3];

    fn outputs(&self) -> Vec<Output> {
        [
            ("inside diameter", "m"),
            ("axial slowness", "s/m"),
            ("profile factor", "1"),
        ]
        .map(|(name, unit)| Output {
            name: name.to_owned(),
            unit: Unit::named(unit),
        })
        .to_vec()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 3]> {
        let steps = self.0.steps(x);
        let slowness = steps.path.axial_slowness;
        // a path that the indicated basis does not need is none to compare
        let known = self
            .0
            .choices()
            .programmed
            .is_some_and(|p| p.axial_slowness.is_some());
        let slowness = if known { slowness } else { S::constant(1.0) };
        Ok([steps.inside_diameter, slowness, steps.profile_factor])
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
        let surveyed = propagate(&Surveyed(&self.model), &self.inputs)?;
        // a meter that shows the path velocity has no factor to compare
        let factor = Some(programmed.profile_factor).filter(|k| *k != 1.0);
        let parameters = [
            ("inside diameter", "m", programmed.inside_diameter),
            (
                "axial slowness of the ray",
                "s/m",
                programmed.axial_slowness,
            ),
            ("profile factor", "1", factor),
        ];
        let checks = parameters.into_iter().zip(&surveyed);
        Ok(checks
            .filter_map(|((parameter, unit, programmed), budget)| {
                let programmed = programmed?;
                Some(ProgrammedCheck {
                    parameter,
                    unit,
                    programmed,
                    surveyed: budget.estimate,
                    standard_uncertainty: budget.standard_uncertainty,
                    standardised: standardised(
                        programmed - budget.estimate,
                        budget.standard_uncertainty,
                    ),
                })
            })
            .collect())
    }
}
