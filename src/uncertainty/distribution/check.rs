//! Which parameters a distribution may have.

use super::normal::TruncatedNormal;
use super::{Distribution, Values};
use crate::error::{Error, Result};

/// Checks of single parameters; errors name the field.
struct Check<'a> {
    field: &'a str,
}

impl Check<'_> {
    fn finite(&self, v: f64) -> Result<()> {
        Error::range(v.is_finite(), self.field, v, "", "finite numbers")
    }

    fn positive(&self, v: f64, what: &str) -> Result<()> {
        self.finite(v)?;
        Error::range(v > 0.0, self.field, v, "", format!("{what} above 0"))
    }

    fn ordered(&self, lower: f64, upper: f64) -> Result<()> {
        self.finite(lower)?;
        self.finite(upper)?;
        let allowed = format!("an upper limit above the lower limit {lower}");
        Error::range(upper > lower, self.field, upper, "", allowed)
    }

    fn all_finite(&self, values: &[f64]) -> Result<()> {
        values.iter().try_for_each(|v| self.finite(*v))
    }

    /// Two columns of equal length, the first increasing.
    fn table(&self, x: &Values, y: &Values) -> Result<()> {
        let length = |found: usize, allowed: &str| Error::Length {
            field: self.field.to_owned(),
            found,
            allowed: allowed.to_owned(),
        };
        if x.len() < 2 {
            return Err(length(x.len(), "a table of two points or more"));
        }
        if y.len() != x.len() {
            return Err(length(y.len(), &format!("{}, one a point", x.len())));
        }
        self.all_finite(x)?;
        self.all_finite(y)?;
        x.windows(2).try_for_each(|pair| {
            let allowed = format!("points in increasing order, so above {}", pair[0]);
            Error::range(pair[1] > pair[0], self.field, pair[1], "", allowed)
        })
    }
}

impl Distribution {
    /// The distribution itself, if its parameters are permitted.
    ///
    /// # Errors
    /// A parameter that is not finite or outside its range, limits in the wrong order, an empty
    /// sample, a table that is no density or distribution function; the error names `field`.
    pub fn check(self, field: &str) -> Result<Self> {
        let check = Check { field };
        match &self {
            Distribution::Fixed { value } => check.finite(*value)?,
            Distribution::Normal {
                mean,
                standard_deviation,
            } => {
                check.finite(*mean)?;
                check.positive(*standard_deviation, "standard deviation")?;
            }
            Distribution::Rectangular { lower, upper }
            | Distribution::Triangular { lower, upper }
            | Distribution::Arcsine { lower, upper } => check.ordered(*lower, *upper)?,
            Distribution::CurvilinearTrapezoid {
                lower,
                upper,
                limit_half_width: d,
            } => {
                check.ordered(*lower, *upper)?;
                let most = 0.5 * (upper - lower);
                let allowed = format!("half-width of each limit above 0 and below {most}");
                Error::range(*d > 0.0 && *d < most, field, *d, "", allowed)?;
            }
            Distribution::Trapezoidal {
                lower,
                upper,
                top_ratio,
            } => {
                check.ordered(*lower, *upper)?;
                let inside = (0.0..1.0).contains(top_ratio);
                let allowed = "ratio of top to base from 0 to below 1";
                Error::range(inside, field, *top_ratio, "", allowed)?;
            }
            Distribution::StudentT {
                location,
                scale,
                dof,
            } => {
                check.finite(*location)?;
                check.positive(*scale, "scale")?;
                check.positive(*dof, "degrees of freedom")?;
            }
            Distribution::Exponential { mean } => check.positive(*mean, "best estimate")?,
            Distribution::Gamma { shape, scale } => {
                check.positive(*shape, "shape")?;
                check.positive(*scale, "scale")?;
            }
            Distribution::Beta {
                alpha,
                beta,
                lower,
                upper,
            } => {
                check.positive(*alpha, "alpha")?;
                check.positive(*beta, "beta")?;
                check.ordered(*lower, *upper)?;
            }
            Distribution::Lognormal {
                log_mean,
                log_standard_deviation,
            } => {
                check.finite(*log_mean)?;
                check.positive(
                    *log_standard_deviation,
                    "standard deviation of the logarithm",
                )?;
                let variance = self.variance();
                let allowed = "parameters with a finite variance";
                Error::range(variance.is_finite(), field, variance, "", allowed)?;
            }
            Distribution::TruncatedNormal {
                location,
                scale,
                lower,
                upper,
            } => {
                check.finite(*location)?;
                check.positive(*scale, "scale")?;
                lower.map_or(Ok(()), |limit| check.finite(limit))?;
                upper.map_or(Ok(()), |limit| check.finite(limit))?;
                if let (Some(lower), Some(upper)) = (lower, upper) {
                    check.ordered(*lower, *upper)?;
                }
                let mass = TruncatedNormal::mass_within(
                    *location,
                    *scale,
                    lower.unwrap_or(f64::NEG_INFINITY),
                    upper.unwrap_or(f64::INFINITY),
                );
                let allowed = "limits that keep a probability above 1e-290";
                Error::range(mass > 1e-290, field, mass, "", allowed)?;
            }
            Distribution::Sample { values } => {
                if values.is_empty() {
                    return Err(Error::Length {
                        field: field.to_owned(),
                        found: 0,
                        allowed: "one value or more".to_owned(),
                    });
                }
                check.all_finite(values)?;
            }
            Distribution::DensityTable { x, density } => {
                check.table(x, density)?;
                density.iter().try_for_each(|d| {
                    Error::range(*d >= 0.0, field, *d, "", "density 0 or above")
                })?;
                let peak = density.iter().copied().fold(0.0, f64::max);
                Error::range(peak > 0.0, field, peak, "", "a density above 0 somewhere")?;
            }
            Distribution::ProbabilityTable { x, probability } => {
                check.table(x, probability)?;
                probability.windows(2).try_for_each(|pair| {
                    let allowed = format!("probabilities that never fall, so {} or above", pair[0]);
                    Error::range(pair[1] >= pair[0], field, pair[1], "", allowed)
                })?;
                let first = probability.first().copied().unwrap_or(f64::NAN);
                let last = probability.last().copied().unwrap_or(f64::NAN);
                Error::range(first == 0.0, field, first, "", "a first probability of 0")?;
                Error::range(last == 1.0, field, last, "", "a last probability of 1")?;
            }
        }
        Ok(self)
    }
}
