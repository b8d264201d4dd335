//! What is wrong with a site file as TOML, in words of our own.

use crate::error::{Error, nearest};

/// Turns an error of the parser into a typed one. Its wording for what does not fit is part of
/// serde's documented trait defaults.
pub(super) fn in_own_words(error: toml::de::Error) -> Error {
    let message = error.message().to_owned();
    let keys = keys_of(error);
    let below = |key: &str| match keys.as_str() {
        "" => key.to_owned(),
        keys => format!("{keys}.{key}"),
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
            format: "site file",
            reason: message,
        },
    }
}

/// The keys that lead to the place of an error, such as `pipe.wall`; empty at the top.
fn keys_of(mut error: toml::de::Error) -> String {
    // without the text of the file the parser names the keys instead of quoting the line
    error.set_input(None);
    let shown = error.to_string();
    let last = shown.lines().next_back().unwrap_or_default();
    let keys = last.strip_prefix("in `").and_then(|l| l.strip_suffix('`'));
    keys.unwrap_or_default().to_owned()
}

/// What serde expects, for people who do not program.
fn type_in_words(expected: &str) -> &str {
    match expected {
        "a string" => "text in quotation marks",
        "f64" => "a number without a unit",
        "u32" => "a whole number, 0 or above",
        other => other,
    }
}
