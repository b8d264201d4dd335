//! What a measurement at a flow is expected to come to: the readings that the flow would give, and
//! their evaluation by the measurement model.

use super::Repeatability;
use crate::acoustics::mean_time_in_flow;
use crate::error::{Error, Result};
use crate::evaluate::{Channel, Evaluation, Warning, estimates_of};
use crate::model::{Basis, Intermediates, LiquidModel, Quantity, Reading};
use crate::profile::check_laws;
use crate::site::Site;
use crate::uncertainty::{Budget, Expanded, Input, InputSet};
use crate::units::Unit;
use std::f64::consts::PI;

/// The flow and the state of the liquid for which a measurement is planned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Volume flow, in m3/s, above 0.
    pub volume_flow: f64,
    /// Temperature of the liquid, in K; `None` where it is as the site file states.
    pub temperature: Option<f64>,
}

/// A reading to come.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct PlannedReading {
    /// What is read.
    pub channel: Channel,
    /// The mean of the readings, in SI units.
    pub mean: f64,
    /// The standard deviation of single readings, in SI units.
    pub standard_deviation: f64,
}

/// What a measurement is expected to come to. The readings are those that the model would turn into
/// the flow; nothing has been measured.
#[derive(Debug, Clone)]
pub struct Expected {
    evaluation: Evaluation,
    repeatability: Repeatability,
    readings: Vec<PlannedReading>,
}

/// An input with the quantity it is a term of.
type Term = (Quantity, Input);
/// The mean of each reading.
type Means = Vec<(Channel, f64)>;

/// Steps to the reading that gives a flow; six are usual, the rest is for the transition.
const MOST_STEPS: usize = 100;
/// How well the flow must be met, relative; rounding in the model is below.
const TOLERANCE: f64 = 1e-14;
/// How well it must be met at least.
const WORST: f64 = 1e-13;

