//! Text taken apart into a number and the symbol of a unit.

use super::{Dimension, Unit, find};
use crate::bounds::LONGEST_QUANTITY;
use crate::error::{Error, Result};

/// What to say of a decimal comma, where there is one.
pub(crate) fn decimal_point(text: &str) -> &'static str {
    let bytes = text.as_bytes();
    let digit = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_digit);
    let comma =
        |i: usize| bytes[i] == b',' && i > 0 && digit(bytes.get(i - 1)) && digit(bytes.get(i + 1));
    if (0..bytes.len()).any(comma) {
        ", decimals with a point and not a comma"
    } else {
        ""
    }
}

/// Splits text into its number and its unit.
pub(super) fn split(text: &str, dimension: Dimension, field: &str) -> Result<(f64, Unit)> {
    let trimmed = text.trim();
    if trimmed.len() > LONGEST_QUANTITY {
        return Err(Error::TooLong {
            field: field.to_owned(),
            found: trimmed.to_owned(),
            length: trimmed.len(),
            most: LONGEST_QUANTITY,
        });
    }
    let not_a_quantity = || Error::NotAQuantity {
        field: field.to_owned(),
        found: text.to_owned(),
        allowed: format!(
            "a number and a unit of {} ({}){}",
            dimension.name(),
            dimension.symbols(),
            decimal_point(text),
        ),
    };
    // The longest beginning that is a number: so `1e3 m` is read whole and `2 in` is not cut at
    // the letter i of another number's syntax.
    let (number, rest) = (1..=trimmed.len())
        .rev()
        .filter(|end| trimmed.is_char_boundary(*end))
        .find_map(|end| number(&trimmed[..end]).map(|n| (n, &trimmed[end..])))
        .ok_or_else(not_a_quantity)?;
    // a digit may begin a unit, as in 1/K
    let digit = rest.starts_with(|c: char| c.is_ascii_digit()) && !rest.starts_with("1/");
    if digit || rest.starts_with([',', '/']) {
        return Err(not_a_quantity());
    }
    let symbol = rest.trim();
    if symbol.is_empty() && dimension != Dimension::Ratio {
        return Err(not_a_quantity());
    }
    let unit = find(symbol, text, dimension, field)?.unit();
    Ok((number, unit))
}

/// A decimal number, or a fraction of the inch trade: `1/2`, `4 1/2`, `4-1/2`.
fn number(text: &str) -> Option<f64> {
    let text = text.trim_end();
    let starts_well = |t: &str| t.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c));
    if starts_well(text)
        && let Ok(decimal) = text.parse::<f64>()
    {
        return decimal.is_finite().then_some(decimal);
    }
    let (front, denominator) = text.split_once('/')?;
    let split_at = front.rfind([' ', '-']).filter(|i| *i > 0);
    let (whole, numerator) = match split_at {
        Some(i) => (front[..i].trim(), front[i + 1..].trim()),
        None => ("0", front.trim()),
    };
    let whole: u32 = whole.parse().ok()?;
    let numerator: u32 = numerator.parse().ok()?;
    let denominator: u32 = denominator.parse().ok().filter(|d| *d > 0)?;
    Some(f64::from(whole) + f64::from(numerator) / f64::from(denominator))
}
