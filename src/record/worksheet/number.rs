//! Numbers as a worksheet prints them.

/// Significant digits of a value.
pub(super) const DIGITS: usize = 10;
/// Significant digits of a number put in: two more, so that a value comes out with all its digits.
pub(super) const DIGITS_PUT_IN: usize = 12;

/// A number with `digits` significant digits at most, without trailing zeros.
pub(super) fn shown(value: f64, digits: usize) -> String {
    if !value.is_finite() || value == 0.0 {
        return crate::uncertainty::plain(value);
    }
    let scientific = format!("{value:.*e}", digits - 1);
    let Some((mantissa, exponent)) = scientific.split_once('e') else {
        return scientific;
    };
    let exponent: i32 = exponent.parse().unwrap_or(0);
    if (-3..9).contains(&exponent) {
        let places = usize::try_from(digits as i32 - 1 - exponent).unwrap_or(0);
        return trimmed(&format!("{value:.places$}"));
    }
    format!("{}e{exponent}", trimmed(mantissa))
}

fn trimmed(decimal: &str) -> String {
    if !decimal.contains('.') {
        return decimal.to_owned();
    }
    decimal
        .trim_end_matches('0')
        .trim_end_matches('.')
        .to_owned()
}
