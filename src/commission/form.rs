//! The form that is filled in on site, as TOML with comments.

use super::Commissioning;
use super::entry::{Entry, unit};
use crate::evaluate::CAUTIONS;
use crate::text::shown;
use crate::units::{Dimension, Unit};
use std::fmt::Write as _;

/// Letters in a line of a comment.
const WIDTH: usize = 96;

/// Words as lines of a comment.
fn commented(text: &mut String, words: &str) {
    let mut line = String::from("#");
    for word in shown(words).split_whitespace() {
        if line.len() > 1 && line.chars().count() + 1 + word.chars().count() > WIDTH {
            *text += &line;
            text.push('\n');
            line = String::from("#");
        }
        line.push(' ');
        line += word;
    }
    *text += &line;
    text.push('\n');
}

/// A text as TOML has it.
pub(super) fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A quantity in the unit of the user, in as few digits as are read back to the same value; nobody states
/// more than nine.
fn written(si: f64, unit: &Unit) -> String {
    let value = unit.from_si(si);
    let in_digits = |digits: usize| {
        let rounded = format!("{value:.*e}", digits - 1).parse().unwrap_or(value);
        let same = unit.to_si(rounded) == si;
        (same || digits == MOST_WRITTEN).then(|| unit.after(&rounded.to_string()))
    };
    (1..=MOST_WRITTEN).find_map(in_digits).unwrap_or_default()
}

const MOST_WRITTEN: usize = 9;

impl Commissioning {
    /// The form to be filled in, with what is expected as comments. [`Site::commissioned`] reads it
    /// back.
    ///
    /// [`Site::commissioned`]: crate::site::Site::commissioned
    pub fn form(&self) -> String {
        let mut text = String::new();
        commented(
            &mut text,
            "Commissioning, to be filled in on site. Set done = true where a step is done, and answer \
             what is asked with true. Numbers are text with a unit, or a table as in the site file: \
             { readings = [\"8.7 mm\", \"8.8 mm\"] }, { value = \"0.2 ns\", standard_uncertainty = \
             \"0.1 ns\", dof = 29 }, { value = \"8.7 mm\", half_width = \"0.1 mm\", shape = \
             \"rectangular\", evidence = \"gauge\" }. What is left empty was not noted.",
        );
        for line in CAUTIONS.lines() {
            commented(&mut text, line);
        }
        for warning in &self.warnings {
            commented(
                &mut text,
                &format!("warning ({}): {}", warning.code, warning.words),
            );
        }
        // writing to a String cannot fail
        let _ = writeln!(
            text,
            "\n[commissioning]\n# which site and which state of operation the list belongs to; leave \
             as it is\nsite = {}\nsite_digest = {}",
            quoted(&self.site),
            quoted(&self.site_digest)
        );
        let request = &self.request;
        if let Some(kelvin) = request.temperature {
            let u = request.temperature_standard_uncertainty;
            let _ = writeln!(
                text,
                "temperature = \"{}\"\ntemperature_standard_uncertainty = \"{}\"",
                written(kelvin, &unit("degC", Dimension::Temperature)),
                written(u, &unit("degC", Dimension::Temperature).of_differences())
            );
        }
        if let Some(flow) = request.flow {
            let _ = writeln!(text, "flow = \"{}\"", written(flow, &self.flow_unit));
        }
        text += "# by whom and when, in words\nby = \"\"\ndate = \"\"\nnote = \"\"\n";
        for (number, step) in self.steps.iter().enumerate() {
            text.push('\n');
            commented(
                &mut text,
                &format!("{}. {}: {}", number + 1, step.title, step.words),
            );
            let _ = writeln!(text, "[{}]\ndone = false", step.key);
            for question in &step.questions {
                commented(&mut text, question.words);
                let _ = writeln!(text, "{} = false", question.key);
            }
            for entry in &step.entries {
                Self::blank(&mut text, entry);
            }
            if step.key == "zero" {
                text += "# for how long readings were taken\nduration = \"\"\n";
            }
            text += "note = \"\"\n";
        }
        text
    }

    fn blank(text: &mut String, entry: &Entry) {
        let expected = entry.expected_in_words();
        let mut words = format!("{}, in {}", entry.words, entry.unit.symbol);
        if entry.unit.symbol == "1" {
            words = format!("{}, a number", entry.words);
        }
        if !expected.is_empty() {
            words += &format!("; expected {expected} ({})", entry.from);
        }
        commented(text, &words);
        let _ = writeln!(text, "{} = \"\"", entry.key);
    }
}
