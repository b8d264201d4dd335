//! Trials for which the model gave no finite result.

use crate::error::{Error, Result};
use crate::montecarlo::sampling::Draws;
use crate::scalar::InstructionSet;
use crate::uncertainty::InputSet;
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// Failed trials whose inputs are shown, the first ones.
const SHOWN: usize = 3;

/// How many trials failed, and the first of them with their inputs, in the order of the trials.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(in crate::montecarlo) struct Failures {
    pub number: u64,
    first: Vec<(u64, Vec<f64>)>,
}

impl Failures {
    /// The failed ones among the trials at `places` of a block that starts with trial `start`.
    pub fn of_block(
        set: InstructionSet,
        start: u64,
        places: Range<usize>,
        x: &Draws,
        y: &[Vec<f64>],
    ) -> Failures {
        let mut failures = Failures::default();
        if y.iter().all(|y| all_finite(set, &y[places.clone()])) {
            return failures;
        }
        for trial in places.filter(|trial| !succeeded(y, *trial)) {
            failures.number += 1;
            if failures.first.len() < SHOWN {
                let inputs = x.iter().map(|column| column[trial]).collect();
                failures.first.push((start + trial as u64, inputs));
            }
        }
        failures
    }

    /// Adds those of other trials.
    pub fn merge(&mut self, other: Failures) {
        self.number += other.number;
        self.first.extend(other.first);
        self.first.sort_by_key(|(trial, _)| *trial);
        self.first.truncate(SHOWN);
    }

    /// Refuses a larger share of all `trials` than allowed, and fewer than two results.
    pub fn judge(&self, trials: u64, allowed_share: f64, inputs: &InputSet) -> Result<()> {
        // a mean and a standard deviation need two results, whatever is allowed
        let few = trials.saturating_sub(self.number) < 2;
        if self.number as f64 <= allowed_share * trials as f64 && !few {
            return Ok(());
        }
        let shown = self.first.iter().map(|(_, x)| in_words(inputs, x));
        Err(Error::FailedTrials {
            failed: self.number,
            trials,
            first_trial: self.first.first().map_or(0, |(trial, _)| *trial),
            inputs: shown.collect::<Vec<_>>().join("; "),
            allowed_share,
        })
    }
}

/// Whether all outputs of a trial are finite.
pub(in crate::montecarlo) fn succeeded(y: &[Vec<f64>], trial: usize) -> bool {
    y.iter().all(|column| column[trial].is_finite())
}

/// Whether all numbers are finite, without a way out that would keep the loop from vectors.
fn all_finite(set: InstructionSet, values: &[f64]) -> bool {
    set.run(
        #[inline(always)]
        || {
            values
                .iter()
                .fold(0, |any, y| any | u64::from(!y.is_finite()))
                == 0
        },
    )
}

/// The inputs of one trial, in the units in which they are shown.
fn in_words(inputs: &InputSet, x: &[f64]) -> String {
    let named = inputs.inputs().iter().zip(x);
    let words: Vec<String> = named
        .map(|(input, x)| {
            let unit = input.unit();
            let shown = unit.after(&unit.from_si(*x).to_string());
            format!("{} = {shown}", input.name())
        })
        .collect();
    words.join(", ")
}
