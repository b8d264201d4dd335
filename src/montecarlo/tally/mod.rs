//! Monte Carlo in constant memory: trials are tallied and forgotten.

mod counting;
mod counts;
mod grid;
mod nodes;
mod part;
mod plan;
mod results;
mod sums;

pub use part::Tally;
pub use plan::TallyPlan;
pub use results::{Histogram, TalliedInterval, TalliedJoint, TalliedQuantile, TalliedTrials};
