//! Dual numbers: a value and its exact first derivatives, carried through every operation.

use super::chebyshev::derivative;
use super::operators::assignments_and_sums;
use super::{Scalar, SmoothFunction};
use std::ops::{Add, Div, Mul, Neg, Sub};

/// A value with `N` partial derivatives.
///
/// The base `S` is itself a [`Scalar`]: `Dual<f64, 1>` gives first derivatives,
/// `Dual<Dual<f64, 1>, 1>` second derivatives (the terms of JCGM 100:2008, 5.1.2 note).
///
/// # Source
/// W. K. Clifford 1873; forward-mode differentiation as in A. Griewank and A. Walther,
/// *Evaluating Derivatives*, 2nd ed., SIAM 2008, chapter 3.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dual<S, const N: usize> {
    /// The value.
    pub value: S,
    /// The partial derivatives, one for each seeded variable.
    pub gradient: [S; N],
}

impl<S: Scalar, const N: usize> Dual<S, N> {
    /// A variable with derivative one with respect to itself, at place `index` of the gradient.
    ///
    /// # Panics
    /// If `index >= N`.
    pub fn variable(value: S, index: usize) -> Self {
        let mut gradient = [S::constant(0.0); N];
        gradient[index] = S::constant(1.0);
        Self { value, gradient }
    }

    /// A quantity that does not depend on any seeded variable.
    pub fn fixed(value: S) -> Self {
        Self {
            value,
            gradient: [S::constant(0.0); N],
        }
    }

    /// Chain rule: `f(self)` from the value of `f` and of its derivative at `self.value`.
    fn chain(self, function: S, derivative: S) -> Self {
        Self {
            value: function,
            gradient: self.gradient.map(|g| g * derivative),
        }
    }

    /// Applies the same linear combination to all derivatives of two duals.
    fn combine(self, other: Self, value: S, rule: impl Fn(S, S) -> S) -> Self {
        Self {
            value,
            gradient: std::array::from_fn(|i| rule(self.gradient[i], other.gradient[i])),
        }
    }
}

impl<S: Scalar, const N: usize> Neg for Dual<S, N> {
    type Output = Self;
    fn neg(self) -> Self {
        Self {
            value: -self.value,
            gradient: self.gradient.map(|g| -g),
        }
    }
}

impl<S: Scalar, const N: usize> Add for Dual<S, N> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        self.combine(other, self.value + other.value, |a, b| a + b)
    }
}

impl<S: Scalar, const N: usize> Sub for Dual<S, N> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self.combine(other, self.value - other.value, |a, b| a - b)
    }
}

impl<S: Scalar, const N: usize> Mul for Dual<S, N> {
    type Output = Self;
    #[allow(clippy::suspicious_arithmetic_impl, reason = "the product rule adds")]
    fn mul(self, other: Self) -> Self {
        self.combine(other, self.value * other.value, |a, b| {
            a * other.value + b * self.value
        })
    }
}

impl<S: Scalar, const N: usize> Div for Dual<S, N> {
    type Output = Self;
    #[allow(
        clippy::suspicious_arithmetic_impl,
        reason = "the quotient rule subtracts"
    )]
    fn div(self, other: Self) -> Self {
        let quotient = self.value / other.value;
        let reciprocal = other.value.recip();
        self.combine(other, quotient, |a, b| (a - b * quotient) * reciprocal)
    }
}

impl<S: Scalar, const N: usize> Add<f64> for Dual<S, N> {
    type Output = Self;
    fn add(self, other: f64) -> Self {
        Self {
            value: self.value + other,
            ..self
        }
    }
}

impl<S: Scalar, const N: usize> Sub<f64> for Dual<S, N> {
    type Output = Self;
    fn sub(self, other: f64) -> Self {
        Self {
            value: self.value - other,
            ..self
        }
    }
}

impl<S: Scalar, const N: usize> Mul<f64> for Dual<S, N> {
    type Output = Self;
    fn mul(self, other: f64) -> Self {
        Self {
            value: self.value * other,
            gradient: self.gradient.map(|g| g * other),
        }
    }
}

impl<S: Scalar, const N: usize> Div<f64> for Dual<S, N> {
    type Output = Self;
    fn div(self, other: f64) -> Self {
        Self {
            value: self.value / other,
            gradient: self.gradient.map(|g| g / other),
        }
    }
}

assignments_and_sums! { [S: Scalar, const N: usize] Dual<S, N> }

impl<S: Scalar, const N: usize> Add<Dual<S, N>> for f64 {
    type Output = Dual<S, N>;
    fn add(self, other: Dual<S, N>) -> Dual<S, N> {
        other + self
    }
}

