//! The comparison of recorded with recomputed results, number by number.

use super::Record;
use super::content::{Content, Software};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// A result that differs, by its name in the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Its name, such as `results.budget[pipe.wall].sensitivity`.
    pub name: String,
    /// What the record says.
    pub recorded: String,
    /// What was found now.
    pub recomputed: String,
}

/// What recomputing a record found.
#[derive(Debug, Clone, PartialEq)]
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
}

impl Reproduction {
    /// Compares a record with its content computed anew.
    pub(super) fn of(record: &Record, recomputed: &Content) -> Reproduction {
        let mut found = Reproduction {
            recorded_by: record.software.clone(),
            recomputed_by: Software::this(),
            digest: record.digest(),
            agreed: Vec::new(),
            differences: Vec::new(),
        };
        found.compare(
            String::new(),
            &compared(&record.content),
            &compared(recomputed),
        );
        found
    }

    /// Whether every number and every word is the same to the last bit.
    pub fn agrees(&self) -> bool {
        self.differences.is_empty()
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
                    self.differences.push(Difference {
                        name: format!("number of {name}"),
                        recorded: old.len().to_string(),
                        recomputed: new.len().to_string(),
                    });
                }
                for (i, (value, other)) in old.iter().zip(new).enumerate() {
                    let own = value.get("name").and_then(Value::as_str);
                    let place = own.map_or_else(|| i.to_string(), str::to_owned);
                    self.compare(format!("{name}[{place}]"), value, other);
                }
            }
            _ if recorded == recomputed => self.agreed.push(name),
            _ => self.differences.push(Difference {
                name,
                recorded: recorded.to_string(),
                recomputed: recomputed.to_string(),
            }),
        }
    }

    /// What agrees, and the first figure that differs.
    pub fn in_words(&self) -> String {
        let mut text = format!("record with SHA-256 {}\n", self.digest);
        // writing to a String cannot fail
        let (old, new) = (self.recorded_by.in_words(), self.recomputed_by.in_words());
        let _ = writeln!(text, "recorded by {old}, recomputed by {new}");
        for (part, count) in self.agreed_by_part() {
            let _ = writeln!(text, "  {part}: {count} agree to the last bit");
        }
        let Some(first) = self.differences.first() else {
            let _ = write!(text, "reproduced: all {} agree", self.agreed.len());
            return text;
        };
        let _ = write!(
            text,
            "NOT reproduced: {} of {} differ, first {}: recorded {}, recomputed {}",
            self.differences.len(),
            self.differences.len() + self.agreed.len(),
            first.name,
            first.recorded,
            first.recomputed,
        );
        if old != new {
            text += "; another version of the software may differ in the last digits";
        }
        text
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

/// What is compared of a content: the model and the results.
fn compared(content: &Content) -> Value {
    match content {
        Content::Evaluation(record) => json!({
            "model": record.inputs.model,
            "results": record.results,
        }),
        Content::Verification(record) => json!({
            "model": record.inputs.model,
            "results": record.results,
        }),
    }
}
