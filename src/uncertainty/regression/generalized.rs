//! Lines through points with uncertainty in both coordinates, correlated or not.

use super::{StraightLine, columns, uncertainties};
use crate::bounds::MOST_POINTS_OF_LINE;
use crate::error::{Error, Result};
use crate::uncertainty::linear::{
    definite_factor, semidefinite_factor, solve_lower, solve_lower_transposed,
};
use crate::watch::{Watch, look, unwatched};
use nalgebra::DMatrix;

/// Gauss-Newton steps before giving up; some five to twenty are needed.
const MOST_STEPS: usize = 200;

impl StraightLine {
    /// Both coordinates of each point independent, with standard uncertainties `u_x` and `u_y`,
    /// shape `(n,)`; those of x may be zero.
    ///
    /// # Errors
    /// As for [`StraightLine::generalized`].
    ///
    /// # Source
    /// ISO/TS 28037:2010, clause 7; D. York, Can. J. Phys. 44 (1966) 1079.
    pub fn with_uncertainties(
        x: &[f64],
        u_x: &[f64],
        y: &[f64],
        u_y: &[f64],
    ) -> Result<StraightLine> {
        StraightLine::with_uncertainties_watched([x, u_x], [y, u_y], &mut unwatched)
    }

    /// As [`StraightLine::with_uncertainties`], of coordinates with their uncertainties, with a watch
    /// that may end the fit.
    ///
    /// # Errors
    /// As [`StraightLine::with_uncertainties`]; [`Error::Cancelled`].
    pub fn with_uncertainties_watched(
        [x, u_x]: [&[f64]; 2],
        [y, u_y]: [&[f64]; 2],
        watch: &mut Watch<'_>,
    ) -> Result<StraightLine> {
        columns(x, y)?;
        few_enough(x)?;
        let n = x.len();
        uncertainties("u_x", u_x, n, true)?;
        uncertainties("u_y", u_y, n, false)?;
        let mut covariance = DMatrix::zeros(2 * n, 2 * n);
        for (i, u) in u_x.iter().chain(u_y).enumerate() {
            covariance[(i, i)] = u * u;
        }
        fit(x, y, &covariance, watch)
    }

    /// Any variances and covariances: `covariance` has shape `(2 n, 2 n)` by rows, first all x,
    /// then all y.
    ///
    /// The line and the true points on it are those that minimise `e^T U^-1 e` for the errors `e`
    /// of all coordinates. The covariance matrix of the parameters is that of the linearised fit.
    ///
    /// # Errors
    /// Fewer than three points, shapes that do not fit, a matrix that is not symmetric, not
    /// positive semi-definite or leaves the points of a line without uncertainty, a fit that does
    /// not converge.
    ///
    /// # Source
    /// ISO/TS 28037:2010, clause 10. Solved by Gauss-Newton steps in which the true abscissae are
    /// eliminated, which needs matrices of `n` rows only: W. E. Deming, *Statistical Adjustment of
    /// Data*, Wiley 1943, chapter 4.
    pub fn generalized(x: &[f64], y: &[f64], covariance: &[Vec<f64>]) -> Result<StraightLine> {
        StraightLine::generalized_watched(x, y, covariance, &mut unwatched)
    }

    /// As [`StraightLine::generalized`], with a watch that may end the fit.
    ///
    /// # Errors
    /// As [`StraightLine::generalized`]; [`Error::Cancelled`].
    pub fn generalized_watched(
        x: &[f64],
        y: &[f64],
        covariance: &[Vec<f64>],
        watch: &mut Watch<'_>,
    ) -> Result<StraightLine> {
        columns(x, y)?;
        few_enough(x)?;
        let size = 2 * x.len();
        let fits = covariance.len() == size && covariance.iter().all(|row| row.len() == size);
        if !fits {
            return Err(Error::Length {
                field: "covariance".to_owned(),
                found: covariance.len(),
                allowed: format!("{size} rows of {size}: all x, then all y"),
            });
        }
        let pairs = (0..size).flat_map(|i| (0..i).map(move |j| (i, j)));
        // variances first, by which covariances are judged
        for (i, j) in (0..size).map(|i| (i, i)).chain(pairs) {
            check_pair(covariance, i, j)?;
        }
        let matrix = DMatrix::from_fn(size, size, |i, j| covariance[i][j]);
        if semidefinite_factor(&matrix, 1e-10).is_none() {
            return Err(Error::Conflict {
                field: "covariance".to_owned(),
                found: "a matrix that no set of random variables can have".to_owned(),
                allowed: "a positive semi-definite matrix".to_owned(),
            });
        }
        fit(x, y, &matrix, watch)
    }
}

