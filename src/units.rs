//! Text with units at the edge, SI inside.
//!
//! A quantity is written as a number and a unit, `168.3 mm`, `4 1/2 in`, `18 degC`, `120 m3/h`.
//! Conversion factors are exact where the unit is defined exactly.
//!
//! # Source
//! BIPM, *The International System of Units*, 9th ed. 2019; NIST SP 811 (2008), appendix B.

mod hints;
mod table;
mod text;

use crate::error::{Error, Result};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use table::{Definition, SPELLINGS, UNITS};
use text::split;

pub(crate) use text::decimal_point;

/// The kinds of quantity that occur at the edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Dimension {
    /// Numbers, ratios and percentages.
    Ratio,
    /// Length.
    Length,
    /// Time.
    Time,
    /// Velocity, sound speed included.
    Velocity,
    /// Volume flow.
    VolumeFlow,
    /// Thermodynamic temperature.
    Temperature,
    /// Absolute pressure.
    Pressure,
    /// Plane angle.
    Angle,
    /// Mass density.
    Density,
    /// Dynamic viscosity.
    DynamicViscosity,
    /// Kinematic viscosity.
    KinematicViscosity,
    /// A length in inside diameters of the pipe.
    Diameters,
    /// Relative change with temperature, such as thermal expansion.
    PerKelvin,
    /// Change of a sound speed with temperature.
    VelocityPerKelvin,
    /// Delay of a cable for its length.
    TimePerLength,
    /// Mass.
    Mass,
    /// Volume.
    Volume,
    /// Area.
    Area,
    /// Relative change with pressure, such as compressibility.
    PerPressure,
    /// Frequency.
    Frequency,
    /// Electric current.
    Current,
}

impl Dimension {
    /// The name of the kind of quantity in words.
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Ratio => "number",
            Dimension::Length => "length",
            Dimension::Time => "time",
            Dimension::Velocity => "velocity",
            Dimension::VolumeFlow => "volume flow",
            Dimension::Temperature => "temperature",
            Dimension::Pressure => "pressure",
            Dimension::Angle => "angle",
            Dimension::Density => "density",
            Dimension::DynamicViscosity => "dynamic viscosity",
            Dimension::KinematicViscosity => "kinematic viscosity",
            Dimension::Diameters => "straight run in inside diameters",
            Dimension::PerKelvin => "relative change with temperature",
            Dimension::VelocityPerKelvin => "change of velocity with temperature",
            Dimension::TimePerLength => "delay for a length",
            Dimension::Mass => "mass",
            Dimension::Volume => "volume",
            Dimension::Area => "area",
            Dimension::PerPressure => "relative change with pressure",
            Dimension::Frequency => "frequency",
            Dimension::Current => "electric current",
        }
    }

    /// The unit of this dimension in which the crate computes.
    pub fn si_unit(self) -> Unit {
        Unit::named(self.si_symbol())
    }

    /// The symbol of that unit.
    fn si_symbol(self) -> &'static str {
        let first = UNITS.iter().find(|u| u.dimension == self);
        first.map_or("", |definition| definition.symbol)
    }

    /// The symbols of this dimension, for messages.
    fn symbols(self) -> String {
        let of_dimension = UNITS.iter().filter(|u| u.dimension == self);
        let symbols: Vec<_> = of_dimension.map(|u| u.symbol).collect();
        if self == Dimension::Ratio {
            "a bare number, %, ppm, g/kg".to_owned()
        } else {
            symbols.join(", ")
        }
    }
}

/// A unit of measurement: `SI value = number * factor + offset`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Unit {
    /// The symbol shown beside numbers.
    pub symbol: Cow<'static, str>,
    /// SI value of one unit.
    pub factor: f64,
    /// SI value of the unit's zero; zero for all but temperatures.
    pub offset: f64,
    /// The symbol of the SI unit of the same dimension.
    pub si_symbol: Cow<'static, str>,
}

