//! A model evaluated once as a recording, and then for blocks of numbers at a time.
//!
//! A measurement model is straight-line arithmetic: what it does never depends on the numbers.
//! So it is run once with [`Recorded`], which notes every operation instead of doing it, and the
//! noted operations are then applied to whole blocks of numbers, each in one loop of vector
//! instructions. Every number of a block gets the same operations in the same order as in `f64`,
//! and so the same bits; only what is computed twice or never used falls away.
//!
//! Vector types instead of a recording would have to be inlined through the whole model into a
//! function compiled for the instruction set; where the compiler stops inlining, speed is lost
//! without a word. A recording is fast whatever the model looks like.

mod fit;
mod fitted;
mod functions;
mod instructions;
mod kernels;
mod program;
mod recorder;
mod recording;
#[cfg(test)]
mod tests;

pub use fitted::FittedProgram;
pub use instructions::Program;
pub use recording::Recorded;
