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
        root = root - r.value / slope;
    }
    (root, slope)
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
    let mut x = S::from_real(root);
    for _ in 0..S::ORDER {
        let r = with_derivatives(x);
        // what rounding leaves of the residual's value is not to move the root
        x = x - (r - S::from_real(r.real())) / S::from_real(slope);
    }
    x
}
