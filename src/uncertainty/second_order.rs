//! The terms of next higher order in the law of propagation of uncertainty.

use super::{
    Budget, Expanded, InputSet, MeasurementModel, expanded, numerical_tolerance, propagate,
};
use crate::error::{Error, Result};
use crate::scalar::{Dual, Scalar};

/// The second-order term of one ordered pair of uncorrelated inputs.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct SecondOrderTerm {
    /// The place of input `i` in the set.
    pub first: usize,
    /// The place of input `j` in the set; may be the same.
    pub second: usize,
    /// The mixed derivative `f_ij`.
    pub curvature: f64,
    /// The term `(f_ij^2 / 2 + f_i f_ijj) u_i^2 u_j^2`, which may be negative.
    pub variance: f64,
}

/// First and second order of the propagation of uncertainty for one output.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct SecondOrder {
    /// The budget of first order.
    pub budget: Budget,
    /// The terms of second order that are not zero, by ordered pairs of inputs. Empty where
    /// inputs are correlated: the sum then has no such parts.
    pub terms: Vec<SecondOrderTerm>,
    /// The sum of the terms of second order; may be negative.
    pub variance: f64,
    /// The combined standard uncertainty including second order.
    pub standard_uncertainty: f64,
    /// What the mean of the output exceeds the estimate by, `1/2 sum f_ij u(x_i, x_j)`, in second
    /// order. The estimate itself is left as it is: the GUM takes the output at the estimates.
    pub bias: f64,
    /// The difference that counts as meaningful: half a unit of the second significant digit of
    /// the standard uncertainty (JCGM 101:2008, 7.9.2).
    pub tolerance: f64,
    /// Whether second order matters: it changes the standard uncertainty, or shifts the mean, by
    /// more than `tolerance`.
    pub matters: bool,
}

impl SecondOrder {
    /// The expanded uncertainty about the estimate, with the standard uncertainty that includes
    /// second order and the effective degrees of freedom of first order.
    ///
    /// # Errors
    /// A coverage probability that is not strictly between 0 and 1.
    pub fn expanded(&self, coverage_probability: f64) -> Result<Expanded> {
        expanded(
            self.standard_uncertainty,
            self.budget.effective_dof,
            coverage_probability,
        )
    }
}

/// The inner dual carries derivatives by so many inputs in one evaluation of the model.
const WIDTH: usize = 8;
/// Derivatives by inputs, then twice along one direction.
type Third = Dual<Dual<Dual<f64, WIDTH>, 1>, 1>;
/// Significant digits of the standard uncertainty that count.
const DIGITS: u32 = 2;

/// What the derivatives along one direction `d` say about one output.
#[derive(Debug, Clone, PartialEq)]
pub struct DirectionalDerivatives {
    /// The second derivative along `d`.
    pub curvature: f64,
    /// The gradient of the first derivative along `d`, that is `H d`; shape `(n_inputs,)`.
    pub slope_gradient: Vec<f64>,
    /// The gradient of the second derivative along `d`; shape `(n_inputs,)`.
    pub curvature_gradient: Vec<f64>,
}

/// Propagation of uncertainty including the terms of second order, one result for each output.
///
/// ```text
/// u_c^2 = sum_i f_i^2 u_i^2 + sum_i sum_j (f_ij^2 / 2 + f_i f_ijj) u_i^2 u_j^2
/// ```
/// With correlated inputs the same quantity is computed for jointly normal inputs of covariance
/// `U`: `tr(H U H U) / 2 + sum_l (U g)_l d/dx_l tr(H U)` with gradient `g` and Hessian `H`, of
/// which the formula above is the uncorrelated case. The terms are those of normal inputs: for
/// others the moments of fourth order differ, and Monte Carlo is the judge.
///
/// # Errors
/// Those of [`propagate`]; inputs that follow a multivariate t distribution, and a derivative
/// that is not finite; a variance that second order makes negative.
///
/// # Source
/// JCGM 100:2008, 5.1.2 note (uncorrelated); for correlated inputs the moments of a jointly normal
/// distribution, L. Isserlis, Biometrika 12 (1918) 134.
pub fn propagate_second_order<M: MeasurementModel>(
    model: &M,
    inputs: &InputSet,
) -> Result<Vec<SecondOrder>> {
    let budgets = propagate(model, inputs)?;
    let outputs = budgets.len();
    second_order(budgets, inputs, |direction| {
        derivatives_along(model, inputs, direction, outputs)
    })
}

/// As [`propagate_second_order`], from the budgets of first order and from derivatives that are
/// computed elsewhere: `along` gives them along a direction of shape `(n_inputs,)`, one result for
/// each output.
///
/// # Errors
/// As [`propagate_second_order`], and those of `along`.
pub fn second_order(
    budgets: Vec<Budget>,
    inputs: &InputSet,
    mut along: impl FnMut(&[f64]) -> Result<Vec<DirectionalDerivatives>>,
) -> Result<Vec<SecondOrder>> {
    if !inputs.joint_t().is_empty() {
        return Err(Error::Conflict {
            field: "second order".to_owned(),
            found: "inputs of a multivariate t distribution".to_owned(),
            allowed: "uncorrelated or jointly normal inputs; Monte Carlo for others".to_owned(),
        });
    }
    let directions = directions(inputs);
    let mut derivatives = vec![Vec::with_capacity(directions.len()); budgets.len()];
    for direction in &directions {
        for (all, one) in derivatives.iter_mut().zip(along(direction)?) {
            all.push(one);
        }
    }
    budgets
        .into_iter()
        .zip(derivatives)
        .map(|(budget, along)| assemble(budget, &along, &directions, inputs))
        .collect()
}

