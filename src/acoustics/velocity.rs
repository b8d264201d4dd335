//! From times to the mean axial velocity on the path.
//!
//! The flow carries the sound along, so that velocity follows from the times in first order of
//! `v/c` only; [`convected`] and [`velocity_from_geometry`] are exact for a uniform velocity
//! between fixed exit points. At 5 m/s in water the difference is six millionths.

use super::Path;
use crate::scalar::Scalar;

/// Path-mean axial velocity on the timed basis, in m/s, in first order of `v/c`.
///
/// ```text
/// v = (dt - dt_zero) / (2 a (t - t_0))
/// ```
/// Neither diameter nor sound speed of the liquid enters: the time spent in the liquid is
/// measured. `time_difference` is already free of its zero; `time_in_liquid` is the measured
/// transit time less the dead time; both in s. `axial_slowness` in s/m.
///
/// # Source
/// From `dt = 2 N D tan(theta_f) v / c_f^2` and `t_f = N D / (c_f cos(theta_f))`; as in
/// ISO 12242:2012 for the general case of transit-time meters (clause from memory).
pub fn velocity_from_time<S: Scalar>(
    time_difference: S,
    time_in_liquid: S,
    axial_slowness: S,
) -> S {
    time_difference / (axial_slowness * time_in_liquid * 2.0)
}

/// The velocity in m/s that a first-order one on the timed basis stands for, with the beam carried
/// along by the flow.
///
/// ```text
/// v = q / sqrt(1 + (q cos(theta_f) / c_f)^2)
/// ```
/// with the first-order velocity `q`; `liquid_sound_speed` in m/s.
///
/// # Source
/// `|(s_f - v t, N D)| = c_f t` with and against the flow, solved for `v` at given `dt` and mean
/// time.
pub fn convected<S: Scalar>(first_order: S, liquid_sine: S, liquid_sound_speed: S) -> S {
    let mach = first_order / liquid_sound_speed;
    let square = mach * mach * (-(liquid_sine * liquid_sine) + 1.0);
    first_order / (square + 1.0).sqrt()
}

/// Path-mean axial velocity on the geometric basis, in m/s.
///
/// ```text
/// v = c_f^2 dt / (s_f + sqrt(s_f^2 + c_f^2 dt^2)),    s_f = N D tan(theta_f)
/// ```
/// with the time difference `dt` free of its zero; in first order `c_f^2 dt / (2 s_f)`. The
/// transit time does not enter; the sound speed of the liquid must be known from its temperature.
/// `liquid_sound_speed` in m/s.
///
/// # Source
/// As for [`convected`]: `dt = 2 v s_f / (c_f^2 - v^2)`.
pub fn velocity_from_geometry<S: Scalar>(
    time_difference: S,
    path: &Path<S>,
    liquid_sound_speed: S,
) -> S {
    let run = path.run_in_liquid;
    let lead = liquid_sound_speed * time_difference;
    liquid_sound_speed * lead / (run + (run * run + lead * lead).sqrt())
}

/// Time difference in s that a path-mean axial `velocity` in m/s makes: the inverse of
/// [`velocity_from_geometry`].
///
/// ```text
/// dt = 2 v s_f / (c_f^2 - v^2)
/// ```
/// `liquid_sound_speed` in m/s.
///
/// # Source
/// As for [`convected`].
pub fn time_difference_of_velocity<S: Scalar>(
    velocity: S,
    path: &Path<S>,
    liquid_sound_speed: S,
) -> S {
    let (c, v) = (liquid_sound_speed, velocity);
    v * path.run_in_liquid * 2.0 / (c * c - v * v)
}

/// Mean of the transit times with and against the flow inside the liquid, in s: what a velocity on
/// the path gives, where [`convected`] finds the velocity.
///
/// ```text
/// t = sqrt((s_f v)^2 + (c_f^2 - v^2) L^2) / (c_f^2 - v^2),    L = c_f t_f
/// ```
/// with run `s_f` and time `t_f` of the path in the liquid at rest; `t_f` itself in first order.
/// `liquid_sound_speed` and `path_velocity` in m/s, the former larger.
///
/// # Source
/// As for [`convected`].
pub fn mean_time_in_flow<S: Scalar>(path: &Path<S>, liquid_sound_speed: S, path_velocity: S) -> S {
    let carried = path.run_in_liquid * path_velocity;
    let length = liquid_sound_speed * path.time_in_liquid;
    let squares = liquid_sound_speed * liquid_sound_speed - path_velocity * path_velocity;
    (carried * carried + squares * length * length).sqrt() / squares
}
