//! Readings that nobody may have meant: some far from all others, some that stand still. They are
//! told of and kept; whoever knows the reason leaves them out.

use super::readings::Column;
use super::series::{frozen, spikes};
use super::{Channel, Evaluation, Readings, Warning};
use crate::error::{Error, Result, with_unit};
use crate::message::{Told, message};
use crate::model::Quantity;
use crate::table::Table;
use crate::uncertainty::{Input, Origin, OutlierTest, Shape};
use crate::units::Unit;
use std::path::Path;

/// Readings from which on a moving window finds outliers, and below which Grubbs' test does.
const ENOUGH: usize = 10;

/// Times the scatter about the median of the seven readings about it, beyond which one is far. Of
/// normal readings, one in 1e20 is.
const FAR: f64 = 10.0;

/// Significance level of Grubbs' test for few readings: one false alarm in a thousand sets.
const SIGNIFICANCE: f64 = 1e-3;

/// Outliers that a warning names.
const NAMED: usize = 5;

/// Mean velocities in m/s: beyond the first it is unusual, beyond the second no liquid flows so in a
/// pipe. Common practice, no source.
const VELOCITIES: [f64; 2] = [20.0, 100.0];

/// The last digit of a number as written, in the unit in which it was written. Twelve digits are
/// looked at: conversion leaves noise in those that follow.
fn last_digit(si: f64, unit: &Unit) -> f64 {
    let written = with_unit(unit.from_si(si), "");
    let decimals = written.split_once('.').map_or(0, |(_, after)| after.len());
    libm::pow(10.0, -(decimals as f64))
}

/// Whether all readings are the same.
fn stand_still(values: &[f64]) -> bool {
    values.windows(2).all(|pair| pair[0] == pair[1])
}

/// The half-width, in SI units, of the limits of a reading that is shown to its last digit.
fn half_digit(value: f64, unit: &Unit) -> f64 {
    0.5 * last_digit(value, unit) * unit.factor
}

/// The last digit of a column of a file, with the zeros that were written; `None` where the readings
/// came as numbers.
fn last_written_digit(readings: &Readings, channel: Channel) -> Option<f64> {
    let (file, text) = readings.given().csv()?;
    let table = Table::read_plain(text, Path::new(file)).ok()?;
    let own = table.names.iter().position(|(_, read)| {
        let channel_of = read.clone().channel();
        channel_of.is_some_and(|(own, _)| own == channel)
    })?;
    let decimals = |cell: &str| cell.split_once('.').map_or(0, |(_, after)| after.len());
    let plain = |cell: &str| !cell.contains(['e', 'E']);
    let mut most = 0;
    for cell in table.cells(own) {
        if !plain(cell) {
            return None;
        }
        most = most.max(decimals(cell));
    }
    Some(libm::pow(10.0, -(most as f64)))
}

/// The half-width of the limits of readings that are all alike, in the unit of the column; `None`
/// where they differ.
fn half_width_alike(column: &Column, readings: &Readings) -> Option<f64> {
    let value = *column.values.first()?;
    if !stand_still(&column.values) {
        return None;
    }
    let written = last_written_digit(readings, column.channel);
    Some(0.5 * written.unwrap_or_else(|| last_digit(value, &column.unit)))
}

/// The standard uncertainty that the digits leave to readings that are all alike; `None` where they
/// differ.
pub(super) fn uncertainty_of_digits(column: &Column, readings: &Readings) -> Option<f64> {
    let half = half_width_alike(column, readings)?;
    Some(half * column.unit.factor / 3.0_f64.sqrt())
}

/// The input for readings that are all alike: half of the last digit to each side, since a scatter of
/// nothing does not make them exact. `None` where they differ.
///
/// # Errors
/// A reading beyond what variances hold.
///
/// # Source
/// JCGM 100:2008, F.2.2.1: resolution of a digital indication.
pub(super) fn without_scatter(
    path: &str,
    column: &Column,
    readings: &Readings,
) -> Result<Option<Input>> {
    let Some(half) = half_width_alike(column, readings) else {
        return Ok(None);
    };
    let (value, width) = (column.values[0], half * column.unit.factor);
    let input = Input::with_half_width(path, value, width, Shape::Rectangular, f64::INFINITY)?;
    let unit = column.unit.of_differences();
    let evidence = message!(
        "evidence.alike",
        "{count} readings all alike, half of their last digit ({half})",
        count = column.values.len().to_string(),
        half = unit.after(&with_unit(half, "")),
    );
    Ok(Some(
        input
            .shown_in(column.unit.clone())
            .evidence_in_message(evidence),
    ))
}

/// What the columns show that their means do not.
pub(super) fn of_columns(readings: &Readings) -> Vec<Warning> {
    let mut warnings = Vec::new();
    warnings.extend(left_out(readings));
    for column in &readings.columns {
        let path = column.channel.quantity().path();
        warnings.extend(still(&path, column));
        warnings.extend(outliers(&path, &column.values, &column.unit));
    }
    warnings
}

/// Rows that were left out, since the meter or the logger said that they are not good.
fn left_out(readings: &Readings) -> Option<Warning> {
    let format = readings.given().format()?;
    let rows = format.rows_left_out();
    (rows > 0).then(|| {
        let message = message!(
            "warnings.rows-left-out",
            "{rows} of {all} rows were left out for their status, {counts}: what is left is a choice of \
             the meter or the logger",
            rows = rows.to_string(),
            all = rows.saturating_add(readings.rows()).to_string(),
            counts = format.left_out_told(),
        );
        Warning::told("rows-left-out", message)
    })
}

