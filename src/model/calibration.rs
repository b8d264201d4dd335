//! Calibration factors at the flow that the meter tells without them.

use super::terms::Values;
use super::{FactorCurve, Intermediates, Over, Quantity, SiteModel, Uncalibrated};
use crate::derivation::{Notes, Step};
use crate::error::Result;
use crate::scalar::Scalar;
use crate::units::Unit;

/// The factors that can be known point by point.
const FACTORS: [Quantity; 2] = [Quantity::CalibrationFactor, Quantity::InSituFactor];

impl SiteModel {
    /// The calibration factor and that of the in-situ calibration. The place on the curve of the
    /// latter is the flow by the former.
    pub(super) fn calibration<S: Scalar, N: Notes<S>>(
        &self,
        values: &Values<S>,
        at: &Uncalibrated<S>,
        notes: &mut N,
    ) -> [S; 2] {
        notes.note(|| {
            let words =
                "volume flow without calibration factors that depend on it, taken as positive";
            let found = "as Q below, with its own profile factor";
            Step::new("Q_0", words, "", at.volume_flow, "m3/s").found(found)
        });
        notes.note(|| {
            let words = "Reynolds number of that flow";
            Step::new("Re_0", words, "4*Q_0/(pi*D*nu)", at.reynolds, "1")
        });
        let [calibration, in_situ] = FACTORS;
        let first = self.factor(values, calibration, at, "", notes);
        let then = Uncalibrated {
            volume_flow: at.volume_flow * first,
            reynolds: at.reynolds * first,
        };
        [first, self.factor(values, in_situ, &then, "K_cal*", notes)]
    }

    /// A factor, at a place on its curve where it has one; `before` is what the place is a multiple of.
    fn factor<S: Scalar, N: Notes<S>>(
        &self,
        values: &Values<S>,
        q: Quantity,
        at: &Uncalibrated<S>,
        before: &str,
        notes: &mut N,
    ) -> S {
        let Some(curve) = self.choices.curve_of(q) else {
            return values.of(q);
        };
        let place = curve.place(at.volume_flow, at.reynolds);
        let factor = values.on_curve(q, curve, place);
        notes.note(|| self.line_of_curve(q, curve, place.value(), before, factor));
        factor
    }

    /// The line of the curve that goes through a place, as an equation.
    fn line_of_curve<S>(
        &self,
        q: Quantity,
        curve: &FactorCurve,
        place: Option<f64>,
        before: &str,
        factor: S,
    ) -> Step<S> {
        let symbols = self.input_symbols();
        let own: Vec<&String> = self
            .terms()
            .iter()
            .zip(&symbols)
            .filter(|(other, _)| **other == q)
            .map(|(_, symbol)| symbol)
            .collect();
        let place = place.unwrap_or(f64::NAN);
        let [first, last] = curve.range();
        let line = curve.lines.line(place);
        let (low, high) = (own[line], own[line + 1]);
        let mut equation = if place <= first {
            low.clone()
        } else if place >= last {
            high.clone()
        } else {
            let places = curve.lines.places();
            let symbol = match curve.over {
                Over::VolumeFlow => "Q_0",
                Over::Reynolds => "Re_0",
            };
            let (from, to) = (places[line], places[line + 1]);
            format!("{low} + ({high} - {low})*({before}{symbol} - {from:e})/({to:e} - {from:e})")
        };
        for added in &own[curve.points()..] {
            equation += &format!(" + {added}");
        }
        let words = format!("{} at this flow", super::words_of(q));
        Step::new(q.symbol(), words, equation, factor, "1")
            .from("straight line between the points of the calibration")
    }

    /// The value of a quantity at the inputs `x` that led to the steps: that of a factor over the flow is
    /// the one at this flow.
    pub(crate) fn value_of(&self, q: Quantity, x: &[f64], steps: &Intermediates<f64>) -> f64 {
        let values = self.values(x);
        if self.choices.curve_of(q).is_none() {
            return values.of(q);
        }
        let [calibration, in_situ] = self.calibration(&values, &steps.uncalibrated, &mut ());
        match q {
            Quantity::InSituFactor => in_situ,
            _ => calibration,
        }
    }

    /// Refuses a flow beyond the points of a calibration that says nothing of it.
    ///
    /// # Errors
    /// [`crate::Error::OutOfRange`] with the range of the points.
    pub(crate) fn check_calibration(
        &self,
        steps: &Intermediates<f64>,
        flow_unit: &Unit,
    ) -> Result<()> {
        let Some(curve) = &self.choices.calibration_curve else {
            return Ok(());
        };
        let at = &steps.uncalibrated;
        let place = curve.place(at.volume_flow, at.reynolds);
        curve.check(&Quantity::CalibrationFactor.path(), place, flow_unit)
    }

    /// Whether a flow lies beyond the points of a factor.
    pub(crate) fn beyond_points(&self, at: &Uncalibrated<f64>) -> bool {
        let curves = FACTORS.into_iter().filter_map(|q| self.choices.curve_of(q));
        let mut places = curves.map(|curve| (curve, curve.place(at.volume_flow, at.reynolds)));
        places.any(|(curve, place)| !curve.holds_at(place))
    }

    /// Whether [`Self::check_calibration`] lets such a flow pass.
    pub(crate) fn calibration_holds(&self, at: &Uncalibrated<f64>) -> bool {
        let Some(curve) = &self.choices.calibration_curve else {
            return true;
        };
        let place = curve.place(at.volume_flow, at.reynolds);
        curve.beyond == super::Beyond::Nearest || curve.holds_at(place)
    }
}