fn few_enough(x: &[f64]) -> Result<()> {
    if x.len() <= MOST_POINTS_OF_LINE {
        return Ok(());
    }
    Err(Error::Length {
        field: "x".to_owned(),
        found: x.len(),
        allowed: format!(
            "{MOST_POINTS_OF_LINE} points at most with uncertainty in both coordinates; of more, fit the means \
             of groups, or a line with u_y alone"
        ),
    })
}

/// Checks a covariance against its mirror image and its two variances.
fn check_pair(covariance: &[Vec<f64>], i: usize, j: usize) -> Result<()> {
    let (here, there) = (covariance[i][j], covariance[j][i]);
    let check = |inside: bool, allowed: &str| {
        Error::range(inside, format!("covariance[{i}][{j}]"), here, "", allowed)
    };
    check(here.is_finite(), "finite numbers")?;
    if i == j {
        return check(here >= 0.0, "variance, 0 or above");
    }
    let scale = (covariance[i][i] * covariance[j][j]).abs().sqrt();
    let symmetric = (here - there).abs() <= 1e-12 * scale;
    check(symmetric, &format!("symmetric, so {there}"))?;
    let within = here.abs() <= scale * (1.0 + 1e-9);
    let allowed = format!("at most {scale}, the product of the standard uncertainties");
    check(within, &allowed)
}

/// The covariance matrix of `y_i - b x_i` for the slope `b`.
fn residual_covariance(covariance: &DMatrix<f64>, slope: f64) -> DMatrix<f64> {
    let n = covariance.nrows() / 2;
    DMatrix::from_fn(n, n, |i, j| {
        let (xx, yy) = (covariance[(i, j)], covariance[(n + i, n + j)]);
        let (xy, yx) = (covariance[(i, n + j)], covariance[(n + i, j)]);
        yy - slope * (xy + yx) + slope * slope * xx
    })
}

fn fit(
    x: &[f64],
    y: &[f64],
    covariance: &DMatrix<f64>,
    watch: &mut Watch<'_>,
) -> Result<StraightLine> {
    let n = x.len();
    let start = StraightLine::ordinary(x, y)?;
    let (x0, y0) = (start.centre, start.value_at_centre);
    let x: Vec<f64> = x.iter().map(|x| x - x0).collect();
    let y: Vec<f64> = y.iter().map(|y| y - y0).collect();
    let (mut value, mut slope) = (0.0, start.slope);
    let mut previous = f64::INFINITY;
    for done in 0..MOST_STEPS {
        look(watch, done as u64, MOST_STEPS as u64)?;
        let factor = definite_factor(&residual_covariance(covariance, slope)).ok_or_else(|| {
            Error::Conflict {
                field: "covariance".to_owned(),
                found: "a matrix that leaves distances from the line without uncertainty"
                    .to_owned(),
                allowed: "a positive definite matrix".to_owned(),
            }
        })?;
        let line = y.iter().zip(&x).map(|(y, x)| y - value - slope * x);
        let residuals: Vec<f64> = line.collect();
        let white = solve_lower(&factor, &residuals);
        let multipliers = solve_lower_transposed(&factor, &white);
        // the abscissae nearest to the points on the present line
        let abscissae: Vec<f64> = (0..n)
            .map(|i| {
                let pull = (0..n).map(|j| {
                    (slope * covariance[(i, j)] - covariance[(i, n + j)]) * multipliers[j]
                });
                x[i] + pull.sum::<f64>()
            })
            .collect();
        let ones = solve_lower(&factor, &vec![1.0; n]);
        let leaning = solve_lower(&factor, &abscissae);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let (p, q, r) = (
            dot(&ones, &ones),
            dot(&ones, &leaning),
            dot(&leaning, &leaning),
        );
        let determinant = p * r - q * q;
        let (g, h) = (dot(&ones, &white), dot(&leaning, &white));
        let (step_value, step_slope) =
            ((r * g - q * h) / determinant, (p * h - q * g) / determinant);
        value += step_value;
        slope += step_slope;
        let deviations = [(r / determinant).sqrt(), (p / determinant).sqrt()];
        let step = (step_value / deviations[0]).abs() + (step_slope / deviations[1]).abs();
        // steps far below the uncertainty, until rounding lets them shrink no more
        if step == 0.0 || (step < 1e-8 && step >= previous) {
            return Ok(StraightLine {
                centre: x0,
                value_at_centre: y0 + value,
                slope,
                range: start.range,
                covariance: [
                    [r / determinant, -q / determinant],
                    [-q / determinant, p / determinant],
                ],
                residuals,
                dof: (n - 2) as f64,
                chi_squared: Some(dot(&white, &white)),
            });
        }
        if !step.is_finite() {
            break;
        }
        previous = step;
    }
    Err(Error::Conflict {
        field: "points".to_owned(),
        found: "a fit that does not converge".to_owned(),
        allowed: "points that lie near a line, for their uncertainties".to_owned(),
    })
}
