//! Another wave in the wall may be what arrives.

use super::{Evaluation, Warning};
use crate::message::message;
use crate::model::{AngleFrom, Basis, Quantity, SiteModel};
use std::f64::consts::FRAC_PI_2;

/// Difference in rad of the angles in the wedge up to which a beam may send the other wave as well: 10
/// degrees, of the order of the half-width of a beam. Our choice.
const BEAM: f64 = 0.175;

/// Difference in s of arrivals below which one signal hides the other: some periods of the usual
/// carriers. Our choice.
const NEAR: f64 = 3e-6;

/// Relative error of the flow from which the other wave matters wherever it arrives. Our choice.
const LARGE: f64 = 0.005;

/// Sine in the fastest medium up to which a wedge is thought of: beyond, the ray runs along the wall and
/// its place depends on too much. Our choice.
const NEARLY_ALONG: f64 = 0.95;

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

/// Angles in deg by which a wedge is turned to find one that avoids the other wave, at most.
const TURNED: i32 = 40;

impl OtherArrival {
    /// Whether a wedge of that angle would receive it, and it is near or would be a large error.
    fn matters_at(&self, wedge_angle: f64) -> bool {
        let received = (self.wedge_angle - wedge_angle).abs() <= BEAM;
        received && (self.later.abs() < NEAR || self.flow_error.abs() > LARGE)
    }
}

impl Evaluation {
    /// The arrival of the other wave on the ray from exit point to exit point, where the material of
    /// the wall tells of one; for a wedge of another angle too, unless the sensors are placed already.
    ///
    /// ```text
    /// timed:      v/v_true = s_f' / (a c_f^2 (t' - t_0)),   geometric:   v/v_true = s_f' / s_f
    /// ```
    /// with run `s_f'` and time `t'` of the other ray, and slowness, dead time and run of the one that
    /// the site is set up for.
    fn other_arrival(&self, wedge_angle: f64) -> Option<OtherArrival> {
        let other = self.site.other_wave?;
        let basis = self.model.choices().basis;
        if basis == Basis::Indicated {
            return None;
        }
        let angle = self.estimate_of(Quantity::WedgeAngle)?;
        let wedge = self.estimate_of(Quantity::WedgeSoundSpeed)?;
        let changed = |model: &SiteModel, changes: &[(Quantity, f64)]| {
            let mut terms = model.terms().to_vec();
            terms.extend(changes.iter().map(|(q, _)| *q));
            let mut x = self.inputs.estimates();
            x.extend(changes.iter().map(|(_, change)| *change));
            let model = model.clone().with_terms(terms, self.site.flow_unit.clone());
            model.steps(&x)
        };
        let own = changed(&self.model, &[(Quantity::WedgeAngle, wedge_angle - angle)]);
        let placed = self.estimate_of(Quantity::Spacing);
        let start = if placed.is_some() {
            0.0
        } else {
            own.path.spacing
        };
        let own_speed = own.wall_sine / own.path.axial_slowness;
        let by_spacing = self.model.clone().with_angle_from(AngleFrom::Spacing);
        let faster = other.sound_speed - own_speed;
        let changes = [
            (Quantity::Spacing, start),
            (Quantity::WallSoundSpeed, faster),
        ];
        let found = changed(&by_spacing, &changes);
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
        let arrival = OtherArrival {
            later: time - expected,
            flow_error: ratio - 1.0,
            wedge_angle: libm::asin(found.path.axial_slowness * wedge),
        };
        let finite = arrival.later.is_finite() && arrival.flow_error.is_finite();
        (finite && arrival.wedge_angle.is_finite()).then_some(arrival)
    }

    /// The arrival of the other wave, where it can be received and is near or would be a large error.
    pub(crate) fn other_wave_received(&self) -> Option<OtherArrival> {
        let angle = self.estimate_of(Quantity::WedgeAngle)?;
        let arrival = self.other_arrival(angle)?;
        arrival.matters_at(angle).then_some(arrival)
    }

    /// The angle in rad nearest to that of the wedge, in whole degrees from it, at which the other wave
    /// would not be received or not matter, with the own wave still entering the liquid.
    pub(crate) fn wedge_angle_without_other_wave(&self) -> Option<f64> {
        let angle = self.estimate_of(Quantity::WedgeAngle)?;
        let wedge = self.estimate_of(Quantity::WedgeSoundSpeed)?;
        let own_speed = self.steps.wall_sine / self.steps.path.axial_slowness;
        let fastest = own_speed.max(self.steps.liquid_sound_speed);
        let avoids = |turned: &f64| {
            let enters = libm::sin(*turned) * fastest / wedge < NEARLY_ALONG;
            let real = *turned > 0.0 && *turned < FRAC_PI_2;
            let arrival = || self.other_arrival(*turned);
            real && enters && arrival().is_some_and(|arrival| !arrival.matters_at(*turned))
        };
        let turns = (1..=TURNED).flat_map(|degrees| [degrees, -degrees]);
        let mut angles = turns.map(|degrees| angle + f64::from(degrees).to_radians());
        angles.find(avoids)
    }

    /// The other wave can be received, and is near or would be a large error.
    pub(super) fn other_wave(&self) -> Option<Warning> {
        let other = self.site.other_wave?;
        let arrival = self.other_wave_received()?;
        let way_out = match self.wedge_angle_without_other_wave() {
            Some(angle) => message!(
                "warnings.other-wave-avoided",
                "a wedge angle of {angle} avoids it",
                angle = format!("{:.0} deg", angle.to_degrees()),
            ),
            None => message!(
                "warnings.other-wave-not-avoided",
                "no angle of such a wedge avoids it"
            ),
        };
        Some(Warning::told(
            "other-wave",
            message!(
                "warnings.other-wave",
                "the {wave} in the wall can be received as well, {time} {order} than the wave that \
                 the site is set up for; taken for that one, it makes the flow {error} wrong. Compare \
                 the transit time with the expected one; {way_out}",
                wave = other.words,
                time = format!("{:.1} us", 1e6 * arrival.later.abs()),
                order = if arrival.later < 0.0 {
                    "earlier"
                } else {
                    "later"
                },
                error = format!("{:+.1} %", 100.0 * arrival.flow_error),
                way_out = way_out,
            ),
        ))
    }
}
