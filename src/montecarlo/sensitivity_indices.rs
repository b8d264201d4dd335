//! Which input the variance of the output comes from, beyond first order: Sobol indices.

use super::engine::{BlockModel, checked_block, in_blocks, ready};
use super::sampling::Sampling;
use super::trials::chunked_sum;
use crate::error::{Error, Result};
use crate::scalar::special::normal_quantile;
use crate::uncertainty::{InputSet, Output, probability_inside};
use crate::watch::{Watch, unwatched};

/// Estimation of variance-based sensitivity indices by two independent samples of the inputs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SobolIndices {
    /// Number of trials in each sample, `N`; the model is evaluated `N (n + 2)` times for `n`
    /// inputs.
    pub trials: u64,
    /// The seed: same seed, same bits.
    pub seed: u64,
    /// The probability of the confidence intervals.
    pub confidence: f64,
}

impl Default for SobolIndices {
    /// 2^16 trials, confidence 95 %.
    fn default() -> Self {
        Self {
            trials: 65_536,
            seed: 1,
            confidence: 0.95,
        }
    }
}

/// An index with its confidence interval.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct SobolIndex {
    /// The estimate. A small index may come out below zero by scatter; it is not mended.
    pub value: f64,
    /// Standard error of the estimate.
    pub standard_error: f64,
    /// Lower end of the confidence interval.
    pub low: f64,
    /// Upper end of the confidence interval.
    pub high: f64,
}

/// The indices of one input.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct InputIndices {
    /// The name of the input.
    pub name: String,
    /// The share of the variance that would go if this input alone were known exactly,
    /// `V(E(Y | X_i)) / V(Y)`.
    pub first_order: SobolIndex,
    /// The share that would stay if all other inputs were known exactly,
    /// `E(V(Y | all but X_i)) / V(Y)`. It exceeds the first-order index by the interactions.
    pub total: SobolIndex,
}

/// The indices of one output.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Sensitivity {
    /// The output quantity.
    pub output: Output,
    /// The variance of the output, in SI units squared.
    pub variance: f64,
    /// One entry for each input, in their order.
    pub inputs: Vec<InputIndices>,
}

/// Outputs of one block: of sample A, of sample B, and of A with each column from B. Each is one
/// list of values an output.
struct Block {
    a: Vec<Vec<f64>>,
    b: Vec<Vec<f64>>,
    mixed: Vec<Vec<Vec<f64>>>,
}