impl Unit {
    /// Percent, in which relative differences are shown.
    pub(crate) fn percent() -> Unit {
        Unit {
            factor: 1e-2,
            symbol: "%".into(),
            ..Dimension::Ratio.si_unit()
        }
    }

    /// A unit in which numbers are kept as they are.
    pub fn named(symbol: impl Into<Cow<'static, str>>) -> Unit {
        let symbol = symbol.into();
        Unit {
            si_symbol: symbol.clone(),
            symbol,
            factor: 1.0,
            offset: 0.0,
        }
    }

    /// The unit with the given symbol, for a value of the given dimension.
    ///
    /// # Errors
    /// [`Error::UnknownUnit`] or [`Error::WrongDimension`], naming `field`.
    pub fn parse(symbol: &str, dimension: Dimension, field: &str) -> Result<Unit> {
        find(symbol, symbol, dimension, field).map(Definition::unit)
    }

    /// The unit of that symbol, for numbers that are kept as those of this unit are; `SI` names the
    /// SI unit of the same dimension.
    ///
    /// # Errors
    /// As [`Unit::parse`]; for a unit of the user's own every symbol but its own.
    pub fn asked(&self, symbol: &str, field: &str) -> Result<Unit> {
        if symbol == self.symbol {
            return Ok(self.clone());
        }
        let kept = UNITS.iter().find(|u| u.symbol == self.si_symbol);
        let Some(kept) = kept else {
            return Err(match self.symbol.as_ref() {
                "" => Error::Conflict {
                    field: field.to_owned(),
                    found: symbol.to_owned(),
                    allowed: "none, since the result has no unit".to_owned(),
                },
                own => Error::unknown_name(field, symbol, &[own]),
            });
        };
        let unit = match symbol {
            "SI" => kept.dimension.si_unit(),
            symbol => Unit::parse(symbol, kept.dimension, field)?,
        };
        Ok(Unit {
            factor: unit.factor / kept.factor,
            offset: (unit.offset - kept.offset) / kept.factor,
            si_symbol: self.si_symbol.clone(),
            symbol: unit.symbol,
        })
    }

    /// The symbol as the last part of the name of a number: `m3_h`.
    pub fn suffix(&self) -> String {
        self.symbol.replace(['/', ' '], "_")
    }

    /// The unit whose [`suffix`](Unit::suffix) that is.
    pub(crate) fn of_suffix(suffix: &str, dimension: Dimension) -> Option<Unit> {
        let mut of_dimension = UNITS.iter().filter(|u| u.dimension == dimension);
        let found = of_dimension.find(|u| u.symbol.replace(['/', ' '], "_") == suffix);
        found.map(Definition::unit)
    }

    /// The kind of quantity that the unit is of; `None` for a unit of the user's own.
    pub(crate) fn dimension(&self) -> Option<Dimension> {
        let definition = UNITS.iter().find(|u| u.symbol == self.si_symbol);
        definition.map(|definition| definition.dimension)
    }

    /// The SI value of a number in this unit.
    pub fn to_si(&self, number: f64) -> f64 {
        number * self.factor + self.offset
    }

    /// The number in this unit of an SI value.
    pub fn from_si(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }

    /// The number in this unit of an SI difference, such as a standard uncertainty.
    pub fn difference_from_si(&self, si: f64) -> f64 {
        si / self.factor
    }

    /// The number in the square of this unit of a variance in SI units.
    pub fn square_from_si(&self, variance: f64) -> f64 {
        variance / self.factor / self.factor
    }

    /// A number, already rounded for people, with the symbol of the unit where it has one.
    pub fn after(&self, number: &str) -> String {
        format!("{number} {}", self.symbol).trim_end().to_owned()
    }

    /// This unit for differences: without offset, and kelvin for a difference in degrees Celsius.
    pub fn of_differences(&self) -> Unit {
        Unit {
            symbol: match self.symbol.as_ref() {
                "degC" => Cow::Borrowed("K"),
                _ => self.symbol.clone(),
            },
            offset: 0.0,
            ..self.clone()
        }
    }
}

