//! Advice on the mounting, where common practice has something to say.
//!
//! None of it has a source: it is what those who mount sensors do, and the plant may have reasons to
//! do otherwise.

use super::Evaluation;
use crate::message::{Message, message};
use crate::model::Basis;

/// Outside diameter in m up to which sensors usually sit on one rail: about 125 mm.
const RAIL_M: f64 = 0.125;

/// Sound speed of the wave in m/s above which a wall counts as hard: that of plastics is below.
const HARD_WALL_M_S: f64 = 2900.0;

impl Evaluation {
    /// What common practice says of mounting sensors on this pipe, one sentence each.
    pub fn mounting_advice(&self) -> Vec<String> {
        let told = self.mounting_advice_told();
        told.iter().map(Message::words).collect()
    }

    /// As [`Evaluation::mounting_advice`], to be said in any language.
    pub fn mounting_advice_told(&self) -> Vec<Message> {
        let choices = self.model.choices();
        if choices.basis == Basis::Indicated {
            return Vec::new();
        }
        let wall_speed = self.steps.wall_sine / self.steps.path.axial_slowness;
        let small = self.steps.outside_diameter <= RAIL_M;
        let direct = !choices.traverses.is_multiple_of(2);
        let hard = wall_speed > HARD_WALL_M_S;
        let found = [
            (
                small && !direct,
                message!(
                    "advice.rail",
                    "a pipe up to about 125 mm usually takes both sensors on one rail, which keeps \
                 them in line"
                ),
            ),
            (
                !small || direct,
                message!(
                    "advice.frames",
                    "sensors on separate frames are kept at their distance by a bar of known length"
                ),
            ),
            (
                direct,
                message!(
                    "advice.opposite",
                    "a direct path needs the opposite side of the pipe: mark it with a sheet wrapped \
                 round and folded in half"
                ),
            ),
            (
                hard,
                message!(
                    "advice.wedge",
                    "steel and other hard walls favour sensors whose wedge is matched to the wall"
                ),
            ),
        ];
        let fitting = found.into_iter().filter(|(applies, _)| *applies);
        fitting.map(|(_, message)| message).collect()
    }
}
