//! The installation factor of a fitting over the straight run.

use super::coefficients::coefficients;
use super::straight_run::{FRICTION_FACTOR, remaining};
use super::{CrossFlow, DisturbedProfile, Fitting, cross_flow, swirl_decay_rate};
use crate::error::{Error, Result};
use crate::scalar::Scalar;
use serde::{Deserialize, Serialize};

/// In how many diametral planes the velocity is measured and averaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Planes {
    /// One plane.
    #[default]
    One,
    /// Two planes at right angles; `orientation` is that of either.
    Two,
}

impl Planes {
    /// One or two planes.
    ///
    /// # Errors
    /// Another number; the error names `field`.
    pub fn from_number(number: u32, field: &str) -> Result<Planes> {
        match number {
            1 => Ok(Planes::One),
            2 => Ok(Planes::Two),
            _ => Err(Error::OutOfRange {
                field: field.to_owned(),
                value: f64::from(number),
                unit: String::new(),
                allowed: "1, or 2 for two planes at right angles".to_owned(),
            }),
        }
    }

    /// Their number.
    pub fn number(self) -> u32 {
        match self {
            Planes::One => 1,
            Planes::Two => 2,
        }
    }
}

/// How a path is mounted downstream of a fitting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mounting<S> {
    /// From the end of the fitting to the middle of the path, in inside diameters.
    pub straight_run: S,
    /// Angle between the path plane and the plane of the bend, in rad; `None` where not known.
    pub orientation: Option<S>,
    /// Number of planes.
    pub planes: Planes,
}

/// The axial profile downstream of a fitting.
///
/// ```text
/// flattening, lobes ~ exp(-(L - 1)/d),   skew ~ exp(-(L - 1)/(2 d))
/// axis(L) = integral of 2 (v_wall/W) dL
/// ```
/// A swirl turns the pattern as it goes: a solid body turns by `2 v_wall/W` for each diameter.
///
/// `straight_run` in inside diameters; NaN outside the range of [`check_straight_run`](super::check_straight_run).
pub fn disturbed_profile<S: Scalar>(fitting: Fitting, straight_run: S) -> DisturbedProfile<S> {
    let c = coefficients(fitting);
    let even = remaining(straight_run, c.decay);
    let odd = remaining(straight_run, 2.0 * c.decay);
    let CrossFlow { swirl, .. } = cross_flow(fitting, straight_run);
    DisturbedProfile {
        flattening: even * c.flattening,
        skew: odd * c.skew,
        lobes: even * c.lobes,
        axis: (-swirl + c.swirl) * (2.0 / swirl_decay_rate(FRICTION_FACTOR)),
    }
}

/// Path mean of the undisturbed profile in area mean velocities.
fn undisturbed<S: Scalar>() -> S {
    DisturbedProfile::undisturbed().path_mean_of_crossed()
}

/// Installation factor: true over undisturbed profile factor at the place of measurement.
///
/// The indicated flow times this factor is the true one, as far as the axial profile goes. Where
/// the orientation of path or pattern is not known, or two planes are averaged, it is the factor of
/// the mean over orientations; [`installation_half_width`](super::installation_half_width) then
/// allows for the rest.
///
/// NaN outside the range of [`check_straight_run`](super::check_straight_run).
pub fn installation_factor<S: Scalar>(fitting: Fitting, mounting: &Mounting<S>) -> S {
    let profile = disturbed_profile(fitting, mounting.straight_run);
    let known = coefficients(fitting).orientation_known;
    let path_mean = match (mounting.planes, mounting.orientation) {
        (Planes::One, Some(orientation)) if known => profile.path_mean(orientation),
        _ => profile.path_mean_of_crossed(),
    };
    undisturbed::<S>() / path_mean
}

/// Relative error of the indicated flow, as the family has it: `indicated/true - 1`, with the
/// undisturbed profile factor applied.
///
/// Unlike [`installation_factor`] it follows the pattern also where its orientation is not known
/// on a real site; so it shows what an orientation can do.
pub fn path_error<S: Scalar>(
    fitting: Fitting,
    straight_run: S,
    orientation: S,
    planes: Planes,
) -> S {
    let profile = disturbed_profile(fitting, straight_run);
    let path_mean = match planes {
        Planes::One => profile.path_mean(orientation),
        Planes::Two => profile.path_mean_of_crossed(),
    };
    path_mean / undisturbed::<S>() - 1.0
}
