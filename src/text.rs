//! Text from outside, made fit to be shown.

use std::borrow::Cow;

/// Text with every character that is not seen but does something written as an escape of TOML, such
/// as `\n`, `\u001b` or `\u202e`: control characters (C0, DEL, C1), ends of lines and paragraphs,
/// marks and overrides of direction, and characters without width.
///
/// A name from a file can so neither begin a line of its own nor move the cursor of a terminal,
/// colour what follows, or turn it round. Text of lines is escaped line by line. What is escaped
/// stays as it is when it is escaped again.
///
/// # Source
/// Categories Cc, Zl and Zp of the Unicode Standard, and its property Default_Ignorable_Code_Point but
/// for variation selectors, which choose between two forms of what is seen.
///
/// # Example
/// ```
/// let name = "plant\nreproduced: all agree\u{1b}[8m";
/// assert_eq!(flowdoubt::text::shown(name), r"plant\nreproduced: all agree\u001b[8m");
/// assert_eq!(flowdoubt::text::shown("Wärmezähler 3, süd"), "Wärmezähler 3, süd");
/// ```
pub fn shown(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_unseen) {
        return Cow::Borrowed(text);
    }
    let mut escaped = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match c {
            '\n' => escaped.push_str("\\n"),
            '\r' => escaped.push_str("\\r"),
            '\t' => escaped.push_str("\\t"),
            c if !is_unseen(c) => escaped.push(c),
            c if (c as u32) < 0x1_0000 => escaped += &format!("\\u{:04x}", c as u32),
            c => escaped += &format!("\\U{:08x}", c as u32),
        }
    }
    Cow::Owned(escaped)
}

/// As [`shown`], of text that has lines: their ends stay.
pub fn shown_lines(text: &str) -> Cow<'_, str> {
    if !text.chars().any(|c| c != '\n' && is_unseen(c)) {
        return Cow::Borrowed(text);
    }
    let lines: Vec<_> = text.split('\n').map(shown).collect();
    Cow::Owned(lines.join("\n"))
}

/// Whether a character is not seen but does something, or hides.
fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{ad}'
                | '\u{34f}'
                | '\u{61c}'
                | '\u{115f}'..='\u{1160}'
                | '\u{17b4}'..='\u{17b5}'
                | '\u{180e}'
                | '\u{200b}'..='\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}'
                | '\u{3164}'
                | '\u{feff}'
                | '\u{ffa0}'
                | '\u{fff0}'..='\u{fffb}'
                | '\u{1bca0}'..='\u{1bca3}'
                | '\u{1d173}'..='\u{1d17a}'
                | '\u{e0000}'..='\u{e00ff}'
                | '\u{e01f0}'..='\u{e0fff}'
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_seen_is_escaped_and_all_else_stays() {
        let cases = [
            ("", ""),
            (
                "Gasse 4, Nord\u{2013}Süd, 50 % \\n",
                "Gasse 4, Nord\u{2013}Süd, 50 % \\n",
            ),
            ("a\nb\r\tc\0", r"a\nb\r\tc\u0000"),
            ("\u{1b}[2J\u{7f}\u{9b}31m", r"\u001b[2J\u007f\u009b31m"),
            (
                "\u{202e}evol\u{2066}\u{200b}\u{2028}\u{feff}",
                r"\u202eevol\u2066\u200b\u2028\ufeff",
            ),
            ("\u{e0041}", r"\U000e0041"),
            ("\u{2764}\u{fe0f}", "\u{2764}\u{fe0f}"),
        ];
        for (text, expected) in cases {
            assert_eq!(shown(text), expected);
            assert_eq!(shown(&shown(text)), expected, "escaped once and for all");
        }
        assert_eq!(shown_lines("a\nb\u{1b}c\n"), "a\nb\\u001bc\n");
    }
}
