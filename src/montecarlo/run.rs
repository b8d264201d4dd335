//! Draws the inputs, evaluates the model, keeps the outputs.

use super::block_model::{in_blocks, ready};
use super::sampling::Sampling;
use super::watch::{Watch, unwatched};
use super::{BlockModel, Summary, Trials};
use crate::error::{Error, Result};
use crate::uncertainty::{InputSet, Output};
use std::cell::RefCell;

/// A plain Monte Carlo propagation with a fixed number of trials (JCGM 101:2008, clause 7).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonteCarlo {
    /// Number of trials, `M`.
    pub trials: u64,
    /// The seed: same seed, same bits.
    pub seed: u64,
    /// The share of trials that may be without a finite result, from 0 to below 1. Such trials
    /// are left out of the summary, which then describes the outputs given that they exist.
    pub allowed_failures: f64,
}

impl Default for MonteCarlo {
    /// A million trials, which JCGM 101:2008, 7.2.2 expects to be enough for a 95 % interval with
    /// one or two significant digits; no failure allowed.
    fn default() -> Self {
        Self {
            trials: 1_000_000,
            seed: 1,
            allowed_failures: 0.0,
        }
    }
}

/// All outputs are kept, so memory bounds the number of trials.
pub(super) const MOST_TRIALS: u64 = 200_000_000;
/// Failed trials whose inputs are shown.
pub(super) const SHOWN_FAILURES: usize = 3;

/// Numbers copied at once.
const PIECE: usize = 256;

/// What trials gave, in their order.
#[derive(Default)]
pub(super) struct Kept {
    /// The values by output.
    values: Vec<Vec<f64>>,
    failed: u64,
    /// The first failed trials and their inputs.
    failures: Vec<(u64, Vec<f64>)>,
}

impl Kept {
    /// Room for so many trials and outputs.
    fn with_room(trials: u64, outputs: usize) -> Kept {
        Kept {
            values: vec![Vec::with_capacity(trials as usize); outputs],
            ..Kept::default()
        }
    }

    /// Takes the values of the outputs from that one on away.
    pub fn split_off(&mut self, output: usize) -> Vec<Vec<f64>> {
        self.values.split_off(output.min(self.values.len()))
    }

    /// Adds what later trials gave.
    pub fn add(&mut self, later: &Kept) {
        self.failed += later.failed;
        let room = SHOWN_FAILURES - self.failures.len();
        self.failures
            .extend(later.failures.iter().take(room).cloned());
        if self.values.is_empty() {
            self.values = later.values.clone();
        } else {
            for (all, own) in self.values.iter_mut().zip(&later.values) {
                // in pieces: long copies are slow on some processors
                own.chunks(PIECE)
                    .for_each(|piece| all.extend_from_slice(piece));
            }
        }
    }
}

