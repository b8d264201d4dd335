//! What the placement of the sensors does to the flow.

use super::Evaluation;
use crate::error::Result;
use crate::model::{AngleFrom, Basis, Quantity};

/// Spacing of the sensors and what it costs to miss it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Placement {
    /// Axial distance of the exit points that belongs to the angle of the ray, in m.
    pub spacing: f64,
    /// The spacing as placed, where the site file states it, in m.
    pub placed: Option<f64>,
    /// Relative change of the flow with the spacing in 1/m, when the angle of the ray follows
    /// from the spacing. A hundred times this, over a thousand, is in percent per millimetre.
    pub relative_sensitivity: Option<f64>,
    /// Volume flow in m3/s with the angle of the ray from the other of wedge and spacing, where
    /// the site file states both.
    pub other_flow: Option<f64>,
}

impl Evaluation {
    /// Spacing and its effect; `None` where the indicated basis leaves the path unknown.
    ///
    /// # Errors
    /// None that the evaluation itself would not have met.
    pub fn placement(&self) -> Result<Option<Placement>> {
        let choices = self.model.choices();
        let spacing = self.steps.path.spacing;
        if choices.basis == Basis::Indicated || !spacing.is_finite() {
            return Ok(None);
        }
        let placed = self.estimate_of(Quantity::Spacing);
        // the ray of the sensors as they sit, with one more term that moves one of them
        let as_placed = self.model.clone().with_angle_from(AngleFrom::Spacing);
        let start = if placed.is_some() { 0.0 } else { spacing };
        let moved = self.flow_with_term(as_placed, Quantity::Spacing, start);

        let has_wedge =
            self.model.has(Quantity::WedgeAngle) && self.model.has(Quantity::WedgeSoundSpeed);
        let both = placed.is_some() && has_wedge;
        let other = choices.angle_from.other();
        let other_flow = both.then(|| {
            let model = self.model.clone().with_angle_from(other);
            model.steps(&self.inputs.estimates()).volume_flow
        });
        Ok(Some(Placement {
            spacing,
            placed,
            relative_sensitivity: Some(moved.gradient[0] / moved.value).filter(|s| s.is_finite()),
            other_flow: other_flow.filter(|flow| flow.is_finite()),
        }))
    }
}
