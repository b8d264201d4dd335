//! A measured flow as it enters a difference: its budget line by line.

use crate::error::{Error, Result};
use crate::evaluate::{Evaluation, Series};
use crate::model::Quantity;
use crate::site::Site;
use crate::uncertainty::{Budget, Correlations, Input};
use crate::units::Unit;

/// A line of the budget of a flow.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub(super) quantity: Option<Quantity>,
    pub(super) input: Input,
    /// In SI units of the flow over those of the input.
    pub(super) sensitivity: f64,
    /// Whether it was read for this flow alone.
    pub(super) read: bool,
}

impl Line {
    pub(super) fn is_of_instrument(&self) -> bool {
        self.input.name().ends_with(".instrument")
    }
}

/// A volume flow that was measured, with its budget: one side of a [`Difference`](super::Difference).
#[derive(Debug, Clone)]
pub struct Flow {
    /// What it is called.
    pub label: String,
    pub(super) unit: Unit,
    /// In m3/s.
    pub(super) estimate: f64,
    pub(super) lines: Vec<Line>,
    pub(super) correlated: Vec<(String, String, f64)>,
    pub(super) coverage_probability: f64,
}

impl Flow {
    fn of_site(site: &Site, label: &str, estimate: f64, lines: Vec<Line>) -> Flow {
        Flow {
            label: label.to_owned(),
            unit: site.flow_unit.clone(),
            estimate,
            lines,
            correlated: Vec::new(),
            coverage_probability: site.coverage_probability,
        }
    }
}

impl From<&Evaluation> for Flow {
    /// The flow of an evaluation, called as its site.
    fn from(evaluation: &Evaluation) -> Flow {
        let site = &evaluation.site;
        let terms = evaluation.model.terms().iter();
        let of = |(quantity, line): (&Quantity, &crate::uncertainty::BudgetLine)| Line {
            quantity: Some(*quantity),
            input: line.input.clone(),
            sensitivity: line.sensitivity,
            read: site.is_read(*quantity, &line.input),
        };
        let lines: Vec<Line> = terms.zip(&evaluation.budget.lines).map(of).collect();
        let correlated = named_pairs(evaluation.inputs.correlations(), &lines);
        Flow {
            correlated,
            ..Flow::of_site(site, &site.name, evaluation.estimate(), lines)
        }
    }
}

fn named_pairs(correlations: &Correlations, lines: &[Line]) -> Vec<(String, String, f64)> {
    let name = |i: usize| lines[i].input.name().to_owned();
    let pairs = correlations.pairs();
    pairs.map(|(i, j, r)| (name(i), name(j), r)).collect()
}

impl Series {
    /// The mean flow over the time that the total covers.
    ///
    /// # Errors
    /// A total of no time.
    pub fn mean_as_flow(&self) -> Result<Flow> {
        self.mean_of(&self.site.name, &self.total, self.duration)
    }

    /// The mean flow in a calendar period of which there is a total, by its label (`2026-10`).
    ///
    /// # Errors
    /// A label of no period; a period without rows.
    pub fn period_as_flow(&self, label: &str) -> Result<Flow> {
        let mut periods = self.periods.iter();
        let Some(period) = periods.find(|period| period.label == label) else {
            let labels: Vec<&str> = self.periods.iter().map(|p| p.label.as_str()).collect();
            if labels.is_empty() {
                return Err(Error::Missing {
                    field: "period".to_owned(),
                    needed:
                        "totals of calendar periods: evaluate the series with a period of day, \
                             week or month"
                            .to_owned(),
                });
            }
            return Err(Error::unknown_name("period", label, &labels));
        };
        self.mean_of(&period.label, &period.total, period.duration)
    }

    fn mean_of(&self, label: &str, total: &Budget, duration: f64) -> Result<Flow> {
        let field = format!("duration of {label}");
        Error::range(duration > 0.0, field, duration, "s", "above 0 s")?;
        let of = |line: &crate::uncertainty::BudgetLine| Line {
            quantity: Quantity::of_input(line.input.name()),
            input: line.input.clone(),
            sensitivity: line.sensitivity / duration,
            read: self.scatters(line.input.name()),
        };
        let lines: Vec<Line> = total.lines.iter().map(of).collect();
        let has = |name: &str| lines.iter().any(|line| line.input.name() == name);
        let stated = self.site.correlations.iter().map(|stated| &stated.pair);
        let correlated = stated.filter(|(a, b, _)| has(a) && has(b)).cloned();
        Ok(Flow {
            correlated: correlated.collect(),
            ..Flow::of_site(&self.site, label, total.estimate / duration, lines)
        })
    }
}
