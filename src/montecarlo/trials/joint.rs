//! The outputs of all trials, kept together trial by trial: several outputs share their inputs,
//! and what they share shows only jointly.

use super::Trials;
use super::chunked_sum;
use crate::error::{Error, Result};
use crate::uncertainty::{
    EllipsoidalRegion, JointResult, Output, RectangularRegion, probability_inside,
};

/// The values of all outputs in the order of the trials, in SI units.
///
/// # Example
/// A standard normal quantity and its sum with another one: the sum has twice the variance, and the two
/// have a correlation of `1 / sqrt(2)`.
/// ```
/// use flowdoubt::montecarlo::MonteCarlo;
/// use flowdoubt::scalar::Scalar;
/// use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output};
/// use flowdoubt::units::Unit;
///
/// struct OneAndBoth;
/// impl MeasurementModel for OneAndBoth {
///     type Outputs<S: Scalar> = [S; 2];
///     fn outputs(&self) -> Vec<Output> {
///         ["one", "both"].map(|name| Output { name: name.into(), unit: Unit::named("1") }).into()
///     }
///     fn evaluate<S: Scalar>(&self, x: &[S]) -> flowdoubt::Result<[S; 2]> {
///         Ok([x[0], x[0] + x[1]])
///     }
/// }
/// let normal = |name| Input::with_standard_uncertainty(name, 0.0, 1.0, f64::INFINITY);
/// let inputs = InputSet::independent(vec![normal("x")?, normal("y")?])?;
/// let run = MonteCarlo { trials: 100_000, ..MonteCarlo::default() };
/// let joint = run.joint(&OneAndBoth, &inputs)?;
/// let result = joint.joint_result();
/// assert!((result.covariance[1][1] - 2.0).abs() < 0.04);
/// assert!((result.correlation(0, 1) - 0.5_f64.sqrt()).abs() < 0.01);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct JointTrials {
    outputs: Vec<Output>,
    values: Vec<Vec<f64>>,
    seed: u64,
    failed: u64,
}

impl JointTrials {
    pub(in crate::montecarlo) fn new(
        outputs: Vec<Output>,
        values: Vec<Vec<f64>>,
        seed: u64,
        failed: u64,
    ) -> JointTrials {
        JointTrials {
            outputs,
            values,
            seed,
            failed,
        }
    }

    /// The output quantities.
    pub fn outputs(&self) -> &[Output] {
        &self.outputs
    }

    /// Number of trials with a result.
    pub fn trials(&self) -> usize {
        self.values.first().map_or(0, Vec::len)
    }

    /// The seed of the trials.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// Number of trials without a finite result, which were allowed and left out.
    pub fn failed(&self) -> u64 {
        self.failed
    }

    /// The values of output `output` in the order of the trials, shape `(trials,)`. The same
    /// place belongs to the same trial for every output.
    ///
    /// # Panics
    /// If there is no such output.
    pub fn values(&self, output: usize) -> &[f64] {
        &self.values[output]
    }

    /// The trials of output `output` alone.
    ///
    /// # Panics
    /// If there is no such output.
    pub fn of_output(&self, output: usize) -> Trials {
        let values = self.values[output].clone();
        Trials::of(self.outputs[output].clone(), values, self.seed, self.failed)
    }

    /// The trials of each output alone.
    pub fn into_trials(self) -> Vec<Trials> {
        let pairs = self.outputs.into_iter().zip(self.values);
        pairs
            .map(|(output, values)| Trials::of(output, values, self.seed, self.failed))
            .collect()
    }

    /// Means and covariance matrix of the outputs.
    ///
    /// # Source
    /// JCGM 102:2011, 7.6.
    pub fn joint_result(&self) -> JointResult {
        let n = self.trials() as f64;
        let centred: Vec<(f64, f64)> = self
            .values
            .iter()
            .map(|values| {
                let first = values.first().copied().unwrap_or(f64::NAN);
                (first, chunked_sum(values.iter().map(|v| v - first)) / n)
            })
            .collect();
        let count = self.values.len();
        let mut covariance = vec![vec![0.0; count]; count];
        for i in 0..count {
            for j in 0..=i {
                let pairs = self.values[i].iter().zip(&self.values[j]);
                let ((first_i, offset_i), (first_j, offset_j)) = (centred[i], centred[j]);
                let products =
                    pairs.map(|(a, b)| ((a - first_i) - offset_i) * ((b - first_j) - offset_j));
                let value = chunked_sum(products) / (n - 1.0);
                covariance[i][j] = value;
                covariance[j][i] = value;
            }
        }
        let estimates = centred.iter().map(|(first, offset)| first + offset);
        JointResult {
            outputs: self.outputs.clone(),
            estimates: estimates.collect(),
            covariance,
        }
    }

    /// The hyper-ellipsoidal coverage region that holds the stated share of the trials.
    ///
    /// # Errors
    /// A coverage probability outside 0 to 1 or not resolved by the trials; outputs that
    /// determine each other.
    ///
    /// # Source
    /// JCGM 102:2011, 7.7.2.
    pub fn ellipsoidal_region(&self, coverage_probability: f64) -> Result<EllipsoidalRegion> {
        let joint = self.joint_result();
        let unit = EllipsoidalRegion::new(&joint, coverage_probability, 1.0)?;
        let factor = self.factor(coverage_probability, |y| unit.distance(y))?;
        EllipsoidalRegion::new(&joint, coverage_probability, factor)
    }

    /// The hyper-rectangular coverage region that holds the stated share of the trials.
    ///
    /// # Errors
    /// A coverage probability outside 0 to 1 or not resolved by the trials; an output without
    /// uncertainty.
    ///
    /// # Source
    /// JCGM 102:2011, 7.7.3.
    pub fn rectangular_region(&self, coverage_probability: f64) -> Result<RectangularRegion> {
        let joint = self.joint_result();
        let unit = RectangularRegion::new(&joint, coverage_probability, 1.0)?;
        let factor = self.factor(coverage_probability, |y| unit.distance(y))?;
        RectangularRegion::new(&joint, coverage_probability, factor)
    }

    /// The distance within which the stated share of the trials lies.
    fn factor(&self, coverage_probability: f64, distance: impl Fn(&[f64]) -> f64) -> Result<f64> {
        let m = self.trials();
        probability_inside(coverage_probability)?;
        let covered = (coverage_probability * m as f64 + 0.5).floor() as usize;
        let allowed = format!("a probability that {m} trials resolve");
        let inside = (1..m).contains(&covered);
        Error::range(
            inside,
            "coverage_probability",
            coverage_probability,
            "",
            allowed,
        )?;
        let mut y = vec![0.0; self.values.len()];
        let mut distances: Vec<f64> = (0..m)
            .map(|trial| {
                for (y, values) in y.iter_mut().zip(&self.values) {
                    *y = values[trial];
                }
                distance(&y)
            })
            .collect();
        let (_, factor, _) = distances.select_nth_unstable_by(covered - 1, f64::total_cmp);
        Ok(*factor)
    }
}
