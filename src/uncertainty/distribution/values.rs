//! A list of numbers that is cheap to clone: inputs are copied into every budget line.

use serde::{Deserialize, Serialize};
use std::ops::Deref;
use std::sync::Arc;

/// A shared list of numbers, shape `(n,)`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(from = "Vec<f64>", into = "Vec<f64>")]
pub struct Values(Arc<[f64]>);

impl Deref for Values {
    type Target = [f64];
    fn deref(&self) -> &[f64] {
        &self.0
    }
}

impl From<Vec<f64>> for Values {
    fn from(values: Vec<f64>) -> Values {
        Values(values.into())
    }
}

impl From<&[f64]> for Values {
    fn from(values: &[f64]) -> Values {
        Values(values.into())
    }
}

impl From<Values> for Vec<f64> {
    fn from(values: Values) -> Vec<f64> {
        values.0.to_vec()
    }
}
