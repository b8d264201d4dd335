//! The number type every measurement model is written against.
//!
//! A model is one generic function over [`Scalar`]. The same text is evaluated in `f64`
//! (the value), in [`Dual`] (exact sensitivity coefficients), in duals of duals (second derivatives)
//! and by Monte Carlo in numbers that record what is done with them, for blocks of trials. Nothing
//! here knows of pipes or of uncertainty.
//!
//! Transcendental functions are our own and not the platform's, so that a result has the same bits
//! on every machine; their error is below one unit in the last place.

pub(crate) mod chebyshev;
mod dual;
mod implicit;
mod instruction_set;
pub(crate) mod math;
mod monotone_cubic;
pub(crate) mod operators;
mod piecewise_linear;
mod real;
pub mod special;

pub use chebyshev::{ChebyshevTable, chebyshev, chebyshev_surface};
pub use dual::Dual;
pub use implicit::{
    ImplicitEquation, bracketed_root, implicit_root, newton, root_with_derivatives,
};
pub use instruction_set::InstructionSet;
pub use monotone_cubic::MonotoneCubic;
pub use piecewise_linear::PiecewiseLinear;

use std::fmt::Debug;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, DivAssign, Mul, MulAssign, Neg, Sub, SubAssign};

/// A smooth function of a few numbers and of nothing else.
pub trait SmoothFunction<const N: usize> {
    /// Its value.
    fn at<S: Scalar>(&self, arguments: [S; N]) -> S;
}

