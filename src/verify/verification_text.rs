//! A verification in words.

use super::result::{OfQuantity, PointResult, RunResult, Scores};
use super::{PointsModel, VerificationResult};
use crate::error::Result;
use crate::montecarlo::{IntervalKind, JointTrials};
use crate::uncertainty::{counted, dof_in_words, plain, rounded_pair};
use std::fmt::Write as _;

/// What everybody must know who makes runs against a reference.
pub const VERIFICATION_CAUTIONS: &str = "\
Weigh tanks and volumetric tanks: keep clear below lifted or filling tanks, vent them, mind overflow;
hot or pressurised lines: relieve and cool them before a connection is opened. Local codes and the
permit of the site decide. A verification is no evidence for custody transfer without review by
licensed practice.";

/// A ratio and its uncertainty in percent, rounded for people.
fn percent(ratio: f64, u: f64) -> (String, String) {
    rounded_pair(100.0 * ratio, 100.0 * u)
}

/// Both scores where agreement is asked, else the meter factor, which no agreement gives.
fn answer(scores: Option<Scores>, meter_factor: &OfQuantity) -> String {
    let one = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| format!("{v:+.2}"));
    match scores {
        Some(scores) => format!("E_n {}, zeta {}", one(scores.e_n), one(scores.zeta)),
        None => {
            let u = meter_factor.expanded_uncertainty;
            format!("meter factor {}", rounded_pair(meter_factor.value, u).0)
        }
    }
}

impl VerificationResult {
    fn flow(&self, flow: &OfQuantity) -> String {
        let unit = &self.flow_unit;
        let u = unit.difference_from_si(flow.expanded_uncertainty);
        let (value, u) = rounded_pair(unit.from_si(flow.value), u);
        format!("{value} +/- {u}")
    }

    fn run_line(&self, run: &RunResult) -> String {
        let (error, u) = percent(run.error.value, run.error.expanded_uncertainty);
        let correlation = run
            .correlation
            .map_or("-".to_owned(), |r| format!("{r:+.2}"));
        format!(
            "run {}, point {}, placement {}: meter {}, reference {} {}, correlation {}, error \
             ({error} +/- {u}) %, {}",
            run.run,
            run.point,
            run.placement,
            self.flow(&run.meter_flow),
            self.flow(&run.reference_flow),
            self.flow_unit.symbol,
            correlation,
            answer(run.scores, &run.meter_factor),
        )
    }

    fn point_lines(&self, point: &PointResult) -> String {
        let (error, u) = percent(point.error.value, point.error.expanded_uncertainty);
        let dof = point.error.effective_dof.unwrap_or(f64::INFINITY);
        let mut text = format!(
            "point {}, flow {} {}, {}, {}: error ({error} +/- {u}) %, coverage \
             factor {:.2}, {} effective degrees of freedom, {}",
            point.point,
            self.flow(&point.flow),
            self.flow_unit.symbol,
            counted(point.runs.len(), "run"),
            counted(point.placements, "placement"),
            point.error.coverage_factor,
            dof_in_words(dof),
            answer(point.scores, &point.meter_factor),
        );
        if let Some(r) = &point.repeatability {
            // writing to a String cannot fail
            let _ = write!(
                text,
                "\n  repeatability {:.3} % ({} degrees of freedom{})",
                100.0 * r.standard_deviation,
                dof_in_words(r.dof),
                if r.pooled { ", all points" } else { "" },
            );
        }
        if let Some(r) = &point.reproducibility {
            let _ = write!(
                text,
                "\n  reproducibility {:.3} %, between placements {:.3} % (F = {:.2}, p = {:.3})",
                100.0 * r.standard_deviation,
                100.0 * r.between_placements,
                r.f,
                r.p_value,
            );
        }
        if let Some(conformity) = &point.conformity {
            let _ = write!(text, "\n  {}", conformity.in_words());
        }
        text
    }

    /// The decision or, without permissible errors, the errors in one line.
    pub fn headline(&self) -> String {
        match &self.decision {
            Some(decision) => decision.words.clone(),
            None => {
                let points = self.points.iter().map(|point| {
                    let (error, u) = percent(point.error.value, point.error.expanded_uncertainty);
                    format!("({error} +/- {u}) % at {}", point.point)
                });
                format!("errors {}", points.collect::<Vec<_>>().join(", "))
            }
        }
    }