impl Site {
    /// What a measurement at a flow is expected to come to, with the full budget.
    ///
    /// The readings follow from the flow by solving the measurement model for them; then they are
    /// evaluated like any others, with the uncertainty of their means that the repeatability leaves.
    ///
    /// # Errors
    /// A flow that is not above 0, a temperature that is needed and not given or given where it has
    /// no effect, and, in the words of [`Site::evaluate`], conditions at which the site cannot
    /// measure: no sound path, boiling, a Reynolds number outside the profile laws.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{plan::{Conditions, Repeatability}, site::Site};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let at = Conditions { volume_flow: 0.3, temperature: Some(281.0) };
    /// let expected = site.expected(&at, &Repeatability::default())?;
    /// assert!((expected.budget().estimate - 0.3).abs() < 1e-12);
    /// let relative = expected.expanded()?.expanded_uncertainty / 0.3;
    /// assert!(relative > 0.015 && relative < 0.03);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn expected(&self, at: &Conditions, repeatability: &Repeatability) -> Result<Expected> {
        let flow = at.volume_flow;
        let allowed = "above 0: an uncertainty is stated relative to the flow";
        let possible = flow > 0.0 && flow.is_finite();
        Error::range(possible, "flow", flow, "m3/s", allowed)?;
        let (read_temperature, shift) = self.planned_temperature(at.temperature)?;
        let means = self.means_at(flow, read_temperature, shift.as_ref())?;
        let mut read: Vec<Term> = Vec::new();
        let mut readings = Vec::new();
        for (channel, mean) in means {
            let input = repeatability.input(channel, mean, self)?;
            read.push((channel.quantity(), input));
            readings.push(PlannedReading {
                channel,
                mean,
                standard_deviation: repeatability.of_readings(channel, mean, self),
            });
        }
        read.extend(shift);
        Ok(Expected {
            evaluation: self.evaluate_inputs(read)?,
            repeatability: repeatability.clone(),
            readings,
        })
    }

    /// Refuses a temperature that has no effect, and none where one is needed.
    pub(super) fn check_temperature(&self, temperature: Option<f64>) -> Result<()> {
        self.planned_temperature(temperature).map(|_| ())
    }

    /// The steps that no flow can change: bore, liquid and sound path.
    ///
    /// # Errors
    /// No sound path, a pipe without bore, a liquid outside its formulation.
    pub(crate) fn steps_at_rest(&self, temperature: Option<f64>) -> Result<Intermediates<f64>> {
        let (read_temperature, shift) = self.planned_temperature(temperature)?;
        let (_, steps) = self.at_rest(1.0, read_temperature, shift.as_ref())?;
        Ok(steps)
    }

    /// The temperature that is read, or what leads from the stated temperature to the planned one.
    fn planned_temperature(&self, temperature: Option<f64>) -> Result<(Option<f64>, Option<Term>)> {
        let quantity = Quantity::Temperature;
        let path = quantity.path();
        let computed = self.skeleton.choices().liquid != LiquidModel::Stated;
        let stated = self.stated.iter();
        let stated = stated
            .filter(|(q, input)| *q == quantity && input.name() == path)
            .map(|(_, input)| input.estimate())
            .next();
        match (temperature, computed, stated) {
            (Some(_), false, _) => Err(Error::Conflict {
                field: "temperatures".to_owned(),
                found: "temperatures for liquid.kind = \"stated\"".to_owned(),
                allowed: "none: the properties of the liquid are stated and stay what they are"
                    .to_owned(),
            }),
            (None, true, None) => Err(Error::Missing {
                field: "temperatures".to_owned(),
                needed: "one temperature or more, since the site file states none".to_owned(),
            }),
            (Some(t), true, Some(stated)) => {
                let name = format!("{path}.planned");
                let component = quantity.component(self.skeleton.choices().basis);
                let input = Input::exact(&name, t - stated)?
                    .shown_in(Unit::named("K"))
                    .in_component(component.in_words())
                    .evidence_in_words("planned less stated temperature");
                Ok((None, Some((quantity, input))))
            }
            (Some(t), true, None) => {
                Error::range(t > 0.0 && t.is_finite(), "temperatures", t, "K", "above 0")?;
                Ok((Some(t), None))
            }
            (None, ..) => Ok((None, None)),
        }
    }

    /// A first guess of the means of the readings at a mean velocity in m/s, with the profile left
    /// out, and the steps that do not depend on it.
    fn at_rest(
        &self,
        velocity: f64,
        temperature: Option<f64>,
        shift: Option<&Term>,
    ) -> Result<(Means, Intermediates<f64>)> {
        let choices = self.skeleton.choices();
        let diameter = choices.programmed.and_then(|p| p.inside_diameter);
        let unknown = match choices.basis {
            Basis::Timed | Basis::Geometric => Channel::TimeDifference,
            Basis::Indicated if diameter.is_some() => Channel::VolumeFlow,
            Basis::Indicated => Channel::Velocity,
        };
        let mut means = vec![(unknown, 0.0)];
        if choices.basis == Basis::Timed {
            means.push((Channel::TransitTime, 0.0));
        }
        means.extend(temperature.map(|t| (Channel::Temperature, t)));
        let terms = self.planned_terms(&means, shift)?;
        let steps = self.model_of(&terms).steps(&estimates_of(&terms));
        self.set_transit_time(&mut means, &terms, 0.0);
        let terms = self.planned_terms(&means, shift)?;
        means[0].1 = self.reading_of(unknown, &terms).start(velocity);
        match self.steps_at(&self.planned_terms(&means, shift)?) {
            // the number that belongs to a guess is not that of the flow
            Err(e) if e.context().field.as_deref() == Some("Reynolds number") => {}
            other => drop(other?),
        }
        Ok((means, steps))
    }

    /// The mean of each reading that the flow would give.
    ///
    /// The path velocity follows from the flow alone. The transit time changes with it in second
    /// order, and the factor of a fitting is derived at the readings; so the readings are solved
    /// for three times: for the liquid at rest without the fitting, with the fitting, and with the
    /// transit time at the velocity that this leads to.
    fn means_at(&self, flow: f64, temperature: Option<f64>, shift: Option<&Term>) -> Result<Means> {
        let area = self.at_rest(1.0, temperature, shift)?.1.area;
        let (mut means, rest) = self.at_rest(flow / area, temperature, shift)?;
        let choices = self.skeleton.choices();
        let reynolds = 4.0 * flow / (PI * rest.inside_diameter * rest.kinematic_viscosity);
        let roughness = rest.relative_roughness;
        check_laws(reynolds, roughness, choices.law, choices.friction)?;

        let unknown = means[0].0;
        let (mut velocity, mut fitting) = (0.0, Vec::new());
        for pass in 0..3 {
            let terms = self.planned_terms(&means, shift)?;
            self.set_transit_time(&mut means, &terms, velocity);
            let mut terms = self.planned_terms(&means, shift)?;
            terms.extend(fitting.iter().cloned());
            (means[0].1, velocity) = self.reading_of(unknown, &terms).that_gives(flow)?;
            if pass == 0 {
                let terms = self.planned_terms(&means, shift)?;
                fitting = self.installation_inputs(&terms)?;
            }
        }
        Ok(means)
    }

    /// What is stated, with readings to come that are taken as exact.
    fn planned_terms(&self, means: &[(Channel, f64)], shift: Option<&Term>) -> Result<Vec<Term>> {
        let mut read = Vec::with_capacity(means.len() + 1);
        for (channel, mean) in means {
            let quantity = channel.quantity();
            if mean.is_finite() {
                read.push((quantity, Input::exact(&quantity.path(), *mean)?));
            }
        }
        read.extend(shift.cloned());
        Ok(self.stated_with(read))
    }

    fn reading_of(&self, channel: Channel, terms: &[Term]) -> Reading {
        Reading::of(
            self.model_of(terms),
            estimates_of(terms),
            channel.quantity(),
        )
    }

    /// Puts the transit time at a path velocity in m/s where one is read.
    fn set_transit_time(&self, means: &mut [(Channel, f64)], terms: &[Term], velocity: f64) {
        let read = Channel::TransitTime;
        if let Some((_, mean)) = means.iter_mut().find(|(channel, _)| *channel == read) {
            let steps = self.model_of(terms).steps(&estimates_of(terms));
            let time = mean_time_in_flow(&steps.path, steps.liquid_sound_speed, velocity);
            let reading = self.reading_of(read, terms);
            *mean = reading.at_which(|steps| steps.time_in_liquid, time);
        }
    }
}

