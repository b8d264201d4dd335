//! What is wanted of a measurement, and what may be done for it.

use crate::error::{Error, Result};
use crate::units::{Dimension, quantity};

/// The expanded uncertainty that is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanted {
    /// As a fraction of the estimate.
    Relative(f64),
    /// In SI units.
    Absolute(f64),
}

impl Wanted {
    /// A wanted expanded uncertainty of a volume flow from text such as `1 %` or `8 m3/h`.
    ///
    /// # Errors
    /// Text that is neither a percentage nor a volume flow; a number without unit.
    pub fn parse(text: &str) -> Result<Wanted> {
        if text.trim().parse::<f64>().is_ok() {
            // a hundred times too much, or a unit that was forgotten: nobody can tell
            return Err(Error::NotAQuantity {
                field: "target".to_owned(),
                found: text.to_owned(),
                allowed: "a number with its unit, such as `1.5 %` or `8 m3/h`".to_owned(),
            });
        }
        match quantity(text, Dimension::Ratio, "target") {
            Ok(read) => Ok(Wanted::Relative(read.si)),
            Err(Error::WrongDimension { .. } | Error::UnknownUnit { .. }) => {
                let read = quantity(text, Dimension::VolumeFlow, "target")?;
                Ok(Wanted::Absolute(read.si))
            }
            Err(other) => Err(other),
        }
    }

    /// The expanded uncertainty that is wanted of an estimate, in SI units.
    ///
    /// # Errors
    /// One that is not above 0.
    pub fn at(self, estimate: f64) -> Result<f64> {
        let (stated, unit, si) = match self {
            Wanted::Relative(ratio) => (ratio, "", ratio * estimate.abs()),
            Wanted::Absolute(si) => (si, "m3/s", si),
        };
        let possible = si > 0.0 && si.is_finite();
        Error::range(possible, "target", stated, unit, "above 0")?;
        Ok(si)
    }
}

/// What is wanted and what may be done for it.
#[derive(Debug, Clone, PartialEq)]
pub struct TargetRequest {
    /// The expanded uncertainty that is wanted.
    pub wanted: Wanted,
    /// The price of effort by input, see [`Improvable::effort`](super::Improvable::effort); inputs
    /// without a price stay as they are. `None`: the same price for every input that somebody
    /// measures or states.
    pub costs: Option<Vec<(String, f64)>>,
    /// The lowest standard uncertainty that can be had, by input, as text with a unit; zero where
    /// none is stated.
    pub lowest: Vec<(String, String)>,
}
