//! Whether first order is good enough for a result: by its trials, and by more of them where these leave
//! it open.

use super::Evaluation;
use crate::error::{Error, Result};
use crate::montecarlo::{LowDiscrepancy, TrialStatistics, Validation, Verdict};
use crate::watch::{Watch, unwatched};

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
        trials: &dyn TrialStatistics,
        coverage_probability: f64,
        digits: u32,
    ) -> Result<Validation> {
        self.validation_watched(trials, coverage_probability, digits, &mut unwatched)
    }

    /// As [`Evaluation::validation`], with a watch that may end the run with points.
    ///
    /// # Errors
    /// As [`Validation::of`]; [`Error::Cancelled`].
    pub fn validation_watched(
        &self,
        trials: &dyn TrialStatistics,
        coverage_probability: f64,
        digits: u32,
        watch: &mut Watch<'_>,
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
            match run.run_watched(&self.model, &self.inputs, watch) {
                Ok(run) => found = Validation::of_points(&self.budget, &run, digits)?,
                Err(cancelled @ Error::Cancelled { .. }) => return Err(cancelled),
                Err(_) => break,
            }
        }
        Ok(found)
    }
}
