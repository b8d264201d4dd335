//! Where sensors out of place send the path.

use crate::scalar::Scalar;

/// Distance in m of the path from the axis when one sensor sits `misplacement` in m too far round
/// the outside.
///
/// ```text
/// h = (D / 2) sin(delta / (2 N)),    delta = 2 m / d
/// ```
/// Each of `N` traverses takes its part of the angle `delta` between the sensor and where it
/// belongs, so each chord spans `pi + delta / N` of the bore. `outside_diameter` `d` and
/// `inside_diameter` `D` in m.
///
/// # Source
/// Plane geometry of a ray that is reflected with equal angles.
pub fn offset_of_misplacement<S: Scalar>(
    misplacement: S,
    outside_diameter: S,
    inside_diameter: S,
    traverses: u32,
) -> S {
    let half_turn = misplacement / outside_diameter / f64::from(traverses);
    inside_diameter * 0.5 * half_turn.sin()
}

/// Length in m across a bore of `diameter` in m at the distance `offset` in m from its centre:
/// `D sqrt(1 - (2 h / D)^2)`; NaN where the path misses the bore.
pub fn chord_length<S: Scalar>(diameter: S, offset: S) -> S {
    let share = offset * 2.0 / diameter;
    diameter * (-(share * share) + 1.0).sqrt()
}