fn find(
    symbol: &str,
    text: &str,
    dimension: Dimension,
    field: &str,
) -> Result<&'static Definition> {
    let spelled = SPELLINGS
        .iter()
        .find(|(spelling, _)| *spelling == symbol)
        .map_or(symbol, |(_, standard)| standard);
    let candidates = UNITS.iter().filter(|u| u.symbol == spelled);
    let of_dimension = UNITS.iter().filter(|u| u.dimension == dimension);
    match candidates.clone().find(|u| u.dimension == dimension) {
        Some(definition) => Ok(definition),
        None => Err(match candidates.clone().next() {
            Some(other) => Error::WrongDimension {
                field: field.to_owned(),
                found: text.to_owned(),
                found_dimension: other.dimension.name(),
                dimension: dimension.name(),
                allowed: dimension.symbols(),
            },
            None => Error::UnknownUnit {
                field: field.to_owned(),
                found: text.to_owned(),
                unit: symbol.to_owned(),
                allowed: match hints::of_unit(symbol, dimension, of_dimension.map(|u| u.symbol)) {
                    Some(hint) => format!("{} ({hint})", dimension.symbols()),
                    None => dimension.symbols(),
                },
            },
        }),
    }
}

/// A quantity read from text: SI value and the unit in which it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// The value in SI units.
    pub si: f64,
    /// The unit of the text.
    pub unit: Unit,
}

/// Reads a quantity such as `168.3 mm`, `4 1/2 in` or `18 degC`.
///
/// # Errors
/// Not a number with a unit, an unknown unit, a unit of another dimension, or not finite; each
/// names `field`.
///
/// # Example
/// ```
/// use flowdoubt::units::{quantity, Dimension};
/// let d = quantity("4 1/2 in", Dimension::Length, "pipe.outside_diameter")?;
/// assert!((d.si - 0.1143).abs() < 1e-15);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
pub fn quantity(text: &str, dimension: Dimension, field: &str) -> Result<Quantity> {
    let (number, unit) = split(text, dimension, field)?;
    let si = finite(unit.to_si(number), text, field)?;
    Ok(Quantity { si, unit })
}

/// The SI value of a text, unless it is beyond all numbers.
fn finite(si: f64, text: &str, field: &str) -> Result<f64> {
    if si.is_finite() {
        return Ok(si);
    }
    Err(Error::NotAQuantity {
        field: field.to_owned(),
        found: text.to_owned(),
        allowed: "a number that is finite in SI units, below 1.8e308".to_owned(),
    })
}

/// Reads a difference of two quantities, such as a standard uncertainty; `estimate` gives meaning
/// to percentages.
///
/// Temperature differences may be written in K, degC or degF. A percentage of a temperature is
/// refused, for it depends on where the scale has its zero.
///
/// # Errors
/// As [`quantity`].
pub fn difference(text: &str, estimate: f64, dimension: Dimension, field: &str) -> Result<f64> {
    written_difference(text, estimate, dimension, field).map(|read| read.si)
}

/// As [`difference`], with the unit as written; that of a percentage has the size of its part of
/// the estimate.
pub(crate) fn written_difference(
    text: &str,
    estimate: f64,
    dimension: Dimension,
    field: &str,
) -> Result<Quantity> {
    let relative = ["%", "ppm"].iter().any(|r| text.trim_end().ends_with(r))
        && dimension != Dimension::Temperature
        && dimension != Dimension::Ratio;
    let read_as = if relative {
        Dimension::Ratio
    } else {
        dimension
    };
    let (number, unit) = split(text, read_as, field)?;
    let mut unit = unit.of_differences();
    if relative {
        unit.factor *= estimate.abs();
    }
    let si = finite(number * unit.factor, text, field)?;
    Ok(Quantity { si, unit })
}
