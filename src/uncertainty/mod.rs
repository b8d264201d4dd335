//! The uncertainty engine: inputs with uncertainty, correlation, the law of propagation of uncertainty,
//! degrees of freedom and coverage. It serves any measurement model and knows nothing of pipes.
//!
//! Terms are those of JCGM 100:2008 (GUM) and JCGM 200:2012 (VIM).

#[cfg(feature = "site")]
mod as_text;
mod budget;
pub mod conformity;
mod correlation;
mod coverage;
mod distribution;
mod input;
mod joint_inputs;
mod joint_result;
mod linear;
mod model;
mod nearest_correlation;
mod numerical_tolerance;
mod regression;
mod rounding;
mod rows;
mod second_order;
mod table;
mod type_a;
pub(crate) mod union;

pub(crate) use budget::gradients;
pub use budget::{Budget, BudgetLine, Subtotal, propagate};
pub use correlation::Correlations;
pub use coverage::{Expanded, effective_dof, expanded};
pub(crate) use coverage::{LARGEST_PROBABILITY, probability_inside};
pub use distribution::{Distribution, Sampler, Values};
pub use input::{Input, Origin, Shape};
pub use joint_inputs::JointT;
pub(crate) use joint_result::largest_eigenvalue;
pub use joint_result::{EllipsoidalRegion, JointResult, RectangularRegion};
pub(crate) use linear::by_rows;
pub use model::{InputSet, MeasurementModel, Output};
pub use numerical_tolerance::numerical_tolerance;
pub use regression::{Prediction, StraightLine};
pub use rounding::{counted, dof_in_words, grouped, plain, rounded, rounded_pair, rounded_pair_up};
pub use second_order::{
    DirectionalDerivatives, SecondOrder, SecondOrderTerm, propagate_second_order, second_order,
};
pub use table::{TableColumn, TableRow, Units};
pub use type_a::{
    AboutCourse, Autocorrelated, BetweenSets, Damping, OneWay, OutlierTest, Pooled, RandomEffects,
    TypeA, WeightedMean, autocorrelation, autocorrelation_watched, grubbs_critical_value,
    variance_inflation,
};
