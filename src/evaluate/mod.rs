//! From readings to a volume flow with its uncertainty budget.

mod evaluation;
mod installation;
mod readings;
mod words;

pub use evaluation::Evaluation;
pub use readings::{Channel, Readings};
pub use words::CAUTIONS;
