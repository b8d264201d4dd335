//! What is known of some trials of a run, without their values.

use super::counts::{Counts, Sparse};
use super::nodes::Nodes;
use super::plan::{TallyPlan, not_a};
use crate::error::{Error, Result};
use crate::montecarlo::engine::Failures;
use serde::{Deserialize, Serialize};

/// A tally of some trials of a run: sums, counts and extremes. Its size does not grow with the
/// trials.
///
/// Tallies of different trials of one run can be merged in any order and grouping, with the same
/// bits.
#[derive(Debug)]
pub struct Tally {
    pub(super) run: u64,
    pub(super) nodes: Nodes,
    pub(super) counts: Vec<Counts>,
    pub(super) rest: Rest,
}

/// The parts of a tally whose merging is exact by nature.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Rest {
    /// Trials with a result.
    pub kept: u64,
    pub failures: Failures,
    /// The smallest and the largest value of each output.
    pub extremes: Vec<(f64, f64)>,
}

impl Rest {
    pub fn new(outputs: usize) -> Rest {
        Rest {
            extremes: vec![(f64::INFINITY, f64::NEG_INFINITY); outputs],
            ..Rest::default()
        }
    }

    pub fn merge(&mut self, other: Rest) {
        self.kept += other.kept;
        self.failures.merge(other.failures);
        for ((low, high), other) in self.extremes.iter_mut().zip(other.extremes) {
            *low = low.min(other.0);
            *high = high.max(other.1);
        }
    }
}

/// A tally in bytes.
#[derive(Serialize, Deserialize)]
struct Packed {
    run: u64,
    nodes: Nodes,
    counts: Vec<Sparse>,
    rest: Rest,
}

impl Tally {
    /// The tally of no trials of a run.
    pub fn new(plan: &TallyPlan) -> Tally {
        let counts = plan.grids.iter().map(|grid| Counts::new(grid.inner()));
        Tally {
            run: plan.fingerprint(),
            nodes: Nodes::default(),
            counts: counts.collect(),
            rest: Rest::new(plan.grids.len()),
        }
    }

    /// Adds a tally of other trials of the same run.
    ///
    /// # Errors
    /// A tally of another run, or of trials that this one holds already.
    pub fn merge(&mut self, other: &Tally) -> Result<()> {
        let counts = other.counts.iter().map(Counts::sparse).collect();
        self.absorb(Packed {
            run: other.run,
            nodes: other.nodes.clone(),
            counts,
            rest: other.rest.clone(),
        })
    }

    /// Adds a tally that was made elsewhere and came as bytes.
    ///
    /// # Errors
    /// Bytes that are no tally, and those of [`Tally::merge`].
    pub fn merge_bytes(&mut self, plan: &TallyPlan, bytes: &[u8]) -> Result<()> {
        let packed: Packed = postcard::from_bytes(bytes).map_err(|e| not_a("tally", &e))?;
        let outputs = plan.grids.len();
        let sound = packed.nodes.are_sound(plan.leaves(), plan.layout().len())
            && packed.counts.len() == outputs
            && packed.rest.extremes.len() == outputs;
        if packed.run == self.run && !sound {
            return Err(not_a("tally", &"parts that do not fit the run"));
        }
        self.absorb(packed)
    }

    fn absorb(&mut self, other: Packed) -> Result<()> {
        let conflict = |found: &str, allowed: &str| Error::Conflict {
            field: "tally".to_owned(),
            found: found.to_owned(),
            allowed: allowed.to_owned(),
        };
        if other.run != self.run {
            return Err(conflict(
                "a tally of another run",
                "tallies of one plan: the same inputs, outputs, seed and number of trials",
            ));
        }
        let own = self.nodes.ranges();
        let twice =
            |new: &std::ops::Range<u64>| own.iter().any(|r| r.start < new.end && new.start < r.end);
        if other.nodes.ranges().iter().any(twice) {
            return Err(conflict("the same trials twice", "each trial once"));
        }
        self.nodes.merge(other.nodes);
        for (own, other) in self.counts.iter().zip(&other.counts) {
            own.merge(other);
        }
        self.rest.merge(other.rest);
        Ok(())
    }

    /// The tally as bytes, for [`Tally::merge_bytes`]. The bytes of equal tallies are equal.
    ///
    /// # Errors
    /// None that can occur; the format asks for it.
    pub fn to_bytes(&self) -> Result<Vec<u8>> {
        let packed = Packed {
            run: self.run,
            nodes: self.nodes.clone(),
            counts: self.counts.iter().map(Counts::sparse).collect(),
            rest: self.rest.clone(),
        };
        postcard::to_allocvec(&packed).map_err(|e| not_a("tally", &e))
    }

    /// Number of trials tallied, with those without a finite result.
    pub fn trials(&self) -> u64 {
        self.rest.kept + self.rest.failures.number
    }

    /// Number of sums and counts held: it does not grow with the trials.
    pub fn size(&self) -> usize {
        let bins: usize = self.counts.iter().map(Counts::bins).sum();
        self.nodes.len() + bins
    }
}
