//! A model as the runs call it: block by block, as a recording of its operations where it can be
//! recorded, with an account of the trials that have no result.

mod block_model;
mod failures;
mod recorded;

pub use block_model::{BlockModel, WithInstructionSet};
pub(super) use block_model::{as_it_is, checked_block, in_blocks, ready, trials_in_block};
pub(super) use failures::{Failures, succeeded};
pub(crate) use recorded::Program;
