//! How far two results lie apart, in their own uncertainties.

use crate::error::{Error, Result};

/// The difference of two results over the expanded uncertainty of the difference:
///
/// ```text
/// E_n = (x - X) / sqrt(U_x^2 + U_X^2 - 2 r U_x U_X)
/// ```
///
/// Both expanded uncertainties have the same coverage probability, usually 95 %. The results agree
/// where `|E_n| <= 1`. ISO/IEC 17043 takes the results as independent, `r = 0`; with a common input
/// `r` is the correlation coefficient of the two.
///
/// # Errors
/// Numbers that are not finite, negative uncertainties, a coefficient outside -1 to 1, a difference
/// without uncertainty.
///
/// # Source
/// ISO/IEC 17043:2010, B.3.1.3; ISO 13528:2015, 9.7 (definitions from memory).
///
/// # Example
/// ```
/// let e_n = flowdoubt::verify::e_n(100.8, 0.9, 100.0, 0.6, 0.0)?;
/// assert!((e_n - 0.7396).abs() < 5e-5);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
pub fn e_n(
    x: f64,
    expanded_x: f64,
    reference: f64,
    expanded_reference: f64,
    correlation: f64,
) -> Result<f64> {
    score(x, expanded_x, reference, expanded_reference, correlation)
}

/// The difference of two results over the standard uncertainty of the difference, as [`e_n`] with
/// standard uncertainties: satisfactory up to 2, questionable up to 3, unsatisfactory beyond.
///
/// # Errors
/// As [`e_n`].
///
/// # Source
/// ISO 13528:2015, 9.6 (definition from memory).
pub fn zeta_score(x: f64, u_x: f64, reference: f64, u_ref: f64, correlation: f64) -> Result<f64> {
    score(x, u_x, reference, u_ref, correlation)
}

fn score(x: f64, u_x: f64, reference: f64, u_ref: f64, correlation: f64) -> Result<f64> {
    let finite = "finite numbers";
    for (name, value) in [("x", x), ("reference", reference)] {
        Error::range(value.is_finite(), name, value, "", finite)?;
    }
    for (name, u) in [
        ("uncertainty of x", u_x),
        ("uncertainty of the reference", u_ref),
    ] {
        let usable = u >= 0.0 && u.is_finite();
        Error::range(usable, name, u, "", "0 or above")?;
    }
    let inside = (-1.0..=1.0).contains(&correlation);
    Error::range(inside, "correlation", correlation, "", "-1 to 1")?;
    let variance = u_x * u_x + u_ref * u_ref - 2.0 * correlation * (u_x * u_ref);
    let u = variance.max(0.0).sqrt();
    let allowed = "above 0, or nothing tells how far is far";
    Error::range(u > 0.0, "uncertainty of the difference", u, "", allowed)?;
    Ok((x - reference) / u)
}
