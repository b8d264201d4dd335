//! The straight run downstream of a fitting, and what is left of a disturbance at its end.

use crate::error::{Error, Result};
use crate::scalar::Scalar;

/// Straight runs for which the families hold, in inside diameters.
pub const STRAIGHT_RUNS: [f64; 2] = [1.0, 1000.0];

/// Friction factor at which the swirl of the families decays; smooth pipe at Re = 1e5.
pub(super) const FRICTION_FACTOR: f64 = 0.018;

/// Refuses a straight run for which the families do not hold.
///
/// # Errors
/// A run below 1 D, where flow is still separated, or above 1000 D, or no number.
pub fn check_straight_run(straight_run: f64, field: &str) -> Result<()> {
    let [least, most] = STRAIGHT_RUNS;
    let inside = (least..=most).contains(&straight_run);
    let allowed =
        "1 to 1000 inside diameters from the end of the fitting to the middle of the path";
    Error::range(inside, field, straight_run, "D", allowed)
}

/// Share of a disturbance that is left after a straight run, one at the near end of the range.
/// NaN below it.
pub(super) fn remaining<S: Scalar>(straight_run: S, decay: f64) -> S {
    let beyond = straight_run - STRAIGHT_RUNS[0];
    let share = (-beyond / decay).exp();
    let too_near = beyond.less_than(S::constant(0.0));
    S::select(too_near, S::constant(f64::NAN), share)
}
