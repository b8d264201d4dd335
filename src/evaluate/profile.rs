//! The velocity profile of a site, away from its operating point too.

use super::Evaluation;
use crate::error::Result;
use crate::model::PathLayout;
use crate::profile::{
    Conditions, check_laws, check_radius, factor_of, factor_uncertainty, velocity_shape,
};

/// A profile factor with the uncertainty of its law.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct FactorAt {
    /// The profile factor.
    pub factor: f64,
    /// The relative standard uncertainty of the law, from residuals against measured profiles.
    pub standard_uncertainty: f64,
}

impl Evaluation {
    /// The sound path as a drawing needs it; `None` where it is not known.
    pub fn path_layout(&self) -> Option<PathLayout> {
        self.model.layout(&self.inputs.estimates())
    }

    /// The profile factor of the path of the site at a Reynolds number, by its laws and with its
    /// roughness.
    ///
    /// # Errors
    /// A Reynolds number outside the laws.
    pub fn profile_factor_at(&self, reynolds: f64) -> Result<FactorAt> {
        let choices = self.model.choices();
        let (law, friction) = (choices.law, choices.friction);
        let roughness = self.steps.relative_roughness;
        check_laws(reynolds, roughness, law, friction)?;
        let offset = 2.0 * self.steps.chord_offset.abs() / self.steps.inside_diameter;
        let conditions = Conditions {
            offset: (offset != 0.0).then_some(offset),
            ..self.steps.conditions
        };
        Ok(FactorAt {
            factor: factor_of(&conditions, reynolds, roughness, law, friction),
            standard_uncertainty: factor_uncertainty(
                &conditions,
                reynolds,
                roughness,
                law,
                friction,
            ),
        })
    }

    /// Velocity in m/s at a relative radius, 0 to below 1, in fully developed flow.
    ///
    /// # Errors
    /// A radius outside the bore.
    pub fn velocity_at(&self, radius: f64) -> Result<f64> {
        check_radius(radius, "radius")?;
        let choices = self.model.choices();
        let steps = &self.steps;
        let shape = velocity_shape(
            radius,
            steps.reynolds,
            steps.relative_roughness,
            choices.law,
            choices.friction,
        );
        Ok(shape * steps.mean_velocity)
    }
}
