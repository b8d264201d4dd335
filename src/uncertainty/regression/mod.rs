//! Straight lines for calibration, such as a meter factor over flow, with the uncertainty of
//! every prediction.
//!
//! | known of the points | function |
//! | --- | --- |
//! | nothing; the scatter tells | [`StraightLine::ordinary`] |
//! | uncertainty of y | [`StraightLine::weighted`] |
//! | uncertainty of x and of y | [`StraightLine::with_uncertainties`] |
//! | all variances and covariances | [`StraightLine::generalized`] |

mod generalized;
mod least_squares;

use crate::bounds::{is_moderate, is_moderate_uncertainty};
use crate::error::{Error, Result};
use crate::scalar::special::chi_squared_upper_tail;

/// A straight line `y = intercept + slope x` fitted to points, with the covariance matrix of its
/// parameters.
///
/// Parameters are kept about a centre of the points, where rounding does least harm.
///
/// # Source
/// JCGM 100:2008, H.3; ISO/TS 28037:2010, whose cases by what is known of the points these are.
#[derive(Debug, Clone, PartialEq)]
pub struct StraightLine {
    centre: f64,
    value_at_centre: f64,
    slope: f64,
    /// The least and the greatest abscissa of the points.
    range: (f64, f64),
    /// Covariance matrix of value at the centre and slope.
    covariance: [[f64; 2]; 2],
    /// Residuals `y - intercept - slope x`, shape `(n,)`.
    pub residuals: Vec<f64>,
    /// Degrees of freedom, `n - 2`.
    pub dof: f64,
    /// The sum of squared residuals, each weighted by what is known of it; `None` for an
    /// ordinary fit, whose scatter is its only evidence.
    pub chi_squared: Option<f64>,
}

/// A value with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Prediction {
    /// The estimate.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
}

impl StraightLine {
    /// The intercept, the value at `x = 0`.
    pub fn intercept(&self) -> f64 {
        self.value_at_centre - self.slope * self.centre
    }

    /// The slope.
    pub fn slope(&self) -> f64 {
        self.slope
    }

    /// The line, unless its points are so far apart in magnitude that sums over them are beyond all
    /// numbers.
    fn checked(self) -> Result<StraightLine> {
        let [[v, _], [_, s]] = self.covariance;
        let computed = [self.centre, self.value_at_centre, self.slope, v, s];
        let rest = self.chi_squared.iter().chain(&self.residuals);
        if computed.iter().chain(rest).all(|number| number.is_finite()) {
            return Ok(self);
        }
        Err(Error::Conflict {
            field: "points".to_owned(),
            found: "sums over them that are beyond all numbers".to_owned(),
            allowed:
                "coordinates and uncertainties in units in which they are neither huge nor tiny"
                    .to_owned(),
        })
    }

    /// The standard uncertainty of the intercept.
    pub fn intercept_uncertainty(&self) -> f64 {
        self.variance_at(0.0).sqrt()
    }

    /// The standard uncertainty of the slope.
    pub fn slope_uncertainty(&self) -> f64 {
        self.covariance[1][1].sqrt()
    }

    /// The covariance of intercept and slope.
    pub fn parameter_covariance(&self) -> f64 {
        self.covariance[0][1] - self.centre * self.covariance[1][1]
    }

    /// The correlation coefficient of intercept and slope; it depends on where `x = 0` is.
    pub fn parameter_correlation(&self) -> f64 {
        self.parameter_covariance() / (self.intercept_uncertainty() * self.slope_uncertainty())
    }

    /// The covariance matrix of intercept and slope, in this order.
    pub fn parameter_covariance_matrix(&self) -> [[f64; 2]; 2] {
        let both = self.parameter_covariance();
        [[self.variance_at(0.0), both], [both, self.covariance[1][1]]]
    }

    /// The least and the greatest abscissa of the points. The line was calibrated between them;
    /// elsewhere it is an extrapolation.
    pub fn range(&self) -> (f64, f64) {
        self.range
    }

    /// The standard deviation of the residuals, `sqrt(sum r^2 / (n - 2))`.
    pub fn residual_deviation(&self) -> f64 {
        let squares: f64 = self.residuals.iter().map(|r| r * r).sum();
        (squares / self.dof).sqrt()
    }