/// A number that a measurement model can be evaluated with.
///
/// Outside the domain of a function the result is NaN, as for `f64`. A check that needs words
/// asks [`Scalar::value`], which answers only where there is exactly one number to judge.
///
/// # Operators
/// `+ - * /` and their assignments take a scalar or an `f64` on the right, and `sum()` adds scalars. On
/// the left an `f64` goes with [`Dual`], not with an unknown `S: Scalar`: the bound on `f64` that this
/// needs would have the compiler take every `2.0 * PI` in a generic function for a product with an `S`.
/// So a model writes `x * 2.0`, and `-x + 1.0` or `S::constant(1.0) - x`.
///
/// # Comparison
/// A scalar may stand for many numbers, of which some are less than another and some are not: there is no
/// `<` with one answer. [`less_than`](Scalar::less_than) gives a mask, [`select`](Scalar::select) takes
/// from two values that have both been evaluated, [`choose`](Scalar::choose) evaluates the rarer one only
/// where it is needed; [`min`](Scalar::min), [`max`](Scalar::max) and [`abs`](Scalar::abs) are made of
/// them. Comparison is by value; derivatives are those of the value that is taken.
/// ```
/// use flowdoubt::scalar::{Dual, Scalar};
/// /// The friction factor of a smooth pipe: laminar, or after Blasius.
/// fn friction<S: Scalar>(reynolds: S) -> S {
///     let laminar_flow = reynolds.less_than(S::constant(2300.0));
///     let laminar = || reynolds.recip() * 64.0;
///     let blasius = || reynolds.powf(S::constant(-0.25)) * 0.3164;
///     S::choose(laminar_flow, laminar, blasius)
/// }
/// assert_eq!(friction(1000.0), 0.064);
/// assert!((friction(1e4_f64) - 0.03164).abs() < 1e-15);
/// let f = friction(Dual::<f64, 1>::variable(1000.0, 0));
/// assert!((f.gradient[0] + 0.064 / 1000.0).abs() < 1e-18, "d(64 / Re) / dRe = -64 / Re^2");
/// ```
///
/// # Example
/// ```
/// use flowdoubt::scalar::{Dual, Scalar};
/// fn area<S: Scalar>(diameter: S) -> S {
///     diameter * diameter * (std::f64::consts::PI / 4.0)
/// }
/// assert_eq!(area(2.0), std::f64::consts::PI);
/// let d = area(Dual::<f64, 1>::variable(2.0, 0));
/// assert_eq!(d.gradient[0], std::f64::consts::PI);
/// ```
pub trait Scalar:
    Copy
    + Debug
    + Send
    + Sync
    + 'static
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
    + AddAssign
    + SubAssign
    + MulAssign
    + DivAssign
    + AddAssign<f64>
    + SubAssign<f64>
    + MulAssign<f64>
    + DivAssign<f64>
    + Sum
{
    /// The same number without its derivatives.
    type Real: Scalar<Real = Self::Real>;
    /// The outcome of a comparison: one `bool`, or one for each lane.
    type Mask: Copy;
    /// The highest order of derivative carried: 0 for `f64`, 1 for a dual, 2 for a dual of duals.
    const ORDER: u32;

    /// A constant: all derivatives are zero.
    fn constant(value: f64) -> Self;
    /// The number `real` as a constant.
    fn from_real(real: Self::Real) -> Self;
    /// The number without its derivatives.
    fn real(self) -> Self::Real;
    /// The value as `f64` where the scalar holds exactly one, else `None`.
    fn value(self) -> Option<f64>;

    /// Square root.
    fn sqrt(self) -> Self;
    /// Exponential function.
    fn exp(self) -> Self;
    /// Natural logarithm.
    fn ln(self) -> Self;
    /// Sine of an angle in radians.
    fn sin(self) -> Self;
    /// Cosine of an angle in radians.
    fn cos(self) -> Self;
    /// Arc sine, in radians.
    fn asin(self) -> Self;
    /// Arc tangent, in radians.
    fn atan(self) -> Self;
    /// Tangent of an angle in radians.
    fn tan(self) -> Self;
    /// `self` raised to a power that may itself be uncertain; `self` must be positive.
    fn powf(self, exponent: Self) -> Self;
    /// Integer power.
    fn powi(self, exponent: i32) -> Self;

    /// `self < other`, by value.
    fn less_than(self, other: Self) -> Self::Mask;
    /// `if_true` where `mask` holds, else `if_false`. Both have been evaluated.
    fn select(mask: Self::Mask, if_true: Self, if_false: Self) -> Self;

    /// The outcome of a comparison where it is the same for every number that the scalar stands for.
    fn holds(mask: Self::Mask) -> Option<bool>;
    /// `usual` where `mask` holds, else `rare`. Only the one that is taken is evaluated; blocks of
    /// numbers evaluate `rare` as well where some number of the block needs it.
    fn choose(mask: Self::Mask, usual: impl FnOnce() -> Self, rare: impl FnOnce() -> Self) -> Self {
        match Self::holds(mask) {
            Some(true) => usual(),
            Some(false) => rare(),
            None => {
                let usual = usual();
                Self::select(mask, usual, Self::rarely(mask, rare))
            }
        }
    }
    /// What `rare` gives, which is needed only where `mask` does not hold: a recording leaves it out
    /// for blocks in which no number needs it. Its results go nowhere but into
    /// [`select`](Scalar::select) with the same mask.
    fn rarely<R>(mask: Self::Mask, rare: impl FnOnce() -> R) -> R {
        let _ = mask;
        rare()
    }

    /// `function.at(arguments)`. The model says so where a function costs much and depends on a few
    /// numbers only: Monte Carlo may then fit it over the range of its arguments, and many
    /// derivatives follow from those by the arguments.
    fn function_of<const N: usize>(
        arguments: [Self; N],
        function: &impl SmoothFunction<N>,
    ) -> Self {
        function.at(arguments)
    }

    /// The sum of `coefficients[k] T_k(self)`, where `T_k` are the Chebyshev polynomials and `self`
    /// is from -1 to 1.
    fn chebyshev_series(self, coefficients: &[f64]) -> Self;
    /// The sum of `c[i][j] T_i(x) T_j(y)`, `x` and `y` from -1 to 1.
    fn chebyshev_surface(table: &ChebyshevTable<'_>, x: Self, y: Self) -> Self {
        table.sum(x, y)
    }

    /// Reciprocal.
    fn recip(self) -> Self {
        Self::constant(1.0) / self
    }
    /// Absolute value; the derivative at zero is that of `+self`.
    fn abs(self) -> Self {
        Self::select(self.less_than(Self::constant(0.0)), -self, self)
    }
    /// The smaller of two numbers, by value.
    fn min(self, other: Self) -> Self {
        Self::select(self.less_than(other), self, other)
    }
    /// The larger of two numbers, by value.
    fn max(self, other: Self) -> Self {
        Self::select(self.less_than(other), other, self)
    }
}
