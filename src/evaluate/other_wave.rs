//! Another wave in the wall may be what arrives.

use super::{Evaluation, Warning};
use crate::model::{AngleFrom, Basis, Quantity};

/// Difference in rad of the angles in the wedge up to which a beam may send the other wave as well: 10
/// degrees, of the order of the half-width of a beam. Our choice.
const BEAM: f64 = 0.175;

/// Difference in s of arrivals below which one signal hides the other: some periods of the usual
/// carriers. Our choice.
const NEAR: f64 = 3e-6;

/// Relative error of the flow from which the other wave matters wherever it arrives. Our choice.
const LARGE: f64 = 0.005;

/// What would come of receiving the other wave with the sensors where they sit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OtherArrival {
    /// Its transit time less that of the wave that the site is set up for, in s.
    pub(crate) later: f64,
    /// Relative error of the flow, if it is taken for that wave.
    pub(crate) flow_error: f64,
    /// Angle in the wedge at which it leaves, in rad.
    pub(crate) wedge_angle: f64,
}

impl Evaluation {
    /// The arrival of the other wave on the ray from exit point to exit point, where the material of
    /// the wall tells of one.
    ///
    /// ```text
    /// timed:      v/v_true = s_f' / (a c_f^2 (t' - t_0)),   geometric:   v/v_true = s_f' / s_f
    /// ```
    /// with run `s_f'` and time `t'` of the other ray, and slowness, dead time and run of the one that
    /// the site is set up for.
    pub(crate) fn other_arrival(&self) -> Option<OtherArrival> {
        let other = self.site.other_wave?;
        let basis = self.model.choices().basis;
        if basis == Basis::Indicated {
            return None;
        }
        let own = &self.steps;
        let placed = self.estimate_of(Quantity::Spacing);
        let start = if placed.is_some() {
            0.0
        } else {
            own.path.spacing
        };
        let own_speed = own.wall_sine / own.path.axial_slowness;
        let mut terms = self.model.terms().to_vec();
        terms.extend([Quantity::Spacing, Quantity::WallSoundSpeed]);
        let model = self.model.clone().with_angle_from(AngleFrom::Spacing);
        let model = model.with_terms(terms, self.site.flow_unit.clone());
        let mut x = self.inputs.estimates();
        x.extend([start, other.sound_speed - own_speed]);
        let found = model.steps(&x);
        let time = found.dead_time + found.path.time_in_liquid;
        let expected = own.dead_time + own.path.time_in_liquid;
        let speed = own.liquid_sound_speed;
        let ratio = match basis {
            Basis::Timed => {
                let slowness = own.path.axial_slowness;
                let taken_for_liquid = time - own.dead_time;
                found.path.run_in_liquid / (slowness * speed * speed * taken_for_liquid)
            }
            _ => found.path.run_in_liquid / own.path.run_in_liquid,
        };
        let wedge = self.estimate_of(Quantity::WedgeSoundSpeed)?;
        let arrival = OtherArrival {
            later: time - expected,
            flow_error: ratio - 1.0,
            wedge_angle: libm::asin(found.path.axial_slowness * wedge),
        };
        let finite = arrival.later.is_finite() && arrival.flow_error.is_finite();
        (finite && arrival.wedge_angle.is_finite()).then_some(arrival)
    }

    /// The other wave can be received, and is near or would be a large error.
    pub(super) fn other_wave(&self) -> Option<Warning> {
        let other = self.site.other_wave?;
        let angle = self.estimate_of(Quantity::WedgeAngle)?;
        let wedge = self.estimate_of(Quantity::WedgeSoundSpeed)?;
        let arrival = self.other_arrival()?;
        let received = (arrival.wedge_angle - angle).abs() <= BEAM;
        let matters = arrival.later.abs() < NEAR || arrival.flow_error.abs() > LARGE;
        (received && matters).then(|| {
            let sine = wedge / other.sound_speed;
            let way_out = if sine < 1.0 {
                let steepest = libm::asin(sine).to_degrees();
                format!("a wedge angle above {steepest:.0} deg keeps it out of the wall")
            } else {
                "no wedge of this sound speed keeps it out of the wall".to_owned()
            };
            Warning::new(
                "other-wave",
                format!(
                    "the {} in the wall can be received as well, {:.1} us {} than the wave that the \
                     site is set up for; taken for that one, it makes the flow {:+.1} % wrong. Compare \
                     the transit time with the expected one; {way_out}",
                    other.words,
                    1e6 * arrival.later.abs(),
                    if arrival.later < 0.0 { "earlier" } else { "later" },
                    100.0 * arrival.flow_error,
                ),
            )
        })
    }
}
