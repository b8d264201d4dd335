//! A model as Monte Carlo calls it: block by block.

use crate::error::Result;
use crate::uncertainty::{MeasurementModel, Output};
use rayon::prelude::*;

/// A model that is evaluated for a block of trials at once.
///
/// Every [`MeasurementModel`] is one. A model that this crate cannot evaluate trial by trial, such
/// as one written in Python over arrays, implements this trait itself.
pub trait BlockModel: Sync {
    /// Names and units of the outputs.
    fn output_quantities(&self) -> Vec<Output>;

    /// The outputs of a block of trials, one column of shape `(size,)` for each, in SI units.
    ///
    /// `x` has one column of shape `(size,)` for each input, in the order of the inputs. A trial
    /// without a result has a value that is not finite.
    ///
    /// # Errors
    /// The block as a whole could not be evaluated; the run ends.
    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>>;

    /// Largest number of trials in a block. The results do not depend on it.
    fn block_size(&self) -> u64 {
        2048
    }

    /// Whether blocks must be evaluated one after the other, on the thread that asks.
    fn sequential(&self) -> bool {
        false
    }
}

impl<M: MeasurementModel> BlockModel for M {
    fn output_quantities(&self) -> Vec<Output> {
        self.outputs()
    }

    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
        let mut columns = vec![Vec::with_capacity(size); self.outputs().len()];
        let mut point = vec![0.0; x.len()];
        for trial in 0..size {
            for (value, column) in point.iter_mut().zip(x) {
                *value = column[trial];
            }
            match self.evaluate(&point) {
                Ok(y) => {
                    let values = columns.iter_mut().zip(y.as_ref());
                    values.for_each(|(column, value)| column.push(*value));
                }
                // outside the domain of the model: the trial has no result
                Err(_) => columns.iter_mut().for_each(|column| column.push(f64::NAN)),
            }
        }
        Ok(columns)
    }
}

/// Applies `evaluate` to the start and the size of every block of `count` trials, in parallel where
/// the model allows it; results in the order of the trials.
pub(super) fn in_blocks<M: BlockModel + ?Sized, T: Send>(
    model: &M,
    count: u64,
    evaluate: impl Fn(u64, usize) -> Result<T> + Sync,
) -> Result<Vec<T>> {
    let most = model.block_size().max(1);
    let starts: Vec<u64> = (0..count).step_by(most as usize).collect();
    let one = |start: u64| evaluate(start, most.min(count - start) as usize);
    if model.sequential() {
        starts.into_iter().map(one).collect()
    } else {
        starts.into_par_iter().map(one).collect()
    }
}
