//! Propagation of distributions by Monte Carlo (JCGM 101:2008), for any measurement model.
//!
//! The result depends on inputs, seed and number of trials only: not on the number of threads.
//!
//! Rooms, each of which knows only those before it: `draws` (random numbers), `points` (evenly spread
//! ones), `sampling` (of the inputs), `engine` (a model, block by block), `trials` (what a run gave),
//! `run` (plain, adaptive, at points), `tally` (runs that keep no values); sensitivity indices and the
//! validation of first order beside them.

mod draws;
mod engine;
mod points;
mod run;
mod sampling;
mod sensitivity_indices;
mod tally;
mod trials;
mod validation;

pub use crate::uncertainty::numerical_tolerance;
pub use crate::watch::Watch;
pub use draws::Stream;
pub(crate) use engine::Program;
pub use engine::{BlockModel, WithInstructionSet};
pub use points::SobolPoints;
pub use run::{
    Adaptive, AdaptiveRun, Estimated, EstimatedOutput, LowDiscrepancy, LowDiscrepancyRun,
    MonteCarlo, Settled, SettledOutput,
};
pub use sensitivity_indices::{InputIndices, Sensitivity, SobolIndex, SobolIndices};
pub use tally::{
    Histogram, TalliedInterval, TalliedJoint, TalliedQuantile, TalliedTrials, Tally, TallyPlan,
};
pub use trials::{Interval, IntervalKind, JointTrials, TrialStatistics, Trials};
pub use validation::{Validation, Verdict};
