//! `f64` as a [`Scalar`], with transcendental functions that have the same bits everywhere.

use super::Scalar;
use super::chebyshev::clenshaw;
use super::math::{self, Cosine, Sine, Split, Tangent};

impl Scalar for f64 {
    type Real = f64;
    type Mask = bool;
    const ORDER: u32 = 0;

    fn constant(value: f64) -> f64 {
        value
    }
    fn from_real(real: f64) -> f64 {
        real
    }
    fn real(self) -> f64 {
        self
    }
    fn value(self) -> Option<f64> {
        Some(self)
    }
    // IEEE 754 requires a correctly rounded square root, so the hardware's is as good as any.
    fn sqrt(self) -> f64 {
        f64::sqrt(self)
    }
    fn exp(self) -> f64 {
        math::exp(self)
    }
    fn ln(self) -> f64 {
        math::ln(self)
    }
    fn sin(self) -> f64 {
        Sine::at(self)
    }
    fn cos(self) -> f64 {
        Cosine::at(self)
    }
    fn asin(self) -> f64 {
        math::asin(self)
    }
    fn atan(self) -> f64 {
        math::atan(self)
    }
    fn tan(self) -> f64 {
        Tangent::at(self)
    }
    fn powf(self, exponent: f64) -> f64 {
        math::powf(self, exponent)
    }
    // Repeated multiplication in a fixed order: the standard library leaves its rounding open.
    fn powi(self, exponent: i32) -> f64 {
        let mut base = if exponent < 0 { 1.0 / self } else { self };
        let mut left = exponent.unsigned_abs();
        let mut power = 1.0;
        while left > 0 {
            if left & 1 == 1 {
                power *= base;
            }
            base *= base;
            left >>= 1;
        }
        power
    }
    fn less_than(self, other: f64) -> bool {
        self < other
    }
    fn select(mask: bool, if_true: f64, if_false: f64) -> f64 {
        if mask { if_true } else { if_false }
    }
    fn holds(mask: bool) -> Option<bool> {
        Some(mask)
    }
    fn chebyshev_series(self, coefficients: &[f64]) -> f64 {
        let [sum] = clenshaw(coefficients.len(), |k| [coefficients[k]], self);
        sum
    }
}