impl MonteCarlo {
    /// Propagates the distributions of the inputs through the model; one summary for each output.
    ///
    /// Correlated inputs that are not normal are joined by a Gaussian copula: the coefficient
    /// given is that of the normal deviates behind them.
    ///
    /// # Errors
    /// A number of trials outside 100 to 2e8, an input without a finite variance, a larger share
    /// of trials without a finite result than allowed.
    pub fn run<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
    ) -> Result<Vec<Summary>> {
        Ok(self.joint(model, inputs)?.into_summaries())
    }

    /// As [`MonteCarlo::run`], with the outputs of each trial kept together.
    ///
    /// # Errors
    /// Those of [`MonteCarlo::run`].
    pub fn joint<M: BlockModel + ?Sized>(&self, model: &M, inputs: &InputSet) -> Result<Trials> {
        self.joint_watched(model, inputs, &mut unwatched)
    }

    /// As [`MonteCarlo::joint`], with somebody who looks on and may end it.
    ///
    /// # Errors
    /// Those of [`MonteCarlo::run`]; [`Error::Cancelled`].
    pub fn joint_watched<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
        watch: &mut Watch<'_>,
    ) -> Result<Trials> {
        self.check_trials()?;
        self.check()?;
        let sampling = Sampling::new(inputs, self.seed, "")?;
        let ready = ready(model, inputs)?;
        let kept = kept(&*ready, &sampling, 0, self.trials, watch)?;
        self.judge(model.output_quantities(), kept, inputs, self.trials)
    }

    pub(super) fn check_trials(&self) -> Result<()> {
        let inside = (100..=MOST_TRIALS).contains(&self.trials);
        Error::range(inside, "trials", self.trials as f64, "", "100 to 2e8")
    }

    pub(super) fn check(&self) -> Result<()> {
        let inside = (0.0..1.0).contains(&self.allowed_failures);
        let (share, allowed) = (self.allowed_failures, "a share from 0 to below 1");
        Error::range(inside, "allowed_failures", share, "", allowed)
    }

    /// What was kept of `trials` trials, unless too many failed.
    pub(super) fn judge(
        &self,
        outputs: Vec<Output>,
        kept: Kept,
        inputs: &InputSet,
        trials: u64,
    ) -> Result<Trials> {
        let failed = kept.failed;
        // a mean and a standard deviation need two results, whatever is allowed
        let few = trials - failed < 2;
        let share = self.allowed_failures;
        if failed as f64 > share * trials as f64 || few {
            return Err(failed_trials(failed, trials, &kept.failures, inputs, share));
        }
        Ok(Trials::new(outputs, kept.values, self.seed, failed))
    }
}

/// The error of too many failed trials; `failures` are the first ones and their inputs.
pub(super) fn failed_trials(
    failed: u64,
    trials: u64,
    failures: &[(u64, Vec<f64>)],
    inputs: &InputSet,
    allowed_share: f64,
) -> Error {
    let words: Vec<String> = failures.iter().map(|(_, x)| in_words(inputs, x)).collect();
    Error::FailedTrials {
        failed,
        trials,
        first_trial: failures.first().map_or(0, |(trial, _)| *trial),
        inputs: words.join("; "),
        allowed_share,
    }
}

/// Trials `start..start + count`, evaluated in blocks, in parallel where the model allows it.
pub(super) fn kept(
    model: &dyn BlockModel,
    sampling: &Sampling,
    start: u64,
    count: u64,
    watch: &mut Watch<'_>,
) -> Result<Kept> {
    let mut all = Kept::with_room(count, model.output_quantities().len());
    in_blocks(
        model,
        count,
        watch,
        |offset, size| block(model, sampling, start + offset, size),
        |block: Kept| all.add(&block),
    )?;
    Ok(all)
}

thread_local! {
    /// Columns of draws, kept from block to block.
    static DRAWS: RefCell<Vec<Vec<f64>>> = RefCell::default();
}

fn block(model: &dyn BlockModel, sampling: &Sampling, start: u64, size: usize) -> Result<Kept> {
    let mut draws = DRAWS.take();
    sampling.draw_into(&mut draws, model.instruction_set()?, start, size);
    let x: Vec<&[f64]> = draws.iter().map(Vec::as_slice).collect();
    let mut values = model.evaluate_block(&x, size)?;
    let mut block = Kept::default();
    if !values.iter().all(|column| all_finite(column)) {
        let finite = |trial: &usize| values.iter().all(|column| column[*trial].is_finite());
        let (kept, failed): (Vec<usize>, Vec<usize>) = (0..size).partition(finite);
        for column in &mut values {
            *column = kept.iter().map(|trial| column[*trial]).collect();
        }
        let inputs_of = |trial: &usize| {
            let x = draws.iter().map(|column| column[*trial]).collect();
            (start + *trial as u64, x)
        };
        block.failed = failed.len() as u64;
        block.failures = failed.iter().take(SHOWN_FAILURES).map(inputs_of).collect();
    }
    block.values = values;
    DRAWS.set(draws);
    Ok(block)
}

/// Whether all numbers are finite, without a way out that would keep the loop from vectors.
fn all_finite(values: &[f64]) -> bool {
    let mut missing = 0_u64;
    for y in values {
        missing |= u64::from(!y.is_finite());
    }
    missing == 0
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
