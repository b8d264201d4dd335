//! Trials at evenly spread points instead of random ones.

use super::MonteCarlo;
use super::control_variates::{FirstOrder, WithFirstOrder};
use super::plain::{MOST_TRIALS, run_trials};
use crate::error::{Error, Result};
use crate::montecarlo::engine::{BlockModel, as_it_is, ready};
use crate::montecarlo::sampling::Sampling;
use crate::montecarlo::trials::{IntervalKind, JointTrials, Trials};
use crate::uncertainty::{InputSet, rounded};
use crate::watch::{Watch, unwatched};

/// Propagation of distributions with scrambled Sobol points.
///
/// An alternative to the random trials of JCGM 101, not a replacement: where the model is smooth,
/// mean and standard uncertainty need far fewer evaluations and interval ends some fewer, but the
/// guide knows random draws only, and an auditor may ask for those. Independent replicates of the
/// points tell how well each figure is known.
///
/// Where the model has sensitivity coefficients, what first-order propagation knows exactly is no
/// longer left to chance: the first-order part of the output is a control variate of mean and
/// standard uncertainty. Then some dozen points settle the standard uncertainty of a model that is
/// nearly linear.
///
/// # Source
/// A. B. Owen, J. Complexity 14 (1998) 466, for the replicates; for the points see
/// [`SobolPoints`](crate::montecarlo::SobolPoints).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LowDiscrepancy {
    /// Points of a replicate, a power of two from 16.
    pub points: u64,
    /// Number of replicates, 4 to 1000.
    pub replicates: u64,
    /// Whether the second half of the points of a replicate mirrors the first half, each input at
    /// the middle of its distribution. Mean and standard uncertainty of a nearly linear model are
    /// then better known, interval ends a little less.
    ///
    /// Source: J. M. Hammersley and K. W. Morton, Proc. Camb. Phil. Soc. 52 (1956) 449.
    pub antithetic: bool,
    /// The seed: same seed, same bits.
    pub seed: u64,
    /// The coverage probability of the intervals.
    pub coverage_probability: f64,
    /// Which coverage interval.
    pub kind: IntervalKind,
}

impl Default for LowDiscrepancy {
    /// 16 replicates of 4096 points, a symmetric interval of 95 %.
    fn default() -> Self {
        Self {
            points: 4096,
            replicates: 16,
            antithetic: false,
            seed: 1,
            coverage_probability: 0.95,
            kind: IntervalKind::Symmetric,
        }
    }
}

/// More would say nothing more about the errors.
const MOST_REPLICATES: u64 = 1000;
/// Trials below which making a model ready costs more than it saves.
const WORTH_PREPARING: u64 = 256;

/// A figure of all points together and the standard error of it, in SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Estimated {
    /// The figure.
    pub value: f64,
    /// Its standard error, from the scatter between replicates.
    pub standard_error: f64,
}

/// The figures of one output.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct EstimatedOutput {
    /// The mean.
    pub mean: Estimated,
    /// The standard uncertainty.
    pub standard_uncertainty: Estimated,
    /// The lower end of the coverage interval.
    pub low: Estimated,
    /// The upper end of the coverage interval.
    pub high: Estimated,
}

/// What a run with Sobol points found.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct LowDiscrepancyRun {
    /// All trials together, replicate after replicate.
    pub trials: JointTrials,
    /// One entry for each output.
    pub outputs: Vec<EstimatedOutput>,
    /// How the run was asked for.
    pub run: LowDiscrepancy,
}

