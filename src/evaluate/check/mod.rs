//! Checks on site: whether what was measured, stated and programmed fits together.

mod check_text;
mod interchange;
mod programmed;
mod sound_speed;
mod zero;

use crate::units::{Dimension, Unit};

pub use interchange::InterchangedZero;
pub use programmed::ProgrammedCheck;
pub use sound_speed::{Cause, SoundSpeedCheck};
pub(super) use sound_speed::{SoundSpeeds, check_time};
pub use zero::ZeroCheck;

/// The unit in which a zero is shown: that of a time difference or, on the indicated basis, of a
/// velocity.
fn unit_of_zero(is_velocity: bool) -> Unit {
    let (size, dimension) = if is_velocity {
        ("mm/s", Dimension::Velocity)
    } else {
        ("ns", Dimension::Time)
    };
    Unit::parse(size, dimension, "zero").unwrap_or_else(|_| dimension.si_unit())
}

/// A difference in standard uncertainties: none is none, even of exact numbers.
fn standardised(difference: f64, u: f64) -> f64 {
    if difference == 0.0 {
        0.0
    } else {
        difference / u
    }
}
