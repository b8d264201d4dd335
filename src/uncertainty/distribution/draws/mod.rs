//! Draws by the block, fast enough for every trial: fits of quantiles, and pairs of normal draws.

mod normal_pairs;
mod quantile_fit;
mod student_deviates;

pub(super) use normal_pairs::{NORMAL_GROUP, normal_pairs};
pub(super) use quantile_fit::QuantileFit;
pub(super) use student_deviates::StudentDeviates;
