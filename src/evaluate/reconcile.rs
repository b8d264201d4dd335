//! Least-squares adjustment: the measured transit time ties diameter, wall and sound speed.

use super::Evaluation;
use super::check::{SoundSpeeds, check_time};
use crate::error::{Error, Result};
use crate::scalar::special::chi_squared_upper_tail;
use crate::uncertainty::{Budget, Input, InputSet, propagate, rounded_pair};
use crate::units::Unit;
use serde::Serialize;

/// An input before and after adjustment, in SI units.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Adjustment {
    /// The input.
    pub input: String,
    /// Its estimate before.
    pub before: f64,
    /// Its standard uncertainty before.
    pub uncertainty_before: f64,
    /// Its estimate after.
    pub after: f64,
    /// Its standard uncertainty after, never larger.
    pub uncertainty_after: f64,
}

/// What a reconciliation found, as far as the adjusted evaluation does not show it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Agreement {
    pub(crate) adjustments: Vec<Adjustment>,
    pub(crate) chi_square: f64,
    pub(crate) probability: f64,
}

/// An evaluation whose inputs have been made to agree with the measured transit time.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Reconciliation {
    /// The budget before.
    pub before: Budget,
    /// The evaluation with adjusted inputs.
    pub after: Evaluation,
    /// The inputs that moved or gained, in the order of the inputs.
    pub adjustments: Vec<Adjustment>,
    /// The chi-square of the adjustment, with one degree of freedom.
    pub chi_square: f64,
    /// The probability of a larger chi-square if all uncertainties are as stated.
    pub probability: f64,
}

impl Reconciliation {
    /// The unit in which an adjusted input is shown.
    pub fn unit_of(&self, adjustment: &Adjustment) -> Unit {
        let mut inputs = self.after.inputs.inputs().iter();
        let own = inputs.find(|input| input.name() == adjustment.input);
        own.map_or_else(|| Unit::named(""), |input| input.unit().clone())
    }

    /// Significance level of the consistency test.
    pub const SIGNIFICANCE: f64 = 0.05;

    /// Whether the inputs are consistent with the transit time. If they are not, something is
    /// wrong with them, and the adjusted result must not be used.
    pub fn is_consistent(&self) -> bool {
        self.probability >= Self::SIGNIFICANCE
    }
}

impl Reconciliation {
    /// What reconciliation did, with the inputs that moved or gained most.
    pub fn in_words(&self) -> String {
        let unit = &self.before.output.unit;
        let shown = |budget: &Budget| {
            let (estimate, u) = rounded_pair(
                unit.from_si(budget.estimate),
                unit.difference_from_si(budget.standard_uncertainty),
            );
            format!(
                "{estimate} {symbol}, standard uncertainty {u} {symbol}",
                symbol = unit.symbol
            )
        };
        let verdict = if self.is_consistent() {
            "the inputs are consistent with the transit time"
        } else {
            "the inputs are NOT consistent with the transit time: find out why, and do not use \
             the reconciled flow"
        };
        let mut text = format!(
            "reconciled with the transit time by least squares: chi-square {:.2} with 1 degree of \
             freedom, probability {:.3}: {verdict}\n  flow before: {}\n  flow after:  {}\n",
            self.chi_square,
            self.probability,
            shown(&self.before),
            shown(&self.after.budget),
        );
        for a in &self.adjustments {
            // an input that moved by less than a hundredth of its uncertainty is not worth a line
            let gain = 1.0 - a.uncertainty_after / a.uncertainty_before;
            if (a.after - a.before).abs() < 0.01 * a.uncertainty_before && gain < 0.01 {
                continue;
            }
            let unit = self.unit_of(a);
            let u = |u: f64| unit.difference_from_si(u);
            let (before, u_before) = rounded_pair(unit.from_si(a.before), u(a.uncertainty_before));
            let (after, u_after) = rounded_pair(unit.from_si(a.after), u(a.uncertainty_after));
            let line = format!(
                "  {}: {before} (u {u_before}) to {after} (u {u_after}) {}\n",
                a.input, unit.symbol
            );
            text += &line;
        }
        text
    }
}

/// Linearisations until the constraint is met; two or three are enough.
const MOST_STEPS: usize = 20;
/// How well the constraint must be met, in m/s.
const TOLERANCE: f64 = 1e-9;

