//! Draws the inputs, evaluates the model, keeps the outputs.

use crate::error::{Error, Result};
use crate::montecarlo::engine::{
    BlockModel, Failures, checked_block, in_blocks, ready, succeeded, trials_in_block,
};
use crate::montecarlo::sampling::Sampling;
use crate::montecarlo::trials::{JointTrials, Trials};
use crate::parallel::locked;
use crate::uncertainty::{InputSet, Output};
use crate::watch::{Watch, unwatched};
use std::sync::Mutex;

/// A plain Monte Carlo propagation with a fixed number of trials (JCGM 101:2008, clause 7).
///
/// Options may be added: write those that matter, and `..MonteCarlo::default()`.
///
/// # Example
/// The sum of four rectangular quantities of unit standard uncertainty; the guide has a 95 % interval of
/// plus and minus 3.88, where first order has 3.92 (JCGM 101:2008, 9.2.3 and table 3):
/// ```
/// use flowdoubt::montecarlo::{IntervalKind, MonteCarlo};
/// use flowdoubt::scalar::Scalar;
/// use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, Shape};
/// use flowdoubt::units::Unit;
///
/// struct Sum;
/// impl MeasurementModel for Sum {
///     type Outputs<S: Scalar> = [S; 1];
///     fn outputs(&self) -> Vec<Output> {
///         vec![Output { name: "sum".into(), unit: Unit::named("1") }]
///     }
///     fn evaluate<S: Scalar>(&self, x: &[S]) -> flowdoubt::Result<[S; 1]> {
///         Ok([x.iter().copied().sum()])
///     }
/// }
/// let half_width = 3.0_f64.sqrt();
/// let term = |name| Input::with_half_width(name, 0.0, half_width, Shape::Rectangular, f64::INFINITY);
/// let inputs = InputSet::independent(vec![term("a")?, term("b")?, term("c")?, term("d")?])?;
/// let run = MonteCarlo { trials: 100_000, seed: 1, ..MonteCarlo::default() };
/// let trials = &run.run(&Sum, &inputs)?[0];
/// assert!((trials.standard_uncertainty - 2.0).abs() < 0.02);
/// let interval = trials.interval(0.95, IntervalKind::Symmetric)?;
/// assert!((interval.low + 3.88).abs() < 0.04 && (interval.high - 3.88).abs() < 0.04);
/// // the same seed gives the same bits
/// assert_eq!(run.run(&Sum, &inputs)?[0].mean.to_bits(), trials.mean.to_bits());
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonteCarlo {
    /// Number of trials, `M`.
    pub trials: u64,
    /// The seed: same seed, same bits.
    pub seed: u64,
    /// The share of trials that may be without a finite result, from 0 to below 1. Such trials
    /// are left out of the results, which then describe the outputs given that they exist.
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

/// Numbers copied at once: long copies are slow on some processors.
const PIECE: usize = 256;

/// What trials gave, in their order.
#[derive(Default)]
pub(super) struct KeptValues {
    /// The values by output.
    values: Vec<Vec<f64>>,
    failures: Failures,
}

impl KeptValues {
    /// Takes the values of the outputs from that one on away.
    pub fn split_off(&mut self, output: usize) -> Vec<Vec<f64>> {
        self.values.split_off(output.min(self.values.len()))
    }

    /// Adds what later trials gave.
    pub fn add(&mut self, later: &KeptValues) {
        self.failures.merge(later.failures.clone());
        self.values.resize_with(later.values.len(), Vec::new);
        for (all, own) in self.values.iter_mut().zip(&later.values) {
            own.chunks(PIECE)
                .for_each(|piece| all.extend_from_slice(piece));
        }
    }

    /// Leaves the values of failed trials out.
    fn without_failed(mut self) -> KeptValues {
        if self.failures.number > 0 {
            let trials = 0..self.values.first().map_or(0, Vec::len);
            let kept: Vec<usize> = trials.filter(|t| succeeded(&self.values, *t)).collect();
            for column in &mut self.values {
                *column = kept.iter().map(|trial| column[*trial]).collect();
            }
        }
        self
    }
}

impl MonteCarlo {
    /// Propagates the distributions of the inputs through the model; the trials of each output.
    ///
    /// Correlated inputs that are not normal are joined by a Gaussian copula: the coefficient
    /// given is that of the normal deviates behind them.
    ///
    /// # Errors
    /// A number of trials outside 100 to 2e8, an input without a finite variance, a larger share
    /// of trials without a finite result than allowed.
    pub fn run<M: BlockModel + ?Sized>(&self, model: &M, inputs: &InputSet) -> Result<Vec<Trials>> {
        Ok(self.joint(model, inputs)?.into_trials())
    }

    /// As [`MonteCarlo::run`], with the outputs of each trial kept together.
    ///
    /// # Errors
    /// Those of [`MonteCarlo::run`].
    pub fn joint<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
    ) -> Result<JointTrials> {
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
    ) -> Result<JointTrials> {
        self.check_trials()?;
        self.check()?;
        let sampling = Sampling::new(inputs, self.seed, "")?;
        let ready = ready(model, inputs)?;
        let kept = run_trials(&*ready, &sampling, 0, self.trials, watch)?;
        self.judge(model.output_quantities(), kept, inputs, self.trials)
    }

    pub(in crate::montecarlo) fn check_trials(&self) -> Result<()> {
        let inside = (100..=MOST_TRIALS).contains(&self.trials);
        Error::range(inside, "trials", self.trials as f64, "", "100 to 2e8")
    }

    pub(in crate::montecarlo) fn check(&self) -> Result<()> {
        let inside = (0.0..1.0).contains(&self.allowed_failures);
        let (share, allowed) = (self.allowed_failures, "a share from 0 to below 1");
        Error::range(inside, "allowed_failures", share, "", allowed)
    }

    /// What was kept of `trials` trials, unless too many failed.
    pub(super) fn judge(
        &self,
        outputs: Vec<Output>,
        kept: KeptValues,
        inputs: &InputSet,
        trials: u64,
    ) -> Result<JointTrials> {
        kept.failures.judge(trials, self.allowed_failures, inputs)?;
        Ok(JointTrials::new(
            outputs,
            kept.values,
            self.seed,
            kept.failures.number,
        ))
    }
}

