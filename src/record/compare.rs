//! The comparison of a record with what its inputs come to, number by number.

use super::Record;
use super::content::{Content, Software};
use crate::error::shortened;
use crate::evaluate::CAUTIONS;
use crate::message::{Message, Told, message};
use crate::text::shown;
use crate::uncertainty::rounded;
use serde_json::{Value, json};
use std::fmt::Write as _;

/// Something that differs, by its name in the record.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Difference {
    /// Its name, such as `results.budget[pipe.wall].sensitivity`.
    pub name: String,
    /// What the record says.
    pub recorded: String,
    /// What was found now.
    pub recomputed: String,
    /// Of two numbers, their difference over the larger of their magnitudes: 0 to 2.
    pub relative: Option<f64>,
}

impl Difference {
    fn of(name: String, recorded: &Value, recomputed: &Value) -> Difference {
        let relative = match (recorded.as_f64(), recomputed.as_f64()) {
            (Some(a), Some(b)) => {
                let larger = a.abs().max(b.abs());
                // halves, so that no difference of two numbers is beyond all of them
                Some((0.5 * a - 0.5 * b).abs() / larger * 2.0)
            }
            _ => None,
        };
        Difference {
            name,
            recorded: shown(&recorded.to_string()).into_owned(),
            recomputed: shown(&recomputed.to_string()).into_owned(),
            relative,
        }
    }

    fn in_words(&self) -> String {
        let (old, new) = (shortened(&self.recorded), shortened(&self.recomputed));
        format!("{}: recorded {old}, recomputed {new}", self.name)
    }
}

/// What recomputing a record found.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Reproduction {
    /// The software that wrote the record.
    pub recorded_by: Software,
    /// The software that recomputed it.
    pub recomputed_by: Software,
    /// The digest of the record.
    pub digest: String,
    /// The numbers and words that agree, by name, in the order of the record.
    pub agreed: Vec<String>,
    /// Those that differ, in the order of the record.
    pub differences: Vec<Difference>,
    /// Whether the record has the cautions of the software that recomputed it. They are no result, and
    /// other versions have others.
    pub same_cautions: bool,
}

/// Relative differences up to which numbers differ in their last digits: those of long sums in another
/// order, some thousand times the spacing of numbers.
const LAST_DIGITS: f64 = 1e-12;

/// Relative differences up to which none of the digits that are shown to people changes.
const UNSHOWN: f64 = 1e-6;

impl Reproduction {
    /// What no comparison can find out.
    pub const CANNOT_SAY: &'static str = "This says that the results follow from the inputs in the \
        record. It cannot say that the inputs are true: that these are the readings of this meter, that \
        the pipe is as stated, and that the record is the one that was first written. Its digest, kept \
        elsewhere, tells the last.";

    /// Compares a record with its content computed anew.
    pub(super) fn of(record: &Record, recomputed: &Content) -> Reproduction {
        let found = Comparison::of(&compared(&record.content), &compared(recomputed));
        Reproduction {
            recorded_by: record.software.clone(),
            recomputed_by: Software::this(),
            digest: record.digest(),
            agreed: found.agreed,
            differences: found.differences,
            same_cautions: record.cautions == CAUTIONS,
        }
    }

    /// Whether every number and every word is the same to the last bit.
    pub fn agrees(&self) -> bool {
        self.differences.is_empty()
    }

    /// The numbers that are farthest apart, relative to the larger of the two.
    pub fn largest(&self) -> Option<&Difference> {
        let relative = |d: &Difference| d.relative.unwrap_or(0.0);
        let numbers = self.differences.iter().filter(|d| d.relative.is_some());
        // the first of those that are as far apart
        numbers
            .rev()
            .max_by(|a, b| relative(a).total_cmp(&relative(b)))
    }

    /// What agrees, the first thing that differs, how far numbers differ and where, what that means,
    /// and what it cannot say.
    pub fn in_words(&self) -> String {
        let mut text = format!("record with SHA-256 {}\n", self.digest);
        // writing to a String cannot fail
        let (old, new) = (self.recorded_by.in_words(), self.recomputed_by.in_words());
        let _ = writeln!(text, "recorded by {old}, recomputed by {new}");
        if !self.same_cautions {
            text += "  its cautions are in other words than those of this version\n";
        }
        for (part, count) in self.agreed_by_part() {
            let _ = writeln!(text, "  {part}: {count} agree to the last bit");
        }
        let Some(first) = self.differences.first() else {
            let _ = writeln!(text, "reproduced: all {} agree", self.agreed.len());
            return text + &self.meaning();
        };
        let _ = writeln!(
            text,
            "NOT reproduced: {} of {} differ, first {}",
            self.differences.len(),
            self.differences.len() + self.agreed.len(),
            first.in_words(),
        );
        if let (Some(largest), Some(relative)) = (self.largest(), self.largest_relative()) {
            let _ = writeln!(
                text,
                "largest difference of numbers: {} of the larger, {}",
                share(relative),
                largest.in_words()
            );
        }
        text + &self.meaning()
    }

