//! Whether the calibration of the meter holds here, and counts once.

use super::{Evaluation, Warning};
use crate::message::{Told, message};
use crate::model::Quantity;
use crate::uncertainty::grouped;

/// Share of the variance from which it matters that it may count twice. Our choice.
const MATTERS: f64 = 0.01;

impl Evaluation {
    /// A flow at which the meter was not calibrated.
    pub(super) fn beyond_calibration(&self) -> Option<Warning> {
        if let Some(message) = self.beyond_curve(Quantity::CalibrationFactor) {
            return Some(Warning::told("calibration-range", message));
        }
        let [low, high] = self.site.calibrated_reynolds?;
        let reynolds = self.steps.reynolds.abs();
        let in_situ = self.site.in_situ.as_ref();
        if in_situ.is_some_and(|own| own.holds_at(reynolds)) {
            return None; // that one was made here
        }
        (!(low..=high).contains(&reynolds)).then(|| {
            Warning::told(
                "calibration-range",
                message!(
                    "warnings.calibration-range",
                    "Reynolds number {reynolds} lies outside those of the calibration, {low} \
                     to {high}: the calibration factor was not found there",
                    reynolds = grouped(reynolds),
                    low = grouped(low),
                    high = grouped(high),
                ),
            )
        })
    }

    /// The factor of a calibration, and beside it what that calibration may have covered.
    pub(super) fn counted_twice(&self) -> Option<Warning> {
        let uncertain = |q: Quantity| {
            let terms = self.model.terms().iter().zip(self.inputs.inputs());
            let mut own = terms.filter(|(other, _)| **other == q);
            own.any(|(_, input)| input.standard_uncertainty() > 0.0)
        };
        if self.site.covers_stated || !uncertain(Quantity::CalibrationFactor) {
            return None;
        }
        let lines = self.model.terms().iter().zip(&self.budget.lines);
        let coverable = lines.filter(|(q, _)| q.row().covered.is_some());
        let share: f64 = coverable.map(|(_, line)| line.share).sum();
        (share >= MATTERS).then(|| {
            Warning::told(
                "calibration-coverage",
                message!(
                    "warnings.calibration-coverage",
                    "{share} of the variance come from sensors and electronics beside \
                     {factor}. If its calibration was with them, they count twice: \
                     {covers} says what it covers, [] that it covers neither",
                    share = format!("{:.0} %", 100.0 * share),
                    factor = Told::Key("meter.calibration_factor"),
                    covers = Told::Key("meter.calibration_covers"),
                ),
            )
        })
    }
}
