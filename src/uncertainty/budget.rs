//! The law of propagation of uncertainty and the budget that shows it line by line.

use super::{Expanded, Input, InputSet, MeasurementModel, Output, effective_dof, expanded};
use crate::error::{Error, Result};
use crate::scalar::{Dual, Scalar};

/// One line of a budget. All numbers are in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct BudgetLine {
    /// The input quantity.
    pub input: Input,
    /// The sensitivity coefficient, `c_i = df/dx_i`.
    pub sensitivity: f64,
    /// The contribution `c_i u(x_i)`, with its sign.
    pub contribution: f64,
    /// The share of the variance, `c_i u_i sum_j r_ij c_j u_j / u_c^2`. The shares add up to
    /// one; a share is negative where correlation makes the input reduce the variance.
    pub share: f64,
}

/// The sum of the shares of the lines of one component.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Subtotal {
    /// The component.
    pub component: String,
    /// Its share of the variance.
    pub share: f64,
    /// Its contribution to the standard uncertainty, `sqrt(share) u_c`; zero for a share below
    /// zero. In SI units.
    pub contribution: f64,
}

/// An uncertainty budget of one output quantity (JCGM 100:2008, 5.1 and 5.2).
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Budget {
    /// The output quantity.
    pub output: Output,
    /// Its estimate, in SI units.
    pub estimate: f64,
    /// Its combined standard uncertainty, in SI units.
    pub standard_uncertainty: f64,
    /// Its effective degrees of freedom.
    pub effective_dof: f64,
    /// One line for each input, in the order of the inputs.
    pub lines: Vec<BudgetLine>,
}

/// Number of inputs whose derivatives are carried in one evaluation of the model.
const WIDTH: usize = 32;

/// First-order propagation of uncertainty, one budget for each output of the model.
///
/// ```text
/// u_c^2 = sum_i sum_j c_i c_j u(x_i) u(x_j) r(x_i, x_j)
/// ```
/// Sensitivity coefficients come from dual numbers and are exact.
///
/// # Errors
/// Those of the model, and [`Error::OutOfRange`] for an output or a sensitivity coefficient that
/// is not finite.
///
/// # Source
/// JCGM 100:2008, equations (13) and (16).
pub fn propagate<M: MeasurementModel>(model: &M, inputs: &InputSet) -> Result<Vec<Budget>> {
    let (value, gradients) = gradients(model, &inputs.estimates())?;
    let outputs = model.outputs().into_iter().zip(value).zip(&gradients);
    outputs
        .map(|((output, estimate), gradient)| {
            Budget::from_gradient(output, estimate, inputs, gradient)
        })
        .collect()
}

/// The outputs of a model at an input of shape `(n_inputs,)` and their derivatives, shape
/// `(n_outputs, n_inputs)`, in SI units.
///
/// # Errors
/// Those of the model.
pub(crate) fn gradients<M: MeasurementModel>(
    model: &M,
    x: &[f64],
) -> Result<(Vec<f64>, Vec<Vec<f64>>)> {
    let (mut value, mut gradients) = (Vec::new(), Vec::new());
    for first in (0..x.len().max(1)).step_by(WIDTH) {
        let seed = |(i, x): (usize, &f64)| match i.checked_sub(first) {
            Some(place) if place < WIDTH => Dual::variable(*x, place),
            _ => Dual::constant(*x),
        };
        let seeded: Vec<Dual<f64, WIDTH>> = x.iter().enumerate().map(seed).collect();
        let dual = model.evaluate(&seeded)?;
        let outputs = dual.as_ref();
        value = outputs.iter().map(|y| y.value).collect();
        gradients.resize_with(outputs.len(), Vec::new);
        for (gradient, y) in gradients.iter_mut().zip(outputs) {
            gradient.extend_from_slice(&y.gradient[..WIDTH.min(x.len() - first)]);
        }
    }
    Ok((value, gradients))
}

