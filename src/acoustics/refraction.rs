//! Snell's law along the pipe axis.

use crate::scalar::{Scalar, SmoothFunction};

/// The sine of an angle in radians.
struct Sine;

impl SmoothFunction<1> for Sine {
    fn at<S: Scalar>(&self, [angle]: [S; 1]) -> S {
        angle.sin()
    }
}

/// Axial slowness of the ray in s/m: `a = sin(theta_w) / c_w`, the same in every layer.
///
/// `wedge_angle` in radians, `wedge_sound_speed` in m/s.
///
/// # Source
/// Snell's law; L. C. Lynnworth, *Ultrasonic Measurements for Process Control*, Academic Press
/// 1989, chapter 4 (chapter from memory).
pub fn axial_slowness<S: Scalar>(wedge_angle: S, wedge_sound_speed: S) -> S {
    S::function_of([wedge_angle], &Sine) / wedge_sound_speed
}

/// Sine of the angle in a layer of sound speed `sound_speed` in m/s: `sin(theta) = a c`.
///
/// One or more means total reflection: there is no ray in the layer.
pub fn refracted_sine<S: Scalar>(axial_slowness: S, sound_speed: S) -> S {
    axial_slowness * sound_speed
}