impl Reading {
    /// The reading at a path velocity, to first order from no reading.
    fn start(&self, path_velocity: f64) -> f64 {
        self.at_which(|steps| steps.path_velocity, path_velocity)
    }

    /// The reading that gives a flow, and the velocity on the path, by Newton's method between
    /// bounds: the flow rises with the reading, but steeply in the transition.
    fn that_gives(&self, flow: f64) -> Result<(f64, f64)> {
        let at_no_flow = self.start(0.0);
        let (mut low, mut high) = (at_no_flow, f64::INFINITY);
        let mut reading = self.estimate();
        let mut best = (f64::INFINITY, reading, f64::NAN);
        for _ in 0..MOST_STEPS {
            let steps = self.steps(reading);
            let excess = steps.volume_flow.value - flow;
            if excess.abs() < best.0 {
                best = (excess.abs(), reading, steps.path_velocity.value);
            }
            if !excess.is_finite() || excess.abs() <= TOLERANCE * flow {
                break;
            }
            if excess > 0.0 {
                high = reading;
            } else {
                low = reading;
            }
            let newton = reading - excess / steps.volume_flow.gradient[0];
            let next = if newton > low && newton < high {
                newton
            } else if high.is_finite() {
                0.5 * (low + high)
            } else {
                at_no_flow + 2.0 * (reading - at_no_flow)
            };
            if next == reading {
                break;
            }
            reading = next;
        }
        let (excess, reading, velocity) = best;
        let allowed = "a flow that some reading of the meter stands for";
        Error::range(excess <= WORST * flow, "flow", flow, "m3/s", allowed)?;
        Ok((reading, velocity))
    }
}

impl Expected {
    /// The uncertainty budget of the flow.
    pub fn budget(&self) -> &Budget {
        &self.evaluation.budget
    }

    /// The inputs, with their correlations.
    pub fn inputs(&self) -> &InputSet {
        &self.evaluation.inputs
    }

    /// The steps from readings to flow, in SI units.
    pub fn steps(&self) -> &Intermediates<f64> {
        &self.evaluation.steps
    }

    /// The expanded uncertainty at the site's coverage probability, in m3/s.
    ///
    /// # Errors
    /// None for a site that was read from a file.
    pub fn expanded(&self) -> Result<Expanded> {
        self.evaluation.expanded()
    }

    /// What a reader must be told beside the uncertainty.
    pub fn warnings(&self) -> Vec<Warning> {
        self.evaluation.warnings()
    }

    /// The readings to come.
    pub fn planned(&self) -> &[PlannedReading] {
        &self.readings
    }

    /// The evaluation of the readings to come.
    pub fn evaluation(&self) -> &Evaluation {
        &self.evaluation
    }

    /// Made-up readings with exactly the planned means and scatter, so that evaluating them gives
    /// the same budget: for trying out what is done on site. They are no measurement. Columns by
    /// name, in SI units, for [`Readings::from_columns`](crate::evaluate::Readings::from_columns).
    pub fn rehearsal(&self) -> Vec<(String, Vec<f64>)> {
        let readings = self.readings.iter();
        readings
            .map(|reading| {
                let values = scattered(reading, self.repeatability.readings());
                (column_of(reading.channel), values)
            })
            .collect()
    }
}

/// The name of the column of a channel in SI units.
fn column_of(channel: Channel) -> String {
    let unit = channel.quantity().dimension().si_unit();
    format!("{}_{}", channel.name(), unit.symbol.replace('/', "_"))
}

/// `n` numbers with the mean and the standard deviation of a reading: as many above as below, and
/// one in the middle where `n` is odd.
fn scattered(reading: &PlannedReading, n: usize) -> Vec<f64> {
    let odd = !n.is_multiple_of(2);
    let share = if odd { 1.0 } else { (n - 1) as f64 / n as f64 };
    let away = reading.standard_deviation * share.sqrt();
    let pairs = (0..n - usize::from(odd)).map(|i| match i % 2 {
        0 => reading.mean + away,
        _ => reading.mean - away,
    });
    pairs.chain(odd.then_some(reading.mean)).collect()
}