fn still(path: &str, column: &Column) -> Option<Warning> {
    let count = column.values.len();
    let rows: Vec<usize> = (0..count).collect();
    let input = Told::Input(path.to_owned());
    let message = if stand_still(&column.values) {
        message!(
            "warnings.frozen-readings-all",
            "all {count} readings of {input} are alike: either the meter held its last value, as \
             many do when the signal is lost, or it shows too few digits; half of the last digit is \
             taken as limits; read again with more digits and without hold",
            count = count.to_string(),
            input = input,
        )
    } else {
        let found = frozen(column, &rows)?;
        message!(
            "warnings.frozen-readings",
            "{count} readings of {input} from reading {first} on are alike: the meter may have held \
             its last value, as many do when the signal is lost; they were kept",
            count = found.rows.to_string(),
            input = input,
            first = (found.from_row + 1).to_string(),
        )
    };
    Some(Warning::told("frozen-readings", message))
}

/// Whether one of a few readings is farther from all others than ten times what these span, or than
/// ten of their last digits: Grubbs' test alone takes digits for a scatter.
fn is_far(values: &[f64], place: usize, unit: &Unit) -> bool {
    let mut others = values.to_vec();
    let value = others.swap_remove(place);
    let low = others.iter().copied().fold(f64::INFINITY, f64::min);
    let high = others.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let digits = values.iter().map(|v| half_digit(*v, unit));
    let digit = 2.0 * digits.fold(f64::INFINITY, f64::min);
    let beyond = (low - value).max(value - high);
    beyond > FAR * (high - low).max(digit)
}

/// Readings that lie far from the others.
fn outliers(name: &str, values: &[f64], unit: &Unit) -> Option<Warning> {
    let places = if values.len() >= ENOUGH {
        spikes(values, FAR)
    } else if values.len() >= 3 && !stand_still(values) {
        let test = OutlierTest::of(values, SIGNIFICANCE, name).ok()?;
        if test.stands_out() && is_far(values, test.index, unit) {
            vec![test.index]
        } else {
            Vec::new()
        }
    } else {
        Vec::new()
    };
    if places.is_empty() {
        return None;
    }
    let named = places.iter().take(NAMED).map(|place| {
        let shown = with_unit(unit.from_si(values[*place]), "");
        let reading = message!(
            "sentences.reading",
            "reading {number} ({value})",
            number = (place + 1).to_string(),
            value = unit.after(&shown),
        );
        Told::from(reading)
    });
    let mut named = Told::Joined(named.collect(), ", ");
    let more = places.len().saturating_sub(NAMED);
    if more > 0 {
        named = message!(
            "sentences.and_more",
            "{list} and {more} more",
            list = named,
            more = more.to_string(),
        )
        .into();
    }
    Some(Warning::told(
        "outlying-readings",
        message!(
            "warnings.outlying-readings",
            "of {count} readings of {input}, far from the others: {named}; kept, and in mean and \
             uncertainty: look for the reason, and leave them out only where there is one",
            count = values.len().to_string(),
            input = Told::Input(name.to_owned()),
            named = named,
        ),
    ))
}

/// Refuses means of readings that no meter reads.
pub(super) fn check_read(read: &[(Quantity, Input)]) -> Result<()> {
    for (quantity, input) in read {
        let (si, unit) = (input.estimate(), input.unit());
        let (inside, allowed) = quantity.row().allowed.judge(si, unit);
        let shown = unit.from_si(si);
        Error::range(inside, quantity.path(), shown, &unit.symbol, allowed)?;
    }
    Ok(())
}

impl Evaluation {
    /// Refuses a flow that no pipe has.
    ///
    /// # Errors
    /// A mean velocity of more than 100 m/s.
    pub(super) fn check_velocity(&self) -> Result<()> {
        let velocity = self.steps.mean_velocity;
        let [_, most] = VELOCITIES;
        let allowed = format!(
            "magnitudes of {most} m/s at most; check the unit of the readings, diameter and wall"
        );
        Error::range(
            velocity.abs() <= most,
            "mean velocity",
            velocity,
            "m/s",
            allowed,
        )
    }

    /// A flow that few pipes have.
    pub(super) fn fast(&self) -> Option<Warning> {
        let velocity = self.steps.mean_velocity;
        let [usual, _] = VELOCITIES;
        // of a flow that was measured; who plans one sees the velocity
        (self.readings > 0 && velocity.abs() > usual).then(|| {
            Warning::told(
                "unusual-value",
                message!(
                    "warnings.unusual-velocity",
                    "mean velocity is {velocity}, outside what is usual, {usual} at most \
                     (common practice): check the unit of the readings, diameter and wall",
                    velocity = format!("{velocity:.1} m/s"),
                    usual = format!("{usual} m/s"),
                ),
            )
        })
    }

    /// Readings of the site file that lie far from the others.
    pub(super) fn stated_outliers(&self) -> Vec<Warning> {
        let of_meter = |name: &str| Channel::ALL.iter().any(|c| c.quantity().path() == name);
        let inputs = self.inputs.inputs().iter();
        let stated = inputs.filter(|input| !of_meter(input.name()));
        let found = stated.filter_map(|input| match input.origin() {
            Origin::Readings { kept, .. } => outliers(input.name(), kept, input.unit()),
            _ => None,
        });
        found.collect()
    }
}
