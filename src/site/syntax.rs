//! Reads files of TOML sections; what is wrong with them as TOML, in words of our own.

use crate::error::{Error, Result, of_serde};
use crate::line_numbers::line_of;
use crate::text::shown;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer};
use std::path::Path;
use toml::Spanned;

/// Reads the sections of a file; `file` is the name used in errors, `format` what it is.
pub(crate) fn parse_sections<T: DeserializeOwned>(
    text: &str,
    file: &Path,
    format: &'static str,
) -> Result<T> {
    toml::from_str(text).map_err(|error| {
        let span = error.span().unwrap_or(0..0);
        let line = line_of(text, span.start);
        if error.message() == "duplicate key" {
            let key = text.get(span).unwrap_or_default().trim();
            let twice = Error::Syntax {
                format,
                reason: format!("duplicate key `{key}`; allowed: each key once in a section"),
            };
            return twice.in_file(file, line);
        }
        in_own_words(error, format).in_file(file, line)
    })
}

/// Turns an error of the parser into a typed one.
fn in_own_words(error: toml::de::Error, format: &'static str) -> Error {
    let message = error.message().to_owned();
    of_serde(&message, keys_of(error), format)
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

/// Reads text of a file that is shown wherever results are: escaped from the start, so that no
/// output has to remember. The text of the file keeps what was written.
pub(crate) fn fit_to_show<'de, D: Deserializer<'de>>(
    deserializer: D,
) -> std::result::Result<String, D::Error> {
    Ok(shown(&String::deserialize(deserializer)?).into_owned())
}

/// As [`fit_to_show`], with the place in the file.
pub(crate) fn fit_to_show_at<'de, D: Deserializer<'de>>(
    deserializer: D,
) -> std::result::Result<Spanned<String>, D::Error> {
    let read = Spanned::<String>::deserialize(deserializer)?;
    Ok(Spanned::new(
        read.span(),
        shown(read.get_ref()).into_owned(),
    ))
}
