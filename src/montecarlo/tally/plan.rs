//! What all tallies of a run share, and how trials are tallied.

use super::TalliedJoint;
use super::counts::Counts;
use super::grid::{Grid, Locator};
use super::nodes::Node;
use super::part::{Rest, Tally, not_a};
use super::sums::{Layout, Shift, of_leaf};
use crate::error::{Error, Result};
use crate::montecarlo::MonteCarlo;
use crate::montecarlo::draws::fnv1a;
use crate::montecarlo::engine::{BlockModel, Failures, checked_block, ready, succeeded};
use crate::montecarlo::sampling::{Draws, Sampling};
use crate::montecarlo::trials::chunked_sum;
use crate::uncertainty::{Input, InputSet};
use crate::watch::{Units, Watch, unwatched};
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// Trials whose sums are one leaf of the tree of sums. Fixed for ever: the bits depend on it.
const LEAF: u64 = 1 << 11;
/// Trials of the pilot, the first ones of the run. Fixed for ever.
const PILOT: u64 = 1 << 16;
/// The most trials of a run whose values are not kept.
const MOST_TRIALS: u64 = 10_000_000_000;

/// The origins of the sums and the bins of a run, which depend on model, inputs, seed and number of
/// trials only. It is made once, goes to wherever trials are tallied, and gives the results.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TallyPlan {
    trials: u64,
    pub(super) seed: u64,
    allowed_failures: f64,
    inputs: usize,
    pub(super) shifts: Vec<Shift>,
    pub(super) grids: Vec<Grid>,
}

impl MonteCarlo {
    /// Propagates distributions as [`MonteCarlo::joint`] does, with the same draws, but keeps no
    /// values: memory does not grow with the number of trials.
    ///
    /// # Errors
    /// A number of trials outside 100 to 1e10, and those of [`MonteCarlo::run`].
    pub fn tally<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
    ) -> Result<TalliedJoint> {
        self.tally_watched(model, inputs, &mut unwatched)
    }

    /// As [`MonteCarlo::tally`], with somebody who looks on and may end it.
    ///
    /// # Errors
    /// Those of [`MonteCarlo::tally`]; [`Error::Cancelled`].
    pub fn tally_watched<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
        watch: &mut Watch<'_>,
    ) -> Result<TalliedJoint> {
        let plan = self.plan_watched(model, inputs, watch)?;
        let tally = plan.tally(model, inputs, 0..plan.leaves(), !model.sequential(), watch)?;
        plan.finish(model, inputs, tally)
    }

    /// Makes the plan of a run from a pilot of its first trials.
    ///
    /// # Errors
    /// Those of [`MonteCarlo::tally`].
    pub fn plan<M: BlockModel + ?Sized>(&self, model: &M, inputs: &InputSet) -> Result<TallyPlan> {
        self.plan_watched(model, inputs, &mut unwatched)
    }

    /// As [`MonteCarlo::plan`], with somebody who may end the pilot.
    ///
    /// # Errors
    /// Those of [`MonteCarlo::tally`]; [`Error::Cancelled`].
    pub fn plan_watched<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
        watch: &mut Watch<'_>,
    ) -> Result<TallyPlan> {
        let inside = (100..=MOST_TRIALS).contains(&self.trials);
        Error::range(inside, "trials", self.trials as f64, "", "100 to 1e10")?;
        let pilot = MonteCarlo {
            trials: self.trials.min(PILOT),
            ..*self
        };
        // a pilot may fail where the run as a whole does not
        let enough = self.allowed_failures * self.trials as f64 / pilot.trials as f64;
        self.check()?;
        let pilot = MonteCarlo {
            allowed_failures: enough.min(1.0_f64.next_down()),
            ..pilot
        };
        // the watch counts the trials of the run
        let mut ended = |_| watch(0);
        let values = pilot.joint_watched(model, inputs, &mut ended)?;
        let (mut shifts, mut grids) = (Vec::new(), Vec::new());
        for output in 0..values.outputs().len() {
            let mut values = values.values(output).to_vec();
            let n = values.len() as f64;
            let first = values.first().copied().unwrap_or(f64::NAN);
            let mean = first + chunked_sum(values.iter().map(|v| v - first)) / n;
            let squares = values.iter().map(|v| (v - mean) * (v - mean));
            let spread = (chunked_sum(squares) / n).sqrt();
            let origin = if mean.is_finite() { mean } else { first };
            shifts.push(Shift::new(origin, spread));
            values.sort_unstable_by(f64::total_cmp);
            grids.push(Grid::of_pilot(&values, self.trials));
        }
        let of_input = |input: &Input| Shift::new(input.estimate(), input.standard_uncertainty());
        shifts.extend(inputs.inputs().iter().map(of_input));
        Ok(TallyPlan {
            trials: self.trials,
            seed: self.seed,
            allowed_failures: self.allowed_failures,
            inputs: inputs.inputs().len(),
            shifts,
            grids,
        })
    }
}

