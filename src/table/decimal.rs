//! Numbers as people and spreadsheets write them: decimals after a point or a comma, digits grouped.
//!
//! `1,234` may be a little more than one or more than a thousand. So the sign is told from all cells of
//! the table, and where all of them leave it open it is asked for.

use super::options::DecimalSign;
use std::borrow::Cow;

/// What one cell says of the sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    /// Nothing: no number, or one without point and comma.
    Nothing,
    /// The sign.
    Sign(DecimalSign),
    /// A point or a comma before three digits, which may be decimals or a thousand.
    Open(DecimalSign),
}

/// The parts of a number: sign and digits before the decimals, the decimals, the exponent.
struct Parts<'a> {
    whole: &'a str,
    /// The sign of the decimals that would be, and what follows it.
    rest: Option<(DecimalSign, &'a str)>,
    exponent: &'a str,
}

fn sign_of(c: char) -> Option<DecimalSign> {
    match c {
        '.' => Some(DecimalSign::Point),
        ',' => Some(DecimalSign::Comma),
        _ => None,
    }
}

fn is_group_mark(c: char) -> bool {
    matches!(
        c,
        '.' | ',' | ' ' | '\u{a0}' | '\u{202f}' | '\'' | '\u{2019}'
    )
}

fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// Takes a number apart at its last point or comma; `None` for what is no number.
fn parts(cell: &str) -> Option<Parts<'_>> {
    let (mantissa, exponent) = match cell.find(['e', 'E']) {
        Some(at) => {
            let written = &cell[at + 1..];
            if !digits(written.strip_prefix(['+', '-']).unwrap_or(written)) {
                return None;
            }
            cell.split_at(at)
        }
        None => (cell, ""),
    };
    let last = mantissa
        .char_indices()
        .rev()
        .find_map(|(at, c)| Some((at, sign_of(c)?)));
    let (whole, rest) = match last {
        Some((at, sign)) => (&mantissa[..at], Some((sign, &mantissa[at + 1..]))),
        None => (mantissa, None),
    };
    Some(Parts {
        whole,
        rest,
        exponent,
    })
}

/// Whether text is a sign and digits in groups of three behind one kind of mark, which is not `not`.
fn is_grouped(text: &str, not: Option<DecimalSign>) -> bool {
    let text = text.strip_prefix(['+', '-']).unwrap_or(text);
    let mut marks = text.chars().filter(|c| !c.is_ascii_digit());
    let Some(mark) = marks.next() else {
        return false;
    };
    if !is_group_mark(mark) || marks.any(|other| other != mark) {
        return false;
    }
    if sign_of(mark).is_some_and(|sign| Some(sign) == not) {
        return false;
    }
    let mut groups = text.split(mark);
    let first = groups.next().unwrap_or("");
    digits(first) && first.len() <= 3 && first != "0" && groups.all(|g| digits(g) && g.len() == 3)
}

/// A sign, digits, or nothing before decimals.
fn is_plain(text: &str) -> bool {
    let text = text.strip_prefix(['+', '-']).unwrap_or(text);
    text.bytes().all(|byte| byte.is_ascii_digit())
}

/// What a cell tells of the sign of decimals.
pub(super) fn told(cell: &str) -> Told {
    // most cells of most tables are whole numbers or none
    if !cell.bytes().any(|byte| matches!(byte, b'.' | b',')) {
        return Told::Nothing;
    }
    let Some(Parts {
        whole,
        rest: Some((sign, rest)),
        exponent,
    }) = parts(cell)
    else {
        return Told::Nothing;
    };
    let other = match sign {
        DecimalSign::Point => DecimalSign::Comma,
        DecimalSign::Comma => DecimalSign::Point,
    };
    if !(digits(rest) || rest.is_empty()) {
        return Told::Nothing;
    }
    // 1.234.567: the points part groups
    if exponent.is_empty() && rest.len() == 3 && whole.contains(sign_char(sign)) {
        let whole_number = &cell[..whole.len() + 4];
        return match is_grouped(whole_number, None) {
            true => Told::Sign(other),
            false => Told::Nothing,
        };
    }
    if is_grouped(whole, Some(sign)) {
        return Told::Sign(sign);
    }
    if !is_plain(whole) {
        return Told::Nothing;
    }
    let before = whole.strip_prefix(['+', '-']).unwrap_or(whole);
    if before.is_empty() && rest.is_empty() {
        return Told::Nothing;
    }
    let may_be_thousands = exponent.is_empty()
        && rest.len() == 3
        && (1..=3).contains(&before.len())
        && !before.starts_with('0');
    match may_be_thousands {
        true => Told::Open(sign),
        false => Told::Sign(sign),
    }
}

