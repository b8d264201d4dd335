//! Propagation of distributions by Monte Carlo (JCGM 101:2008), for any measurement model.
//!
//! The result depends on inputs, seed and number of trials only: not on the number of threads.

mod adaptive;
mod block_model;
mod control;
mod failures;
mod interval;
mod joint_trials;
mod low_discrepancy;
mod memory;
mod order;
mod philox;
mod points;
mod replicates;
mod run;
mod sampling;
mod sobol;
mod streams;
mod tally;
mod trials;
mod validation;
mod xoshiro;

pub use crate::uncertainty::numerical_tolerance;
pub use crate::watch::Watch;
pub use adaptive::{Adaptive, AdaptiveRun, Settled, SettledOutput};
pub use block_model::{BlockModel, WithInstructionSet};
pub use interval::{Interval, IntervalKind};
pub use joint_trials::JointTrials;
pub use low_discrepancy::{Estimated, EstimatedOutput, LowDiscrepancy, LowDiscrepancyRun};
pub use philox::philox;
pub use points::SobolPoints;
pub use run::MonteCarlo;
pub use sobol::{InputIndices, Sensitivity, SobolIndex, SobolIndices};
pub use streams::Stream;
pub use tally::{
    Histogram, TalliedInterval, TalliedJoint, TalliedQuantile, TalliedTrials, Tally, TallyPlan,
};
pub use trials::{TrialStatistics, Trials};
pub use validation::{Validation, Verdict};
pub use xoshiro::xoshiro;

use std::sync::{Mutex, MutexGuard, PoisonError};

/// What a lock holds. If a thread failed with it in its hand, the run has failed with it.
fn open<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}
