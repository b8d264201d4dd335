//! The pipe's cross-section from what can be measured outside, and what tables know of pipes.

mod dimensions;
mod figure;

pub use dimensions::{
    Dimensions, SDR, Standard, en_10216_wall, en_10220_outside_diameter, plastic_pipe,
};
pub use figure::Range;

use crate::scalar::Scalar;
use std::f64::consts::PI;

/// Outside diameter in m from the circumference in m, as taken with a tape: `d = C / pi`.
pub fn diameter_from_circumference<S: Scalar>(circumference: S) -> S {
    circumference / PI
}

/// Inside diameter in m: `D = d - 2 e - 2 e_l`, with outside diameter `d`, wall `e` and liner
/// `e_l`, all in m.
pub fn inside_diameter<S: Scalar>(outside_diameter: S, wall: S, liner: S) -> S {
    outside_diameter - (wall + liner) * 2.0
}

/// Area of the circular bore in m2 from its diameter in m: `A = (pi / 4) D^2`.
pub fn area<S: Scalar>(inside_diameter: S) -> S {
    inside_diameter * inside_diameter * (PI / 4.0)
}