/// The columns of a factor of the covariance matrix: directions along which the inputs vary
/// independently, each by one standard uncertainty.
fn directions(inputs: &InputSet) -> Vec<Vec<f64>> {
    let u: Vec<f64> = inputs
        .inputs()
        .iter()
        .map(|input| input.standard_uncertainty())
        .collect();
    let factor = inputs.correlations().lower_factor();
    (0..u.len())
        .map(|m| u.iter().zip(&factor).map(|(u, row)| u * row[m]).collect())
        .collect()
}

fn derivatives_along<M: MeasurementModel>(
    model: &M,
    inputs: &InputSet,
    direction: &[f64],
    outputs: usize,
) -> Result<Vec<DirectionalDerivatives>> {
    let estimates = inputs.estimates();
    let n = estimates.len();
    let empty = DirectionalDerivatives {
        curvature: 0.0,
        slope_gradient: vec![0.0; n],
        curvature_gradient: vec![0.0; n],
    };
    let mut result = vec![empty; outputs];
    if direction.iter().all(|d| *d == 0.0) {
        return Ok(result);
    }
    for first in (0..n).step_by(WIDTH) {
        let seeded: Vec<Third> = (0..n)
            .map(|i| seed(estimates[i], direction[i], i.checked_sub(first)))
            .collect();
        let y = model.evaluate(&seeded)?;
        for (along, y) in result.iter_mut().zip(y.as_ref()) {
            let last = n.min(first + WIDTH);
            let (once, twice) = (y.value.gradient[0], y.gradient[0].gradient[0]);
            along.curvature = twice.value;
            along.slope_gradient[first..last].copy_from_slice(&once.gradient[..last - first]);
            along.curvature_gradient[first..last].copy_from_slice(&twice.gradient[..last - first]);
        }
    }
    Ok(result)
}

/// One input with its derivative by itself, at `place` of the inner dual, and its part of the
/// direction in both outer duals.
fn seed(estimate: f64, part: f64, place: Option<usize>) -> Third {
    let inner = match place {
        Some(place) if place < WIDTH => Dual::variable(estimate, place),
        _ => Dual::constant(estimate),
    };
    let part = Dual::<f64, WIDTH>::constant(part);
    let middle = Dual {
        value: inner,
        gradient: [part],
    };
    Dual {
        value: middle,
        gradient: [Dual::fixed(part)],
    }
}

fn assemble(
    budget: Budget,
    along: &[DirectionalDerivatives],
    directions: &[Vec<f64>],
    inputs: &InputSet,
) -> Result<SecondOrder> {
    let name = &budget.output.name;
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let gradient: Vec<f64> = budget.lines.iter().map(|line| line.sensitivity).collect();
    let mut terms = Vec::new();
    let mut variance = 0.0;
    for (j, b) in along.iter().enumerate() {
        for (i, direction) in directions.iter().enumerate() {
            // f_ij u_i u_j and f_i f_ijj u_i^2 u_j^2, along independent directions
            let mixed = dot(&b.slope_gradient, direction);
            let third = dot(&gradient, direction) * dot(&b.curvature_gradient, direction);
            let term = 0.5 * mixed * mixed + third;
            variance += term;
            if term != 0.0 && !inputs.correlations().any() {
                terms.push(SecondOrderTerm {
                    first: i,
                    second: j,
                    curvature: b.slope_gradient[i] / directions[j][j],
                    variance: term,
                });
            }
        }
    }
    let field = format!("second-order variance of {name}");
    Error::range(variance.is_finite(), field, variance, "", "finite numbers")?;
    let first_order = budget.standard_uncertainty * budget.standard_uncertainty;
    let total = first_order + variance;
    let allowed = "0 or above; the series does not converge, use Monte Carlo";
    let field = format!("variance of {name} including second order");
    Error::range(total >= 0.0, field, total, "", allowed)?;
    let standard_uncertainty = total.sqrt();
    let bias = 0.5 * along.iter().map(|a| a.curvature).sum::<f64>();
    // significant digits are those of the number as reported, so in the unit shown
    let unit = &budget.output.unit;
    let shown = unit.difference_from_si(standard_uncertainty);
    let tolerance = if shown > 0.0 {
        numerical_tolerance(shown, DIGITS)? * unit.factor
    } else {
        0.0
    };
    let change = (standard_uncertainty - budget.standard_uncertainty).abs();
    Ok(SecondOrder {
        matters: change > tolerance || bias.abs() > tolerance,
        budget,
        terms,
        variance,
        standard_uncertainty,
        bias,
        tolerance,
    })
}
