//! Points that fill the unit cube evenly, instead of random numbers.

mod replicates;
mod sobol_points;

pub(super) use replicates::Replicates;
pub use sobol_points::SobolPoints;
