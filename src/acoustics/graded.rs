//! A ray through a liquid whose sound speed varies across the pipe, as where it is stratified.

use crate::scalar::Scalar;
use crate::scalar::special::kronrod_rule;

/// Axial run in m and travel time in s of a ray that crosses `thickness` in m once, where the
/// sound speed in m/s is `sound_speed(y)` at the share `y` of the way across, 0 to 1.
///
/// ```text
/// run = e int_0^1 a c / sqrt(1 - a^2 c^2) dy,    time = e int_0^1 1 / (c sqrt(1 - a^2 c^2)) dy
/// ```
/// `axial_slowness` `a` in s/m; NaN where the ray turns back inside the layer. Kronrod's rule with
/// fifteen points: exact to rounding for the smooth variations of a liquid, a few percent across.
///
/// Velocity on the timed basis does not know of such a variation: `dt / (2 a t)` weighs the local
/// velocities by the time the ray spends there.
///
/// # Source
/// Snell's law in a layered medium; tested against the circular arcs of a linear variation and
/// against numerical integration of a logarithmic one.
pub fn graded_crossing<S: Scalar>(
    thickness: S,
    axial_slowness: S,
    sound_speed: impl Fn(f64) -> S,
) -> (S, S) {
    let zero = S::constant(0.0);
    let (run, time) =
        kronrod_rule()
            .into_iter()
            .fold((zero, zero), |(run, time), (node, weight)| {
                let c = sound_speed(0.5 * (node + 1.0));
                let sine = axial_slowness * c;
                let cosine = (-(sine * sine) + 1.0).sqrt();
                let weight = 0.5 * weight;
                (
                    run + sine / cosine * weight,
                    time + (c * cosine).recip() * weight,
                )
            });
    (thickness * run, thickness * time)
}
