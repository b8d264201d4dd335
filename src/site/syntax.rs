//! What is wrong with a site file as TOML, in words of our own.

use crate::error::{Error, of_serde};

/// Turns an error of the parser into a typed one.
pub(super) fn in_own_words(error: toml::de::Error) -> Error {
    let message = error.message().to_owned();
    of_serde(&message, keys_of(error), "site file")
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
