//! What errors are made with.

use super::{Error, Result};
use std::path::Path;

/// The text of a file.
///
/// # Errors
/// [`Error::File`], with the file and the operating system's answer.
pub(crate) fn read_text(path: &Path) -> Result<String> {
    std::fs::read_to_string(path).map_err(|e| Error::File {
        file: path.to_owned(),
        action: "read",
        reason: e.to_string(),
    })
}

/// The last part of a path, so that a result does not depend on where the file lies.
pub(crate) fn file_name(path: &Path) -> String {
    let name = path.file_name().unwrap_or(path.as_os_str());
    name.to_string_lossy().into_owned()
}

/// The candidate nearest in spelling to `found`, if it is near enough to be a slip.
pub(crate) fn nearest<'a>(
    found: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    candidates
        .into_iter()
        .map(|c| (strsim::damerau_levenshtein(found, c), c))
        .min()
        .filter(|(distance, c)| *distance <= 1 + c.len().max(found.len()) / 3)
        .map(|(_, c)| c.to_owned())
}

/// What serde says does not fit, as a typed error. Its wording is part of serde's documented trait
/// defaults; `keys` lead to the place, `format` names what was read.
pub(crate) fn of_serde(message: &str, keys: String, format: &'static str) -> Error {
    let below = |key: &str| {
        // the path of a key that is too many may end with that key already
        let last = keys.rsplit('.').next().unwrap_or_default();
        match keys.as_str() {
            "" => key.to_owned(),
            keys if last == key => keys.to_owned(),
            keys => format!("{keys}.{key}"),
        }
    };
    let mut quoted = message.split('`').skip(1).step_by(2).map(str::to_owned);
    if message.starts_with("invalid ")
        && let Some((found, allowed)) = message.split_once(", expected ")
    {
        // "invalid type: string "two"", but "invalid length 1"
        let found = found.split_once(": ").map_or(found, |(_, found)| found);
        let found = found.trim_start_matches("invalid ");
        return Error::WrongType {
            field: keys,
            found: found.to_owned(),
            allowed: type_in_words(allowed).to_owned(),
        };
    }
    match quoted.next() {
        Some(key) if message.starts_with("unknown field") => {
            let allowed: Vec<String> = quoted.collect();
            Error::UnknownKey {
                field: below(&key),
                nearest: nearest(&key, allowed.iter().map(String::as_str)),
                allowed,
            }
        }
        Some(key) if message.starts_with("missing field") => Error::Missing {
            field: below(&key),
            needed: format!("a section or key `{key}` here"),
        },
        Some(found) if message.starts_with("unknown variant") => {
            let allowed: Vec<String> = quoted.collect();
            Error::UnknownName {
                field: keys,
                nearest: nearest(&found, allowed.iter().map(String::as_str)),
                found,
                allowed,
            }
        }
        _ => Error::Syntax {
            format,
            reason: message.to_owned(),
        },
    }
}

/// What serde expects, for people who do not program.
fn type_in_words(expected: &str) -> &str {
    match expected {
        "a string" => "text in quotation marks",
        "f64" => "a number without a unit",
        "u32" | "u64" | "usize" => "a whole number, 0 or above",
        other => other,
    }
}
