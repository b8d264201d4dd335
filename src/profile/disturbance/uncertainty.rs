//! The uncertainty of the installation factor.

use super::coefficients::coefficients;
use super::cross_flow::largest_effect;
use super::straight_run::remaining;
use super::{Fitting, Mounting, Planes, disturbed_profile};

/// Half-width that no straight run takes away: fittings farther upstream, welds and the shape of
/// the profile itself (judgement).
const FLOOR: f64 = 0.005;
/// What of the model's uncertainty two planes leave (judgement): angular content of higher order and the
/// axisymmetric part stay.
const LEFT_BY_TWO_PLANES: f64 = 0.6;
/// Factor on the largest effect of the cross flow, whose coefficients are from memory.
const WIDENING_OF_CROSS_FLOW: f64 = 1.5;

/// Relative half-width of the uncertainty of the installation factor, for a rectangular distribution.
///
/// ```text
/// one plane:   floor + h exp(-(L - 1)/d) + lobes not known
/// two planes:  floor + 0.6 h exp(-(L - 1)/d)
/// ```
/// The floor is 0.5 %. `h` and `d` are 8 % and 8 D downstream of one bend, more downstream of other
/// fittings. The lobes are part of the uncertainty where the orientation of path or pattern is not
/// known. All of it is judgement, made so that the published range of one bend lies inside at every
/// orientation and that no correction is significant of which no measurement has been seen.
///
/// NaN outside the range of [`check_straight_run`](super::check_straight_run).
pub fn installation_half_width(fitting: Fitting, mounting: &Mounting<f64>) -> f64 {
    let c = coefficients(fitting);
    let model = c.uncertainty * remaining(mounting.straight_run, c.uncertainty_decay);
    match mounting.planes {
        Planes::Two => FLOOR + LEFT_BY_TWO_PLANES * model,
        Planes::One if c.orientation_known && mounting.orientation.is_some() => FLOOR + model,
        Planes::One => FLOOR + model + lobes(fitting, mounting.straight_run),
    }
}

/// Standard uncertainty that belongs to [`installation_half_width`].
pub fn installation_uncertainty(fitting: Fitting, mounting: &Mounting<f64>) -> f64 {
    installation_half_width(fitting, mounting) / libm::sqrt(3.0)
}

/// Largest relative distance of the factor at any orientation from that of the mean orientation.
fn lobes(fitting: Fitting, straight_run: f64) -> f64 {
    let profile = disturbed_profile(fitting, straight_run);
    let mean = profile.path_mean_of_crossed();
    let along = profile.path_mean(profile.axis);
    let across = profile.path_mean(profile.axis + std::f64::consts::FRAC_PI_2);
    (mean / along - 1.0).abs().max((mean / across - 1.0).abs())
}

/// Relative half-width of what cross flow does to a direct path; zero for a reflected one.
///
/// Its sign depends on which side the sensor upstream sits and on the sense of a swirl; so it is
/// all uncertainty and no correction: one and a half times the largest effect. `angle_in_liquid` is that
/// of the ray from the normal of the wall, in rad.
pub fn cross_flow_half_width(
    fitting: Fitting,
    mounting: &Mounting<f64>,
    traverses: u32,
    angle_in_liquid: f64,
) -> f64 {
    let known = coefficients(fitting).orientation_known;
    let on_cells = match (mounting.orientation.filter(|_| known), mounting.planes) {
        (Some(angle), Planes::One) => libm::cos(angle).abs(),
        (Some(angle), Planes::Two) => 0.5 * (libm::cos(angle).abs() + libm::sin(angle).abs()),
        (None, Planes::One) => 1.0,
        (None, Planes::Two) => std::f64::consts::FRAC_1_SQRT_2,
    };
    let run = mounting.straight_run;
    WIDENING_OF_CROSS_FLOW * largest_effect(fitting, run, on_cells, traverses, angle_in_liquid)
}
