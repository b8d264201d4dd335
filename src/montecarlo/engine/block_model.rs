//! A model as Monte Carlo calls it: block by block.

use super::recorded::{FittedProgram, Program};
use crate::error::{Error, Result};
use crate::montecarlo::sampling::Sampling;
use crate::scalar::InstructionSet;
use crate::uncertainty::{Distribution, InputSet, MeasurementModel, Output, gradients};
use crate::watch::{Units, Watch};
use once_cell::race::OnceBox;

/// Draws of each input by which a model is told what values are usual.
const USUAL_VALUES: usize = 512;

/// Trials below which a recording of the whole model, in lanes of numbers, does not pay.
const LEAST_FOR_LANES: usize = 16;

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

    /// The model made ready for many blocks of trials of these inputs with an instruction set, if
    /// that helps. Its values may differ by some 1e-9 of themselves, the same on every machine.
    fn prepared(&self, inputs: &InputSet, set: InstructionSet) -> Option<Box<dyn BlockModel + '_>> {
        let _ = (inputs, set);
        None
    }

    /// The sensitivity coefficients of each output at the estimates of the inputs, in SI units, if
    /// the model has them.
    fn sensitivities(&self, inputs: &InputSet) -> Option<Vec<Vec<f64>>> {
        let _ = inputs;
        None
    }

    /// The instruction set for the draws and, where this crate evaluates it, for the model.
    ///
    /// # Errors
    /// Those of [`InstructionSet::chosen`].
    fn instruction_set(&self) -> Result<InstructionSet> {
        InstructionSet::chosen()
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

    fn sensitivities(&self, inputs: &InputSet) -> Option<Vec<Vec<f64>>> {
        let (_, gradients) = gradients(self, &inputs.estimates()).ok()?;
        let finite = gradients.iter().flatten().all(|c| c.is_finite());
        finite.then_some(gradients)
    }

    fn prepared(&self, inputs: &InputSet, set: InstructionSet) -> Option<Box<dyn BlockModel + '_>> {
        let seen = Sampling::new(inputs, 0, "usual values of ").ok()?;
        let seen = seen.draw(set, 0, USUAL_VALUES);
        let seen: Vec<&[f64]> = seen.iter().map(|draws| draws.as_slice()).collect();
        let known = inputs.inputs().iter().map(|input| input.distribution());
        let known: Vec<Option<f64>> = known.map(Distribution::only_value).collect();
        let usual = FittedProgram::record(&known, &seen, |x| self.evaluate(x).ok())?;
        let model = RecordedModel {
            model: self,
            outputs: self.outputs(),
            inputs: inputs.inputs().len(),
            usual,
            whole: OnceBox::new(),
            set,
        };
        (model.usual.outputs() == model.outputs.len()).then(|| Box::new(model) as _)
    }
}

/// A measurement model as a recording of its operations.
struct RecordedModel<'a, M> {
    model: &'a M,
    outputs: Vec<Output>,
    inputs: usize,
    usual: FittedProgram,
    /// For the trials that are not usual; recorded when there is one.
    whole: OnceBox<Option<Program>>,
    set: InstructionSet,
}

impl<M: MeasurementModel> RecordedModel<'_, M> {
    /// The outputs of any trials, with the bits of the model.
    fn evaluate_whole(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
        if size < LEAST_FOR_LANES {
            return self.model.evaluate_block(x, size);
        }
        let whole = self.whole.get_or_init(|| {
            Box::new(Program::record(self.inputs, |x| {
                self.model.evaluate(x).ok()
            }))
        });
        match whole {
            Some(program) => Ok(program.evaluate(self.set, x, size)),
            None => self.model.evaluate_block(x, size),
        }
    }
}

impl<M: MeasurementModel> BlockModel for RecordedModel<'_, M> {
    fn output_quantities(&self) -> Vec<Output> {
        self.outputs.clone()
    }

    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
        let (mut columns, unusual) = self.usual.evaluate(self.set, x, size);
        if unusual.is_empty() {
            return Ok(columns);
        }
        let of_unusual = |column: &&[f64]| unusual.iter().map(|trial| column[*trial]).collect();
        let x: Vec<Vec<f64>> = x.iter().map(of_unusual).collect();
        let x: Vec<&[f64]> = x.iter().map(Vec::as_slice).collect();
        let values = self.evaluate_whole(&x, unusual.len())?;
        for (column, values) in columns.iter_mut().zip(values) {
            for (trial, value) in unusual.iter().zip(values) {
                column[*trial] = value;
            }
        }
        Ok(columns)
    }

    fn instruction_set(&self) -> Result<InstructionSet> {
        Ok(self.set)
    }
}

