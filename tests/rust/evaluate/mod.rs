//! From readings to flow: readings and outputs, the evaluation, its checks, series.

mod checks;
mod evaluation;
mod interchange;
mod other_wave;
pub mod outputs;
mod readings;
mod series;
mod skipped_periods;
mod stress_test;
mod temperatures;
mod warnings;
