//! Draws, runs, tallies, points of low discrepancy, sensitivity indices.

mod adaptive;
mod low_discrepancy;
mod sensitivity_indices;
mod stability;
mod streams;
mod tally;
