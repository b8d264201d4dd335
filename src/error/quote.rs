//! What an error says of a text that somebody else wrote.

use crate::bounds::{LONGEST_LIST, LONGEST_QUOTE};
use crate::text::shown;
use std::borrow::Cow;
use std::fmt::Write as _;

/// A text as an error quotes it: as it is [`shown`], so on one line, and what goes beyond the bound as
/// the number of characters left out.
pub(crate) fn shortened(text: &str) -> Cow<'_, str> {
    if text.len() <= LONGEST_QUOTE && matches!(shown(text), Cow::Borrowed(_)) {
        return Cow::Borrowed(text);
    }
    let mut quoted = String::new();
    let mut rest = text.chars();
    while quoted.len() < LONGEST_QUOTE
        && let Some(character) = rest.next()
    {
        quoted += &shown(character.encode_utf8(&mut [0; 4]));
    }
    let left = rest.count();
    if left > 0 {
        // writing to a String cannot fail
        let _ = write!(quoted, "... ({left} more characters)");
    }
    Cow::Owned(quoted)
}

/// Names as an error offers them, each as it is [`shortened`], as far as there is room for them.
pub(crate) fn listed(names: &[String]) -> String {
    let mut list = String::new();
    for (place, name) in names.iter().enumerate() {
        if list.len() > LONGEST_LIST {
            let _ = write!(list, ", and {} more", names.len() - place);
            break;
        }
        if place > 0 {
            list += ", ";
        }
        list += &shortened(name);
    }
    list
}
