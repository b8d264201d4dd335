//! What an error says of a text that somebody else wrote.

use crate::bounds::LONGEST_QUOTE;
use std::borrow::Cow;
use std::fmt::Write as _;

/// A text as an error quotes it: on one line, control characters as escapes, and what goes beyond
/// the bound as the number of characters left out.
pub(crate) fn shortened(text: &str) -> Cow<'_, str> {
    if text.len() <= LONGEST_QUOTE && !text.contains(char::is_control) {
        return Cow::Borrowed(text);
    }
    let mut quoted = String::new();
    let mut rest = text.chars();
    while quoted.len() < LONGEST_QUOTE
        && let Some(character) = rest.next()
    {
        if character.is_control() {
            quoted.extend(character.escape_default());
        } else {
            quoted.push(character);
        }
    }
    let left = rest.count();
    if left > 0 {
        // writing to a String cannot fail
        let _ = write!(quoted, "... ({left} more characters)");
    }
    Cow::Owned(quoted)
}
