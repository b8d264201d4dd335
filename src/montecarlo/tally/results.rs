//! What a tally of all trials says of the outputs.

use super::part::Tally;
use super::plan::TallyPlan;
use super::sums::Moments;
use crate::error::{Error, Result};
use crate::montecarlo::trials::{covered, ranks_reached, symmetric_start};
use crate::montecarlo::{Interval, IntervalKind, TrialStatistics};
use crate::uncertainty::{JointResult, Output};

/// The outputs of a run whose values were not kept.
#[derive(Debug)]
pub struct TalliedJoint {
    plan: TallyPlan,
    outputs: Vec<Output>,
    inputs: Vec<String>,
    tally: Tally,
    sums: Vec<f64>,
}

/// The results of one output of a run whose values were not kept; all numbers in SI units.
#[derive(Debug, Clone, Copy)]
pub struct TalliedTrials<'a> {
    run: &'a TalliedJoint,
    which: usize,
    /// The mean of the trials (JCGM 101:2008, 7.6).
    pub mean: f64,
    /// The standard deviation of the trials (JCGM 101:2008, 7.6).
    pub standard_uncertainty: f64,
}

/// A quantile of the trials.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct TalliedQuantile {
    /// The quantile.
    pub value: f64,
    /// What the order statistic of the trials cannot be below.
    pub low: f64,
    /// What the order statistic of the trials cannot be above.
    pub high: f64,
    /// The standard error of the quantile by the finite number of trials.
    pub standard_error: f64,
}

impl TalliedQuantile {
    /// By how much the value can differ from the order statistic of the trials. It is below a tenth
    /// of [`TalliedQuantile::standard_error`], or a dozen units in the last place, wherever the trials
    /// of the pilot show the density.
    pub fn error_bound(&self) -> f64 {
        (self.value - self.low).max(self.high - self.value)
    }
}

/// A coverage interval of the trials.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct TalliedInterval {
    /// The interval.
    pub interval: Interval,
    /// Symmetric: by how much an end can differ from the order statistic of the trials. Shortest:
    /// by how much the interval can be longer than the shortest of the trials; it never holds
    /// fewer of them than asked.
    pub error_bound: f64,
}

/// Numbers of trials by classes of equal width.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Histogram {
    /// The ends of the classes, ascending, one more than classes.
    pub edges: Vec<f64>,
    /// The number of trials in each class. A value that is nearer to an edge than the width of a
    /// bin of the run may be counted in the class beyond it.
    pub counts: Vec<u64>,
}

impl TalliedJoint {
    pub(super) fn new(
        plan: TallyPlan,
        outputs: Vec<Output>,
        inputs: Vec<String>,
        tally: Tally,
    ) -> TalliedJoint {
        let sums = tally.nodes.total(plan.layout().len());
        TalliedJoint {
            plan,
            outputs,
            inputs,
            tally,
            sums,
        }
    }

    fn moments(&self) -> Moments<'_> {
        Moments {
            layout: self.plan.layout(),
            count: self.tally.rest.kept as f64,
            sums: &self.sums,
            shifts: &self.plan.shifts,
        }
    }

    /// The output quantities.
    pub fn outputs(&self) -> &[Output] {
        &self.outputs
    }

    /// The names of the inputs, in their order.
    pub fn input_names(&self) -> &[String] {
        &self.inputs
    }

    /// The tally of all trials; its bytes are the same wherever and however it was made.
    pub fn tally(&self) -> &Tally {
        &self.tally
    }

    /// Number of trials with a result.
    pub fn trials(&self) -> u64 {
        self.tally.rest.kept
    }

    /// Number of trials without a finite result, which were allowed and left out.
    pub fn failed(&self) -> u64 {
        self.tally.rest.failures.number
    }

    /// The results of output number `output`.
    ///
    /// # Panics
    /// If there is no such output.
    pub fn of_output(&self, output: usize) -> TalliedTrials<'_> {
        assert!(output < self.outputs.len(), "no output {output}");
        let moments = self.moments();
        TalliedTrials {
            run: self,
            which: output,
            mean: moments.mean(output),
            standard_uncertainty: moments.standard_deviation(output),
        }
    }

    /// The results of all outputs.
    pub fn of_outputs(&self) -> Vec<TalliedTrials<'_>> {
        (0..self.outputs.len()).map(|k| self.of_output(k)).collect()
    }

    /// Means and covariance matrix of the outputs (JCGM 102:2011, 7.6).
    pub fn joint_result(&self) -> JointResult {
        let moments = self.moments();
        let estimates = (0..self.outputs.len()).map(|k| moments.mean(k));
        JointResult {
            outputs: self.outputs.clone(),
            estimates: estimates.collect(),
            covariance: moments.covariance(),
        }
    }
}

