//! What an in-situ calibration covers of an evaluation, and where it ends.

use super::{Evaluation, Warning};
use crate::error::Result;
use crate::model::Quantity;
use crate::site::InSitu;
use crate::uncertainty::{Input, InputSet, plain};

impl InSitu {
    /// The inputs at a Reynolds number, those without uncertainty that the factor covers.
    pub(super) fn covering(
        &self,
        terms: &[Quantity],
        inputs: &InputSet,
        reynolds: f64,
    ) -> Result<Vec<Input>> {
        let among = self.holds_at(reynolds);
        let pairs = terms.iter().zip(inputs.inputs());
        let covering = pairs.map(|(q, input)| {
            if self.covers(*q, among) && input.standard_uncertainty() > 0.0 {
                self.covered(input)
            } else {
                Ok(input.clone())
            }
        });
        covering.collect()
    }
}

impl Evaluation {
    /// The flow lies beyond the points of a factor, the nearest of which is held.
    pub(super) fn beyond_curve(&self, q: Quantity) -> Option<String> {
        let curve = self.model.choices().curve_of(q)?;
        let at = &self.steps.uncalibrated;
        let place = curve.place(at.volume_flow, at.reynolds);
        if curve.holds_at(place) {
            return None;
        }
        let (place, unit, range) = curve.in_words(place, &self.site.flow_unit);
        let place = format!("{} {unit}", plain(place));
        Some(format!(
            "the flow without calibration factors ({}) lies beyond the points of {}, {range}: the \
             factor of the nearest point is held, which nobody found there",
            place.trim_end(),
            q.path()
        ))
    }

    /// Where the in-situ calibration ends.
    pub(super) fn in_situ_limits(&self) -> Vec<Warning> {
        let Some(in_situ) = &self.site.in_situ else {
            return Vec::new();
        };
        let mut warnings = Vec::new();
        let reynolds = self.steps.reynolds.abs();
        if !in_situ.holds_at(reynolds) {
            let [low, high] = in_situ.reynolds.map(plain);
            let profile = if in_situ.installed {
                ", and the velocity profile counts again"
            } else {
                ""
            };
            let words = format!(
                "Reynolds number {reynolds:.3e} lies outside those of the in-situ calibration, {low} \
                 to {high}: its factor was not found there{profile}"
            );
            warnings.push(Warning::new("in-situ-range", words));
        } else if let Some(words) = self.beyond_curve(Quantity::InSituFactor) {
            warnings.push(Warning::new("in-situ-range", words));
        }
        if in_situ.installed && in_situ.mounted_anew {
            let mut words = "the sensors are mounted otherwise than in the in-situ calibration: \
                             placement, zero and repeatability of mounting count again"
                .to_owned();
            let terms = self.model.terms().iter().zip(self.inputs.inputs());
            let mut mounting = terms.filter(|(q, _)| **q == Quantity::RemountingFactor);
            if !mounting.any(|(_, input)| input.standard_uncertainty() > 0.0) {
                words += "; installation.remounting states no uncertainty, so that the latter counts for \
                          nothing: state what placements were found to differ by";
            }
            warnings.push(Warning::new("in-situ-mounted-anew", words));
        }
        warnings
    }
}
