//! Checks on site: whether what was measured, stated and programmed fits together.

mod interchange;
mod programmed;
mod sound_speed;
mod words;
mod zero;

pub use interchange::InterchangedZero;
pub use programmed::ProgrammedCheck;
pub(super) use sound_speed::SoundSpeeds;
pub use sound_speed::{Cause, SoundSpeedCheck};
pub use zero::ZeroCheck;

/// A difference in standard uncertainties: none is none, even of exact numbers.
fn standardised(difference: f64, u: f64) -> f64 {
    if difference == 0.0 {
        0.0
    } else {
        difference / u
    }
}
