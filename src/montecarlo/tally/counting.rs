//! How trials are tallied.

use super::counts::Counts;
use super::grid::Locator;
use super::nodes::Node;
use super::part::{Rest, Tally};
use super::plan::{LEAF, TallyPlan};
use super::results::TalliedJoint;
use super::sums::of_leaf;
use crate::error::{Error, Result};
use crate::montecarlo::MonteCarlo;
use crate::montecarlo::engine::{BlockModel, Failures, checked_block, ready, succeeded};
use crate::montecarlo::sampling::{Draws, Sampling};
use crate::uncertainty::InputSet;
use crate::watch::{Units, Watch, unwatched};
use std::ops::Range;

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
}

impl TallyPlan {
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