impl<S: Scalar, const N: usize> Sub<Dual<S, N>> for f64 {
    type Output = Dual<S, N>;
    fn sub(self, other: Dual<S, N>) -> Dual<S, N> {
        Dual::constant(self) - other
    }
}

impl<S: Scalar, const N: usize> Mul<Dual<S, N>> for f64 {
    type Output = Dual<S, N>;
    fn mul(self, other: Dual<S, N>) -> Dual<S, N> {
        other * self
    }
}

impl<S: Scalar, const N: usize> Div<Dual<S, N>> for f64 {
    type Output = Dual<S, N>;
    fn div(self, other: Dual<S, N>) -> Dual<S, N> {
        Dual::constant(self) / other
    }
}

impl<S: Scalar, const N: usize> Scalar for Dual<S, N> {
    type Real = S::Real;
    type Mask = S::Mask;
    const ORDER: u32 = S::ORDER + 1;

    fn constant(value: f64) -> Self {
        Self::fixed(S::constant(value))
    }
    fn from_real(real: S::Real) -> Self {
        Self::fixed(S::from_real(real))
    }
    fn real(self) -> S::Real {
        self.value.real()
    }
    fn value(self) -> Option<f64> {
        self.value.value()
    }
    fn recip(self) -> Self {
        let reciprocal = self.value.recip();
        self.chain(reciprocal, -(reciprocal * reciprocal))
    }
    fn sqrt(self) -> Self {
        let root = self.value.sqrt();
        self.chain(root, root.recip() * 0.5)
    }
    fn exp(self) -> Self {
        let e = self.value.exp();
        self.chain(e, e)
    }
    fn ln(self) -> Self {
        self.chain(self.value.ln(), self.value.recip())
    }
    fn sin(self) -> Self {
        self.chain(self.value.sin(), self.value.cos())
    }
    fn cos(self) -> Self {
        self.chain(self.value.cos(), -self.value.sin())
    }
    fn asin(self) -> Self {
        let slope = (-(self.value * self.value) + 1.0).sqrt().recip();
        self.chain(self.value.asin(), slope)
    }
    fn atan(self) -> Self {
        let slope = (self.value * self.value + 1.0).recip();
        self.chain(self.value.atan(), slope)
    }
    fn tan(self) -> Self {
        let tangent = self.value.tan();
        self.chain(tangent, tangent * tangent + 1.0)
    }
    fn powf(self, exponent: Self) -> Self {
        let power = self.value.powf(exponent.value);
        let by_base = exponent.value * self.value.powf(exponent.value - 1.0);
        let by_exponent = power * self.value.ln();
        self.combine(exponent, power, |a, b| a * by_base + b * by_exponent)
    }
    fn powi(self, exponent: i32) -> Self {
        if exponent == 0 {
            return Self::constant(1.0);
        }
        let slope = self.value.powi(exponent - 1) * f64::from(exponent);
        self.chain(self.value.powi(exponent), slope)
    }
    fn less_than(self, other: Self) -> S::Mask {
        self.value.less_than(other.value)
    }
    fn select(mask: S::Mask, if_true: Self, if_false: Self) -> Self {
        let value = S::select(mask, if_true.value, if_false.value);
        if_true.combine(if_false, value, |a, b| S::select(mask, a, b))
    }
    fn holds(mask: S::Mask) -> Option<bool> {
        S::holds(mask)
    }
    fn rarely<R>(mask: S::Mask, rare: impl FnOnce() -> R) -> R {
        S::rarely(mask, rare)
    }
    fn function_of<const A: usize>(
        arguments: [Self; A],
        function: &impl SmoothFunction<A>,
    ) -> Self {
        if A > N {
            return function.at(arguments);
        }
        // with derivatives by its arguments alone, and the chain rule for the others
        let seeded = std::array::from_fn(|i| Dual::<S, A>::variable(arguments[i].value, i));
        let y = function.at(seeded);
        let mut gradient = [S::constant(0.0); N];
        for (slope, argument) in y.gradient.iter().zip(&arguments) {
            for (sum, g) in gradient.iter_mut().zip(argument.gradient) {
                *sum += g * *slope;
            }
        }
        Self {
            value: y.value,
            gradient,
        }
    }
    fn chebyshev_series(self, coefficients: &[f64]) -> Self {
        let slope = self.value.chebyshev_series(&derivative(coefficients));
        self.chain(self.value.chebyshev_series(coefficients), slope)
    }
}
