//! From times to the mean axial velocity on the path.

use super::Path;
use crate::scalar::Scalar;

/// Path-mean axial velocity on the timed basis, in m/s.
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

/// Path-mean axial velocity on the geometric basis, in m/s.
///
/// ```text
/// v = c_f^2 (dt - dt_zero) / (2 N D tan(theta_f))
/// ```
/// The transit time does not enter; the sound speed of the liquid must be known from its
/// temperature. `liquid_sound_speed` in m/s, `inside_diameter` in m.
///
/// # Source
/// First order in v/c of the difference of the travel times with and against the flow.
pub fn velocity_from_geometry<S: Scalar>(
    time_difference: S,
    path: &Path<S>,
    liquid_sound_speed: S,
    inside_diameter: S,
    traverses: u32,
) -> S {
    let sine = path.liquid_sine;
    let tangent = sine / (-(sine * sine) + 1.0).sqrt();
    let run = inside_diameter * tangent * (2.0 * f64::from(traverses));
    liquid_sound_speed * liquid_sound_speed * time_difference / run
}

/// Path-mean axial velocity on the indicated basis, in m/s: the meter's own reading taken back
/// through the parameters that were programmed into it.
///
/// ```text
/// v = v_indicated (a_programmed / a) / k_programmed
/// ```
/// A timed meter divides by the axial slowness it was told of, so its velocity is put right by
/// `slowness_ratio = a_programmed / a`, one where it was told of the sensors as they are.
/// `programmed_factor` is the profile factor that the meter applied; one if it shows the path
/// velocity.
pub fn velocity_of_programmed_meter<S: Scalar>(
    indicated_velocity: S,
    slowness_ratio: S,
    programmed_factor: f64,
) -> S {
    indicated_velocity * slowness_ratio / programmed_factor
}
