//! The zero of the meter where the line cannot be stopped: runs with interchanged sensors.

use super::unit_of_zero;
use crate::error::{Error, Result};
use crate::evaluate::{Channel, Readings};
use crate::model::Basis;
use crate::site::Site;
use crate::uncertainty::{effective_dof, expanded};
use crate::units::Unit;
use crate::watch::unwatched;

/// Coverage of the check whether the flow stood still.
const COVERAGE: f64 = 0.95;

/// The zero from a run, a run with interchanged sensors, and a run as before.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct InterchangedZero {
    /// Whether the zero is that of an indicated velocity rather than of a time difference.
    pub is_velocity: bool,
    /// The zero: a time difference in s, or on the indicated basis a velocity in m/s.
    pub zero: f64,
    /// Its standard uncertainty, with what the flow may have done between the runs.
    pub standard_uncertainty: f64,
    /// Degrees of freedom of the standard uncertainty.
    pub dof: f64,
    /// What the flow reads without the zero, in the middle of the runs.
    pub reading_of_flow: f64,
    /// The change of the reading from the first to the last run.
    pub change: f64,
    /// The standard uncertainty of the change.
    pub change_uncertainty: f64,
    /// Standard uncertainties within which 95 % of changes lie while the flow stands still.
    pub coverage_factor: f64,
}

impl InterchangedZero {
    /// The unit in which the zero is shown: `ns` or, on the indicated basis, `mm/s`.
    pub fn unit(&self) -> Unit {
        unit_of_zero(self.is_velocity)
    }

    /// Whether the flow stood still: the change is within its expanded uncertainty (95 %).
    pub fn steady(&self) -> bool {
        self.change.abs() <= self.coverage_factor * self.change_uncertainty
    }
}

impl Site {
    /// The zero where the line cannot be stopped. The sensors are interchanged, or mounted the other
    /// way round, between `before` and `interchanged`, and put back for `after`; the flow then reads
    /// negative, and the zero keeps its sign:
    ///
    /// ```text
    /// d_1 = f_1 + z,   d_2 = -f_2 + z,   d_3 = f_3 + z
    /// z = (d_1 + 2 d_2 + d_3) / 4
    /// u^2(z) = (u_1^2 + 4 u_2^2 + u_3^2) / 16 + (d_3 - d_1)^2 / 48
    /// ```
    /// A flow that changes evenly through the three runs leaves no error; one that changes all at
    /// once leaves a quarter of its change at most, which is the half-width of the last term
    /// (rectangular). Means of runs have the uncertainty of readings that depend on each other.
    ///
    /// # Errors
    /// [`Error::Missing`] where a run has no time difference, or no velocity on the indicated basis;
    /// those of means of readings; a run with interchanged sensors whose reading has the sign of the
    /// others.
    ///
    /// # Source
    /// By hand from the model of a zero that is added to the reading. Interchanging sensors to find
    /// a zero is common practice, no source.
    pub fn zero_from_interchange(
        &self,
        before: &Readings,
        interchanged: &Readings,
        after: &Readings,
    ) -> Result<InterchangedZero> {
        let indicated = self.skeleton.choices().basis == Basis::Indicated;
        let channel = if indicated {
            Channel::Velocity
        } else {
            Channel::TimeDifference
        };
        let mean = |readings: &Readings, run: &str| {
            let field = format!("{run}.{}", channel.name());
            let column = readings.column(channel).ok_or_else(|| Error::Missing {
                field: field.clone(),
                needed: format!("a column of {} in each run", channel.name()),
            })?;
            self.series_of(column, readings, &field, &mut unwatched)
        };
        let first = mean(before, "before")?;
        let second = mean(interchanged, "interchanged")?;
        let third = mean(after, "after")?;
        let straight = 0.5 * (first.mean + third.mean);
        let reading_of_flow = 0.5 * (straight - second.mean);
        let zero = 0.5 * (straight + second.mean);
        let allowed = "a reading with the other sign than in the runs before and after; interchange \
                       the sensors, not only their readings";
        let turned = second.mean * straight <= 0.0 || reading_of_flow.abs() > zero.abs();
        let place = format!("interchanged.{}", channel.name());
        Error::range(turned, place, second.mean, channel_unit(indicated), allowed)?;
        let change = third.mean - first.mean;
        let [u_1, u_2, u_3] = [first, second, third].map(|run| run.standard_uncertainty);
        let drift = change / 48.0_f64.sqrt();
        let parts = [
            (0.25 * u_1, first.dof),
            (0.5 * u_2, second.dof),
            (0.25 * u_3, third.dof),
            (drift, f64::INFINITY),
        ];
        let variance: f64 = parts.iter().map(|(u, _)| u * u).sum();
        let standard_uncertainty = variance.sqrt();
        let change_uncertainty = libm::hypot(u_1, u_3);
        let ends = [(u_1, first.dof), (u_3, third.dof)];
        let change_dof = effective_dof(change_uncertainty, ends.into_iter());
        Ok(InterchangedZero {
            is_velocity: indicated,
            zero,
            standard_uncertainty,
            dof: effective_dof(standard_uncertainty, parts.into_iter()),
            reading_of_flow,
            change,
            change_uncertainty,
            coverage_factor: expanded(change_uncertainty, change_dof, COVERAGE)?.coverage_factor,
        })
    }
}

fn channel_unit(indicated: bool) -> &'static str {
    if indicated { "m/s" } else { "s" }
}
