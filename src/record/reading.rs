//! From text to a record, with an error of its own for everything that can be wrong.
//!
//! The text is read twice: first for the version alone, which tells whether the rest can be
//! understood. Both passes keep only what a record has room for, so that memory is bounded by the
//! length of the text, whatever it holds.

use super::content::{Digest, Document, Software};
use super::{ModelRecord, Record, within};
use crate::error::{Error, Result, of_serde, shortened};
use serde::Deserialize;
use std::path::Path;
use std::sync::Arc;

/// What every version of the format has.
#[derive(Deserialize)]
struct Heading {
    format: String,
    version: u64,
}

/// Reads the text of a record.
pub(super) fn record(text: &str) -> Result<Record> {
    check_heading(text, Record::FORMAT, Record::VERSION)?;
    let mut document: Document = parsed(text)?;
    let digest = document.digest.take();
    check_digest(digest, document.digest_of_the_rest())?;
    document.software.check()?;
    Ok(Record {
        software: document.software,
        cautions: document.cautions,
        content: document.content,
        given: Some(Arc::from(text)),
    })
}

/// Reads the text of a record of a model of one's own.
pub(super) fn model_record(text: &str) -> Result<ModelRecord> {
    check_heading(text, ModelRecord::FORMAT, ModelRecord::VERSION)?;
    let mut record: ModelRecord = parsed(text)?;
    let digest = record.take_digest();
    check_digest(digest, record.digest())?;
    record.software().check()?;
    Ok(record)
}

/// Refuses text that is too long, of something else, or of a version that cannot be read.
fn check_heading(text: &str, format: &str, newest: u32) -> Result<()> {
    within(text.len() as u64, Path::new("record"))?;
    let heading: Heading = parsed(text)?;
    if heading.format != format {
        return Err(Error::unknown_name("format", &heading.format, &[format]));
    }
    check_version(heading.version, newest)
}

/// Refuses a record without a digest, or with that of something else.
fn check_digest(stated: Option<Digest>, computed: String) -> Result<()> {
    let Some(stated) = stated else {
        return Err(Error::Missing {
            field: "digest".to_owned(),
            needed: "the digest of the rest of the record".to_owned(),
        });
    };
    if stated.value == computed {
        return Ok(());
    }
    Err(Error::Edited {
        stated: stated.value,
        computed,
    })
}

impl Software {
    /// Refuses a name or version that could be read as words of whoever shows it.
    fn check(&self) -> Result<()> {
        for (key, found) in [("name", &self.name), ("version", &self.version)] {
            let plain = |c: char| c.is_ascii_alphanumeric() || "._+-".contains(c);
            if !(1..=64).contains(&found.len()) || !found.chars().all(plain) {
                return Err(Error::WrongType {
                    field: format!("software.{key}"),
                    found: shortened(found).into_owned(),
                    allowed: "1 to 64 letters, digits, points, hyphens, underscores or plus signs"
                        .to_owned(),
                });
            }
        }
        Ok(())
    }
}

/// Refuses a version that cannot be read.
fn check_version(found: u64, newest: u32) -> Result<()> {
    let newest = u64::from(newest);
    let reason = match found {
        0 => "there has never been one",
        _ if found > newest => "it was written by a newer version of this software, which reads it",
        _ => return Ok(()),
    };
    Err(Error::RecordVersion {
        found,
        reason,
        allowed: format!("1 to {newest}"),
    })
}

/// The text as a `T`.
fn parsed<'de, T: Deserialize<'de>>(text: &'de str) -> Result<T> {
    let mut parser = serde_json::Deserializer::from_str(text);
    let value = serde_path_to_error::deserialize(&mut parser).map_err(|error| {
        let path = error.path().to_string();
        let path = if path == "." { String::new() } else { path };
        in_own_words(error.inner(), path)
    })?;
    parser
        .end()
        .map_err(|error| in_own_words(&error, String::new()))?;
    Ok(value)
}

fn in_own_words(error: &serde_json::Error, path: String) -> Error {
    use serde_json::error::Category;
    let message = error.to_string();
    match error.classify() {
        Category::Eof => Error::Syntax {
            format: "record",
            reason: format!("it was cut short: {message}"),
        },
        Category::Data => {
            let message = message.split(" at line ").next().unwrap_or_default();
            of_serde(message, path, "record")
        }
        Category::Syntax | Category::Io => Error::Syntax {
            format: "record",
            reason: message,
        },
    }
}
