//! From the lowest to the highest of what something is made for.

use crate::error::{Error, Result};
use crate::text::shown;
use crate::units::{Dimension, Unit, quantity};

/// From the lowest to the highest, both included.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Limits {
    /// The lowest, in SI units.
    pub lowest: f64,
    /// The highest, in SI units.
    pub highest: f64,
    /// Both as they are written.
    pub words: String,
    /// The unit of the lowest, in which others are compared with them.
    pub unit: Unit,
}

impl Limits {
    /// Reads two texts with units.
    ///
    /// # Errors
    /// Text that is no quantity of that kind, the lowest above the highest.
    pub(super) fn read(
        [lowest, highest]: &[String; 2],
        dimension: Dimension,
        field: &str,
    ) -> Result<Limits> {
        let low = quantity(lowest, dimension, &format!("{field}[0]"))?;
        let high = quantity(highest, dimension, &format!("{field}[1]"))?;
        let allowed = format!("{lowest} or above, since it is the highest");
        let number = high.unit.from_si(high.si);
        let rising = high.si >= low.si;
        Error::range(
            rising,
            format!("{field}[1]"),
            number,
            &high.unit.symbol,
            allowed,
        )?;
        Ok(Limits {
            lowest: low.si,
            highest: high.si,
            words: format!("{} to {}", shown(lowest.trim()), shown(highest.trim())),
            unit: low.unit,
        })
    }

    /// Whether a value in SI units lies within.
    pub fn contain(&self, si: f64) -> bool {
        (self.lowest..=self.highest).contains(&si)
    }
}
