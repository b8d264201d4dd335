//! Monte Carlo until the results have settled.

use super::MonteCarlo;
use super::plain::{KeptValues, MOST_TRIALS, run_trials};
use crate::error::{Error, Result};
use crate::montecarlo::engine::{BlockModel, ready};
use crate::montecarlo::sampling::Sampling;
use crate::montecarlo::trials::{IntervalKind, JointTrials};
use crate::uncertainty::{
    InputSet, JointResult, expanded, largest_eigenvalue, numerical_tolerance, probability_inside,
    rounded,
};
use crate::watch::{Watch, unwatched};

/// Batches that are made at least. Fewer do not know their own spread: after two, as the guide allows,
/// half of all runs stop, and one end in ten is farther off than the tolerance.
const FEWEST_BATCHES: u64 = 10;
/// The coverage probability of the reach of a result, that of two standard errors of many batches.
const REACH: f64 = 0.9545;

/// An adaptive Monte Carlo propagation: batches of trials, ten at least, are added until every result
/// is known to within the numerical tolerance of the stated number of significant digits: with two
/// standard errors of many batches, and Student's factor for fewer.
///
/// # Source
/// JCGM 101:2008, 7.9.4; for several outputs JCGM 102:2011, 7.8.3.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adaptive {
    /// Number of significant digits of the standard uncertainty regarded as meaningful, 1 to 4.
    pub digits: u32,
    /// The coverage probability of the intervals.
    pub coverage_probability: f64,
    /// Which coverage interval has to settle.
    pub kind: IntervalKind,
    /// The seed: same seed, same bits.
    pub seed: u64,
    /// Trials after which to stop even if the results have not settled.
    pub most_trials: u64,
    /// The share of trials that may be without a finite result, see [`MonteCarlo`].
    pub allowed_failures: f64,
}

impl Default for Adaptive {
    /// Two digits, a symmetric interval of 95 %, at most 2e7 trials, no failure allowed.
    fn default() -> Self {
        Self {
            digits: 2,
            coverage_probability: 0.95,
            kind: IntervalKind::Symmetric,
            seed: 1,
            most_trials: 20_000_000,
            allowed_failures: 0.0,
        }
    }
}

/// How one result varies from batch to batch.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Settled {
    /// The mean of the batches.
    pub mean: f64,
    /// Twice the standard error of that mean; more where there are few batches, by Student's factor.
    pub twice_standard_error: f64,
    /// The numerical tolerance that it must be below.
    pub tolerance: f64,
}

impl Settled {
    /// Whether the result has settled.
    pub fn settled(&self) -> bool {
        self.twice_standard_error < self.tolerance
    }
}

/// The results of one output; all numbers in SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct SettledOutput {
    /// The estimate.
    pub estimate: Settled,
    /// The standard uncertainty.
    pub standard_uncertainty: Settled,
    /// The lower end of the coverage interval.
    pub low: Settled,
    /// The upper end of the coverage interval.
    pub high: Settled,
}

/// What an adaptive propagation found.
#[derive(Debug, Clone, PartialEq)]
pub struct AdaptiveRun {
    /// All trials together: the same bits as a plain run of as many trials with this seed.
    pub trials: JointTrials,
    /// Number of batches, `h`.
    pub batches: u64,
    /// Trials in each batch, `M`.
    pub batch_trials: u64,
    /// One entry for each output.
    pub outputs: Vec<SettledOutput>,
    /// The largest eigenvalue of the correlation matrix of several outputs.
    pub largest_eigenvalue: Option<Settled>,
    /// The coverage factor `k_p` of the ellipsoidal region of several outputs; `None` where they
    /// determine each other.
    pub coverage_factor: Option<Settled>,
    /// Whether everything has settled; else the largest number of trials was reached first.
    pub settled: bool,
    digits: u32,
}

/// What the batches gave so far.
#[derive(Default)]
struct History {
    /// By output: estimate, standard uncertainty, lower and upper end of each batch.
    outputs: Vec<[Vec<f64>; 4]>,
    eigenvalues: Vec<f64>,
    factors: Vec<f64>,
    joint: Vec<JointResult>,
}

