//! Student's t from the normal deviate with the same probability, fast enough for every trial.

use crate::scalar::chebyshev::polynomial_through;
use crate::scalar::math::{exp_m1, polynomial_by_fours};
use crate::scalar::special::{StudentT, normal_cdf};

/// Terms of the series.
const TERMS: usize = 20;
/// The series holds up to this deviate: beyond the one of the smallest probability drawn, 2^-53.
const LARGEST_DEVIATE: f64 = 8.3;
/// Place of the bend of the variable, in squares of deviates.
const BEND: f64 = 20.0;

/// Values of Student's t as a function of the normal deviate with the same probability.
///
/// ```text
/// t = sqrt(dof (exp(z^2 g / dof) - 1))     with the sign of z
/// ```
/// with `g` near 1, smooth, fitted as a polynomial in `z^2 / (z^2 + 20)`. The relative error of
/// `t` is below 1e-9 for more than 2 degrees of freedom and `|z| < 8.3`.
///
/// # Source
/// The form is that of D. L. Wallace, Ann. Math. Statist. 30 (1959) 1121.
#[derive(Clone, Copy, Debug)]
pub(in super::super) struct StudentDeviates {
    dof: f64,
    coefficients: [f64; TERMS],
}

/// The variable of the polynomial, -1 to 1 over the range of the fit.
#[inline(always)]
fn variable(square: f64) -> f64 {
    const SCALE: f64 =
        2.0 * (LARGEST_DEVIATE * LARGEST_DEVIATE + BEND) / (LARGEST_DEVIATE * LARGEST_DEVIATE);
    square / (square + BEND) * SCALE - 1.0
}

impl StudentDeviates {
    /// The fit for a finite number of degrees of freedom above 2.
    pub fn new(dof: f64) -> Self {
        let student = StudentT::new(dof);
        let value = |x: f64| {
            let largest = LARGEST_DEVIATE * LARGEST_DEVIATE;
            let share = 0.5 * (x + 1.0) * largest / (largest + BEND);
            let square = BEND * share / (1.0 - share);
            let t = student.quantile(normal_cdf(-square.sqrt()));
            libm::log1p(t * t / dof) * dof / square
        };
        Self {
            dof,
            coefficients: polynomial_through(value),
        }
    }

    /// The value of Student's t with the probability of the normal deviate `z`.
    #[inline(always)]
    pub fn at(&self, z: f64) -> f64 {
        let square = z * z;
        let g = polynomial_by_fours(&self.coefficients, variable(square));
        let t = (self.dof * exp_m1(square * g / self.dof)).sqrt();
        if z < 0.0 { -t } else { t }
    }
}