/// A bin that holds values, with the number of values before it.
#[derive(Clone, Copy)]
struct Filled {
    low: f64,
    high: f64,
    before: u64,
    count: u64,
}

impl Filled {
    /// Where value number `rank` of all lies, if the values of the bin are evenly spread.
    fn at(&self, rank: u64) -> f64 {
        let share = ((rank - self.before) as f64 + 0.5) / self.count as f64;
        (self.low + share * (self.high - self.low)).clamp(self.low, self.high)
    }

    fn holds(&self, rank: u64) -> bool {
        rank < self.before + self.count
    }
}

impl<'a> TalliedTrials<'a> {
    /// The output quantity.
    pub fn output(&self) -> &'a Output {
        &self.run.outputs[self.which]
    }

    /// The seed of the run.
    pub fn seed(&self) -> u64 {
        self.run.plan.seed
    }

    /// Number of trials.
    pub fn trials(&self) -> u64 {
        self.run.trials()
    }

    /// The smallest value of all trials.
    pub fn smallest(&self) -> f64 {
        self.run.tally.rest.extremes[self.which].0
    }

    /// The largest value of all trials.
    pub fn largest(&self) -> f64 {
        self.run.tally.rest.extremes[self.which].1
    }

    /// The standard error of the mean by the finite number of trials.
    pub fn standard_error(&self) -> f64 {
        self.standard_uncertainty / (self.trials() as f64).sqrt()
    }

    /// The coefficient of skewness, 0 for symmetric distributions; `None` for an output that does
    /// not vary.
    pub fn skewness(&self) -> Option<f64> {
        let [second, third, _] = self.run.moments().central(self.which);
        (second > 0.0).then(|| third / (second * second.sqrt()))
    }

    /// The coefficient of kurtosis, 3 for a normal distribution; `None` for an output that does not
    /// vary.
    pub fn kurtosis(&self) -> Option<f64> {
        let [second, _, fourth] = self.run.moments().central(self.which);
        (second > 0.0).then(|| fourth / (second * second))
    }

    /// The correlation coefficients with the inputs in their order, `None` where input or output
    /// does not vary.
    ///
    /// The square is the share of the variance that a straight line in this input alone accounts
    /// for: of independent inputs the first-order contribution, as the trials show it.
    pub fn input_correlations(&self) -> Vec<Option<f64>> {
        let moments = self.run.moments();
        let inputs = 0..self.run.inputs.len();
        inputs.map(|i| moments.correlation(self.which, i)).collect()
    }

    fn filled(&self) -> impl Iterator<Item = Filled> + use<'a> {
        let (grid, counts) = (
            &self.run.plan.grids[self.which],
            &self.run.tally.counts[self.which],
        );
        let (smallest, largest) = (self.smallest(), self.largest());
        let mut before = 0;
        counts.filled().map(move |(place, count)| {
            let (low, high) = grid.ends(place);
            let bin = Filled {
                low: low.max(smallest),
                high: high.min(largest),
                before,
                count,
            };
            before += count;
            bin
        })
    }

    /// The bins that hold the values of the given ranks, which ascend.
    fn bins_of<const N: usize>(&self, ranks: [u64; N]) -> [Filled; N] {
        let mut bins = self.filled();
        let mut bin = Filled {
            low: f64::NAN,
            high: f64::NAN,
            before: 0,
            count: 0,
        };
        ranks.map(|rank| {
            while !bin.holds(rank) {
                match bins.next() {
                    Some(next) => bin = next,
                    None => break,
                }
            }
            bin
        })
    }

    /// The quantile of rank `rank`, counted from 0.
    fn order_statistic(&self, rank: u64) -> TalliedQuantile {
        let last = self.trials() - 1;
        let [lowest, highest] = ranks_reached(self.trials(), rank);
        let ranks = [lowest, rank, highest];
        let bins = self.bins_of(ranks);
        let [below, value, above] = [0, 1, 2].map(|k| match ranks[k] {
            0 => self.smallest(),
            r if r == last => self.largest(),
            r => bins[k].at(r),
        });
        let exact = rank == 0 || rank == last;
        TalliedQuantile {
            value,
            low: if exact { value } else { bins[1].low },
            high: if exact { value } else { bins[1].high },
            standard_error: 0.5 * (above - below),
        }
    }

    /// The value below or at which the share `p` of the trials lies: of their values in ascending
    /// order the one of number `ceil(p M)`.
    ///
    /// # Errors
    /// A probability outside 0 to 1.
    pub fn quantile(&self, p: f64) -> Result<TalliedQuantile> {
        let inside = (0.0..=1.0).contains(&p);
        Error::range(inside, "probability", p, "", "0 to 1")?;
        let number = (p * self.trials() as f64).ceil() as u64;
        Ok(self.order_statistic(number.clamp(1, self.trials()) - 1))
    }

    /// A coverage interval (JCGM 101:2008, 7.7).
    ///
    /// # Errors
    /// A coverage probability not strictly between 0 and 1, or too near to either for the number
    /// of trials.
    pub fn interval(&self, coverage_probability: f64, kind: IntervalKind) -> Result<Interval> {
        Ok(self.bounded_interval(coverage_probability, kind)?.interval)
    }

    /// A coverage interval with the bound of its error.
    ///
    /// # Errors
    /// Those of [`TalliedTrials::interval`].
    pub fn bounded_interval(
        &self,
        coverage_probability: f64,
        kind: IntervalKind,
    ) -> Result<TalliedInterval> {
        let covered = covered(self.trials(), coverage_probability)?;
        Ok(match kind {
            IntervalKind::Symmetric => {
                let start = symmetric_start(self.trials(), covered);
                let [low, high] = [start, start + covered].map(|rank| self.order_statistic(rank));
                TalliedInterval {
                    interval: Interval {
                        low: low.value,
                        high: high.value,
                    },
                    error_bound: low.error_bound().max(high.error_bound()),
                }
            }
            IntervalKind::Shortest => self.shortest(covered),
        })
    }

    /// The shortest interval from the start of a bin to the end of one that holds `covered` steps.
    fn shortest(&self, covered: u64) -> TalliedInterval {
        let mut ends = self.filled();
        let Some(mut end) = ends.next() else {
            let interval = Interval {
                low: f64::NAN,
                high: f64::NAN,
            };
            return TalliedInterval {
                interval,
                error_bound: f64::NAN,
            };
        };
        let mut found = Interval {
            low: self.smallest(),
            high: self.largest(),
        };
        let mut least = f64::INFINITY;
        'starts: for start in self.filled() {
            while !end.holds(start.before + covered) {
                match ends.next() {
                    Some(next) => end = next,
                    None => break 'starts,
                }
            }
            if end.high - start.low < found.high - found.low {
                found = Interval {
                    low: start.low,
                    high: end.high,
                };
            }
            least = least.min(end.low - start.high);
        }
        TalliedInterval {
            interval: found,
            error_bound: (found.high - found.low) - least.max(0.0),
        }
    }

    /// The numbers of trials in classes of equal width between two values; what lies outside is
    /// left out.
    ///
    /// # Errors
    /// No class or more than a million; limits that are not finite or do not ascend.
    pub fn histogram(&self, classes: usize, low: f64, high: f64) -> Result<Histogram> {
        let inside = (1..=1_000_000).contains(&classes);
        Error::range(inside, "classes", classes as f64, "", "1 to 1e6")?;
        let width = (high - low) / classes as f64;
        let ascending = width.is_finite() && high > low;
        Error::range(
            ascending,
            "high",
            high,
            "",
            "finite and above the lower limit",
        )?;
        let edges = (0..classes).map(|k| low + k as f64 * width).chain([high]);
        let mut counts = vec![0; classes];
        for bin in self.filled() {
            let middle = bin.low + 0.5 * (bin.high - bin.low);
            if (low..=high).contains(&middle) {
                let class = (((middle - low) / width) as usize).min(classes - 1);
                counts[class] += bin.count;
            }
        }
        Ok(Histogram {
            edges: edges.collect(),
            counts,
        })
    }
}

impl TrialStatistics for TalliedTrials<'_> {
    fn output(&self) -> &Output {
        TalliedTrials::output(self)
    }
    fn trials(&self) -> u64 {
        self.run.trials()
    }
    fn failed(&self) -> u64 {
        self.run.failed()
    }
    fn seed(&self) -> u64 {
        TalliedTrials::seed(self)
    }
    fn mean(&self) -> f64 {
        self.mean
    }
    fn standard_uncertainty(&self) -> f64 {
        self.standard_uncertainty
    }
    fn interval(&self, coverage_probability: f64, kind: IntervalKind) -> Result<Interval> {
        TalliedTrials::interval(self, coverage_probability, kind)
    }
    fn end_errors(&self, coverage_probability: f64) -> Result<[f64; 2]> {
        let covered = covered(self.trials(), coverage_probability)?;
        let start = symmetric_start(self.trials(), covered);
        let ends = [start, start + covered];
        Ok(ends.map(|rank| self.order_statistic(rank).standard_error))
    }
}