impl Evaluation {
    /// Adjusts the inputs so that the measured sound speed is the expected one, moving each as
    /// little as its uncertainty demands.
    ///
    /// ```text
    /// minimise (x - x0)^T V^-1 (x - x0)   subject to   d(x) = c_measured - c_expected = 0
    /// x = x0 - V J^T (d + J (x0 - x)) / (J V J^T),    V' = V - V J^T J V / (J V J^T)
    /// ```
    /// The minimum is chi-square with one degree of freedom. The adjusted inputs are taken as
    /// normal with the covariances `V'`. Not done unless asked for.
    ///
    /// # Errors
    /// As [`Evaluation::sound_speed_check`]; [`Error::OutOfRange`] if the constraint cannot be
    /// met, or if no input of it is uncertain.
    ///
    /// # Source
    /// Generalised least squares with a constraint (ISO 6974 and VDI 2048 use it for the same
    /// purpose; both from memory); W. E. Deming, *Statistical Adjustment of Data*, Wiley 1943.
    pub fn reconciled(&self) -> Result<Reconciliation> {
        if self.site.in_situ.is_some() {
            return Err(Error::Conflict {
                field: "in_situ_calibration".to_owned(),
                found: "an in-situ calibration beside a reconciliation of the inputs".to_owned(),
                allowed: "one of the two: its factor belongs to the inputs as they are".to_owned(),
            });
        }
        let (model, inputs) = self.with_transit_time()?;
        check_time(&model, &inputs)?;
        let constraint = SoundSpeeds(&model);
        let start = inputs.estimates();
        let covariance = inputs.covariance();
        let times_gradient = |gradient: &[f64]| -> Vec<f64> {
            let row = |row: &Vec<f64>| row.iter().zip(gradient).map(|(v, j)| v * j).sum();
            covariance.iter().map(row).collect()
        };
        let mut x = start.clone();
        let mut chi_square = f64::NAN;
        let mut moved = Vec::new();
        let mut variance = f64::NAN;
        let mut met = false;
        for _ in 0..MOST_STEPS {
            let here = at(&inputs, &x)?;
            let difference = propagate(&constraint, &here)?.swap_remove(0);
            let gradient: Vec<f64> = difference.lines.iter().map(|l| l.sensitivity).collect();
            moved = times_gradient(&gradient);
            variance = gradient.iter().zip(&moved).map(|(j, v)| j * v).sum();
            let field = "variance of the sound speed difference";
            Error::range(variance > 0.0, field, variance, "m2/s2", "above 0")?;
            let back: f64 = (0..x.len()).map(|i| gradient[i] * (start[i] - x[i])).sum();
            let residual = difference.estimate + back;
            chi_square = residual * residual / variance;
            met = difference.estimate.abs() <= TOLERANCE;
            if met {
                break;
            }
            let next = start.iter().zip(&moved);
            x = next.map(|(x0, v)| x0 - v * residual / variance).collect();
        }
        let left = "sound speed difference after adjustment";
        Error::range(
            met,
            left,
            chi_square,
            "",
            "a difference that adjustment can close",
        )?;

        let adjusted: Vec<Vec<f64>> = covariance
            .iter()
            .zip(&moved)
            .map(|(row, vi)| {
                row.iter()
                    .zip(&moved)
                    .map(|(v, vj)| v - vi * vj / variance)
                    .collect()
            })
            .collect();
        let after_inputs = with_covariance(&inputs, &x, &adjusted)?;
        let mut after = self.clone();
        after.steps = model.checked_steps(&x)?;
        after.budget = propagate(&model, &after_inputs)?.swap_remove(0);
        let adjustments = inputs.inputs().iter().zip(after_inputs.inputs());
        let adjustments: Vec<Adjustment> = adjustments
            .map(|(before, after)| Adjustment {
                input: before.name().to_owned(),
                before: before.estimate(),
                uncertainty_before: before.standard_uncertainty(),
                after: after.estimate(),
                uncertainty_after: after.standard_uncertainty(),
            })
            .filter(|a| a.after != a.before || a.uncertainty_after < a.uncertainty_before)
            .collect();
        after.model = model;
        after.inputs = after_inputs;
        let probability = chi_squared_upper_tail(chi_square, 1.0);
        after.agreement = Some(Agreement {
            adjustments: adjustments.clone(),
            chi_square,
            probability,
        });
        Ok(Reconciliation {
            before: self.budget.clone(),
            after,
            adjustments,
            chi_square,
            probability,
        })
    }
}

/// The same inputs at other estimates, for a linearisation there.
fn at(inputs: &InputSet, x: &[f64]) -> Result<InputSet> {
    let moved = inputs.inputs().iter().zip(x);
    let exact = moved.map(|(input, x)| Input::exact(input.name(), *x));
    InputSet::independent(exact.collect::<Result<_>>()?)
}

/// The inputs with new estimates and covariances; what has no uncertainty stays as it is.
fn with_covariance(inputs: &InputSet, x: &[f64], covariance: &[Vec<f64>]) -> Result<InputSet> {
    // rounding may leave a variance a little below zero where the constraint takes all of it
    let u = |i: usize| covariance[i][i].max(0.0).sqrt();
    let mut adjusted = Vec::with_capacity(x.len());
    for (i, input) in inputs.inputs().iter().enumerate() {
        adjusted.push(
            if input.standard_uncertainty() == 0.0
                || (x[i] == input.estimate() && u(i) == input.standard_uncertainty())
            {
                input.clone()
            } else {
                Input::with_standard_uncertainty(input.name(), x[i], u(i), input.dof())?
                    .shown_in(input.unit().clone())
                    .in_component(input.component())
                    .evidence_in_words(reconciled_evidence(input.evidence()))
            },
        );
    }
    let mut pairs = Vec::new();
    for (i, row) in covariance.iter().enumerate() {
        for (j, v) in row.iter().enumerate().take(i) {
            let scale = u(i) * u(j);
            if scale > 0.0 && *v != 0.0 {
                let name = |i: usize| adjusted[i].name().to_owned();
                pairs.push((name(i), name(j), (v / scale).clamp(-1.0, 1.0)));
            }
        }
    }
    // the adjusted covariance has lost one dimension, so rounding may carry it past the valid ones
    InputSet::correlated_nearest(adjusted, &pairs)
}

/// The evidence of an input that was adjusted.
fn reconciled_evidence(evidence: &str) -> String {
    let before = match evidence {
        "" => String::new(),
        evidence => format!("{evidence}; "),
    };
    format!("{before}reconciled with the transit time")
}