impl TallyPlan {
    /// Number of trials of the run.
    pub fn trials(&self) -> u64 {
        self.trials
    }

    /// Number of leaves of the run: the smallest parts that it can be cut into, of 2048 trials.
    pub fn leaves(&self) -> u64 {
        self.trials.div_ceil(LEAF)
    }

    pub(super) fn layout(&self) -> Layout {
        Layout {
            outputs: self.grids.len(),
            inputs: self.inputs,
        }
    }

    /// A number that tells the plan from any other.
    pub(super) fn fingerprint(&self) -> u64 {
        fnv1a(&postcard::to_allocvec(self).unwrap_or_default())
    }

    /// The plan as bytes.
    ///
    /// # Errors
    /// None that can occur; the format asks for it.
    pub fn to_bytes(&self) -> Result<Vec<u8>> {
        postcard::to_allocvec(self).map_err(|e| not_a("plan of a run", &e))
    }

    /// The plan from its bytes.
    ///
    /// # Errors
    /// Bytes that are no plan.
    pub fn from_bytes(bytes: &[u8]) -> Result<TallyPlan> {
        let plan: TallyPlan =
            postcard::from_bytes(bytes).map_err(|e| not_a("plan of a run", &e))?;
        let columns = plan.grids.len() + plan.inputs;
        let sound = plan.shifts.len() == columns
            && (100..=MOST_TRIALS).contains(&plan.trials)
            && (0.0..1.0).contains(&plan.allowed_failures)
            && plan.grids.iter().all(Grid::is_sound);
        if sound {
            Ok(plan)
        } else {
            Err(not_a("plan of a run", &"parts that do not fit each other"))
        }
    }

    /// Tallies the trials of some leaves, on the calling thread or in `parallel`.
    ///
    /// # Errors
    /// Leaves that the run has not, a model or inputs of another run, [`Error::Cancelled`].
    pub fn tally<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
        leaves: Range<u64>,
        parallel: bool,
        watch: &mut Watch<'_>,
    ) -> Result<Tally> {
        let inside = leaves.start <= leaves.end && leaves.end <= self.leaves();
        let allowed = format!("leaves of the run, 0 to {}", self.leaves());
        Error::range(inside, "leaves", leaves.end as f64, "", allowed)?;
        self.check_fits(model, inputs)?;
        let sampling = Sampling::new(inputs, self.seed, "")?;
        let ready = ready(model, inputs)?;
        let mut tally = Tally::new(self);
        let counting = Counting {
            plan: self,
            model: &*ready,
            sampling: &sampling,
            locators: self.grids.iter().map(Locator::new).collect(),
        };
        // a model that likes large blocks gets whole leaves, one that likes small ones parts of one
        let in_group = (ready.block_size() / LEAF).max(1);
        let count = leaves.end - leaves.start;
        let units = Units {
            range: 0..count.div_ceil(in_group),
            trials: in_group * LEAF,
            total: self.trials.min(leaves.end * LEAF) - self.trials.min(leaves.start * LEAF),
            parallel: parallel && !ready.sequential(),
        };
        let Tally {
            nodes,
            counts,
            rest,
            ..
        } = &mut tally;
        let counts = &*counts;
        let group = |unit: u64| {
            let start = leaves.start + unit * in_group;
            counting.group(start..leaves.end.min(start + in_group), counts)
        };
        units.work(watch, group, |group: Vec<Leaf>| {
            for leaf in group {
                let node = Node {
                    leaves: 1,
                    sums: leaf.sums,
                };
                nodes.add(leaf.number, node);
                rest.merge(leaf.rest);
            }
        })?;
        Ok(tally)
    }

    /// The results, from a tally of all trials.
    ///
    /// # Errors
    /// A tally of another run or of some trials only; a larger share of trials without a finite
    /// result than allowed.
    pub fn finish<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
        tally: Tally,
    ) -> Result<TalliedJoint> {
        self.check_fits(model, inputs)?;
        let rest = &tally.rest;
        let complete = tally.run == self.fingerprint()
            && tally.trials() == self.trials
            && tally
                .counts
                .iter()
                .all(|counts| counts.total() == rest.kept);
        if !complete {
            return Err(Error::Conflict {
                field: "tally".to_owned(),
                found: format!("a tally of {} trials", tally.trials()),
                allowed: format!("one of all {} trials of the run", self.trials),
            });
        }
        rest.failures
            .judge(self.trials, self.allowed_failures, inputs)?;
        let names = inputs.inputs().iter().map(|i| i.name().to_owned());
        let outputs = model.output_quantities();
        Ok(TalliedJoint::new(
            self.clone(),
            outputs,
            names.collect(),
            tally,
        ))
    }

    fn check_fits<M: BlockModel + ?Sized>(&self, model: &M, inputs: &InputSet) -> Result<()> {
        let found = (model.output_quantities().len(), inputs.inputs().len());
        if found == (self.grids.len(), self.inputs) {
            return Ok(());
        }
        Err(Error::Conflict {
            field: "plan of a run".to_owned(),
            found: format!("a model of {} outputs and {} inputs", found.0, found.1),
            allowed: format!("{} and {}", self.grids.len(), self.inputs),
        })
    }
}

