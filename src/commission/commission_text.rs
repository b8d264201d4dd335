//! The list in words and as JSON.

use super::Commissioning;
use super::entry::{Entry, Step, in_four_digits, unit};
use crate::uncertainty::{plain, rounded};
use crate::units::Dimension;
use serde_json::{Value, json};
use std::fmt::Write as _;

impl Entry {
    pub(super) fn to_value(&self) -> Value {
        let [low, high] = self.limits.map_or([None; 2], |limits| limits.map(Some));
        json!({
            "key": self.key,
            "words": self.words,
            "unit": self.unit.si_symbol,
            "expected": self.expected,
            "standard_uncertainty": self.standard_uncertainty,
            "lower_limit": low,
            "upper_limit": high,
            "in_words": self.expected_in_words(),
            "from": self.from,
        })
    }
}

impl Step {
    pub(super) fn to_value(&self) -> Value {
        let questions = self.questions.iter();
        let questions = questions.map(|own| json!({ "key": own.key, "words": own.words }));
        json!({
            "key": self.key,
            "title": self.title,
            "words": self.words,
            "common_practice": self.common_practice,
            "entries": self.entries.iter().map(Entry::to_value).collect::<Vec<_>>(),
            "questions": questions.collect::<Vec<_>>(),
            "look_at": self.look_at,
        })
    }
}

impl Commissioning {
    /// The list as text for a terminal.
    pub fn in_words(&self) -> String {
        let mut text = format!(
            "{}\ncommissioning, site file SHA-256 {}\nlimits hold {} % of right readings\n",
            self.site,
            self.site_digest,
            plain(100.0 * self.coverage_probability)
        );
        let foreseen = self.foreseen_in_words();
        if !foreseen.is_empty() {
            // writing to a String cannot fail
            let _ = writeln!(text, "foreseen: {foreseen}");
        }
        for warning in &self.warnings {
            let _ = writeln!(text, "warning ({}): {}", warning.code, warning.words);
        }
        for (number, step) in self.steps.iter().enumerate() {
            let _ = writeln!(text, "\n{}. {}\n   {}", number + 1, step.title, step.words);
            for question in &step.questions {
                let _ = writeln!(text, "   [ ] {}", question.words);
            }
            for entry in &step.entries {
                let expected = entry.expected_in_words();
                let expected = match expected.as_str() {
                    "" => "to be noted".to_owned(),
                    some => format!("{some} ({})", entry.from),
                };
                let _ = writeln!(text, "   [ ] {}: {expected}", entry.words);
            }
        }
        text
    }

    /// For which state of operation the list holds, in words; empty where the site file tells all.
    pub fn foreseen_in_words(&self) -> String {
        let request = &self.request;
        let mut words = Vec::new();
        if let Some(kelvin) = request.temperature {
            let celsius = unit("degC", Dimension::Temperature);
            let at = in_four_digits(celsius.from_si(kelvin));
            let u = request.temperature_standard_uncertainty;
            words.push(match u > 0.0 {
                true => format!(
                    "liquid at {at} degC with standard uncertainty {} K",
                    rounded(u, 2)
                ),
                false => format!("liquid at {at} degC"),
            });
        }
        if let Some(flow) = request.flow {
            let shown = in_four_digits(self.flow_unit.from_si(flow));
            words.push(format!("a flow of {}", self.flow_unit.after(&shown)));
        }
        words.join(", ")
    }

    /// The list in one line.
    pub fn in_one_line(&self) -> String {
        let entries = self.steps.iter().flat_map(|step| &step.entries);
        let judged = entries.filter(|entry| entry.limits.is_some()).count();
        format!("{} steps, {judged} numbers with limits", self.steps.len())
    }

    /// Everything as JSON text, numbers in SI units; temperatures in K.
    pub fn to_json(&self) -> String {
        let steps: Vec<Value> = self.steps.iter().map(Step::to_value).collect();
        let all = json!({
            "software": crate::mark_out::MarkOut::software(),
            "site": self.site,
            "site_digest": self.site_digest,
            "coverage_probability": self.coverage_probability,
            "temperature_k": self.request.temperature,
            "temperature_standard_uncertainty_k": self.request.temperature_standard_uncertainty,
            "flow_m3_s": self.request.flow,
            "steps": steps,
            "warnings": self.warnings,
        });
        format!("{all:#}")
    }
}
