//! Numbers rounded for people, and the budget as a text table.

use super::Budget;
use std::fmt;

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
    if place > 0 && magnitude < 6 {
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
    let estimate = if estimate != 0.0 && last_place(estimate, 1) < place {
        "0".to_owned()
    } else {
        at_place(estimate, place)
    };
    (estimate, at_place(uncertainty, place))
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

/// Degrees of freedom: whole numbers, or infinity.
fn dof_text(dof: f64) -> String {
    if dof.is_finite() && dof < 1e5 {
        plain((dof * 10.0).floor() / 10.0)
    } else {
        "inf".to_owned()
    }
}

impl fmt::Display for Budget {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = &self.output.unit;
        let heading = [
            "input",
            "estimate",
            "std unc.",
            "unit",
            "distribution",
            "dof",
            "sensitivity",
            "contribution",
            "share",
        ];
        let mut rows: Vec<(String, Vec<String>)> = Vec::new();
        for line in &self.lines {
            let input = &line.input;
            let own = input.unit();
            let u = own.difference_from_si(input.standard_uncertainty());
            let (estimate, u) = rounded_pair(own.from_si(input.estimate()), u);
            let sensitivity = line.sensitivity * own.factor / unit.factor;
            let contribution = unit.difference_from_si(line.contribution.abs());
            rows.push((
                input.component().to_owned(),
                vec![
                    input.name().to_owned(),
                    estimate,
                    u,
                    own.symbol.to_string(),
                    input.distribution().name().to_owned(),
                    dof_text(input.dof()),
                    rounded(sensitivity, 3),
                    rounded(contribution, 2),
                    format!("{:.1} %", 100.0 * line.share),
                ],
            ));
        }
        let cells = rows.iter().map(|(_, row)| row);
        let widths: Vec<usize> = (0..heading.len())
            .map(|c| {
                let own = heading[c].chars().count();
                cells
                    .clone()
                    .map(|r| r[c].chars().count())
                    .max()
                    .unwrap_or(0)
                    .max(own)
            })
            .collect();
        let left_aligned = |c: usize| matches!(c, 0 | 3 | 4);
        let write_row = |f: &mut fmt::Formatter<'_>, row: &[String]| {
            for (c, (cell, width)) in row.iter().zip(&widths).enumerate() {
                if left_aligned(c) {
                    write!(f, "{cell:<width$}  ")?;
                } else {
                    write!(f, "{cell:>width$}  ")?;
                }
            }
            writeln!(f)
        };
        write_row(f, &heading.map(str::to_owned))?;
        let total: usize = widths.iter().map(|w| w + 2).sum();
        writeln!(f, "{}", "-".repeat(total))?;
        for subtotal in self.components() {
            if !subtotal.component.is_empty() {
                let share = format!("{:.1} %", 100.0 * subtotal.share);
                let indent = total.saturating_sub(subtotal.component.chars().count() + 2);
                writeln!(f, "{}{share:>indent$}", subtotal.component)?;
            }
            for (component, row) in &rows {
                if *component == subtotal.component {
                    write_row(f, row)?;
                }
            }
        }
        writeln!(f, "{}", "-".repeat(total))?;
        let (estimate, u) = rounded_pair(
            unit.from_si(self.estimate),
            unit.difference_from_si(self.standard_uncertainty),
        );
        writeln!(
            f,
            "{}: {estimate} {}, combined standard uncertainty {u} {}, \
             effective degrees of freedom {}",
            self.output.name,
            unit.symbol,
            unit.symbol,
            dof_text(self.effective_dof)
        )
    }
}