    fn largest_relative(&self) -> Option<f64> {
        self.largest().and_then(|difference| difference.relative)
    }

    /// What the differences may come from, by their size; without any, what that cannot say.
    pub fn meaning(&self) -> String {
        self.meaning_told().words()
    }

    /// As [`Reproduction::meaning`], to be said in any language.
    pub fn meaning_told(&self) -> Message {
        if self.agrees() {
            return message!("meaning.agrees", Reproduction::CANNOT_SAY);
        }
        let words = self.differences.iter().filter(|d| d.relative.is_none());
        let (words, largest) = (words.count(), self.largest_relative().unwrap_or(0.0));
        if words > 0 && largest <= UNSHOWN {
            return message!(
                "meaning.words",
                "{count} of what differs are words or missing: the record says something else than \
                 what its inputs come to",
                count = words.to_string()
            );
        }
        let other_version = self.recorded_by != self.recomputed_by;
        match (largest, other_version) {
            (..=LAST_DIGITS, true) => message!(
                "meaning.last_digits",
                "numbers differ in their last digits, as between versions of the software"
            ),
            (..=LAST_DIGITS, false) => message!(
                "meaning.last_digits_of_same",
                "numbers differ in their last digits, though the same version computed both: it \
                 promises the same bits"
            ),
            (..=UNSHOWN, _) => message!(
                "meaning.not_shown",
                "numbers differ by more than their last digits, and by less than is shown of a result"
            ),
            (_, true) => message!(
                "meaning.far",
                "numbers differ by far more than their last digits: version {version} tells whether \
                 they were changed since they were computed",
                version = Told::Theirs(self.recorded_by.version.to_string())
            ),
            (_, false) => message!(
                "meaning.far_of_same",
                "numbers differ by far more than their last digits, though the same version computed \
                 both: they were changed since they were computed, or others were put in"
            ),
        }
    }

    /// The parts of the record in which something agrees, each with how much.
    fn agreed_by_part(&self) -> Vec<(&str, usize)> {
        let mut parts: Vec<(&str, usize)> = Vec::new();
        for name in &self.agreed {
            let below = name.strip_prefix("results.").unwrap_or(name);
            let part = below
                .split_once(['.', '['])
                .map_or("result", |(part, _)| part);
            match parts.iter_mut().find(|(other, _)| *other == part) {
                Some((_, count)) => *count += 1,
                None => parts.push((part, 1)),
            }
        }
        parts
    }
}

/// What is the same and what is not, by name, in the order of what was recorded.
#[derive(Default)]
pub(super) struct Comparison {
    agreed: Vec<String>,
    pub(super) differences: Vec<Difference>,
}

impl Comparison {
    pub(super) fn of(recorded: &Value, recomputed: &Value) -> Comparison {
        let mut found = Comparison::default();
        found.compare(String::new(), recorded, recomputed);
        found
    }

    fn compare(&mut self, name: String, recorded: &Value, recomputed: &Value) {
        let below = |key: &str| match name.as_str() {
            "" => key.to_owned(),
            name => format!("{name}.{key}"),
        };
        match (recorded, recomputed) {
            (Value::Object(old), Value::Object(new)) => {
                for (key, value) in old {
                    let other = new.get(key).unwrap_or(&Value::Null);
                    self.compare(below(key), value, other);
                }
            }
            (Value::Array(old), Value::Array(new)) => {
                if old.len() != new.len() {
                    let (old, new) = (json!(old.len()), json!(new.len()));
                    let name = format!("number of {name}");
                    self.differences.push(Difference::of(name, &old, &new));
                }
                for (i, (value, other)) in old.iter().zip(new).enumerate() {
                    let own = value.get("name").and_then(Value::as_str);
                    let place = own.map_or_else(|| i.to_string(), |own| shown(own).into_owned());
                    self.compare(format!("{name}[{place}]"), value, other);
                }
            }
            // older versions did not escape what they took over from a file
            (Value::String(old), Value::String(new)) if shown(old) == shown(new) => {
                self.agreed.push(name);
            }
            _ if recorded == recomputed => self.agreed.push(name),
            _ => {
                let difference = Difference::of(name, recorded, recomputed);
                self.differences.push(difference);
            }
        }
    }
}

/// A relative difference in words.
fn share(relative: f64) -> String {
    match relative {
        1e-3.. => format!("{} %", rounded(100.0 * relative, 2)),
        _ => format!("{relative:.1e}"),
    }
}

/// What is compared of a content: the inputs, as far as they had an effect, and the results.
fn compared(content: &Content) -> Value {
    match content {
        Content::Evaluation(record) => json!({
            "inputs": record.inputs,
            "results": record.results,
        }),
        Content::Verification(record) => json!({
            "inputs": record.inputs,
            "results": record.results,
        }),
    }
}
