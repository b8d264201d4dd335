//! From readings to a volume flow with its uncertainty budget.

mod evaluation;
mod readings;

pub use evaluation::Evaluation;
pub use readings::{Channel, Readings};
