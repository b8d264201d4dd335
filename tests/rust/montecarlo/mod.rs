//! Draws, recordings of models and fits of their functions, runs, tallies, points of low discrepancy, sensitivity indices.

use flowdoubt::montecarlo::BlockModel;
use flowdoubt::scalar::InstructionSet;
use flowdoubt::uncertainty::{Distribution, Input, InputSet, MeasurementModel};

mod adaptive;
mod fitted;
mod low_discrepancy;
mod recorded;
mod sensitivity_indices;
mod stability;
mod streams;
mod tally;

/// A model with as many outputs as its function of any scalar gives.
macro_rules! model {
    ($name:ident, $outputs:expr, |$x:ident: &[S]| $body:expr) => {
        struct $name;
        impl flowdoubt::uncertainty::MeasurementModel for $name {
            type Outputs<S: flowdoubt::scalar::Scalar> = Vec<S>;
            fn outputs(&self) -> Vec<flowdoubt::uncertainty::Output> {
                let output = |i: usize| flowdoubt::uncertainty::Output {
                    name: format!("output {i}"),
                    unit: flowdoubt::units::Unit::named(""),
                };
                (0..$outputs).map(output).collect()
            }
            fn evaluate<S: flowdoubt::scalar::Scalar>(
                &self,
                $x: &[S],
            ) -> flowdoubt::Result<Vec<S>> {
                Ok($body)
            }
        }
    };
}
use model;

/// Rectangular inputs within these limits.
fn within(limits: &[(f64, f64)]) -> InputSet {
    let input = |(i, (lower, upper)): (usize, &(f64, f64))| {
        let (lower, upper) = (*lower, *upper);
        let rectangular = Distribution::Rectangular { lower, upper };
        Input::with_distribution(&format!("input {i}"), rectangular).expect("input")
    };
    InputSet::independent(limits.iter().enumerate().map(input).collect()).expect("set")
}

/// The outputs of a model made ready for blocks of trials; `None` where it cannot be.
fn made_ready<M: MeasurementModel>(
    model: &M,
    inputs: &InputSet,
    set: InstructionSet,
    x: &[&[f64]],
) -> Option<Vec<Vec<f64>>> {
    let ready = model.prepared(inputs, set)?;
    Some(ready.evaluate_block(x, x[0].len()).expect("values"))
}
