//! The lengths that are marked out, as a model of their own beside that of the flow.

use crate::error::Result;
use crate::model::{AngleFrom, Quantity, SiteModel};
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output};
use crate::units::{Dimension, Unit};

/// Spacing, circumference, its half, and the spacing from the wedge less that as placed.
pub(super) struct Marks<'a> {
    pub(super) model: &'a SiteModel,
    /// Whether both are known; else their difference is nothing.
    pub(super) differs: bool,
}

impl MeasurementModel for Marks<'_> {
    type Outputs<S: Scalar> = [S; 4];

    fn outputs(&self) -> Vec<Output> {
        let names = [
            "axial spacing",
            "circumference",
            "half circumference",
            "spacing from the wedge less spacing as placed",
        ];
        let millimetre = Unit::parse("mm", Dimension::Length, "mark-out");
        let unit = millimetre.unwrap_or_else(|_| Dimension::Length.si_unit());
        let output = |name: &str| Output {
            name: name.to_owned(),
            unit: unit.clone(),
        };
        names.map(output).into()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 4]> {
        let steps = self.model.steps(x);
        let circumference = steps.circumference;
        let difference = if self.differs {
            let from_wedge = self.model.clone().with_angle_from(AngleFrom::Wedge);
            from_wedge.steps(x).path.spacing - self.model.sum_of(Quantity::Spacing, x)
        } else {
            S::constant(0.0)
        };
        Ok([
            steps.path.spacing,
            circumference,
            circumference * 0.5,
            difference,
        ])
    }
}
