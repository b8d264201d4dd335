//! Whether first order is good enough for a result: by its trials, and by more of them where these leave
//! it open.

use super::Evaluation;
use crate::error::Result;
use crate::montecarlo::{LowDiscrepancy, Propagated, Validation, Verdict};

/// Points of each of the replicates that decide where trials do not. By measurement on the demonstration
/// the ends of a million of them are known twice as well as those of a million random trials, and of
/// four million better than those of sixteen.
const POINTS: [u64; 2] = [1 << 16, 1 << 18];
const REPLICATES: u64 = 16;

impl Evaluation {
    /// Compares first order with the trials of this evaluation (JCGM 101:2008, clause 8). Where the
    /// error of their ends leaves the verdict open, points of low discrepancy with the same seed
    /// decide, up to four million.
    ///
    /// # Errors
    /// As [`Validation::of`].
    pub fn validation(
        &self,
        trials: &dyn Propagated,
        coverage_probability: f64,
        digits: u32,
    ) -> Result<Validation> {
        let mut found = Validation::of(&self.budget, trials, coverage_probability, digits)?;
        for points in POINTS {
            if found.verdict != Verdict::Undecided {
                break;
            }
            let run = LowDiscrepancy {
                points,
                replicates: REPLICATES,
                seed: trials.seed(),
                coverage_probability,
                ..LowDiscrepancy::default()
            };
            // what has no points, such as trials that fail, stays undecided
            let Ok(run) = run.run(&self.model, &self.inputs) else {
                break;
            };
            found = Validation::of_points(&self.budget, &run, digits)?;
        }
        Ok(found)
    }
}
