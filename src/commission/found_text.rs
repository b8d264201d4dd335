//! What was found, in words and as JSON.

use super::found::{Commissioned, EntryFound, Outcome, StepFound};
use serde_json::{Value, json};
use std::fmt::Write as _;

impl EntryFound {
    /// What was found against what it should be, in one line.
    pub fn in_words(&self) -> String {
        let entry = &self.entry;
        let found = entry.shown(self.found);
        let Some([low, high]) = self.limits else {
            let expected = entry.expected_in_words();
            return match expected.as_str() {
                "" => format!("{}: {found}", entry.words),
                some => format!("{}: {found}, expected {some}", entry.words),
            };
        };
        let mut words = format!(
            "{}: {found}, within {} to {}",
            entry.words,
            entry.shown(low),
            entry.shown(high)
        );
        if let (Some(false), Some(times)) = (self.is_within(), self.standardised()) {
            let beyond = (low - self.found).max(self.found - high);
            let beyond = entry.unit.difference_from_si(beyond);
            let beyond = crate::uncertainty::rounded(beyond, 2);
            words = format!(
                "{}: {found}, outside of {} to {} by {}, {times:+.1} standard uncertainties from what \
                 is expected",
                entry.words,
                entry.shown(low),
                entry.shown(high),
                entry.unit.of_differences().after(&beyond),
            );
        }
        words
    }

    fn to_value(&self) -> Value {
        let [low, high] = self.limits.map_or([None; 2], |limits| limits.map(Some));
        json!({
            "key": self.entry.key,
            "words": self.entry.words,
            "unit": self.entry.unit.si_symbol,
            "found": self.found,
            "expected": self.entry.expected,
            "standard_uncertainty": self.standard_uncertainty,
            "lower_limit": low,
            "upper_limit": high,
            "within": self.is_within(),
            "standardised": self.standardised(),
            "in_words": self.in_words(),
        })
    }
}

impl StepFound {
    /// What is to be said of it, one in a line.
    pub fn remarks(&self) -> Vec<String> {
        let mut said: Vec<String> = self.entries.iter().map(EntryFound::in_words).collect();
        let outcome = self.outcome();
        if self.done {
            let open = self.step.questions.iter();
            let open = open.filter(|question| !self.answers.contains(&question.key));
            said.extend(open.map(|question| format!("not answered with yes: {}", question.words)));
        } else if !self.entries.is_empty() || !self.answers.is_empty() {
            said.push("noted, but not marked as done".to_owned());
        }
        if self.done {
            let missing = self.missing();
            said.extend(
                missing
                    .iter()
                    .map(|entry| format!("not noted: {}", entry.words)),
            );
        }
        if outcome == Outcome::NotAsItShouldBe && !self.step.look_at.is_empty() {
            said.push(format!("look at first: {}", self.step.look_at));
        }
        if !self.note.is_empty() {
            said.push(format!("note: {}", self.note));
        }
        said
    }

    fn to_value(&self) -> Value {
        json!({
            "key": self.step.key,
            "title": self.step.title,
            "outcome": self.outcome().in_words(),
            "done": self.done,
            "answers": self.answers,
            "entries": self.entries.iter().map(EntryFound::to_value).collect::<Vec<_>>(),
            "duration_s": self.duration,
            "remarks": self.remarks(),
            "note": self.note,
        })
    }
}

impl Commissioned {
    /// How many steps came to each outcome, in one line.
    pub fn in_one_line(&self) -> String {
        let count = |outcome: Outcome| {
            let own = self.steps.iter().filter(|step| step.outcome() == outcome);
            own.count()
        };
        format!(
            "{} of {} steps done, {} not as it should be",
            count(Outcome::AsItShouldBe) + count(Outcome::Done),
            self.steps.len(),
            count(Outcome::NotAsItShouldBe)
        )
    }

    /// What was found, step by step, as text for a terminal.
    pub fn in_words(&self) -> String {
        let said = |text: &str| if text.is_empty() { "not said" } else { text }.to_owned();
        let mut text = format!(
            "{}\ncommissioning, site file SHA-256 {}\nby {}; date: {}\n{}\n",
            self.commissioning.site,
            self.commissioning.site_digest,
            said(&self.by),
            said(&self.date),
            self.in_one_line()
        );
        if !self.note.is_empty() {
            // writing to a String cannot fail
            let _ = writeln!(text, "note: {}", self.note);
        }
        for step in &self.steps {
            let _ = writeln!(text, "\n{}: {}", step.step.title, step.outcome().in_words());
            for remark in step.remarks() {
                let _ = writeln!(text, "  {remark}");
            }
        }
        if let Some(check) = &self.sound_speed {
            let _ = writeln!(text, "\n{}", check.in_one_line());
            if !check.agrees() {
                let _ = write!(
                    text,
                    "likely causes, the most plausible first:\n{}",
                    check.causes_in_words()
                );
            }
        }
        let offered = self.offered();
        if !offered.is_empty() {
            let _ = writeln!(
                text,
                "\ncan be taken over into the site file: {}",
                offered.join(", ")
            );
        }
        text
    }

    /// Everything as JSON text, numbers in SI units; temperatures in K.
    pub fn to_json(&self) -> String {
        let check = self.sound_speed.as_ref().map(|check| {
            json!({
                "measured_m_s": check.measured,
                "expected_m_s": check.expected,
                "difference_m_s": check.difference.estimate,
                "standard_uncertainty_m_s": check.difference.standard_uncertainty,
                "agrees": check.agrees(),
                "in_words": check.in_one_line(),
            })
        });
        let all = json!({
            "software": crate::mark_out::MarkOut::software(),
            "site": self.commissioning.site,
            "site_digest": self.commissioning.site_digest,
            "coverage_probability": self.commissioning.coverage_probability,
            "by": self.by,
            "date": self.date,
            "note": self.note,
            "as_it_should_be": self.is_as_it_should_be(),
            "steps": self.steps.iter().map(StepFound::to_value).collect::<Vec<_>>(),
            "sound_speed": check,
            "offered": self.offered(),
        });
        format!("{all:#}")
    }
}
