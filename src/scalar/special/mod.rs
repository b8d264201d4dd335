//! Special functions of `f64` that the standard library lacks: the normal, Student's t, gamma,
//! beta, chi-squared and F distributions, and quadrature.
//!
//! Written here, and not taken from a statistics library, for two reasons: the bits must not
//! depend on the platform's mathematical library, and the quantile of Student's t must hold for
//! the very large effective degrees of freedom that a budget of type B inputs has.

mod beta;
mod gamma;
mod invert;
mod normal;
mod quadrature;
mod stirling;
mod student;

pub use beta::{beta_quantile, beta_ratio, fisher_quantile, fisher_upper_tail, log_beta};
pub use gamma::{
    chi_squared_quantile, chi_squared_upper_tail, gamma_lower_ratio, gamma_quantile,
    gamma_upper_ratio, log_gamma_density,
};
pub use normal::{normal_cdf, normal_density, normal_quantile};
pub use quadrature::{Quadrature, integrate, kronrod_rule};
pub use student::StudentT;