impl Adaptive {
    /// Propagates the distributions of the inputs through the model until the results settle.
    ///
    /// # Errors
    /// Digits outside 1 to 4, a coverage probability outside 0 to 1, fewer permitted trials than
    /// two batches need, and those of [`MonteCarlo::run`].
    pub fn run<M: BlockModel + ?Sized>(&self, model: &M, inputs: &InputSet) -> Result<AdaptiveRun> {
        self.run_watched(model, inputs, &mut unwatched)
    }

    /// As [`Adaptive::run`], with somebody who looks on and may end it.
    ///
    /// # Errors
    /// Those of [`Adaptive::run`]; [`Error::Cancelled`].
    pub fn run_watched<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
        watch: &mut Watch<'_>,
    ) -> Result<AdaptiveRun> {
        probability_inside(self.coverage_probability)?;
        numerical_tolerance(1.0, self.digits)?;
        // J of the guide: the smallest integer not below 100 / (1 - p)
        let enough = (100.0 / (1.0 - self.coverage_probability)).ceil();
        let batch_trials = enough.max(10_000.0) as u64;
        let inside =
            self.most_trials >= batch_trials.saturating_mul(2) && self.most_trials <= MOST_TRIALS;
        let allowed = format!("{} (two batches) to 2e8", batch_trials.saturating_mul(2));
        let most = self.most_trials as f64;
        Error::range(inside, "most_trials", most, "", allowed)?;
        let plain = MonteCarlo {
            trials: batch_trials,
            seed: self.seed,
            allowed_failures: self.allowed_failures,
        };
        plain.check()?;
        let sampling = Sampling::new(inputs, self.seed, "")?;
        let ready = ready(model, inputs)?;
        let mut all = KeptValues::default();
        let mut history = History::default();
        let mut batches = 0;
        loop {
            let before = batches * batch_trials;
            let mut within = |done: u64| watch(before + done);
            let batch = run_trials(&*ready, &sampling, before, batch_trials, &mut within)?;
            batches += 1;
            all.add(&batch);
            let trials = plain.judge(model.output_quantities(), batch, inputs, batch_trials)?;
            history.add(&trials, self)?;
            let last = (batches + 1) * batch_trials > self.most_trials;
            if batches < FEWEST_BATCHES && !last {
                continue;
            }
            let (outputs, eigenvalue, factor) = history.judge(self, &trials)?;
            let settled = outputs.iter().all(SettledOutput::settled)
                && [&eigenvalue, &factor]
                    .into_iter()
                    .flatten()
                    .all(Settled::settled)
                && batches >= FEWEST_BATCHES;
            if settled || last {
                let total = batches * batch_trials;
                return Ok(AdaptiveRun {
                    trials: plain.judge(model.output_quantities(), all, inputs, total)?,
                    batches,
                    batch_trials,
                    outputs,
                    largest_eigenvalue: eigenvalue,
                    coverage_factor: factor,
                    settled,
                    digits: self.digits,
                });
            }
        }
    }
}

impl History {
    fn add(&mut self, trials: &JointTrials, run: &Adaptive) -> Result<()> {
        let count = trials.outputs().len();
        self.outputs.resize_with(count, Default::default);
        for (i, columns) in self.outputs.iter_mut().enumerate() {
            let output = trials.of_output(i);
            let interval = output.interval(run.coverage_probability, run.kind)?;
            let row = [
                output.mean,
                output.standard_uncertainty,
                interval.low,
                interval.high,
            ];
            columns.iter_mut().zip(row).for_each(|(c, v)| c.push(v));
        }
        let joint = trials.joint_result();
        if count > 1 {
            self.eigenvalues
                .push(largest_eigenvalue(&joint.correlations()));
            let region = trials.ellipsoidal_region(run.coverage_probability);
            self.factors.extend(region.map(|r| r.coverage_factor));
        }
        self.joint.push(joint);
        Ok(())
    }

