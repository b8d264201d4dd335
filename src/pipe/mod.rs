//! The pipe's cross-section from what can be measured outside, and what tables know of pipes.

mod dimensions;
mod elasticity;
mod expansion;
mod figure;
#[cfg(feature = "site")]
mod material;
mod ovality;
mod wall_grid;

pub use dimensions::{
    Dimensions, SDR, Standard, en_10216_wall, en_10220_outside_diameter, plastic_pipe,
};
pub use elasticity::{TABLE_TEMPERATURE, poisson_ratio, sound_speed_at, youngs_modulus};
pub use expansion::{Ends, Pressurised, Strain, thermally_expanded};
pub use figure::{Figure, Range, Status};
#[cfg(feature = "site")]
pub use material::Material;
pub use ovality::{
    EccentricPath, area_error_of_circumference, area_error_of_mean_diameter, check_ellipse,
    ellipse_area, ellipse_diameter, ellipse_perimeter, ellipse_width, mean_diameter_of_circle,
    ovality,
};
pub use wall_grid::{Eccentric, WallGrid};

use crate::scalar::Scalar;
use std::f64::consts::PI;

/// Outside diameter in m from the circumference in m, as taken with a tape: `d = C / pi`.
pub fn diameter_from_circumference<S: Scalar>(circumference: S) -> S {
    circumference / PI
}

/// Circumference in m of a round pipe from its outside diameter in m: `C = pi d`.
pub fn circumference_of_diameter<S: Scalar>(outside_diameter: S) -> S {
    outside_diameter * PI
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
