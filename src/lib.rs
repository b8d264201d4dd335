#![doc = "flowdoubt"]
pub mod error;
pub mod montecarlo;
pub mod scalar;
pub mod uncertainty;
pub mod units;
pub use error::{Error, Result};