impl LowDiscrepancy {
    /// Propagates the distributions of the inputs through the model.
    ///
    /// # Errors
    /// Points that are no power of two from 16, replicates outside 4 to 1000, more than 2e8 trials in
    /// all, more than 100 inputs, a coverage probability that a replicate does not resolve, a trial
    /// without a finite result, and those of [`MonteCarlo::run`].
    pub fn run<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
    ) -> Result<LowDiscrepancyRun> {
        self.run_watched(model, inputs, &mut unwatched)
    }

    /// As [`LowDiscrepancy::run`], with somebody who looks on and may end it.
    ///
    /// # Errors
    /// Those of [`LowDiscrepancy::run`]; [`Error::Cancelled`].
    pub fn run_watched<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
        watch: &mut Watch<'_>,
    ) -> Result<LowDiscrepancyRun> {
        self.check()?;
        let total = self.points * self.replicates;
        let mut sampling = Sampling::new(inputs, self.seed, "")?;
        sampling.take_points(self.points, self.replicates, self.antithetic, self.seed)?;
        let parts = FirstOrder::of_outputs(model, inputs);
        let ready = match total < WORTH_PREPARING {
            true => as_it_is(model)?,
            false => ready(model, inputs)?,
        };
        let with_parts = WithFirstOrder {
            model: &*ready,
            parts: &parts,
        };
        let mut all = run_trials(&with_parts, &sampling, 0, total, watch)?;
        let of_parts = all.split_off(parts.len());
        let plain = MonteCarlo {
            trials: total,
            seed: self.seed,
            allowed_failures: 0.0,
        };
        let trials = plain.judge(model.output_quantities(), all, inputs, total)?;
        let parts = parts.iter().zip(&of_parts).enumerate();
        let outputs = parts.map(|(i, (part, of_part))| self.estimated(&trials, i, part, of_part));
        Ok(LowDiscrepancyRun {
            outputs: outputs.collect::<Result<_>>()?,
            trials,
            run: *self,
        })
    }

    fn check(&self) -> Result<()> {
        let (points, replicates) = (self.points, self.replicates);
        let inside = points.is_power_of_two() && (16..=MOST_TRIALS).contains(&points);
        let allowed = "a power of two from 16 to 2^27";
        Error::range(inside, "points", points as f64, "", allowed)?;
        let most = MOST_REPLICATES.min(MOST_TRIALS / points);
        let inside = (4..=most).contains(&replicates);
        let allowed = format!("4 to {most}");
        Error::range(inside, "replicates", replicates as f64, "", allowed)
    }

    /// The figures of output `output`, of which the first-order part has these values.
    fn estimated(
        &self,
        trials: &JointTrials,
        output: usize,
        part: &FirstOrder,
        of_part: &[f64],
    ) -> Result<EstimatedOutput> {
        let quantity = &trials.outputs()[output];
        let figures_of = |values: &[f64], of_part: &[f64]| {
            let output = Trials::of(quantity.clone(), values.to_vec(), self.seed, 0);
            let interval = output.interval(self.coverage_probability, self.kind)?;
            let (mean, u) = part.controlled(values, of_part);
            Ok([mean, u, interval.low, interval.high])
        };
        let values = trials.values(output);
        let pooled = figures_of(values, of_part)?;
        let mut columns = [const { Vec::new() }; 4];
        let points = self.points as usize;
        for (values, of_part) in values.chunks(points).zip(of_part.chunks(points)) {
            let row = figures_of(values, of_part)?;
            columns.iter_mut().zip(row).for_each(|(c, v)| c.push(v));
        }
        let [mean, standard_uncertainty, low, high] = std::array::from_fn(|i| Estimated {
            value: pooled[i],
            standard_error: standard_error(&columns[i]),
        });
        Ok(EstimatedOutput {
            mean,
            standard_uncertainty,
            low,
            high,
        })
    }
}

/// The standard error of the mean of replicates.
fn standard_error(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares = values.iter().map(|v| (v - mean) * (v - mean));
    (squares.sum::<f64>() / (n * (n - 1.0))).sqrt()
}

impl LowDiscrepancyRun {
    /// What the run found, one sentence for each output.
    pub fn in_words(&self) -> String {
        let LowDiscrepancy {
            points,
            replicates,
            antithetic,
            ..
        } = self.run;
        let mirrored = if antithetic {
            ", half of them mirrored"
        } else {
            ""
        };
        let mut text =
            format!("{replicates} replicates of {points} scrambled Sobol points{mirrored}.");
        for (output, figures) in self.trials.outputs().iter().zip(&self.outputs) {
            let unit = &output.unit;
            let error = |figure: &Estimated| {
                unit.after(&rounded(unit.difference_from_si(figure.standard_error), 2))
            };
            text += &format!(
                " {}: the standard errors are {} of the mean, {} of the standard uncertainty, {} and \
                 {} of the ends of the {} % interval.",
                output.name,
                error(&figures.mean),
                error(&figures.standard_uncertainty),
                error(&figures.low),
                error(&figures.high),
                100.0 * self.run.coverage_probability,
            );
        }
        text
    }
}