    #[allow(
        clippy::type_complexity,
        reason = "the three parts of a run's judgement"
    )]
    fn judge(
        &self,
        run: &Adaptive,
        trials: &JointTrials,
    ) -> Result<(Vec<SettledOutput>, Option<Settled>, Option<Settled>)> {
        let batches = self.joint.len();
        let mut outputs = Vec::with_capacity(self.outputs.len());
        for (i, columns) in self.outputs.iter().enumerate() {
            let u = self.pooled_uncertainty(i, trials.trials());
            // significant digits are those of the number as reported, so in the unit shown
            let unit = &trials.outputs()[i].unit;
            let shown = unit.difference_from_si(u);
            let tolerance = if shown > 0.0 {
                numerical_tolerance(shown, run.digits)? * unit.factor
            } else {
                // an output that does not vary has settled
                f64::MIN_POSITIVE
            };
            let [estimate, uncertainty, low, high] = columns;
            outputs.push(SettledOutput {
                estimate: spread(estimate, tolerance),
                standard_uncertainty: spread(uncertainty, tolerance),
                low: spread(low, tolerance),
                high: spread(high, tolerance),
            });
        }
        let dimensionless = |values: &[f64]| -> Result<Option<Settled>> {
            if values.len() < batches || values.iter().any(|v| !v.is_finite()) {
                return Ok(None);
            }
            let mean = values.iter().sum::<f64>() / batches as f64;
            let tolerance = numerical_tolerance(mean, run.digits)?;
            Ok(Some(spread(values, tolerance)))
        };
        Ok((
            outputs,
            dimensionless(&self.eigenvalues)?,
            dimensionless(&self.factors)?,
        ))
    }

    /// The standard uncertainty of output `i` over all batches, from those of the batches.
    fn pooled_uncertainty(&self, i: usize, batch_trials: usize) -> f64 {
        let (h, m) = (self.joint.len() as f64, batch_trials as f64);
        let grand = self.joint.iter().map(|j| j.estimates[i]).sum::<f64>() / h;
        let squares = self.joint.iter().map(|j| {
            let shift = j.estimates[i] - grand;
            (m - 1.0) * j.covariance[i][i] + m * shift * shift
        });
        (squares.sum::<f64>() / (h * m - 1.0)).max(0.0).sqrt()
    }
}

/// The mean of the batches and twice its standard error.
fn spread(values: &[f64], tolerance: f64) -> Settled {
    let h = values.len() as f64;
    let mean = values.iter().sum::<f64>() / h;
    let squares = values.iter().map(|v| (v - mean) * (v - mean));
    let standard_error = (squares.sum::<f64>() / (h * (h - 1.0))).sqrt();
    // a probability between 0 and 1
    let reach =
        expanded(standard_error, h - 1.0, REACH).map_or(f64::NAN, |e| e.expanded_uncertainty);
    Settled {
        mean,
        twice_standard_error: reach,
        tolerance,
    }
}

impl SettledOutput {
    /// Whether all four results have settled.
    pub fn settled(&self) -> bool {
        let all = [
            &self.estimate,
            &self.standard_uncertainty,
            &self.low,
            &self.high,
        ];
        all.into_iter().all(Settled::settled)
    }
}

impl AdaptiveRun {
    /// What the run found, one sentence for each output and each joint result.
    pub fn in_words(&self) -> String {
        let total = self.batches * self.batch_trials;
        let digits = self.digits;
        let mut text = format!(
            "{} after {total} trials in {} batches of {}, to {digits} significant digit{} of the \
             standard uncertainty.",
            if self.settled {
                "Settled"
            } else {
                "Not settled"
            },
            self.batches,
            self.batch_trials,
            if digits == 1 { "" } else { "s" },
        );
        for (output, settled) in self.trials.outputs().iter().zip(&self.outputs) {
            let unit = &output.unit;
            let shown = |v: f64| {
                let number = rounded(unit.difference_from_si(v), 2);
                unit.after(&number)
            };
            let parts = [
                ("estimate", &settled.estimate),
                ("standard uncertainty", &settled.standard_uncertainty),
                ("lower end", &settled.low),
                ("upper end", &settled.high),
            ];
            let words: Vec<String> = parts
                .iter()
                .map(|(name, s)| format!("{name} {}", shown(s.twice_standard_error)))
                .collect();
            text += &format!(
                " {}: twice the standard errors are {}; tolerance {}.",
                output.name,
                words.join(", "),
                shown(settled.estimate.tolerance)
            );
        }
        let joint = [
            (
                "largest eigenvalue of the correlation matrix",
                &self.largest_eigenvalue,
            ),
            ("coverage factor of the ellipsoid", &self.coverage_factor),
        ];
        for (name, settled) in joint {
            if let Some(s) = settled {
                text += &format!(
                    " The {name}: twice the standard error is {}; tolerance {}.",
                    rounded(s.twice_standard_error, 2),
                    rounded(s.tolerance, 2)
                );
            }
        }
        text
    }
}
