//! The difference of two measured flows: two periods, or two meters.
//!
//! What both measurements share (the bore, the calibration of the meter, the law of the velocity
//! profile) has one deviation in both and cancels, as far as both depend on it alike; what each has
//! for itself does not. So the covariance follows from the law of propagation over the inputs of
//! both, and is stated nowhere.
//!
//! ```text
//! d = Q_2 - Q_1        u^2(d) = u^2(Q_1) + u^2(Q_2) - 2 u(Q_1, Q_2)
//! ```
//!
//! # Source
//! JCGM 100:2008, 5.2.2, equation (13), and F.1.2.3.
//!
//! # Example
//! ```
//! use flowdoubt::difference::{Difference, Same};
//! use flowdoubt::{evaluate::Readings, site::Site};
//!
//! let site = Site::load("notebooks/demo/site.toml")?;
//! let readings = Readings::from_csv("notebooks/demo/readings.csv")?;
//! let evaluation = site.evaluate(&readings)?;
//! // the same readings twice: their scatter counts twice, and nothing else remains
//! let twice = Difference::of(&evaluation, &evaluation, Same::Mounting)?;
//! assert_eq!(twice.difference.estimate, 0.0);
//! assert!(twice.difference.standard_uncertainty < 0.2 * evaluation.standard_uncertainty());
//! assert!(!twice.differs()?);
//! # Ok::<(), flowdoubt::Error>(())
//! ```

mod difference_text;
mod flow;
mod in_common;

pub use flow::Flow;
pub use in_common::{InCommon, Same};

use crate::error::{Error, Result, with_unit};
use crate::model::{Belonging, Origin};
use crate::uncertainty::union::{Own, Union};
use crate::uncertainty::{Budget, Expanded, InputSet, JointResult, Output};
use crate::units::Unit;
use flow::Line;

/// The difference of two flows with its budget.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Difference {
    /// What the two flows are called.
    pub labels: [String; 2],
    /// What they have in common.
    pub in_common: InCommon,
    /// The inputs that both share and depend on, in the order of the first.
    pub shared: Vec<String>,
    /// The budgets of both flows over the inputs of both, in m3/s.
    pub flows: [Budget; 2],
    /// The budget of the second less the first, in m3/s.
    pub difference: Budget,
    /// The budget of the difference over the first; `None` where the first is no flow.
    pub relative: Option<Budget>,
    /// The covariance of the two flows, in (m3/s)^2.
    pub covariance: f64,
    /// Their correlation coefficient; `None` where one of them has no uncertainty.
    pub correlation: Option<f64>,
    /// The coverage probability of the first site.
    pub coverage_probability: f64,
    /// The inputs of both.
    pub inputs: InputSet,
}

/// The names of the sides before those of inputs that they have for themselves.
const SIDES: [&str; 2] = ["first", "second"];

