//! Probability distributions that are assigned to input quantities.

use crate::error::{Error, Result};
use crate::scalar::Scalar;
use crate::scalar::special::{StudentT, normal_quantile};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// A probability density assigned to an input quantity.
///
/// # Source
/// JCGM 101:2008, table 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Distribution {
    /// Exactly known.
    Fixed {
        /// The value.
        value: f64,
    },
    /// Normal: best estimate and standard uncertainty (JCGM 101, 6.4.7).
    Normal {
        /// The mean.
        mean: f64,
        /// The standard deviation, above zero.
        standard_deviation: f64,
    },
    /// Rectangular: limits and nothing else (JCGM 101, 6.4.2).
    Rectangular {
        /// The lower limit.
        lower: f64,
        /// The upper limit.
        upper: f64,
    },
    /// Triangular and symmetric: a sum of two rectangular quantities of equal width
    /// (JCGM 101, 6.4.5).
    Triangular {
        /// The lower limit.
        lower: f64,
        /// The upper limit.
        upper: f64,
    },
    /// Arcsine (U-shaped): sinusoidal cycling between limits (JCGM 101, 6.4.6).
    Arcsine {
        /// The lower limit.
        lower: f64,
        /// The upper limit.
        upper: f64,
    },
    /// Scaled and shifted Student's t: a mean of readings, or a certificate with effective
    /// degrees of freedom (JCGM 101, 6.4.9).
    StudentT {
        /// The mean of the readings.
        location: f64,
        /// The experimental standard deviation of the mean.
        scale: f64,
        /// The degrees of freedom, above zero.
        dof: f64,
    },
}

impl Distribution {
    /// Checks the parameters; errors name `field`.
    pub(crate) fn check(self, field: &str) -> Result<Self> {
        let finite = |v: f64| Error::range(v.is_finite(), field, v, "", "finite numbers");
        let positive = |v: f64, what: &str| {
            finite(v)?;
            Error::range(v > 0.0, field, v, "", format!("{what} above 0"))
        };
        match self {
            Distribution::Fixed { value } => finite(value)?,
            Distribution::Normal {
                mean,
                standard_deviation,
            } => {
                finite(mean)?;
                positive(standard_deviation, "standard deviation")?;
            }
            Distribution::Rectangular { lower, upper }
            | Distribution::Triangular { lower, upper }
            | Distribution::Arcsine { lower, upper } => {
                finite(lower)?;
                finite(upper)?;
                let allowed = format!("an upper limit above the lower limit {lower}");
                Error::range(upper > lower, field, upper, "", allowed)?;
            }
            Distribution::StudentT {
                location,
                scale,
                dof,
            } => {
                finite(location)?;
                positive(scale, "scale")?;
                Error::range(dof > 0.0, field, dof, "", "degrees of freedom above 0")?;
            }
        }
        Ok(self)
    }

    /// The name in words.
    pub fn name(&self) -> &'static str {
        match self {
            Distribution::Fixed { .. } => "exact",
            Distribution::Normal { .. } => "normal",
            Distribution::Rectangular { .. } => "rectangular",
            Distribution::Triangular { .. } => "triangular",
            Distribution::Arcsine { .. } => "arcsine",
            Distribution::StudentT { .. } => "Student's t",
        }
    }

    /// The mean (for t with one degree of freedom or fewer: the median).
    pub fn mean(&self) -> f64 {
        match *self {
            Distribution::Fixed { value } => value,
            Distribution::Normal { mean, .. } => mean,
            Distribution::Rectangular { lower, upper }
            | Distribution::Triangular { lower, upper }
            | Distribution::Arcsine { lower, upper } => 0.5 * (lower + upper),
            Distribution::StudentT { location, .. } => location,
        }
    }

    /// The variance; infinite for t with two degrees of freedom or fewer.
    pub fn variance(&self) -> f64 {
        let width = |lower: f64, upper: f64| (upper - lower) * (upper - lower);
        match *self {
            Distribution::Fixed { .. } => 0.0,
            Distribution::Normal {
                standard_deviation, ..
            } => standard_deviation * standard_deviation,
            Distribution::Rectangular { lower, upper } => width(lower, upper) / 12.0,
            Distribution::Triangular { lower, upper } => width(lower, upper) / 24.0,
            Distribution::Arcsine { lower, upper } => width(lower, upper) / 8.0,
            Distribution::StudentT { scale, dof, .. } if dof > 2.0 && dof.is_finite() => {
                scale * scale * dof / (dof - 2.0)
            }
            Distribution::StudentT { scale, dof, .. } if dof > 2.0 => scale * scale,
            Distribution::StudentT { .. } => f64::INFINITY,
        }
    }

    /// The quantile function, prepared for many draws.
    pub fn sampler(&self) -> Sampler {
        match *self {
            Distribution::StudentT { dof, .. } => Sampler {
                distribution: *self,
                student: Some(StudentT::new(dof)),
            },
            _ => Sampler {
                distribution: *self,
                student: None,
            },
        }
    }
}

/// The quantile function of a [`Distribution`].
#[derive(Debug, Clone, Copy)]
pub struct Sampler {
    distribution: Distribution,
    student: Option<StudentT>,
}

impl Sampler {
    /// The value with probability `p` below it, `0 < p < 1`.
    pub fn quantile(&self, p: f64) -> f64 {
        match self.distribution {
            Distribution::Fixed { value } => value,
            Distribution::Normal {
                mean,
                standard_deviation,
            } => mean + standard_deviation * normal_quantile(p),
            Distribution::Rectangular { lower, upper } => lower + (upper - lower) * p,
            Distribution::Triangular { lower, upper } => {
                let width = upper - lower;
                if p < 0.5 {
                    lower + width * (0.5 * p).sqrt()
                } else {
                    upper - width * (0.5 * (1.0 - p)).sqrt()
                }
            }
            Distribution::Arcsine { lower, upper } => {
                0.5 * (lower + upper) - 0.5 * (upper - lower) * Scalar::cos(PI * p)
            }
            Distribution::StudentT {
                location, scale, ..
            } => match self.student {
                Some(t) => location + scale * t.quantile(p),
                None => location,
            },
        }
    }

    /// The value that corresponds to the standard normal deviate `z`: exact for a normal
    /// distribution, through `p = Phi(z)` for the others.
    pub fn from_normal_deviate(&self, z: f64) -> f64 {
        match self.distribution {
            Distribution::Normal {
                mean,
                standard_deviation,
            } => mean + standard_deviation * z,
            _ => self.quantile(crate::scalar::special::normal_cdf(z)),
        }
    }
}
