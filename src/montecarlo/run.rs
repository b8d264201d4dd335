//! Draws the inputs, evaluates the model, keeps the outputs.

use super::{Stream, Summary};
use crate::error::{Error, Result};
use crate::scalar::special::normal_quantile;
use crate::uncertainty::{Distribution, InputSet, MeasurementModel, Sampler};
use rayon::prelude::*;

/// A plain Monte Carlo propagation with a fixed number of trials (JCGM 101:2008, clause 7).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MonteCarlo {
    /// Number of trials, `M`.
    pub trials: u64,
    /// The seed: same seed, same bits.
    pub seed: u64,
}

impl Default for MonteCarlo {
    /// A million trials, which JCGM 101:2008, 7.2.2 expects to be enough for a 95 % interval with
    /// one or two significant digits.
    fn default() -> Self {
        Self {
            trials: 1_000_000,
            seed: 1,
        }
    }
}

/// Trials that are drawn and evaluated together.
const BLOCK: u64 = 2048;
/// All outputs are kept, so memory bounds the number of trials.
const MOST_TRIALS: u64 = 200_000_000;

/// How the draws of one input come about.
struct Source {
    stream: Stream,
    sampler: Sampler,
    /// Row of the lower factor of the correlation matrix, where the input is correlated.
    factor_row: Option<Vec<f64>>,
}

/// A trial without a finite result.
struct Failure {
    count: u64,
    first_trial: u64,
    inputs: Vec<f64>,
}

impl MonteCarlo {
    /// Propagates the distributions of the inputs through the model; one summary for each output.
    ///
    /// Correlated inputs that are not normal are joined by a Gaussian copula: the coefficient
    /// given is that of the normal deviates behind them.
    ///
    /// # Errors
    /// A number of trials outside 100 to 2e8, an input without a finite variance, a trial without
    /// a finite result.
    pub fn run<M: MeasurementModel>(&self, model: &M, inputs: &InputSet) -> Result<Vec<Summary>> {
        let inside = (100..=MOST_TRIALS).contains(&self.trials);
        Error::range(inside, "trials", self.trials as f64, "", "100 to 2e8")?;
        let sources = self.sources(inputs)?;
        let outputs = model.outputs();
        let starts: Vec<u64> = (0..self.trials).step_by(BLOCK as usize).collect();
        let blocks: Vec<_> = starts
            .into_par_iter()
            .map(|start| self.block(model, &sources, outputs.len(), start))
            .collect();
        if let Some(error) = failure(&blocks, inputs, self.trials) {
            return Err(error);
        }
        let summaries = outputs.into_iter().enumerate().map(|(o, output)| {
            let values = blocks.iter().flat_map(|(values, _)| &values[o]).copied();
            Summary::of(output, values.collect(), self.seed)
        });
        Ok(summaries.collect())
    }

    fn sources(&self, inputs: &InputSet) -> Result<Vec<Source>> {
        let correlations = inputs.correlations();
        let factor = correlations.lower_factor();
        let source = |(i, input): (usize, &crate::uncertainty::Input)| {
            let distribution = input.distribution();
            if let Distribution::StudentT { dof, .. } = *distribution {
                let allowed = "above 2 degrees of freedom for Monte Carlo: four readings or more";
                Error::range(dof > 2.0, input.name(), dof, "", allowed)?;
            }
            Ok(Source {
                stream: Stream::new(self.seed, input.name()),
                sampler: distribution.sampler(),
                factor_row: correlations.is_correlated(i).then(|| factor[i].clone()),
            })
        };
        inputs.inputs().iter().enumerate().map(source).collect()
    }

    /// The outputs of one block of trials, by output, and what failed.
    fn block<M: MeasurementModel>(
        &self,
        model: &M,
        sources: &[Source],
        outputs: usize,
        start: u64,
    ) -> (Vec<Vec<f64>>, Option<Failure>) {
        let size = BLOCK.min(self.trials - start) as usize;
        let draws = draw(sources, start, size);
        let mut values = vec![Vec::with_capacity(size); outputs];
        let mut failure: Option<Failure> = None;
        let mut x = vec![0.0; sources.len()];
        for trial in 0..size {
            for (x, column) in x.iter_mut().zip(&draws) {
                *x = column[trial];
            }
            let y = model.evaluate(&x).ok();
            let y = y
                .as_ref()
                .map(AsRef::as_ref)
                .filter(|y| y.iter().all(|v| v.is_finite()));
            match y {
                Some(y) => values.iter_mut().zip(y).for_each(|(kept, v)| kept.push(*v)),
                None => {
                    let failure = failure.get_or_insert_with(|| Failure {
                        count: 0,
                        first_trial: start + trial as u64,
                        inputs: x.clone(),
                    });
                    failure.count += 1;
                }
            }
        }
        (values, failure)
    }
}

/// The draws of all inputs for trials `start..start + size`, by input.
fn draw(sources: &[Source], start: u64, size: usize) -> Vec<Vec<f64>> {
    let uniforms = |source: &Source| {
        let mut stream = source.stream.clone();
        stream.seek(start);
        (0..size).map(move |_| stream.next_uniform())
    };
    let deviates: Vec<Vec<f64>> = sources
        .iter()
        .map(|source| match source.factor_row {
            Some(_) => uniforms(source).map(normal_quantile).collect(),
            None => Vec::new(),
        })
        .collect();
    sources
        .iter()
        .map(|source| match &source.factor_row {
            None => uniforms(source)
                .map(|u| source.sampler.quantile(u))
                .collect(),
            Some(row) => (0..size)
                .map(|trial| {
                    let terms = row.iter().zip(&deviates).filter(|(l, _)| **l != 0.0);
                    let z = terms.map(|(l, deviates)| l * deviates[trial]).sum();
                    source.sampler.from_normal_deviate(z)
                })
                .collect(),
        })
        .collect()
}

fn failure(
    blocks: &[(Vec<Vec<f64>>, Option<Failure>)],
    inputs: &InputSet,
    trials: u64,
) -> Option<Error> {
    let failures = || blocks.iter().filter_map(|(_, failure)| failure.as_ref());
    let first = failures().next()?;
    let named = inputs.inputs().iter().zip(&first.inputs);
    let words: Vec<String> = named
        .map(|(input, x)| {
            let unit = input.unit();
            format!("{} = {} {}", input.name(), unit.from_si(*x), unit.symbol)
        })
        .collect();
    Some(Error::FailedTrials {
        failed: failures().map(|f| f.count).sum(),
        trials,
        first_trial: first.first_trial,
        inputs: words.join(", "),
    })
}
