//! The trials of a run: of one output quantity, and of several that share their inputs.

mod interval;
mod joint;
mod ranks;

pub use interval::{Interval, IntervalKind};
pub use joint::JointTrials;

use crate::error::Result;
use crate::uncertainty::Output;
use crate::units::Unit;
pub(super) use interval::{covered, ranks_reached, symmetric_start};
use ranks::Values;

/// The discrete representation of the distribution function of an output quantity
/// (JCGM 101:2008, 7.5).
///
/// # Example
/// Those of a normal quantity about 10, whose standard uncertainty is 2:
/// ```
/// use flowdoubt::montecarlo::{IntervalKind, MonteCarlo};
/// use flowdoubt::scalar::Scalar;
/// use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output};
/// use flowdoubt::units::Unit;
///
/// struct Itself;
/// impl MeasurementModel for Itself {
///     type Outputs<S: Scalar> = [S; 1];
///     fn outputs(&self) -> Vec<Output> {
///         vec![Output { name: "quantity".into(), unit: Unit::named("1") }]
///     }
///     fn evaluate<S: Scalar>(&self, x: &[S]) -> flowdoubt::Result<[S; 1]> {
///         Ok([x[0]])
///     }
/// }
/// let input = Input::with_standard_uncertainty("quantity", 10.0, 2.0, f64::INFINITY)?;
/// let run = MonteCarlo { trials: 100_000, seed: 1, ..MonteCarlo::default() };
/// let trials = run.run(&Itself, &InputSet::independent(vec![input])?)?.swap_remove(0);
/// assert_eq!(trials.sorted().len(), 100_000);
/// assert!((trials.mean - 10.0).abs() < 0.02);
/// // 1.96 standard uncertainties on either side, within what 100 000 trials tell
/// let interval = trials.interval(0.95, IntervalKind::Symmetric)?;
/// assert!((interval.low - 6.08).abs() < 0.05 && (interval.high - 13.92).abs() < 0.05);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Trials {
    /// The output quantity.
    pub output: Output,
    /// The mean of the trials, in SI units (JCGM 101:2008, 7.6).
    pub mean: f64,
    /// The standard deviation of the trials, in SI units (JCGM 101:2008, 7.6).
    pub standard_uncertainty: f64,
    /// The seed of the run.
    pub seed: u64,
    /// Number of trials without a finite result, which were allowed and left out.
    pub failed: u64,
    values: Values,
}

/// Values summed one after the other before the sums are added: keeps rounding small.
const CHUNK: usize = 1024;

/// The sum of the values, chunk by chunk.
pub(super) fn chunked_sum(mut values: impl Iterator<Item = f64>) -> f64 {
    let mut total = 0.0;
    loop {
        let mut chunk = values.by_ref().take(CHUNK).peekable();
        if chunk.peek().is_none() {
            return total;
        }
        total += chunk.sum::<f64>();
    }
}

impl Trials {
    /// The values of all trials, shape `(trials,)`, in the order of the trials.
    pub(super) fn of(output: Output, values: Vec<f64>, seed: u64, failed: u64) -> Trials {
        let values = Values::new(values);
        let n = values.len() as f64;
        let (mean, squares) = values.mean_and_squares();
        Trials {
            output,
            mean,
            standard_uncertainty: (squares / (n - 1.0)).sqrt(),
            seed,
            failed,
            values,
        }
    }

    /// Number of trials.
    pub fn trials(&self) -> usize {
        self.values.len()
    }

    /// The values of the trials in ascending order, shape `(trials,)`, in SI units.
    pub fn sorted(&self) -> &[f64] {
        self.values.sorted()
    }

    /// The values of the trials in ascending order, in a unit.
    pub fn sorted_in(&self, unit: &Unit) -> Vec<f64> {
        let shown = |v: &f64| unit.from_si(*v);
        self.sorted().iter().map(shown).collect()
    }

    /// A coverage interval (JCGM 101:2008, 7.7).
    ///
    /// # Errors
    /// A coverage probability not strictly between 0 and 1, or too near to either for the number
    /// of trials.
    pub fn interval(&self, coverage_probability: f64, kind: IntervalKind) -> Result<Interval> {
        let m = self.values.len();
        let covered = covered(m as u64, coverage_probability)? as usize;
        // the lower ends that the interval may have; the upper ones are as many ranks on
        let starts = match kind {
            IntervalKind::Symmetric => {
                let start = symmetric_start(m as u64, covered as u64) as usize;
                start..start + 1
            }
            IntervalKind::Shortest => 0..m - covered,
        };
        let ends = [starts.clone(), starts.start + covered..starts.end + covered];
        let (middle, spread) = (self.mean, self.standard_uncertainty);
        let [lows, highs] = self.values.ranks(ends, middle, spread);
        let ends = lows.into_iter().zip(highs);
        let shortest = ends.min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
        // there is one, since fewer are covered than there are
        let (low, high) = shortest.unwrap_or((f64::NAN, f64::NAN));
        Ok(Interval { low, high })
    }
}

/// What every Monte Carlo propagation says of an output, whether its values were kept or not. All
/// numbers are in SI units.
pub trait TrialStatistics: Sync {
    /// The output quantity.
    fn output(&self) -> &Output;
    /// Number of trials.
    fn trials(&self) -> u64;
    /// Number of trials without a finite result, which were allowed and left out.
    fn failed(&self) -> u64;
    /// The seed of the run.
    fn seed(&self) -> u64;
    /// The mean of the trials (JCGM 101:2008, 7.6).
    fn mean(&self) -> f64;
    /// The standard deviation of the trials (JCGM 101:2008, 7.6).
    fn standard_uncertainty(&self) -> f64;
    /// A coverage interval (JCGM 101:2008, 7.7).
    ///
    /// # Errors
    /// A coverage probability not strictly between 0 and 1, or too near to either for the number
    /// of trials.
    fn interval(&self, coverage_probability: f64, kind: IntervalKind) -> Result<Interval>;
    /// The standard errors of the ends of the symmetric interval, by the finite number of trials.
    ///
    /// # Errors
    /// As [`TrialStatistics::interval`].
    fn end_errors(&self, coverage_probability: f64) -> Result<[f64; 2]>;
}

impl TrialStatistics for Trials {
    fn output(&self) -> &Output {
        &self.output
    }
    fn trials(&self) -> u64 {
        self.values.len() as u64
    }
    fn failed(&self) -> u64 {
        self.failed
    }
    fn seed(&self) -> u64 {
        self.seed
    }
    fn mean(&self) -> f64 {
        self.mean
    }
    fn standard_uncertainty(&self) -> f64 {
        self.standard_uncertainty
    }
    fn interval(&self, coverage_probability: f64, kind: IntervalKind) -> Result<Interval> {
        Trials::interval(self, coverage_probability, kind)
    }
    fn end_errors(&self, coverage_probability: f64) -> Result<[f64; 2]> {
        let m = self.trials() as u64;
        let covered = covered(m, coverage_probability)?;
        let start = symmetric_start(m, covered);
        // the values at the ranks that an end has within one standard deviation
        let reached = [start, start + covered].map(|rank| ranks_reached(m, rank));
        let (middle, spread) = (self.mean, self.standard_uncertainty);
        let values = |which: usize| {
            let rank = |reached: [u64; 2]| reached[which] as usize..reached[which] as usize + 1;
            self.values.ranks(reached.map(rank), middle, spread)
        };
        let (below, above) = (values(0), values(1));
        Ok(std::array::from_fn(|end| {
            0.5 * (above[end][0] - below[end][0])
        }))
    }
}