    /// The probability of a larger chi-squared if the points are as well known as stated; `None`
    /// for an ordinary fit. Small where the line or the uncertainties do not fit the points.
    pub fn p_value(&self) -> Option<f64> {
        let chi_squared = self.chi_squared?;
        Some(chi_squared_upper_tail(chi_squared, self.dof))
    }

    fn variance_at(&self, x: f64) -> f64 {
        let t = x - self.centre;
        let [[v, c], [_, s]] = self.covariance;
        (v + 2.0 * c * t + s * t * t).max(0.0)
    }

    /// The line at an exactly known `x`.
    ///
    /// The uncertainty is that of the line, not that of a new point on it.
    pub fn predict(&self, x: f64) -> Prediction {
        Prediction {
            value: self.value_at_centre + self.slope * (x - self.centre),
            standard_uncertainty: self.variance_at(x).sqrt(),
        }
    }

    /// The line at an `x` with a standard uncertainty, which is independent of the points.
    ///
    /// # Source
    /// ISO/TS 28037:2010, 11.2 (forward evaluation).
    pub fn predict_at_uncertain(&self, x: f64, u_x: f64) -> Prediction {
        let value = self.predict(x).value;
        let from_x = self.slope * u_x;
        Prediction {
            value,
            standard_uncertainty: (self.variance_at(x) + from_x * from_x).sqrt(),
        }
    }

    /// The `x` at which the line takes the value `y` with its standard uncertainty, independent of
    /// the points.
    ///
    /// # Errors
    /// A line without slope, a `y` that is not finite, an uncertainty that is negative or not
    /// finite.
    ///
    /// # Source
    /// ISO/TS 28037:2010, 11.1 (inverse evaluation).
    pub fn solve(&self, y: f64, u_y: f64) -> Result<Prediction> {
        Error::range(self.slope != 0.0, "slope", self.slope, "", "other than 0")?;
        Error::range(y.is_finite(), "y", y, "", "finite numbers")?;
        let usable = u_y >= 0.0 && u_y.is_finite();
        Error::range(usable, "u_y", u_y, "", "0 or above")?;
        let x = self.centre + (y - self.value_at_centre) / self.slope;
        let variance = (self.variance_at(x) + u_y * u_y) / (self.slope * self.slope);
        Ok(Prediction {
            value: x,
            standard_uncertainty: variance.sqrt(),
        })
    }
}

/// Checks two columns of equal length; `n` of at least three.
fn columns(x: &[f64], y: &[f64]) -> Result<()> {
    let length = |field: &str, found: usize, allowed: &str| Error::Length {
        field: field.to_owned(),
        found,
        allowed: allowed.to_owned(),
    };
    if x.len() < 3 {
        return Err(length("x", x.len(), "three points or more for a line"));
    }
    if y.len() != x.len() {
        return Err(length("y", y.len(), &format!("{}, one a point", x.len())));
    }
    for (name, values) in [("x", x), ("y", y)] {
        if let Some(i) = values.iter().position(|v| !is_moderate(*v)) {
            Error::range(
                false,
                format!("{name}[{i}]"),
                values[i],
                "",
                "finite numbers of magnitude 1e100 at most",
            )?;
        }
    }
    let varies = x.iter().any(|v| *v != x[0]);
    Error::range(varies, "x", x[0], "", "at least two different x")
}

/// The least and the greatest of the values.
fn extremes(values: &[f64]) -> (f64, f64) {
    let both = (f64::INFINITY, f64::NEG_INFINITY);
    values
        .iter()
        .fold(both, |(low, high), v| (low.min(*v), high.max(*v)))
}

/// Checks the standard uncertainties of one coordinate.
fn uncertainties(field: &str, u: &[f64], points: usize, may_be_zero: bool) -> Result<()> {
    if u.len() != points {
        return Err(Error::Length {
            field: field.to_owned(),
            found: u.len(),
            allowed: format!("{points}, one a point"),
        });
    }
    for (i, u) in u.iter().enumerate() {
        let usable = is_moderate_uncertainty(*u) || (may_be_zero && *u == 0.0);
        let allowed = if may_be_zero {
            "0 or above, from 1e-100 to 1e100 where it is not 0"
        } else {
            "above 0, from 1e-100 to 1e100"
        };
        Error::range(usable, format!("{field}[{i}]"), *u, "", allowed)?;
    }
    Ok(())
}
