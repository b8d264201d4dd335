//! The zero of the meter from readings at no flow.

use super::{standardised, unit_of_zero};
use crate::error::{Error, Result};
use crate::evaluate::quantities::{dof_of, standard_uncertainty_of};
use crate::evaluate::{Channel, Evaluation, Readings};
use crate::model::{Basis, Quantity};
use crate::uncertainty::{effective_dof, expanded};
use crate::units::Unit;
use crate::watch::unwatched;

/// Share of meters with the stated zero that the check lets pass.
const COVERAGE: f64 = 0.95;

/// Readings at no flow against the zero that the site file states.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct ZeroCheck {
    /// Whether the zero is that of an indicated velocity rather than of a time difference.
    pub is_velocity: bool,
    /// Mean of the readings at no flow: a time difference in s, or on the indicated basis a
    /// velocity in m/s.
    pub found: f64,
    /// Standard uncertainty of that mean.
    pub found_uncertainty: f64,
    /// The zero that the site file states; 0 where it states none.
    pub stated: f64,
    /// Standard uncertainty of the stated zero.
    pub stated_uncertainty: f64,
    /// Number of readings at no flow.
    pub readings: usize,
    /// The number of independent readings whose mean is known as well.
    pub effective_readings: f64,
    /// Standard uncertainties of the difference within which 95 % of meters with the stated zero
    /// lie: Student's t with the effective degrees of freedom of the difference.
    pub coverage_factor: f64,
    /// What the difference of the two would do to the flow of the evaluation, in m3/s.
    pub flow: f64,
    /// The unit in which the site shows its flow.
    pub flow_unit: Unit,
}

impl ZeroCheck {
    /// The unit in which the zero is shown: `ns` or, on the indicated basis, `mm/s`.
    pub fn unit(&self) -> Unit {
        unit_of_zero(self.is_velocity)
    }

    /// Found less stated zero, in standard uncertainties of their difference.
    pub fn standardised(&self) -> f64 {
        standardised(self.found - self.stated, self.difference_uncertainty())
    }

    /// The standard uncertainty of found less stated zero.
    pub fn difference_uncertainty(&self) -> f64 {
        libm::hypot(self.found_uncertainty, self.stated_uncertainty)
    }

    /// Whether the found zero is within the expanded uncertainty (95 %) of its difference from the
    /// stated one.
    pub fn agrees(&self) -> bool {
        self.standardised().abs() <= self.coverage_factor
    }
}

impl Evaluation {
    /// Compares readings taken at no flow, with the pipe full and the valves shut, with the zero
    /// that the site file states.
    ///
    /// # Errors
    /// [`Error::Missing`] where the readings have no time difference, or no velocity on the
    /// indicated basis.
    pub fn zero_check(&self, at_no_flow: &Readings) -> Result<ZeroCheck> {
        let indicated = self.model.choices().basis == Basis::Indicated;
        let (channel, zero) = if indicated {
            (Channel::Velocity, Quantity::ZeroVelocity)
        } else {
            (Channel::TimeDifference, Quantity::ZeroTimeDifference)
        };
        let column = at_no_flow.column(channel).ok_or_else(|| Error::Missing {
            field: format!("readings.{}", channel.name()),
            needed: format!("a column of {} at no flow", channel.name()),
        })?;
        let mean = self
            .site
            .series_of(column, at_no_flow, channel.name(), &mut unwatched)?;
        let stated = self.estimate_of(zero).unwrap_or(0.0);
        let stated_uncertainty = standard_uncertainty_of(&self.model, self.as_stated(), zero);
        let parts = [
            (mean.standard_uncertainty, mean.dof),
            (
                stated_uncertainty,
                dof_of(&self.model, self.as_stated(), zero),
            ),
        ];
        let both = libm::hypot(mean.standard_uncertainty, stated_uncertainty);
        let allowed = expanded(both, effective_dof(both, parts.into_iter()), COVERAGE)?;
        // one more term of the zero tells what a change of it does, whatever the basis
        let moved = self.flow_with_term(self.model.clone(), zero, 0.0);
        Ok(ZeroCheck {
            is_velocity: indicated,
            found: mean.mean,
            found_uncertainty: mean.standard_uncertainty,
            stated,
            stated_uncertainty,
            effective_readings: mean.effective_count(),
            coverage_factor: allowed.coverage_factor,
            readings: column.values.len(),
            flow: moved.gradient[0] * (mean.mean - stated),
            flow_unit: self.site.flow_unit.clone(),
        })
    }
}