impl SobolIndices {
    /// The indices of every input for every output of the model.
    ///
    /// ```text
    /// S_i  = mean( f(B) (f(A_i) - f(A)) ) / V     A_i: sample A with column i from B
    /// S_Ti = mean( (f(A) - f(A_i))^2 ) / (2 V)
    /// ```
    /// with `f` taken from its mean, and `V` the variance over both samples. Confidence intervals
    /// are asymptotic, from the scatter of the terms of each ratio (delta method).
    ///
    /// # Errors
    /// Correlated inputs, for which the variance has no such parts; trials outside 100 to 1e7, a
    /// confidence outside 0 to 1; a trial without a finite result; an output that does not vary.
    ///
    /// # Source
    /// I. M. Sobol', Math. Comput. Simul. 55 (2001) 271; the estimators: A. Saltelli et al.,
    /// Comput. Phys. Commun. 181 (2010) 259, table 2, (b) and (f); M. J. W. Jansen, Comput. Phys.
    /// Commun. 117 (1999) 35.
    pub fn run<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
    ) -> Result<Vec<Sensitivity>> {
        self.run_watched(model, inputs, &mut unwatched)
    }

    /// As [`SobolIndices::run`], with somebody who looks on and may end it. Done are trials of both
    /// samples and of all mixtures at once.
    ///
    /// # Errors
    /// Those of [`SobolIndices::run`]; [`Error::Cancelled`].
    pub fn run_watched<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
        watch: &mut Watch<'_>,
    ) -> Result<Vec<Sensitivity>> {
        let inside = (100..=10_000_000).contains(&self.trials);
        Error::range(inside, "trials", self.trials as f64, "", "100 to 1e7")?;
        probability_inside(self.confidence)?;
        let count = inputs.inputs().len();
        let correlated = (0..count).any(|i| inputs.correlations().is_correlated(i));
        if correlated || !inputs.joint_t().is_empty() {
            return Err(Error::Conflict {
                field: "inputs".to_owned(),
                found: "correlated inputs".to_owned(),
                allowed: "independent inputs, for which the variance falls into parts".to_owned(),
            });
        }
        let samples = [
            Sampling::new(inputs, self.seed, "")?,
            Sampling::new(inputs, self.seed, "second sample of ")?,
        ];
        let ready = ready(model, inputs)?;
        let mut blocks = Vec::new();
        in_blocks(
            &*ready,
            self.trials,
            watch,
            |start, size| block(&*ready, &samples, start, size),
            |block| blocks.push(block),
        )?;
        model
            .output_quantities()
            .into_iter()
            .enumerate()
            .map(|(o, output)| self.judge(output, o, &blocks, inputs))
            .collect()
    }

    /// The indices of output number `o` from all blocks.
    fn judge(
        &self,
        output: Output,
        o: usize,
        blocks: &[Block],
        inputs: &InputSet,
    ) -> Result<Sensitivity> {
        let n = self.trials as f64;
        let a = || blocks.iter().flat_map(|block| &block.a[o]).copied();
        let b = || blocks.iter().flat_map(|block| &block.b[o]).copied();
        let origin = a().next().unwrap_or(f64::NAN);
        let shifted = a().chain(b()).map(|v| v - origin);
        let mean = origin + chunked_sum(shifted) / (2.0 * n);
        // half of the squares of both samples: its mean is the variance
        let spread = || {
            a().zip(b())
                .map(|(a, b)| 0.5 * (square(a - mean) + square(b - mean)))
        };
        let variance = chunked_sum(spread()) / n;
        let field = format!("variance of {}", output.name);
        Error::range(
            variance > 0.0,
            field,
            variance,
            "",
            "above 0 for shares of it",
        )?;
        let quantile = normal_quantile(0.5 + 0.5 * self.confidence);
        let index = |terms: &dyn Fn() -> Vec<f64>| {
            let terms = terms();
            let value = chunked_sum(terms.iter().copied()) / n / variance;
            let influence = terms
                .iter()
                .zip(spread())
                .map(|(t, s)| square(t - value * s));
            let standard_error = (chunked_sum(influence) / n).sqrt() / variance / n.sqrt();
            SobolIndex {
                value,
                standard_error,
                low: value - quantile * standard_error,
                high: value + quantile * standard_error,
            }
        };
        let named = inputs.inputs().iter().enumerate();
        let indices = named.map(|(i, input)| {
            let mixed = || {
                blocks
                    .iter()
                    .flat_map(move |block| &block.mixed[i][o])
                    .copied()
            };
            let triples = || a().zip(b()).zip(mixed());
            InputIndices {
                name: input.name().to_owned(),
                first_order: index(&|| {
                    let terms = triples().map(|((a, b), m)| (b - mean) * (m - a));
                    terms.collect()
                }),
                total: index(&|| triples().map(|((a, _), m)| 0.5 * square(a - m)).collect()),
            }
        });
        Ok(Sensitivity {
            inputs: indices.collect(),
            output,
            variance,
        })
    }
}

fn square(v: f64) -> f64 {
    v * v
}

fn block(
    model: &dyn BlockModel,
    samples: &[Sampling; 2],
    start: u64,
    size: usize,
) -> Result<Block> {
    let set = model.instruction_set()?;
    let outputs = model.output_quantities().len();
    let [a, b] = samples
        .each_ref()
        .map(|sample| sample.draw(set, start, size));
    let evaluate = |from_b: &dyn Fn(usize) -> bool| -> Result<Vec<Vec<f64>>> {
        let column = |i: usize| if from_b(i) { &b[i] } else { &a[i] };
        let x: Vec<&[f64]> = (0..a.len()).map(|i| column(i).as_slice()).collect();
        let values = checked_block(model, &x, size, outputs)?;
        let mut trials = values.iter().flat_map(|column| column.iter().enumerate());
        if let Some((trial, y)) = trials.find(|(_, y)| !y.is_finite()) {
            let field = format!("output of trial {}", start + trial as u64);
            Error::range(false, field, *y, "", "finite numbers")?;
        }
        Ok(values)
    };
    Ok(Block {
        a: evaluate(&|_| false)?,
        b: evaluate(&|_| true)?,
        mixed: (0..a.len())
            .map(|i| evaluate(&|j| j == i))
            .collect::<Result<_>>()?,
    })
}