/// A model whose blocks are evaluated with a given instruction set, so that machines can be
/// compared with each other. The results do not depend on it.
pub struct WithInstructionSet<'a, M: ?Sized> {
    /// The model.
    pub model: &'a M,
    /// The instruction set; it must be [available](InstructionSet::available).
    pub instruction_set: InstructionSet,
}

impl<M: BlockModel + ?Sized> BlockModel for WithInstructionSet<'_, M> {
    fn output_quantities(&self) -> Vec<Output> {
        self.model.output_quantities()
    }
    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
        self.model.evaluate_block(x, size)
    }
    fn block_size(&self) -> u64 {
        self.model.block_size()
    }
    fn sequential(&self) -> bool {
        self.model.sequential()
    }
    fn prepared(&self, inputs: &InputSet, set: InstructionSet) -> Option<Box<dyn BlockModel + '_>> {
        self.model.prepared(inputs, set)
    }
    fn sensitivities(&self, inputs: &InputSet) -> Option<Vec<Vec<f64>>> {
        self.model.sensitivities(inputs)
    }
    fn instruction_set(&self) -> Result<InstructionSet> {
        Ok(self.instruction_set)
    }
}

/// The model of a run: prepared, or as it is with the instruction set chosen once.
pub(in crate::montecarlo) fn ready<'a, M: BlockModel + ?Sized>(
    model: &'a M,
    inputs: &InputSet,
) -> Result<Box<dyn BlockModel + 'a>> {
    let instruction_set = model.instruction_set()?;
    let prepared = model.prepared(inputs, instruction_set);
    match prepared {
        Some(prepared) => Ok(prepared),
        None => as_it_is(model),
    }
}

/// The outputs of a block of trials: so many columns, `size` values in each.
///
/// # Errors
/// Those of the model; other numbers of columns or values.
pub(in crate::montecarlo) fn checked_block(
    model: &dyn BlockModel,
    x: &[&[f64]],
    size: usize,
    outputs: usize,
) -> Result<Vec<Vec<f64>>> {
    let values = model.evaluate_block(x, size)?;
    if values.len() == outputs && values.iter().all(|column| column.len() == size) {
        return Ok(values);
    }
    Err(Error::Length {
        field: "values of a block of the model".to_owned(),
        found: values.iter().map(Vec::len).sum(),
        allowed: format!("{size} for each of {outputs} outputs"),
    })
}

/// The model as it is, with the instruction set chosen once.
pub(in crate::montecarlo) fn as_it_is<'a, M: BlockModel + ?Sized>(
    model: &'a M,
) -> Result<Box<dyn BlockModel + 'a>> {
    Ok(Box::new(WithInstructionSet {
        instruction_set: model.instruction_set()?,
        model,
    }))
}

/// Blocks of a short run.
const LEAST_BLOCKS: u64 = 8;
/// Trials below which a block is not made smaller.
const SMALLEST_BLOCK: u64 = 128;
/// Trials below which a run is over before another thread has woken up.
const FEW_TRIALS: u64 = 256;

/// Trials in each block of a run of `count` trials but the last, which may have fewer.
pub(in crate::montecarlo) fn trials_in_block(model: &dyn BlockModel, count: u64) -> u64 {
    // small enough for every thread to have some
    let share = count
        .div_ceil(LEAST_BLOCKS)
        .next_multiple_of(SMALLEST_BLOCK);
    match model.sequential() {
        true => model.block_size().max(1),
        false => model.block_size().clamp(1, share),
    }
}

/// Applies `evaluate` to the start and the size of every block of `count` trials, in parallel where
/// the model allows it, and hands the results over in the order of the trials.
pub(in crate::montecarlo) fn in_blocks<T: Send>(
    model: &dyn BlockModel,
    count: u64,
    watch: &mut Watch<'_>,
    evaluate: impl Fn(u64, usize) -> Result<T> + Sync,
    take: impl FnMut(T),
) -> Result<()> {
    let most = trials_in_block(model, count);
    let units = Units {
        range: 0..count.div_ceil(most),
        trials: most,
        total: count,
        parallel: !model.sequential() && count >= FEW_TRIALS,
    };
    let one = |unit: u64| {
        let start = unit * most;
        evaluate(start, most.min(count - start) as usize)
    };
    units.work(watch, one, take)
}
