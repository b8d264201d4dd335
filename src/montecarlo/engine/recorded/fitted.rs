//! A recording for the numbers that are usual, with fits of what costs much.

use super::fit::Fit;
use super::functions::all_hold;
use super::recording::{Function, Recording, record};
use super::{Program, Recorded};
use crate::scalar::{InstructionSet, Scalar};

/// A model as a list of operations that hold for usual numbers and say for which they do not.
///
/// A [function of one or two numbers](Scalar::function_of) is a polynomial, if one agrees with it to
/// nine digits over the box that usual inputs lead to; of a [choice](Scalar::choose) the usual
/// side is taken. The outputs have other bits than those of the model, but the same on every machine.
#[derive(Debug, Clone)]
pub struct FittedProgram {
    /// With the condition on which its outputs hold.
    program: Program,
}

impl FittedProgram {
    /// Records `model`; it returns the outputs.
    ///
    /// `known` has the value of each input that has only one, and `seen` a column of usual values,
    /// of equal shape, for each input.
    ///
    /// `None` where the model returns `None`, or asks for the value of a number and so may do
    /// different things for different numbers.
    pub fn record<O: AsRef<[Recorded]>>(
        known: &[Option<f64>],
        seen: &[&[f64]],
        model: impl Fn(&[Recorded]) -> Option<O>,
    ) -> Option<FittedProgram> {
        let recorded = |fits: Vec<Option<Fit>>| {
            let (outputs, recording) = record(true, Some(fits), || {
                let inputs = known.iter().enumerate();
                let x = inputs.map(|(i, known)| match known {
                    Some(value) => Recorded::constant(*value),
                    None => Recorded::input(i),
                });
                model(&x.collect::<Vec<_>>())
            });
            let places = recording.places(outputs?.as_ref())?;
            Some((places, recording))
        };
        let (mut outputs, mut recording) = recorded(Vec::new())?;
        let fits = fits(&recording, seen);
        if fits.iter().any(Option::is_some) {
            (outputs, recording) = recorded(fits)?;
        }
        outputs.push(all_hold(&mut recording));
        Some(FittedProgram {
            program: Program::of(&recording, &outputs).with_condition(),
        })
    }

    /// Number of outputs.
    pub fn outputs(&self) -> usize {
        self.program.outputs()
    }

    /// The outputs at inputs of shape `(size,)` each, one column of that shape for each, and the
    /// places where they do not hold.
    ///
    /// # Panics
    /// If an input that the model uses is missing or shorter than `size`.
    pub fn evaluate(
        &self,
        set: InstructionSet,
        x: &[&[f64]],
        size: usize,
    ) -> (Vec<Vec<f64>>, Vec<usize>) {
        self.program.evaluate_where(set, x, size)
    }
}

/// Fits of the functions of a recording, over the arguments that the inputs seen lead to.
fn fits(recording: &Recording, seen: &[&[f64]]) -> Vec<Option<Fit>> {
    let set = InstructionSet::widest();
    let functions = &recording.functions;
    let few = |function: &Function| (1..=2).contains(&function.arguments.len());
    let arguments = functions
        .iter()
        .filter(|f| few(f))
        .flat_map(|f| &f.arguments);
    let arguments: Vec<u32> = arguments.copied().collect();
    let size = seen.first().map_or(0, |column| column.len());
    let mut seen = Program::of(recording, &arguments)
        .evaluate(set, seen, size)
        .into_iter();
    let fit = |function: &Function| {
        few(function).then_some(())?;
        let seen: Vec<Vec<f64>> = seen.by_ref().take(function.arguments.len()).collect();
        let program = Program::of(&recording.alone(function), &[function.result]);
        Fit::of(&seen, |x: &[Vec<f64>]| {
            let columns: Vec<&[f64]> = x.iter().map(Vec::as_slice).collect();
            let mut values = program.evaluate(set, &columns, x[0].len());
            values.swap_remove(0)
        })
    };
    functions.iter().map(fit).collect()
}