/// Trials `start..start + count`, evaluated in blocks, in parallel where the model allows it.
pub(super) fn run_trials(
    model: &dyn BlockModel,
    sampling: &Sampling,
    start: u64,
    count: u64,
    watch: &mut Watch<'_>,
) -> Result<KeptValues> {
    let outputs = model.output_quantities();
    let mut all = KeptValues::default();
    let columns = outputs.iter().map(|_| vec![0.0; count as usize]);
    let mut values: Vec<Vec<f64>> = columns.collect();
    // where each block puts its values: the thread that made them puts them there
    let size = trials_in_block(model, count);
    let places = (0..count.div_ceil(size)).map(|_| Mutex::new(Vec::new()));
    let places: Vec<Mutex<Vec<&mut [f64]>>> = places.collect();
    for column in &mut values {
        for (place, part) in places.iter().zip(column.chunks_mut(size as usize)) {
            locked(place).push(part);
        }
    }
    in_blocks(
        model,
        count,
        watch,
        |offset, trials| {
            let mut place = locked(&places[(offset / size) as usize]);
            block(model, sampling, start + offset, trials, &mut place)
        },
        |failures| all.failures.merge(failures),
    )?;
    drop(places);
    all.values = values;
    Ok(all.without_failed())
}

/// Puts the values of a block into their place.
fn block(
    model: &dyn BlockModel,
    sampling: &Sampling,
    start: u64,
    size: usize,
    place: &mut [&mut [f64]],
) -> Result<Failures> {
    let set = model.instruction_set()?;
    let draws = sampling.draw(set, start, size);
    let x: Vec<&[f64]> = draws.iter().map(|draws| draws.as_slice()).collect();
    let values = checked_block(model, &x, size, place.len())?;
    let failures = Failures::of_block(set, start, 0..size, &draws, &values);
    for (place, column) in place.iter_mut().zip(&values) {
        let pieces = place.chunks_mut(PIECE).zip(column.chunks(PIECE));
        pieces.for_each(|(to, from)| to.copy_from_slice(from));
    }
    Ok(failures)
}
