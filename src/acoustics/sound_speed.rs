//! The sound speed of the liquid that a measured transit time tells.

use super::path::Path;
use crate::scalar::Scalar;

/// Sound speed in m/s of the liquid from the measured time in it in s, for a ray whose slowness
/// the wedge determines.
///
/// ```text
/// c = (H / t) sqrt(2 / (1 + sqrt(1 - (2 a H / t)^2))),    H = N D
/// ```
/// `a H / t = sin(theta) cos(theta)` leaves two angles; the one on the side of 45 degrees where
/// `path`, traced with the expected sound speed, lies is taken. `across` is `H` in m. NaN where no
/// ray of that slowness is so fast.
///
/// # Source
/// `t = H / (c cos(theta))` with `sin(theta) = a c`.
pub fn sound_speed_at_slowness<S: Scalar>(time_in_liquid: S, path: &Path<S>, across: S) -> S {
    let pace = across / time_in_liquid;
    let double_sine = path.axial_slowness * pace * 2.0;
    let double_cosine = (-(double_sine * double_sine) + 1.0).sqrt();
    let half_square = S::constant(0.5).less_than(path.liquid_sine * path.liquid_sine);
    let double_cosine = S::select(half_square, -double_cosine, double_cosine);
    pace * (S::constant(2.0) / (double_cosine + 1.0)).sqrt()
}

/// Sound speed in m/s of the liquid from the measured time in it in s, for a ray between exit
/// points of known spacing: the length of `path` in the liquid over the time.
///
/// The path was traced with the expected sound speed. By Fermat's principle its time changes in
/// second order only when the ray shifts, so the result is exact where both sound speeds agree and
/// right in first order elsewhere. `across` is `N D` in m.
pub fn sound_speed_at_spacing<S: Scalar>(time_in_liquid: S, path: &Path<S>, across: S) -> S {
    let run = path.run_in_liquid;
    (across * across + run * run).sqrt() / time_in_liquid
}