impl Budget {
    /// The budget of one output from its estimate and its sensitivity coefficients, shape
    /// `(n_inputs,)`, both in SI units: for models that are evaluated elsewhere.
    ///
    /// # Errors
    /// A gradient of another length, an estimate or a coefficient that is not finite.
    ///
    /// # Source
    /// JCGM 100:2008, equations (13) and (16).
    pub fn from_gradient(
        output: Output,
        estimate: f64,
        inputs: &InputSet,
        gradient: &[f64],
    ) -> Result<Budget> {
        let n = inputs.inputs().len();
        if gradient.len() != n {
            return Err(Error::Length {
                field: format!("sensitivities of {}", output.name),
                found: gradient.len(),
                allowed: format!("{n}, one for each input"),
            });
        }
        Error::range(
            estimate.is_finite(),
            &output.name,
            estimate,
            "",
            "finite numbers",
        )?;
        for (input, &c) in inputs.inputs().iter().zip(gradient) {
            if !c.is_finite() {
                let field = format!("sensitivity of {} to {}", output.name, input.name());
                Error::range(false, field, c, "", "finite numbers")?;
            }
        }
        let contributions: Vec<f64> = inputs
            .inputs()
            .iter()
            .zip(gradient)
            .map(|(input, c)| c * input.standard_uncertainty())
            .collect();
        let correlations = inputs.correlations();
        // c_i u_i sum_j r_ij c_j u_j
        let variances: Vec<f64> = contributions
            .iter()
            .enumerate()
            .map(|(i, own)| {
                let of = |j: &usize| correlations.coefficient(i, *j) * contributions[*j];
                own * correlations.partners(&i).iter().map(of).sum::<f64>()
            })
            .collect();
        let variance = variances.iter().sum::<f64>().max(0.0);
        let standard_uncertainty = variance.sqrt();
        let field = format!("standard uncertainty of {}", output.name);
        let finite = standard_uncertainty.is_finite();
        Error::range(finite, field, standard_uncertainty, "", "finite numbers")?;
        let with_dof = contributions.iter().zip(inputs.inputs());
        let dof = effective_dof(
            standard_uncertainty,
            with_dof.map(|(c, input)| (*c, input.dof())),
        );
        let lines = inputs
            .inputs()
            .iter()
            .enumerate()
            .map(|(i, input)| BudgetLine {
                input: input.clone(),
                sensitivity: gradient[i],
                contribution: contributions[i],
                share: if variance > 0.0 {
                    variances[i] / variance
                } else {
                    0.0
                },
            })
            .collect();
        Ok(Budget {
            output,
            estimate,
            standard_uncertainty,
            effective_dof: dof,
            lines,
        })
    }

    /// The expanded uncertainty for a coverage probability.
    ///
    /// # Errors
    /// A coverage probability that is not strictly between 0 and 1.
    pub fn expanded(&self, coverage_probability: f64) -> Result<Expanded> {
        expanded(
            self.standard_uncertainty,
            self.effective_dof,
            coverage_probability,
        )
    }

    /// The standard uncertainty divided by the magnitude of the estimate.
    pub fn relative_standard_uncertainty(&self) -> f64 {
        self.standard_uncertainty / self.estimate.abs()
    }

    /// The shares by component, in order of first appearance.
    pub fn components(&self) -> Vec<Subtotal> {
        let mut subtotals: Vec<Subtotal> = Vec::new();
        for line in &self.lines {
            let component = line.input.component();
            match subtotals.iter_mut().find(|s| s.component == component) {
                Some(subtotal) => subtotal.share += line.share,
                None => subtotals.push(Subtotal {
                    component: component.to_owned(),
                    share: line.share,
                    contribution: 0.0,
                }),
            }
        }
        for subtotal in &mut subtotals {
            subtotal.contribution = subtotal.share.max(0.0).sqrt() * self.standard_uncertainty;
        }
        subtotals
    }

    /// The lines by falling magnitude of their share.
    pub fn ranked(&self) -> Vec<&BudgetLine> {
        let mut ranked: Vec<_> = self.lines.iter().collect();
        ranked.sort_by(|a, b| b.share.abs().total_cmp(&a.share.abs()));
        ranked
    }
}
