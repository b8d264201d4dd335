//! Roots of implicit equations with exact derivatives.

use super::{Dual, Scalar};

/// An equation `residual(x, p) = 0` that defines `x` as a function of the parameters `p`.
pub trait ImplicitEquation<const P: usize> {
    /// The left-hand side at unknown `x` and parameters `p`.
    fn residual<S: Scalar>(&self, x: S, p: [S; P]) -> S;
}

/// The root `x(p)` of `equation`, with as many orders of derivative as `S` carries.
///
/// Newton's method runs without derivatives of the parameters for a fixed number of steps, so
/// that the work and the bits do not depend on the point. Then each further step with the same
/// slope makes one more order of derivative exact: the loop itself is never differentiated, and
/// the value is the same to the last bit whatever derivatives are carried.
///
/// # Source
/// Implicit function theorem; Griewank and Walther 2008 (see [`Dual`]), chapter 15.
pub fn implicit_root<S: Scalar, const P: usize>(
    equation: &impl ImplicitEquation<P>,
    start: S::Real,
    newton_steps: usize,
    p: [S; P],
) -> S {
    let fixed_p = p.map(S::real).map(Dual::<S::Real, 1>::fixed);
    root_with_derivatives(
        |x| equation.residual(x, fixed_p),
        |x| equation.residual(x, p),
        start,
        newton_steps,
    )
}

/// What so many steps of Newton's method come to, for a start of [`implicit_root`].
pub fn newton<S: Scalar, const P: usize>(
    equation: &impl ImplicitEquation<P>,
    start: S,
    steps: usize,
    p: [S; P],
) -> S {
    let p = p.map(Dual::<S, 1>::fixed);
    newton_with_slope(|x| equation.residual(x, p), start, steps).0
}

/// What so many steps of Newton's method come to, and the slope of the last of them.
fn newton_with_slope<S: Scalar>(
    residual: impl Fn(Dual<S, 1>) -> Dual<S, 1>,
    start: S,
    steps: usize,
) -> (S, S) {
    let (mut root, mut slope) = (start, S::constant(1.0));
    for _ in 0..steps {
        let r = residual(Dual::variable(root, 0));
        slope = r.gradient[0];
        root -= r.value / slope;
    }
    (root, slope)
}

/// The root of an equation whose left-hand side rises from below zero to above it between the ends of
/// `bracket`, with as many orders of derivative as `S` carries.
///
/// Each step is one of Newton's method where that stays between the best bounds so far, and else
/// goes halfway between them. The number of steps is fixed, as in [`implicit_root`].
///
/// # Source
/// W. H. Press and others, *Numerical Recipes*, section 9.4 (the idea; from memory).
pub fn bracketed_root<S: Scalar, const P: usize>(
    equation: &impl ImplicitEquation<P>,
    bracket: [f64; 2],
    steps: usize,
    p: [S; P],
) -> S {
    /// What rounding may put a step outside the bounds, near the root.
    const ROUNDING: f64 = 1e-9;
    let fixed_p = p.map(S::real).map(Dual::<S::Real, 1>::fixed);
    let zero = S::Real::constant(0.0);
    let [mut low, mut high] = bracket.map(S::Real::constant);
    let mut root = (low + high) * 0.5;
    let mut slope = S::Real::constant(1.0);
    for _ in 0..steps {
        let r = equation.residual(Dual::variable(root, 0), fixed_p);
        slope = r.gradient[0];
        let below = r.value.less_than(zero);
        low = S::Real::select(below, root, low);
        high = S::Real::select(below, high, root);
        let step = root - r.value / slope;
        let middle = (low + high) * 0.5;
        let held = S::Real::select((high + ROUNDING).less_than(step), middle, step);
        root = S::Real::select(step.less_than(low - ROUNDING), middle, held);
    }
    with_derivatives_of(|x| equation.residual(x, p), root, slope)
}

/// As [`implicit_root`], for an equation whose parameters are not a list: `at_point` is its
/// left-hand side with the parameters' values alone, `with_derivatives` with their derivatives.
pub fn root_with_derivatives<S: Scalar>(
    at_point: impl Fn(Dual<S::Real, 1>) -> Dual<S::Real, 1>,
    with_derivatives: impl Fn(S) -> S,
    start: S::Real,
    newton_steps: usize,
) -> S {
    let (root, slope) = newton_with_slope(at_point, start, newton_steps);
    with_derivatives_of(with_derivatives, root, slope)
}

/// A root with its derivatives, where `slope` is that of the residual by the unknown.
fn with_derivatives_of<S: Scalar>(residual: impl Fn(S) -> S, root: S::Real, slope: S::Real) -> S {
    let mut x = S::from_real(root);
    for _ in 0..S::ORDER {
        let r = residual(x);
        // what rounding leaves of the residual's value is not to move the root
        x -= (r - S::from_real(r.real())) / S::from_real(slope);
    }
    x
}
