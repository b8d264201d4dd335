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

/// Powers of ten as print has them: `8.6e-8` becomes 8.6 times ten with a superscript.
fn printed(text: String) -> String {
    let Some((mantissa, exponent)) = text.split_once('e') else {
        return text;
    };
    let raised = |c: char| match c.to_digit(10) {
        Some(digit) => ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'][digit as usize],
        None => '⁻',
    };
    let power: String = exponent.chars().map(raised).collect();
    // no line ends within a number
    format!("{mantissa}{NO_BREAK}×{NO_BREAK}10{power}")
}

/// A space at which no line ends.
const NO_BREAK: char = '\u{a0}';

/// A number with the given count of significant digits.
pub fn rounded(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return plain(value);
    }
    printed(at_place(value, last_place(value, digits)))
}

/// A number without unit and without power of ten, with three significant digits and its thousands
/// apart: Reynolds numbers.
pub fn grouped(value: f64) -> String {
    let rounded: f64 = format!("{value:.2e}").parse().unwrap_or(value);
    if !(1e4..1e15).contains(&rounded.abs()) {
        return plain(rounded);
    }
    let digits = format!("{:.0}", rounded.abs());
    let mut text = if rounded < 0.0 { "-" } else { "" }.to_owned();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            text.push(NO_BREAK);
        }
        text.push(digit);
    }
    text
}

/// A count with what is counted: `1 row`, `12 rows`.
pub fn counted(count: usize, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// An estimate and its uncertainty: two significant digits for the uncertainty, the estimate to
/// the same decimal place (JCGM 100:2008, 7.2.6).
pub fn rounded_pair(estimate: f64, uncertainty: f64) -> (String, String) {
    if uncertainty == 0.0 || !uncertainty.is_finite() {
        return (plain(estimate), plain(uncertainty));
    }
    let place = last_place(uncertainty, DIGITS);
    [estimate, uncertainty]
        .map(|v| printed(at_place(v, place)))
        .into()
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
            "no number"
        } else if value > 0.0 {
            "infinite"
        } else {
            "-infinite"
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
    printed(format!("{mantissa}{exponent}"))
}

/// Degrees of freedom rounded down, to one decimal below 100; `infinite` from 1e5 on.
pub fn dof_in_words(dof: f64) -> String {
    if (100.0..1e5).contains(&dof) {
        format!("{:.0}", dof.floor())
    } else if dof < 1e5 {
        plain((dof * 10.0).floor() / 10.0)
    } else {
        "infinite".to_owned()
    }
}