    /// Runs, flow points, line and decision as text for a terminal.
    ///
    /// # Errors
    /// None for a result of [`Site::verify`](crate::site::Site::verify).
    pub fn in_words(&self) -> Result<String> {
        let mut text = format!(
            "{}\n{}\nreference: {}",
            self.site,
            self.name,
            self.reference.in_words()
        );
        if !self.reference_name.is_empty() {
            let _ = write!(text, ", {}", self.reference_name);
        }
        let _ = write!(
            text,
            "\nquestion: {}; its uncertainty contains {}\nindicated: {}",
            self.question.in_words(),
            self.question.contains(),
            self.indicated.in_words()
        );
        if !self.fixed.is_empty() {
            let fixed = self.fixed.iter();
            let fixed = fixed.map(|f| format!("{} = {}", f.name, f.value_in_words()));
            let fixed = fixed.collect::<Vec<_>>().join(", ");
            let _ = write!(
                text,
                "\ntaken as they are on the side of the meter: {fixed}"
            );
        }
        let _ = writeln!(
            text,
            "\n+/- are expanded uncertainties for a coverage probability of {} %\n",
            plain(100.0 * self.coverage_probability)
        );
        for run in &self.runs {
            let _ = writeln!(text, "{}", self.run_line(run));
        }
        let _ = writeln!(text);
        for point in &self.points {
            let _ = writeln!(text, "{}", self.point_lines(point));
        }
        if let Some(line) = &self.line {
            let at = |flow: f64| {
                let (error, u) = line.at(flow);
                let (error, u) = percent(error, u);
                let (flow, symbol) = (self.flow_unit.from_si(flow), &self.flow_unit.symbol);
                format!("{error} % (standard uncertainty {u} %) at {flow:.1} {symbol}")
            };
            let (low, high) = line.range;
            let _ = writeln!(
                text,
                "\nstraight line through the points: error {} to {}; p-value {}",
                at(low),
                at(high),
                line.p_value.map_or("-".to_owned(), |p| format!("{p:.3}")),
            );
        }
        if let Some(reason) = &self.line_refused {
            let _ = writeln!(text, "\nno straight line through the points: {reason}");
        }
        for warning in &self.warnings {
            let _ = writeln!(text, "warning ({}): {}", warning.code, warning.words);
        }
        let _ = writeln!(text, "\n{}", self.headline());
        Ok(text)
    }

    /// Monte Carlo and its comparison with first order, as text for a terminal.
    ///
    /// # Errors
    /// As [`Trials::interval`](crate::montecarlo::Trials::interval).
    pub fn trials_in_words(&self, trials: &JointTrials) -> Result<String> {
        let mut text = format!("Monte Carlo (JCGM 101), {} trials:", trials.trials());
        for point in self.trials_of_points(trials)? {
            let _ = write!(
                text,
                "\npoint {}: error {:+.3} %, standard uncertainty {:.3} % (first order {:+.3} %, \
                 {:.3} %), shortest coverage interval [{:+.3}, {:+.3}] %",
                point.point,
                100.0 * point.mean,
                100.0 * point.standard_uncertainty,
                100.0 * point.first_order.0,
                100.0 * point.first_order.1,
                100.0 * point.interval.0,
                100.0 * point.interval.1,
            );
        }
        if let Some(share) = self.conforming_share(trials) {
            let _ = write!(
                text,
                "\nprobability that all points conform: {:.3} %",
                100.0 * share
            );
        }
        Ok(text)
    }

    pub(crate) fn trials_of_points(&self, trials: &JointTrials) -> Result<Vec<TrialsOfPoint>> {
        let of = |(i, point): (usize, &PointResult)| {
            let error = trials.of_output(PointsModel::error_of(i));
            let interval = error.interval(self.coverage_probability, IntervalKind::Shortest)?;
            Ok(TrialsOfPoint {
                point: point.point.clone(),
                mean: error.mean,
                standard_uncertainty: error.standard_uncertainty,
                interval: (interval.low, interval.high),
                first_order: (point.error.value, point.error.standard_uncertainty),
            })
        };
        self.points.iter().enumerate().map(of).collect()
    }
}

/// What the trials say of a flow point.
pub(crate) struct TrialsOfPoint {
    pub(crate) point: String,
    pub(crate) mean: f64,
    pub(crate) standard_uncertainty: f64,
    /// The shortest coverage interval.
    pub(crate) interval: (f64, f64),
    /// Estimate and standard uncertainty of first order.
    first_order: (f64, f64),
}
