//! A test for one outlying reading. It reports; nothing is ever removed here.

use super::TypeA;
use crate::error::{Error, Result};
use crate::scalar::special::StudentT;

/// Grubbs' test for the reading farthest from the mean, of normal readings.
///
/// # Source
/// F. E. Grubbs, Ann. Math. Stat. 21 (1950) 27; ISO 5725-2 uses it for laboratories. The critical
/// value by Student's t and Bonferroni's inequality, which is exact for large deviations: E. S.
/// Pearson and C. Chandra Sekar, Biometrika 28 (1936) 308.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct OutlierTest {
    /// The place of the reading farthest from the mean.
    pub index: usize,
    /// That reading.
    pub reading: f64,
    /// `G = |x - mean| / s`.
    pub statistic: f64,
    /// The value that `G` exceeds with the probability `significance` among normal readings.
    pub critical_value: f64,
    /// The level of the test.
    pub significance: f64,
    /// An upper bound of the probability of so large a `G` among normal readings.
    pub p_value: f64,
}

impl OutlierTest {
    /// The two-sided test of `readings`, shape `(n,)`, at the level `significance`, such as 0.05.
    ///
    /// # Errors
    /// Fewer than three readings, readings that are all equal or not finite, a level outside 0
    /// to 1.
    pub fn of(readings: &[f64], significance: f64, field: &str) -> Result<OutlierTest> {
        let a = TypeA::of(readings, field)?;
        let critical_value = grubbs_critical_value(a.count, significance)?;
        let s = a.standard_deviation;
        Error::range(s > 0.0, field, s, "", "readings that vary")?;
        let distance = |i: usize| (readings[i] - a.mean).abs();
        let mut index = 0;
        for i in 1..a.count {
            if distance(i) > distance(index) {
                index = i;
            }
        }
        let n = a.count as f64;
        let statistic = distance(index) / s;
        // the inverse of the formula of the critical value
        let square = statistic * statistic;
        let rest = (n - 1.0) * (n - 1.0) - n * square;
        let p_value = if rest > 0.0 {
            let t = (n * (n - 2.0) * square / rest).sqrt();
            (2.0 * n * StudentT::new(n - 2.0).cdf(-t)).min(1.0)
        } else {
            0.0
        };
        Ok(OutlierTest {
            index,
            reading: readings[index],
            statistic,
            critical_value,
            significance,
            p_value,
        })
    }

    /// Whether the reading stands out at the level of the test.
    pub fn stands_out(&self) -> bool {
        self.statistic > self.critical_value
    }

    /// The finding in words, which leaves the decision to people.
    pub fn in_words(&self) -> String {
        let numbers = format!(
            "Grubbs' G is {:.3}, critical value {:.3} at {} %",
            self.statistic,
            self.critical_value,
            100.0 * self.significance
        );
        if self.stands_out() {
            format!(
                "Reading {} ({}) stands out: {numbers}. It was kept; look for a cause before \
                 leaving it out.",
                self.index + 1,
                self.reading
            )
        } else {
            format!("No reading stands out: {numbers}.")
        }
    }
}

/// The value that Grubbs' `G` of `count` normal readings exceeds with probability `significance`.
///
/// # Errors
/// Fewer than three readings, a level outside 0 to 1.
pub fn grubbs_critical_value(count: usize, significance: f64) -> Result<f64> {
    let n = count as f64;
    Error::range(count >= 3, "readings", n, "", "three readings or more")?;
    let inside = significance > 0.0 && significance < 1.0;
    let allowed = "strictly between 0 and 1";
    Error::range(inside, "significance", significance, "", allowed)?;
    let t = -StudentT::new(n - 2.0).quantile(significance / (2.0 * n));
    Ok((n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt())
}
