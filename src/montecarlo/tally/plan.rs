//! What all tallies of a run share.

use super::grid::Grid;
use super::sums::{Layout, Shift};
use crate::error::{Error, Result};
use crate::montecarlo::MonteCarlo;
use crate::montecarlo::draws::fnv1a;
use crate::montecarlo::engine::BlockModel;
use crate::montecarlo::trials::chunked_sum;
use crate::uncertainty::{Input, InputSet};
use crate::watch::{Watch, unwatched};
use serde::{Deserialize, Serialize};

/// Trials whose sums are one leaf of the tree of sums. Fixed for ever: the bits depend on it.
pub(super) const LEAF: u64 = 1 << 11;
/// Trials of the pilot, the first ones of the run. Fixed for ever.
const PILOT: u64 = 1 << 16;
/// The most trials of a run whose values are not kept.
const MOST_TRIALS: u64 = 10_000_000_000;

/// The origins of the sums and the bins of a run, which depend on model, inputs, seed and number of
/// trials only. It is made once, goes to wherever trials are tallied, and gives the results.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TallyPlan {
    pub(super) trials: u64,
    pub(super) seed: u64,
    pub(super) allowed_failures: f64,
    pub(super) inputs: usize,
    pub(super) shifts: Vec<Shift>,
    pub(super) grids: Vec<Grid>,
}

impl MonteCarlo {
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

    /// Refuses a model or inputs of another run.
    pub(super) fn check_fits<M: BlockModel + ?Sized>(
        &self,
        model: &M,
        inputs: &InputSet,
    ) -> Result<()> {
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

/// The error of bytes that are no such thing.
pub(super) fn not_a(format: &'static str, reason: &dyn ToString) -> Error {
    Error::Syntax {
        format,
        reason: reason.to_string(),
    }
}
