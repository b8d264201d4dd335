//! Trials of a model that is evaluated elsewhere, such as in Python, block by block.

use super::run::{Block, SHOWN_FAILURES};
use super::sampling::Sampling;
use super::{MonteCarlo, Trials};
use crate::error::{Error, Result};
use crate::uncertainty::{InputSet, Output};

/// The draws of a Monte Carlo run, for a model that this crate cannot call.
///
/// They are those that [`MonteCarlo::run`] draws for the same inputs and seed.
pub struct Draws {
    run: MonteCarlo,
    inputs: InputSet,
    sampling: Sampling,
}

impl Draws {
    /// Prepares the draws of all inputs.
    ///
    /// # Errors
    /// Those of [`MonteCarlo::run`] that concern run and inputs.
    pub fn new(run: MonteCarlo, inputs: InputSet) -> Result<Draws> {
        run.check_trials()?;
        run.check()?;
        let sampling = Sampling::new(&inputs, run.seed, "")?;
        Ok(Draws {
            run,
            inputs,
            sampling,
        })
    }

    /// The draws for trials `start..start + size`, one column of shape `(size,)` for each input,
    /// in SI units.
    pub fn block(&self, start: u64, size: usize) -> Vec<Vec<f64>> {
        self.sampling.draw(start, size)
    }

    /// The trials from the values of the outputs, by output and in the order of the trials, in SI
    /// units. Trials with a value that is not finite count as failed.
    ///
    /// # Errors
    /// Columns that are not of the length of the run, a larger share of failed trials than
    /// allowed.
    pub fn trials(&self, outputs: Vec<Output>, mut values: Vec<Vec<f64>>) -> Result<Trials> {
        let trials = self.run.trials;
        for (output, column) in outputs.iter().zip(&values) {
            if column.len() as u64 != trials {
                return Err(Error::Length {
                    field: output.name.clone(),
                    found: column.len(),
                    allowed: format!("{trials}, one for each trial"),
                });
            }
        }
        let finite = |trial: &usize| values.iter().all(|column| column[*trial].is_finite());
        let (kept, failed): (Vec<usize>, Vec<usize>) = (0..trials as usize).partition(finite);
        if !failed.is_empty() {
            for column in &mut values {
                *column = kept.iter().map(|trial| column[*trial]).collect();
            }
        }
        let inputs_of = |trial: &usize| {
            let columns = self.sampling.draw(*trial as u64, 1);
            let x = columns.iter().map(|column| column[0]).collect();
            (*trial as u64, x)
        };
        let block = Block {
            values,
            failed: failed.len() as u64,
            failures: failed.iter().take(SHOWN_FAILURES).map(inputs_of).collect(),
        };
        self.run.assemble(outputs, &[block], &self.inputs, trials)
    }
}
