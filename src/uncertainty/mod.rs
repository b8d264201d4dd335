//! The uncertainty engine: inputs with doubt, correlation, the law of propagation of uncertainty,
//! degrees of freedom and coverage. It serves any measurement model and knows nothing of pipes.
//!
//! Terms are those of JCGM 100:2008 (GUM) and JCGM 200:2012 (VIM).

mod budget;
mod correlation;
mod coverage;
mod distribution;
mod input;
mod model;
mod rounding;
mod table;
mod type_a;

pub use budget::{Budget, BudgetLine, Subtotal, propagate};
pub use correlation::Correlations;
pub use coverage::{Expanded, effective_dof, expanded};
pub use distribution::{Distribution, Sampler, Values};
pub use input::{Input, Shape};
pub use model::{InputSet, MeasurementModel, Output};
pub use rounding::{dof_in_words, plain, rounded, rounded_pair};
pub use table::{TableRow, Units};
pub use type_a::TypeA;
