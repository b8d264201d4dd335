//! Lines through points whose x is exactly known.

use super::{StraightLine, columns, extremes, uncertainties};
use crate::error::Result;

impl StraightLine {
    /// Ordinary least squares: x exact, all y equally and independently uncertain by an amount
    /// that the scatter about the line tells.
    ///
    /// # Errors
    /// Fewer than three points, columns of different length, x all equal, numbers not finite.
    ///
    /// # Source
    /// JCGM 100:2008, H.3.2, equations (H.13a) to (H.13g).
    pub fn ordinary(x: &[f64], y: &[f64]) -> Result<StraightLine> {
        columns(x, y)?;
        let mut line = fit(x, y, &vec![1.0; x.len()]);
        let squares: f64 = line.residuals.iter().map(|r| r * r).sum();
        let variance = squares / line.dof;
        for row in &mut line.covariance {
            row.iter_mut().for_each(|c| *c *= variance);
        }
        line.checked()
    }

    /// Weighted least squares: x exact, y independent with standard uncertainties `u_y`, shape
    /// `(n,)`.
    ///
    /// # Errors
    /// As for [`StraightLine::ordinary`]; an uncertainty not above zero.
    ///
    /// # Source
    /// ISO/TS 28037:2010, clause 6.
    pub fn weighted(x: &[f64], y: &[f64], u_y: &[f64]) -> Result<StraightLine> {
        columns(x, y)?;
        uncertainties("u_y", u_y, x.len(), false)?;
        let weights: Vec<f64> = u_y.iter().map(|u| 1.0 / (u * u)).collect();
        let mut line = fit(x, y, &weights);
        let squares = line.residuals.iter().zip(&weights).map(|(r, w)| r * r * w);
        line.chi_squared = Some(squares.sum());
        line.checked()
    }
}

/// The weighted fit about the weighted mean of x, where value and slope are uncorrelated.
fn fit(x: &[f64], y: &[f64], weights: &[f64]) -> StraightLine {
    let total: f64 = weights.iter().sum();
    // deviations from the first point keep the digits of points far from zero
    let (x0, y0) = (x[0], y[0]);
    let average = |v: &[f64], origin: f64| {
        let shifts = v.iter().zip(weights).map(|(v, w)| (v - origin) * w);
        shifts.sum::<f64>() / total
    };
    let (dx, dy) = (average(x, x0), average(y, y0));
    let points = || {
        x.iter()
            .zip(y)
            .zip(weights)
            .map(|((x, y), w)| ((x - x0) - dx, (y - y0) - dy, w))
    };
    let sxx: f64 = points().map(|(x, _, w)| x * x * w).sum();
    let sxy: f64 = points().map(|(x, y, w)| x * y * w).sum();
    let slope = sxy / sxx;
    StraightLine {
        centre: x0 + dx,
        value_at_centre: y0 + dy,
        slope,
        range: extremes(x),
        covariance: [[1.0 / total, 0.0], [0.0, 1.0 / sxx]],
        residuals: points().map(|(x, y, _)| y - slope * x).collect(),
        dof: (x.len() - 2) as f64,
        chi_squared: None,
    }
}
