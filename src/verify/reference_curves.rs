//! Factor and error of a reference, known point by point over the flow.

use super::quantity::ReferenceQuantity;
use crate::error::Result;
use crate::model::FactorCurve;
use crate::units::Unit;

/// What the certificate of a reference states point by point over the flow that it indicates.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Curves {
    factor: Option<FactorCurve>,
    error: Option<FactorCurve>,
}

impl Curves {
    pub(super) fn set(&mut self, q: ReferenceQuantity, curve: Option<FactorCurve>) {
        match q {
            ReferenceQuantity::CalibrationFactor => self.factor = curve,
            ReferenceQuantity::Error => self.error = curve,
            _ => {}
        }
    }

    pub(super) fn of(&self, q: ReferenceQuantity) -> Option<&FactorCurve> {
        match q {
            ReferenceQuantity::CalibrationFactor => self.factor.as_ref(),
            ReferenceQuantity::Error => self.error.as_ref(),
            _ => None,
        }
    }

    /// Refuses an indicated flow in m3/s beyond the points.
    pub(super) fn check(&self, flow: f64, flow_unit: &Unit) -> Result<()> {
        for q in [
            ReferenceQuantity::CalibrationFactor,
            ReferenceQuantity::Error,
        ] {
            if let Some(curve) = self.of(q) {
                curve.check(&format!("reference.{}", q.key()), flow, flow_unit)?;
            }
        }
        Ok(())
    }
}