impl Difference {
    /// The second flow less the first.
    ///
    /// # Errors
    /// An exception that is the name of no input; something stated of pipe or meter that should be
    /// the same and is not; correlations that contradict each other.
    pub fn of(
        first: impl Into<Flow>,
        second: impl Into<Flow>,
        in_common: impl Into<InCommon>,
    ) -> Result<Difference> {
        let flows = [first.into(), second.into()];
        let in_common = in_common.into();
        for name in in_common.also.iter().chain(&in_common.but) {
            check_name(name, &flows)?;
        }
        let shares = |line: &Line| is_shared(line, &in_common);
        check_the_same(&flows, &in_common)?;
        let mut union = Union::default();
        let mut own: [Vec<Own>; 2] = [Vec::new(), Vec::new()];
        for ((side, flow), own) in SIDES.iter().zip(&flows).zip(&mut own) {
            for line in &flow.lines {
                let name = match shares(line) {
                    true => line.input.name().to_owned(),
                    false => format!("{side}.{}", line.input.name()),
                };
                let input = Own {
                    name,
                    input: line.input.clone(),
                    scatters: line.read,
                };
                union.take(&input);
                own.push(input);
            }
            let named = |name: &str| {
                let mut all = flow.lines.iter().zip(own.iter());
                all.find_map(|(line, own)| (line.input.name() == name).then_some(&own.name))
            };
            for (a, b, coefficient) in &flow.correlated {
                if let Some((a, b)) = named(a).zip(named(b)) {
                    union.correlate(a, b, *coefficient);
                }
            }
        }
        let terms = [union.terms(&own[0]), union.terms(&own[1])];
        let inputs = union.into_inputs()?;
        let mut gradients = [0, 1].map(|_| vec![0.0; inputs.inputs().len()]);
        for ((gradient, flow), terms) in gradients.iter_mut().zip(&flows).zip(&terms) {
            for (line, term) in flow.lines.iter().zip(terms) {
                gradient[term.input] += line.sensitivity * term.scale;
            }
        }
        let both = |i: &usize| gradients.iter().all(|gradient| gradient[*i] != 0.0);
        let places = (0..inputs.inputs().len()).filter(both);
        let shared = places.map(|i| inputs.inputs()[i].name().to_owned());
        let shared = shared.collect();
        let unit = &flows[0].unit;
        let [q1, q2] = [flows[0].estimate, flows[1].estimate];
        let budget = |name: &str, unit: &Unit, estimate: f64, gradient: &[f64]| {
            let output = Output {
                name: name.to_owned(),
                unit: unit.clone(),
            };
            Budget::from_gradient(output, estimate, &inputs, gradient)
        };
        let combined = |a: f64, b: f64| -> Vec<f64> {
            let pairs = gradients[0].iter().zip(&gradients[1]);
            pairs.map(|(g1, g2)| a * g1 + b * g2).collect()
        };
        let of_flows = [
            budget("first flow", unit, q1, &gradients[0])?,
            budget("second flow", unit, q2, &gradients[1])?,
        ];
        let difference = budget("difference", unit, q2 - q1, &combined(-1.0, 1.0))?;
        let relative = if q1 == 0.0 {
            None
        } else {
            // of Q_2 / Q_1 - 1
            let gradient = combined(-q2 / (q1 * q1), 1.0 / q1);
            let percent = Unit::percent();
            Some(budget(
                "relative difference",
                &percent,
                q2 / q1 - 1.0,
                &gradient,
            )?)
        };
        let joint = JointResult::of_budgets(&of_flows, &inputs)?;
        let correlation = Some(joint.correlation(0, 1)).filter(|r| r.is_finite());
        let coverage_probability = flows[0].coverage_probability;
        Ok(Difference {
            labels: flows.map(|flow| flow.label),
            in_common,
            shared,
            flows: of_flows,
            difference,
            relative,
            covariance: joint.covariance[0][1],
            correlation,
            coverage_probability,
            inputs,
        })
    }

    /// The expanded uncertainty of the difference at the coverage probability, in m3/s.
    ///
    /// # Errors
    /// None for sites that were read from files, whose coverage probability has been checked.
    pub fn expanded(&self) -> Result<Expanded> {
        self.difference.expanded(self.coverage_probability)
    }

    /// Whether the flows differ by more than the expanded uncertainty of their difference. If they do
    /// not, nothing is shown: neither that they differ nor that they are the same.
    ///
    /// # Errors
    /// As [`Difference::expanded`].
    pub fn differs(&self) -> Result<bool> {
        Ok(self.difference.estimate.abs() > self.expanded()?.expanded_uncertainty)
    }
}

fn is_shared(line: &Line, in_common: &InCommon) -> bool {
    let named = |names: &[String]| names.iter().any(|name| name == line.input.name());
    let stated = !line.read
        && line
            .quantity
            .is_some_and(|q| in_common.same.holds(q, line.is_of_instrument()));
    named(&in_common.also) || (stated && !named(&in_common.but))
}

fn check_name(name: &str, flows: &[Flow; 2]) -> Result<()> {
    let lines = flows.iter().flat_map(|flow| &flow.lines);
    let names: Vec<&str> = lines.map(|line| line.input.name()).collect();
    if names.contains(&name) {
        return Ok(());
    }
    Err(Error::unknown_name("input", name, &names))
}

/// Refuses what is said to be the same and was stated differently: it cannot be one deviation.
fn check_the_same([first, second]: &[Flow; 2], in_common: &InCommon) -> Result<()> {
    for line in first.lines.iter().filter(|line| is_shared(line, in_common)) {
        let fixed = line.quantity.is_some_and(|q| {
            matches!(q.belongs_to(), Belonging::Pipe | Belonging::Meter)
                && q.row().origin == Origin::SiteFile
        });
        let name = line.input.name();
        let mut others = second.lines.iter();
        let Some(other) = others.find(|other| other.input.name() == name) else {
            continue;
        };
        let [a, b] = [line, other].map(|line| line.input.estimate());
        if fixed && (a - b).abs() > 1e-9 * a.abs().max(b.abs()) {
            let unit = line.input.unit();
            let shown = |si: f64| with_unit(unit.from_si(si), &unit.symbol);
            return Err(Error::Conflict {
                field: name.to_owned(),
                found: format!("{} and {}", shown(a), shown(b)),
                allowed: format!(
                    "the same in both measurements, which have in common: {}; or name it among the \
                     inputs that are not common",
                    in_common.same.in_words()
                ),
            });
        }
    }
    Ok(())
}
