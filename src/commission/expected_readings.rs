//! What the meter should read at rest: transit time and sound speed, by the model of the site.

use super::entry::{Expectation, Parts};
use crate::error::Result;
use crate::evaluate::{BeforeReadings, Channel, Evaluation, SoundSpeedCheck};
use crate::model::{Basis, Origin, Quantity, Reading, Renewed, SiteModel};
use crate::plan::Repeatability;
use crate::scalar::Scalar;
use crate::site::Site;
use crate::uncertainty::{Budget, Input, MeasurementModel, Output, effective_dof, propagate};
use crate::units::Dimension;

/// Mean velocity on the path in m/s at which the site is looked at where no flow is foreseen; path and
/// liquid do not depend on it.
pub(super) const VELOCITY: f64 = 1.0;

/// The transit time that would be read if the sound took as long as the path says, less the one that
/// is read: the measurement model solved for its reading, to first order about the expected one.
struct TransitTimes<'a> {
    model: &'a SiteModel,
    /// Change of the time in the liquid with the reading: the time base of the meter.
    slope: f64,
}

impl MeasurementModel for TransitTimes<'_> {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "transit time, expected less read".to_owned(),
            unit: Dimension::Time.si_unit(),
        }]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let steps = self.model.steps(x);
        Ok([(steps.path.time_in_liquid - steps.time_in_liquid) * (1.0 / self.slope)])
    }
}

/// What is expected of transit time and sound speed.
pub(super) struct TimesAtRest {
    /// The reading that is expected, in s.
    pub(super) transit_time: f64,
    /// The uncertainty with which it is expected.
    pub(super) budget: Budget,
    /// The check of the sound speed at that reading, taken as exact.
    pub(super) check: SoundSpeedCheck,
    /// Change of the transit time with the temperature of the liquid, in s/K.
    pub(super) time_per_kelvin: Option<f64>,
    /// Change of the sound speed with it, in m/s/K.
    pub(super) speed_per_kelvin: Option<f64>,
    /// The uncertainty of a mean of readings to come.
    pub(super) reading: (f64, f64),
    /// Change of the measured sound speed with the transit time, in m/s2.
    pub(super) speed_per_time: f64,
}

impl TimesAtRest {
    /// None on the indicated basis, which leaves the sound path unknown, and where the delay of the
    /// wedges is not stated, without which a transit time cannot be told.
    pub(super) fn of(site: &Site, before: &BeforeReadings) -> Result<Option<TimesAtRest>> {
        let indicated = before.model.choices().basis == Basis::Indicated;
        if indicated || !before.model.has(Quantity::WedgeDelay) {
            return Ok(None);
        }
        let steps = &before.steps;
        let near = steps.path.time_in_liquid + steps.dead_time;
        let q = Quantity::TransitTime;
        let time = |seconds: f64| Input::exact(&q.path(), seconds);
        let at = before.with_transit_time(VELOCITY, Some(time(near)?))?;
        let (model, inputs) = at.with_transit_time()?;
        let reading = Reading::of(model, inputs.estimates(), q);
        let expected = reading.at_which(|s| s.time_in_liquid, at.steps.path.time_in_liquid);
        let slope = reading.steps(expected).time_in_liquid.gradient[0];

        let at = before.with_transit_time(VELOCITY, Some(time(expected)?))?;
        let (model, inputs) = at.with_transit_time()?;
        let times = TransitTimes {
            model: &model,
            slope,
        };
        let budget = propagate(&times, &inputs)?.swap_remove(0);
        let check = at.sound_speed_check()?;
        let place = |q: Quantity| model.terms().iter().position(|own| *own == q);
        let of_time = place(q).map(|i| check.difference.lines[i].sensitivity);
        let temperature = Quantity::Temperature;
        let speed_per_kelvin = place(temperature).map(|i| {
            let by = Reading::of(model.clone(), inputs.estimates(), temperature);
            let kelvin = inputs.inputs()[i].estimate();
            by.steps(kelvin).liquid_sound_speed.gradient[0]
        });
        let time_per_kelvin = place(temperature).map(|i| budget.lines[i].sensitivity);
        let mean = Repeatability::default().input(Channel::TransitTime, expected, site)?;
        Ok(Some(TimesAtRest {
            transit_time: expected,
            check,
            time_per_kelvin,
            speed_per_kelvin,
            reading: (mean.standard_uncertainty(), mean.dof()),
            speed_per_time: of_time.unwrap_or(0.0),
            budget,
        }))
    }

    /// What is expected of the transit time.
    pub(super) fn of_time(&self) -> Expectation {
        let budget = &self.budget;
        let known = vec![(budget.standard_uncertainty, budget.effective_dof)];
        Expectation::of(known, vec![self.reading])
    }

    /// What is expected of the sound speed that a meter on this path finds.
    pub(super) fn of_speed(&self) -> Expectation {
        let difference = &self.check.difference;
        let known = vec![(difference.standard_uncertainty, difference.effective_dof)];
        let (u, dof) = self.reading;
        let reading: Parts = vec![((self.speed_per_time * u).abs(), dof)];
        Expectation::of(known, reading)
    }
}

/// The inputs that carry most of a budget, in words.
pub(super) fn mostly(budget: &Budget) -> String {
    let ranked = budget.ranked();
    let largest = ranked.iter().filter(|line| line.share > 0.1).take(3);
    let names: Vec<&str> = largest.map(|line| line.input.name()).collect();
    match names.as_slice() {
        [] => String::new(),
        some => format!(", mostly of {}", some.join(", ")),
    }
}

/// The relative change of the flow from one placement of the sensors to the next: what placements
/// renew, and the scatter of readings, both twice.
pub(super) fn of_placements(at: &Evaluation) -> Expectation {
    let inputs = at.inputs.inputs();
    let covariance = at.inputs.covariance();
    let terms = at.model.terms();
    let renewed = |i: &usize| {
        let row = terms[*i].row();
        row.renewed == Renewed::ByPlacement || row.origin == Origin::Readings
    };
    let own: Vec<usize> = (0..terms.len()).filter(renewed).collect();
    let slope = |i: usize| at.budget.lines[i].sensitivity / at.budget.estimate;
    let pairs = own.iter().flat_map(|i| own.iter().map(move |j| (*i, *j)));
    let variance: f64 = pairs
        .map(|(i, j)| slope(i) * slope(j) * covariance[i][j])
        .sum();
    let u = variance.max(0.0).sqrt();
    let each = own.iter().map(|i| {
        let input = &inputs[*i];
        (
            (slope(*i) * input.standard_uncertainty()).abs(),
            input.dof(),
        )
    });
    let dof = effective_dof(u, each);
    // two placements, whose common standard uncertainty is known no better than once
    Expectation::of(vec![(std::f64::consts::SQRT_2 * u, dof)], Vec::new())
}
