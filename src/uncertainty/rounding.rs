//! Numbers rounded for people.

/// Significant digits to which an uncertainty is shown.
const DIGITS: i32 = 2;

/// The power of ten of the last of `digits` significant digits of `value`.
fn last_place(value: f64, digits: i32) -> i32 {
    // the formatted exponent has been rounded as the digits will be
    let scientific = format!("{:.*e}", (digits - 1).max(0) as usize, value.abs());
    let exponent = scientific
        .split('e')
        .nth(1)
        .and_then(|e| e.parse::<i32>().ok());
    exponent.unwrap_or(0) - (digits - 1)
}

/// `value` rounded to the decimal place `place` (a power of ten), without exponent where the
/// result stays short.
fn at_place(value: f64, place: i32) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let magnitude = last_place(value, 1);
    if magnitude < place {
        // less than one unit of the place: nothing, or one
        let unit: f64 = format!("1e{place}").parse().unwrap_or(f64::INFINITY);
        return if value.abs() < 0.5 * unit {
            "0".to_owned()
        } else {
            at_place(unit.copysign(value), place)
        };
    }
    if place > 0 && magnitude <= 6 {
        let rounded: f64 = format!("{:.*e}", (magnitude - place).max(0) as usize, value)
            .parse()
            .unwrap_or(value);
        return format!("{rounded:.0}");
    }
    if !(-5..=6).contains(&magnitude) {
        return format!("{:.*e}", (magnitude - place).max(0) as usize, value);
    }
    format!("{value:.*}", (-place).max(0) as usize)
}

/// A number with the given count of significant digits.
pub fn rounded(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return plain(value);
    }
    at_place(value, last_place(value, digits))
}

/// An estimate and its uncertainty: two significant digits for the uncertainty, the estimate to
/// the same decimal place (JCGM 100:2008, 7.2.6).
pub fn rounded_pair(estimate: f64, uncertainty: f64) -> (String, String) {
    if uncertainty == 0.0 || !uncertainty.is_finite() {
        return (plain(estimate), plain(uncertainty));
    }
    let place = last_place(uncertainty, DIGITS);
    (at_place(estimate, place), at_place(uncertainty, place))
}

/// As [`rounded_pair`] for an expanded uncertainty, which is rounded up where the nearest number with
/// two digits would be smaller, so that rounding takes nothing from the coverage probability.
///
/// # Source
/// JCGM 100:2008, 7.2.6: it may be appropriate to round uncertainties up.
///
/// # Example
/// ```
/// use flowdoubt::uncertainty::rounded_pair_up;
/// assert_eq!(rounded_pair_up(1044.43, 28.13), ("1044".to_owned(), "29".to_owned()));
/// assert_eq!(rounded_pair_up(1044.43, 28.0), ("1044".to_owned(), "28".to_owned()));
/// assert_eq!(rounded_pair_up(7.0, 0.0991), ("7.00".to_owned(), "0.10".to_owned()));
/// ```
pub fn rounded_pair_up(estimate: f64, expanded_uncertainty: f64) -> (String, String) {
    let pair = rounded_pair(estimate, expanded_uncertainty);
    let shown: f64 = pair.1.parse().unwrap_or(f64::NAN);
    // what is less by noise of the arithmetic is no less
    if shown >= expanded_uncertainty * (1.0 - 1e-9) || !expanded_uncertainty.is_finite() {
        return pair;
    }
    let place = last_place(expanded_uncertainty, DIGITS);
    let unit: f64 = format!("1e{place}").parse().unwrap_or(0.0);
    rounded_pair(estimate, shown + unit)
}

/// A number with at most six significant digits and no trailing zeros, for exact quantities.
pub fn plain(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !value.is_finite() {
        return if value.is_nan() {
            "NaN"
        } else if value > 0.0 {
            "inf"
        } else {
            "-inf"
        }
        .to_owned();
    }
    let text = at_place(value, last_place(value, 6));
    let (mantissa, exponent) = match text.split_once('e') {
        Some((m, e)) => (m, format!("e{e}")),
        None => (text.as_str(), String::new()),
    };
    let mantissa = if mantissa.contains('.') {
        mantissa.trim_end_matches('0').trim_end_matches('.')
    } else {
        mantissa
    };
    format!("{mantissa}{exponent}")
}

/// Degrees of freedom to one decimal, rounded down; `infinite` from 1e5 on.
pub fn dof_in_words(dof: f64) -> String {
    if dof < 1e5 {
        plain((dof * 10.0).floor() / 10.0)
    } else {
        "infinite".to_owned()
    }
}
