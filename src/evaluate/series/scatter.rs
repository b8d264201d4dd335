//! The scatter of single readings.

use super::Repeatability;
use crate::error::{Error, Result};

/// Differences from which a scatter is judged, at least.
const FEWEST: usize = 10;

/// Probability that a normal deviate is within one standard deviation.
const WITHIN: f64 = 0.682_689_492_137_085_9;

/// Degrees of freedom of the estimate for each difference; by simulation, 0.415 to 0.43.
const DOF_FOR_EACH: f64 = 0.41;

/// The standard deviation of single readings from the differences `d` of readings that follow each
/// other.
///
/// ```text
/// s = q / sqrt(2),   q: 68.27 % of |d| are not larger
/// ```
/// A change of the quantity that is slow against the step leaves differences alone, so the
/// scatter is judged without knowing the course (mean square successive difference, von Neumann and
/// others). The quantile in place of the mean square bears with up to a third of the differences
/// being steps of the quantity itself. Where it is zero, since readings have few digits, the mean
/// square is taken.
///
/// # Source
/// J. von Neumann, R. H. Kent, H. R. Bellinson, B. I. Hart, Ann. Math. Statist. 12 (1941) 153, for
/// differences in place of deviations; the quantile is our choice.
pub(super) fn of_differences(
    differences: impl Iterator<Item = f64>,
    field: &str,
) -> Result<Repeatability> {
    let mut sizes: Vec<f64> = differences.map(f64::abs).collect();
    let count = sizes.len();
    if count < FEWEST {
        return Err(Error::Missing {
            field: format!("repeatability.{field}"),
            needed: format!(
                "the standard deviation of single readings, stated: {count} pairs of rows that \
                 follow each other do not tell it, {FEWEST} or more would"
            ),
        });
    }
    let place = (WITHIN * count as f64).ceil() as usize - 1;
    let quantile = *sizes.select_nth_unstable_by(place, f64::total_cmp).1;
    let standard_deviation = if quantile > 0.0 {
        quantile / std::f64::consts::SQRT_2
    } else {
        // the selection has moved them about: their order is not to touch the bits of the sum
        sizes.sort_unstable_by(f64::total_cmp);
        let squares: f64 = sizes.iter().map(|d| d * d).sum();
        (squares / (2.0 * count as f64)).sqrt()
    };
    Ok(Repeatability {
        standard_deviation,
        dof: DOF_FOR_EACH * count as f64,
    })
}
