//! Warnings of a ray that hardly passes the layers.

use super::{Evaluation, Warning};
use crate::error::Result;
use crate::message::message;
use crate::model::{AngleFrom, Basis, SiteModel};
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output, propagate};
use crate::units::Dimension;

/// Sound speed of the wall in m/s below which its wave is the shear wave of a plastic. The slowest
/// longitudinal wave in the table of materials, that in PTFE, has 1410 m/s.
const SHEAR_IN_PLASTIC_M_S: f64 = 1320.0;

/// The sine of the largest angle of the ray.
struct LargestSine<'a>(&'a SiteModel);

impl MeasurementModel for LargestSine<'_> {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "sine of the largest angle of the ray".to_owned(),
            unit: Dimension::Ratio.si_unit(),
        }]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([self.0.largest_sine(x)])
    }
}

impl Evaluation {
    /// Total reflection lies within the uncertainty of the sound speeds.
    pub(super) fn near_total_reflection(&self) -> Option<Warning> {
        let choices = self.model.choices();
        if choices.basis == Basis::Indicated || choices.angle_from == AngleFrom::Spacing {
            return None;
        }
        let found = propagate(&LargestSine(&self.model), self.as_stated()).ok()?;
        let sine = found.first()?;
        let (estimate, u) = (sine.estimate, sine.standard_uncertainty);
        (estimate + 2.0 * u >= 1.0).then(|| {
            Warning::told(
                "near-total-reflection",
                message!(
                    "warnings.near-total-reflection",
                    "in the fastest layer the sine of the angle of the ray is {sine} with \
                     standard uncertainty {u}: within twice that no ray passes, the budget of \
                     first order cannot be trusted and Monte Carlo fails; measure the sound speed \
                     of that layer, or take a slower wave in it or a smaller wedge angle",
                    sine = format!("{estimate:.3}"),
                    u = format!("{u:.3}"),
                ),
            )
        })
    }

    /// A shear wave in plastic.
    pub(super) fn slow_wave(&self) -> Option<Warning> {
        if self.model.choices().basis == Basis::Indicated {
            return None;
        }
        let speed = self.steps.wall_sine / self.steps.path.axial_slowness;
        (speed < SHEAR_IN_PLASTIC_M_S).then(|| {
            Warning::told(
                "slow-wave",
                message!(
                    "warnings.slow-wave",
                    "the wave in the wall has {speed}, as a shear wave in plastic has; it \
                     dies out within millimetres (common practice): the sound that arrives is \
                     the longitudinal wave",
                    speed = format!("{speed:.0} m/s"),
                ),
            )
        })
    }
}
