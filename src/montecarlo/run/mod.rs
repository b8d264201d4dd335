//! The ways to run trials: so many of them, until the results have settled, or at evenly spread
//! points.

mod adaptive;
mod control_variates;
mod low_discrepancy;
mod plain;

pub use adaptive::{Adaptive, AdaptiveRun, Settled, SettledOutput};
pub use low_discrepancy::{Estimated, EstimatedOutput, LowDiscrepancy, LowDiscrepancyRun};
pub use plain::MonteCarlo;