/// What one leaf gave besides its counts.
struct Leaf {
    number: u64,
    sums: Vec<f64>,
    rest: Rest,
}

/// What is needed to tally a group of leaves.
struct Counting<'a> {
    plan: &'a TallyPlan,
    model: &'a dyn BlockModel,
    sampling: &'a Sampling,
    locators: Vec<Locator<'a>>,
}

impl Counting<'_> {
    fn group(&self, leaves: Range<u64>, counts: &[Counts]) -> Result<Vec<Leaf>> {
        let set = self.model.instruction_set()?;
        let start = leaves.start * LEAF;
        let size = (self.plan.trials.min(leaves.end * LEAF) - start) as usize;
        let mut x = self.sampling.draw(set, start, size);
        let mut y = self.evaluated(&x, size)?;
        let mut found = Vec::new();
        for (number, from) in leaves.zip((0..size).step_by(LEAF as usize)) {
            let range = from..size.min(from + LEAF as usize);
            let mut rest = Rest::new(y.len());
            rest.failures = Failures::of_block(set, start, range.clone(), &x, &y);
            let kept = range.len() - rest.failures.number as usize;
            rest.kept = kept as u64;
            if kept < range.len() {
                let kept: Vec<usize> = range.filter(|t| succeeded(&y, *t)).collect();
                let draws = x.iter_mut().map(|column| column.as_mut_slice());
                for column in draws.chain(y.iter_mut().map(Vec::as_mut_slice)) {
                    for (to, trial) in (from..).zip(&kept) {
                        column[to] = column[*trial];
                    }
                }
            }
            let range = from..from + kept;
            let outputs: Vec<&[f64]> = y.iter().map(|c| &c[range.clone()]).collect();
            let inputs: Vec<&[f64]> = x.iter().map(|c| &c[range.clone()]).collect();
            for (k, values) in outputs.iter().enumerate() {
                counts[k].add(&self.locators[k], values);
                let (low, high) = &mut rest.extremes[k];
                *low = values.iter().fold(*low, |a, b| a.min(*b));
                *high = values.iter().fold(*high, |a, b| a.max(*b));
            }
            let sums = of_leaf(set, &outputs, &inputs, &self.plan.shifts);
            found.push(Leaf { number, sums, rest });
        }
        Ok(found)
    }

    /// The outputs of a group, in blocks no larger than the model wishes.
    fn evaluated(&self, x: &Draws, size: usize) -> Result<Vec<Vec<f64>>> {
        let most = self.model.block_size().max(1) as usize;
        let mut all: Vec<Vec<f64>> = Vec::new();
        for from in (0..size).step_by(most) {
            let to = size.min(from + most);
            let columns: Vec<&[f64]> = x.iter().map(|column| &column[from..to]).collect();
            let values = checked_block(self.model, &columns, to - from, self.plan.grids.len())?;
            if all.is_empty() {
                all = values;
            } else {
                for (all, own) in all.iter_mut().zip(values) {
                    all.extend(own);
                }
            }
        }
        Ok(all)
    }
}
