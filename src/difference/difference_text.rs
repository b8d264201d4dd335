//! A difference in words and as JSON.

use super::Difference;
use crate::error::Result;
use crate::uncertainty::{Budget, dof_in_words, plain, rounded_pair};
use serde_json::{Value, json};
use std::fmt::Write as _;

impl Difference {
    /// The difference with its expanded uncertainty, in one line.
    ///
    /// # Errors
    /// As [`Difference::expanded`].
    pub fn headline(&self) -> Result<String> {
        let expanded = self.expanded()?;
        let shown = self.shown(&self.difference)?;
        let relative = match &self.relative {
            Some(relative) => format!(", relative {}", self.shown(relative)?),
            None => String::new(),
        };
        Ok(format!(
            "second less first {shown}{relative}, coverage probability {p} %, coverage factor \
             {k:.2}, {dof} effective degrees of freedom",
            p = plain(100.0 * expanded.coverage_probability),
            k = expanded.coverage_factor,
            dof = dof_in_words(expanded.dof),
        ))
    }

    /// Whether the flows differ, in words.
    ///
    /// # Errors
    /// As [`Difference::expanded`].
    pub fn verdict(&self) -> Result<&'static str> {
        Ok(if self.differs()? {
            "the flows differ by more than the expanded uncertainty of their difference"
        } else {
            "no difference is shown: it is within its expanded uncertainty"
        })
    }

    /// Both flows, their difference and what they have in common, as text for a terminal.
    ///
    /// # Errors
    /// As [`Difference::expanded`].
    pub fn in_words(&self) -> Result<String> {
        let mut text = String::new();
        // writing to a String cannot fail
        for ((place, label), budget) in ["first", "second"]
            .iter()
            .zip(&self.labels)
            .zip(&self.flows)
        {
            let label = crate::text::shown(label);
            let _ = writeln!(text, "{place}, {label}: {}", self.shown(budget)?);
        }
        let _ = writeln!(text, "{}", self.headline()?);
        let _ = writeln!(text, "{}", self.verdict()?);
        let correlation = match self.correlation {
            Some(r) => format!("correlation coefficient {r:.3}"),
            None => "no correlation".to_owned(),
        };
        let inputs = match self.shared.len() {
            1 => "1 input".to_owned(),
            count => format!("{count} inputs"),
        };
        let _ = write!(
            text,
            "{}: {correlation} of the two, from {inputs} in common",
            self.in_common.same.in_words()
        );
        Ok(text)
    }

    /// An estimate with its expanded uncertainty.
    fn shown(&self, budget: &Budget) -> Result<String> {
        let unit = &budget.output.unit;
        let expanded = budget.expanded(self.coverage_probability)?;
        let (estimate, u) = rounded_pair(
            unit.from_si(budget.estimate),
            unit.difference_from_si(expanded.expanded_uncertainty),
        );
        Ok(format!("({estimate} +/- {u}) {}", unit.symbol))
    }

    /// Everything as JSON, in SI units.
    ///
    /// # Errors
    /// As [`Difference::expanded`].
    pub fn to_json(&self) -> Result<Value> {
        let expanded = self.expanded()?;
        let flow = |label: &str, budget: &Budget| {
            json!({
                "label": label,
                "volume_flow_m3_s": budget.estimate,
                "standard_uncertainty_m3_s": budget.standard_uncertainty,
            })
        };
        let contributions = self.difference.lines.iter().map(|line| {
            json!({
                "input": line.input.name(),
                "contribution_m3_s": line.contribution,
                "share": line.share,
            })
        });
        Ok(json!({
            "first": flow(&self.labels[0], &self.flows[0]),
            "second": flow(&self.labels[1], &self.flows[1]),
            "same": self.in_common.same,
            "also_in_common": self.in_common.also,
            "not_in_common": self.in_common.but,
            "shared_inputs": self.shared,
            "covariance_m6_s2": self.covariance,
            "correlation": self.correlation,
            "difference_m3_s": self.difference.estimate,
            "standard_uncertainty_m3_s": self.difference.standard_uncertainty,
            "coverage_probability": expanded.coverage_probability,
            "coverage_factor": expanded.coverage_factor,
            "effective_dof": finite(expanded.dof),
            "expanded_uncertainty_m3_s": expanded.expanded_uncertainty,
            "relative_difference": self.relative.as_ref().map(|r| r.estimate),
            "relative_standard_uncertainty": self.relative.as_ref().map(|r| r.standard_uncertainty),
            "differs": self.differs()?,
            "contributions": contributions.collect::<Vec<Value>>(),
        }))
    }
}

/// Degrees of freedom as JSON has numbers: nothing for infinitely many.
fn finite(dof: f64) -> Option<f64> {
    Some(dof).filter(|dof| dof.is_finite())
}
