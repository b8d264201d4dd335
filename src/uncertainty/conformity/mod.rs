//! Conformity with specified requirements, and the risks of a wrong decision.
//!
//! Terms are those of JCGM 106:2012: true values are judged by a tolerance interval, measured
//! values by an acceptance interval, and the guard band is what lies between their limits.

mod guard_band;
mod risk;

pub use guard_band::{DecisionRule, LimitSide, StandardUncertainty, decision_limit};
pub use risk::{GlobalRisks, ItemsAndMeasurement, SpecificRisks};

use super::Distribution;
use crate::error::{Error, Result};

/// An interval of permissible values, with one or two limits, in SI units. It serves as tolerance
/// interval (of true values) and as acceptance interval (of measured values).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Permissible {
    lower: Option<f64>,
    upper: Option<f64>,
}

impl Permissible {
    /// From a lower and an upper limit, at least one of them.
    ///
    /// # Errors
    /// No limit, a limit that is not finite, limits in the wrong order.
    pub fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Permissible> {
        let field = "permissible values";
        if lower.is_none() && upper.is_none() {
            return Err(Error::Missing {
                field: field.to_owned(),
                needed: "a lower limit, an upper limit or both".to_owned(),
            });
        }
        for limit in [lower, upper].into_iter().flatten() {
            Error::range(limit.is_finite(), field, limit, "", "finite limits")?;
        }
        if let (Some(lower), Some(upper)) = (lower, upper) {
            let allowed = format!("an upper limit above the lower limit {lower}");
            Error::range(upper > lower, field, upper, "", allowed)?;
        }
        Ok(Permissible { lower, upper })
    }

    /// Both limits, at equal distance from `nominal`: a maximum permissible error.
    ///
    /// # Errors
    /// As above.
    pub fn about(nominal: f64, largest_deviation: f64) -> Result<Permissible> {
        Permissible::new(
            Some(nominal - largest_deviation),
            Some(nominal + largest_deviation),
        )
    }

    /// The lower limit; `-inf` where there is none.
    pub fn lower(&self) -> f64 {
        self.lower.unwrap_or(f64::NEG_INFINITY)
    }

    /// The upper limit; `inf` where there is none.
    pub fn upper(&self) -> f64 {
        self.upper.unwrap_or(f64::INFINITY)
    }

    /// Whether a value lies within the limits; the limits themselves do.
    pub fn contains(&self, value: f64) -> bool {
        (self.lower()..=self.upper()).contains(&value)
    }

    /// This interval with its limits moved inwards by a guard band `w`, in SI units: the
    /// acceptance interval of this tolerance interval. A negative `w` moves them outwards.
    ///
    /// # Errors
    /// A guard band that is not finite or leaves nothing.
    ///
    /// # Source
    /// JCGM 106:2012, 8.3.2 and 8.3.3.
    pub fn guarded(&self, guard_band: f64) -> Result<Permissible> {
        Permissible::new(
            self.lower.map(|limit| limit + guard_band),
            self.upper.map(|limit| limit - guard_band),
        )
    }

    /// The conformance probability: that a quantity with this distribution lies within. The limits
    /// themselves conform, which matters for an exact value and for a sample.
    ///
    /// # Source
    /// JCGM 106:2012, 7.1, formula (4); 7.3 and 7.4; 3.3.5 note 1 for the limits.
    pub fn probability(&self, quantity: &Distribution) -> f64 {
        let below = self.lower.map_or(0.0, |limit| {
            let single_values = quantity.density(limit).is_none();
            quantity.cdf(if single_values {
                limit.next_down()
            } else {
                limit
            })
        });
        let up_to = self.upper.map_or(1.0, |limit| quantity.cdf(limit));
        (up_to - below).clamp(0.0, 1.0)
    }

    /// The probability of conformity for a measured value `y` with normally distributed
    /// uncertainty `u`, nothing else being known. One less this is the specific consumer's risk of
    /// accepting the item, this itself the specific producer's risk of rejecting it.
    ///
    /// # Errors
    /// An uncertainty not above zero, numbers that are not finite.
    ///
    /// # Source
    /// JCGM 106:2012, 7.4 and 9.3.2.
    pub fn probability_for_measured(&self, y: f64, u: f64) -> Result<f64> {
        let normal = Distribution::Normal {
            mean: y,
            standard_deviation: u,
        };
        Ok(self.probability(&normal.check("measured value")?))
    }

    /// The distance of a measured value from the nearer limit in standard uncertainties, positive
    /// within the limits. The probability of conformity with a single limit is `Phi(z)`.
    ///
    /// # Errors
    /// An uncertainty not above zero.
    ///
    /// # Source
    /// JCGM 106:2012, 7.3.2.
    pub fn standardised_distance(&self, y: f64, u: f64) -> Result<f64> {
        Error::range(u > 0.0, "standard uncertainty", u, "", "above 0")?;
        Ok((y - self.lower()).min(self.upper() - y) / u)
    }

    /// The measurement capability index `C_m = (T_U - T_L) / (4 u)`.
    ///
    /// # Errors
    /// A single limit, an uncertainty not above zero.
    ///
    /// # Source
    /// JCGM 106:2012, 7.6.2, formula (12).
    pub fn capability_index(&self, u: f64) -> Result<f64> {
        Error::range(u > 0.0, "standard uncertainty", u, "", "above 0")?;
        match (self.lower, self.upper) {
            (Some(lower), Some(upper)) => {
                let index = (upper - lower) / (4.0 * u);
                let allowed = "limits and a standard uncertainty whose ratio is a number";
                Error::range(index.is_finite(), "capability index", index, "", allowed)?;
                Ok(index)
            }
            _ => Err(Error::Missing {
                field: "permissible values".to_owned(),
                needed: "both limits for a capability index".to_owned(),
            }),
        }
    }
}
