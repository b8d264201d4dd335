//! What a measurement model must provide, and the inputs it is evaluated with.

use super::{Correlations, Input, JointT};
use crate::bounds::MOST_INPUTS;
use crate::error::{Error, Result};
use crate::scalar::Scalar;
use crate::units::Unit;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// An output quantity: its name and the unit in which it is shown. Values are in SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct Output {
    /// The name of the measurand.
    pub name: String,
    /// The unit in which it is shown.
    pub unit: Unit,
}

/// A measurement model: output quantities as functions of input quantities, written once.
///
/// # Example
/// A resistor's power, with exact sensitivity coefficients:
/// ```
/// use flowdoubt::uncertainty::{propagate, Input, InputSet, MeasurementModel, Output};
/// use flowdoubt::{scalar::Scalar, units::Unit, Result};
///
/// struct Power;
/// impl MeasurementModel for Power {
///     type Outputs<S: Scalar> = [S; 1];
///     fn outputs(&self) -> Vec<Output> {
///         vec![Output { name: "power".into(), unit: Unit::named("W") }]
///     }
///     fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
///         Ok([x[0] * x[0] / x[1]])
///     }
/// }
/// let inputs = InputSet::independent(vec![
///     Input::with_standard_uncertainty("voltage", 10.0, 0.1, f64::INFINITY)?,
///     Input::with_standard_uncertainty("resistance", 50.0, 0.5, f64::INFINITY)?,
/// ])?;
/// let budget = &propagate(&Power, &inputs)?[0];
/// assert_eq!(budget.estimate, 2.0);
/// assert_eq!(budget.lines[0].sensitivity, 0.4);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
pub trait MeasurementModel: Sync {
    /// The values of the outputs: an array with one scalar for each.
    type Outputs<S: Scalar>: AsRef<[S]>;

    /// Names and units of the outputs.
    fn outputs(&self) -> Vec<Output>;

    /// The outputs at the inputs `x`, both in SI units; `x` is in the order of the [`InputSet`].
    ///
    /// Outside the model's domain the outputs may be NaN; an error with words is better.
    ///
    /// # Errors
    /// The inputs are outside the domain of the model.
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<Self::Outputs<S>>;
}

/// The inputs of a model, in the model's order, with their correlations.
///
/// # Example
/// ```
/// use flowdoubt::uncertainty::{Input, InputSet};
/// let infinite = f64::INFINITY;
/// let voltage = Input::with_standard_uncertainty("voltage", 5.0, 0.25, infinite)?;
/// let current = Input::with_standard_uncertainty("current", 2.0, 0.5, infinite)?;
/// let pair = ("voltage".to_owned(), "current".to_owned(), -0.5);
/// let set = InputSet::correlated(vec![voltage, current], &[pair])?;
/// assert_eq!(set.estimates(), [5.0, 2.0]);
/// // u(x, y) = u(x) u(y) r(x, y), JCGM 100:2008, 5.2.2
/// assert_eq!(set.covariance(), [[0.0625, -0.0625], [-0.0625, 0.25]]);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InputSet {
    pub(super) inputs: Vec<Input>,
    pub(super) correlations: Correlations,
    pub(super) joint_t: Vec<JointT>,
}

/// Refuses more inputs than there is memory for the matrix of their correlations.
pub(super) fn few_enough(inputs: usize) -> Result<()> {
    if inputs <= MOST_INPUTS {
        return Ok(());
    }
    Err(Error::Length {
        field: "inputs".to_owned(),
        found: inputs,
        allowed: format!("{MOST_INPUTS} at most"),
    })
}

impl InputSet {
    /// Uncorrelated inputs.
    ///
    /// # Errors
    /// Two inputs of the same name.
    pub fn independent(inputs: Vec<Input>) -> Result<InputSet> {
        InputSet::correlated(inputs, &[])
    }

    /// Inputs with correlation coefficients by pairs of names.
    ///
    /// In Monte Carlo, inputs that are not normal are joined by a Gaussian copula: the coefficient
    /// `r` is that of the normal deviates behind them, from which the correlation of the inputs
    /// themselves differs a little: it is `(6 / pi) asin(r / 2)` for two rectangular inputs, at
    /// most 0.018 from `r`.
    ///
    /// # Errors
    /// Two inputs of the same name, and those of [`Correlations::from_pairs`].
    pub fn correlated(inputs: Vec<Input>, pairs: &[(String, String, f64)]) -> Result<InputSet> {
        InputSet::joined(inputs, |names| Correlations::from_pairs(names, pairs))
    }

    /// As [`InputSet::correlated`], with the valid correlations nearest to the given ones where
    /// those contradict each other; see [`Correlations::nearest`].
    ///
    /// # Errors
    /// Two inputs of the same name, and those of [`Correlations::nearest`].
    pub fn correlated_nearest(
        inputs: Vec<Input>,
        pairs: &[(String, String, f64)],
    ) -> Result<InputSet> {
        InputSet::joined(inputs, |names| Correlations::nearest(names, pairs))
    }

    /// Inputs with the correlations that their names lead to.
    ///
    /// # Errors
    /// Two inputs of the same name, and those of the correlations.
    pub(crate) fn joined(
        inputs: Vec<Input>,
        correlations: impl Fn(&[&str]) -> Result<Correlations>,
    ) -> Result<InputSet> {
        few_enough(inputs.len())?;
        let names: Vec<&str> = inputs.iter().map(Input::name).collect();
        let mut seen = BTreeSet::new();
        for name in &names {
            if !seen.insert(name) {
                return Err(Error::Conflict {
                    field: (*name).to_owned(),
                    found: "two inputs of this name".to_owned(),
                    allowed: "a name for each input".to_owned(),
                });
            }
        }
        let correlations = correlations(&names)?;
        Ok(InputSet {
            inputs,
            correlations,
            joint_t: Vec::new(),
        })
    }

    /// The inputs in order.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// Their correlations.
    pub fn correlations(&self) -> &Correlations {
        &self.correlations
    }

    /// The estimates in order, in SI units.
    pub fn estimates(&self) -> Vec<f64> {
        self.inputs.iter().map(Input::estimate).collect()
    }
}
