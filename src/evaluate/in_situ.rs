//! What an in-situ calibration covers of an evaluation, and where it ends.

use super::{Evaluation, Warning};
use crate::error::Result;
use crate::message::{Message, Told, message};
use crate::model::Quantity;
use crate::site::InSitu;
use crate::uncertainty::{Input, InputSet, grouped, plain};

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
    pub(super) fn beyond_curve(&self, q: Quantity) -> Option<Message> {
        let curve = self.model.choices().curve_of(q)?;
        let at = &self.steps.uncalibrated;
        let place = curve.place(at.volume_flow, at.reynolds);
        if curve.holds_at(place) {
            return None;
        }
        let (place, unit, range) = curve.in_words(place, &self.site.flow_unit);
        let place = format!("{} {unit}", plain(place));
        Some(message!(
            "warnings.beyond-points",
            "the flow without calibration factors ({place}) lies beyond the points of {input}, {range}: \
             the factor of the nearest point is held, which nobody found there",
            place = place.trim_end().to_owned(),
            input = Told::Input(q.path().into_owned()),
            range = range,
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
            let [low, high] = in_situ.reynolds.map(grouped);
            let reynolds = grouped(reynolds);
            let message = if in_situ.installed {
                message!(
                    "warnings.in-situ-range-installed",
                    "Reynolds number {reynolds} lies outside those of the in-situ calibration, {low} \
                     to {high}: its factor was not found there, and the velocity profile counts again",
                    reynolds = reynolds,
                    low = low,
                    high = high,
                )
            } else {
                message!(
                    "warnings.in-situ-range",
                    "Reynolds number {reynolds} lies outside those of the in-situ calibration, {low} \
                     to {high}: its factor was not found there",
                    reynolds = reynolds,
                    low = low,
                    high = high,
                )
            };
            warnings.push(Warning::told("in-situ-range", message));
        } else if let Some(message) = self.beyond_curve(Quantity::InSituFactor) {
            warnings.push(Warning::told("in-situ-range", message));
        }
        if in_situ.installed && in_situ.mounted_anew {
            let mut message = message!(
                "warnings.in-situ-mounted-anew",
                "the sensors are mounted otherwise than in the in-situ calibration: placement, zero \
                 and repeatability of mounting count again"
            );
            let terms = self.model.terms().iter().zip(self.inputs.inputs());
            let mut mounting = terms.filter(|(q, _)| **q == Quantity::RemountingFactor);
            if !mounting.any(|(_, input)| input.standard_uncertainty() > 0.0) {
                message = message!(
                    "warnings.in-situ-mounted-anew-unknown",
                    "{message}; {key} states no uncertainty, so that the latter counts for \
                     nothing: state what placements were found to differ by",
                    message = message,
                    key = Told::Key("installation.remounting"),
                );
            }
            warnings.push(Warning::told("in-situ-mounted-anew", message));
        }
        warnings
    }
}
