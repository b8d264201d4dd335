//! Random numbers that depend on seed, trial and name of the input only.

mod philox;
mod stream;
mod xoshiro;

pub use stream::Stream;
pub(super) use stream::{fnv1a, uniform};
