//! What counts as equal when a standard uncertainty is stated to so many significant digits.

use crate::error::{Error, Result};

/// The numerical tolerance `delta = 10^l / 2` of a standard uncertainty written as `c 10^l`, with
/// `c` an integer of `digits` significant digits.
///
/// # Errors
/// An uncertainty not above zero, or digits outside 1 to 4.
///
/// # Source
/// JCGM 101:2008, 7.9.2.
pub fn numerical_tolerance(standard_uncertainty: f64, digits: u32) -> Result<f64> {
    let usable = standard_uncertainty > 0.0 && standard_uncertainty.is_finite();
    let field = "standard_uncertainty";
    Error::range(usable, field, standard_uncertainty, "", "above 0")?;
    Error::range(
        (1..=4).contains(&digits),
        "digits",
        f64::from(digits),
        "",
        "1 to 4",
    )?;
    let rounded = format!("{standard_uncertainty:.*e}", digits as usize - 1);
    let exponent: i32 = rounded
        .split('e')
        .nth(1)
        .and_then(|e| e.parse().ok())
        .unwrap_or(0);
    // the parser gives the nearest double to a power of ten, which multiplication may not
    let place = format!("1e{}", exponent + 1 - digits as i32);
    Ok(0.5 * place.parse::<f64>().unwrap_or(f64::NAN))
}