fn sign_char(sign: DecimalSign) -> char {
    match sign {
        DecimalSign::Point => '.',
        DecimalSign::Comma => ',',
    }
}

/// The number as a program writes it; `None` for what is no number with that sign. What a program
/// would read already stays as it is.
pub(super) fn plain(cell: &str, sign: DecimalSign) -> Option<Cow<'_, str>> {
    let reads = |text: &str| text.parse::<f64>().is_ok();
    let foreign = sign == DecimalSign::Comma && cell.contains(['.', ',']);
    if !foreign && reads(cell) {
        return Some(Cow::Borrowed(cell));
    }
    let parts = parts(cell)?;
    let (whole, decimals) = match parts.rest {
        Some((found, decimals)) if found == sign => (parts.whole, Some(decimals)),
        // a point or comma that parts groups, with nothing behind them
        Some(_) => (&cell[..cell.len() - parts.exponent.len()], None),
        None => (parts.whole, None),
    };
    let whole: Cow<'_, str> = if is_plain(whole) {
        Cow::Borrowed(whole)
    } else if is_grouped(whole, Some(sign)) {
        Cow::Owned(whole.replace(is_group_mark, ""))
    } else {
        return None;
    };
    let decimals = decimals.map_or_else(String::new, |decimals| format!(".{decimals}"));
    let written = format!("{whole}{decimals}{}", parts.exponent);
    reads(&written).then_some(Cow::Owned(written))
}

/// Whether a cell has its digits in groups.
pub(super) fn is_written_in_groups(cell: &str, sign: DecimalSign) -> bool {
    // most cells have no mark, and need not be read for this
    let mark = |c: char| is_group_mark(c) && sign_of(c) != Some(sign);
    if !cell.contains(mark) {
        return false;
    }
    let plain_length = plain(cell, sign).map(|plain| plain.chars().count());
    plain_length.is_some_and(|length| length < cell.chars().count())
}

#[cfg(test)]
mod tests {
    use super::*;
    use DecimalSign::{Comma, Point};

    #[test]
    fn what_cells_tell() {
        for (cell, expected) in [
            ("12", Told::Nothing),
            ("abc", Told::Nothing),
            ("", Told::Nothing),
            (".", Told::Nothing),
            ("1.2.3", Told::Nothing),
            ("8.12", Told::Sign(Point)),
            ("8,12", Told::Sign(Comma)),
            ("1.234", Told::Open(Point)),
            ("-1,234", Told::Open(Comma)),
            ("0,234", Told::Sign(Comma)),
            ("1234,567", Told::Sign(Comma)),
            ("1,234e3", Told::Sign(Comma)),
            ("1.234.567", Told::Sign(Comma)),
            ("1,234,567", Told::Sign(Point)),
            ("1.234,5", Told::Sign(Comma)),
            ("1,234.5", Told::Sign(Point)),
            ("1 234,567", Told::Sign(Comma)),
            ("1,23,456", Told::Nothing),
            ("17.09.2026", Told::Nothing),
        ] {
            assert_eq!(told(cell), expected, "{cell}");
        }
    }

    #[test]
    fn numbers_as_programs_write_them() {
        for (cell, sign, expected) in [
            ("8,12", Comma, Some("8.12")),
            ("8.12", Point, Some("8.12")),
            ("8.12", Comma, None),
            ("8,12", Point, None),
            ("1.234", Comma, Some("1234")),
            ("1,234", Point, Some("1234")),
            ("1.234.567,5", Comma, Some("1234567.5")),
            ("-1'234.5", Point, Some("-1234.5")),
            ("1\u{a0}234,5", Comma, Some("1234.5")),
            ("1 2", Point, None),
            ("1,5e-3", Comma, Some("1.5e-3")),
            ("12", Comma, Some("12")),
            (",5", Comma, Some(".5")),
            ("0.234", Comma, None),
            ("1.2.3", Point, None),
        ] {
            assert_eq!(plain(cell, sign).as_deref(), expected, "{cell} {sign:?}");
        }
    }
}
