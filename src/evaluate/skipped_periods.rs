//! Whole periods of the carrier that a meter skipped.

use super::series::quantile;
use super::{Channel, Evaluation, Warning};
use crate::error::Result;
use crate::message::message;
use crate::model::{Basis, SiteModel};
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output, propagate};
use crate::units::Dimension;

/// The measured time in the liquid less the expected one.
struct TimeExcess<'a>(&'a SiteModel);

impl MeasurementModel for TimeExcess<'_> {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "measured less expected time in the liquid".to_owned(),
            unit: Dimension::Time.si_unit(),
        }]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let steps = self.0.steps(x);
        Ok([steps.time_in_liquid - steps.path.time_in_liquid])
    }
}

impl Evaluation {
    /// The transit time is off by whole periods, or readings of the time difference jump by them.
    pub(super) fn skipped_periods(&self) -> Vec<Warning> {
        let Some(frequency) = self.site.frequency else {
            return Vec::new();
        };
        let period = 1.0 / frequency;
        let found = [self.late_by_periods(period), self.jumps_by_periods(period)];
        found.into_iter().flatten().collect()
    }

    /// A transit time that differs from the expected one by whole periods, within its uncertainty.
    fn late_by_periods(&self, period: f64) -> Option<Warning> {
        if self.model.choices().basis == Basis::Indicated {
            return None;
        }
        let (model, inputs) = self.with_transit_time().ok()?;
        let excess = propagate(&TimeExcess(&model), &inputs).ok()?.swap_remove(0);
        let (time, u) = (excess.estimate, excess.standard_uncertainty);
        let periods = (time / period).round();
        // told apart only where the expected time is known to a small part of a period
        let told = 4.0 * u < 0.5 * period;
        let off = periods != 0.0 && (time - periods * period).abs() <= 2.0 * u.max(0.05 * period);
        (told && off).then(|| {
            Warning::told(
                "skipped-period",
                message!(
                    "warnings.skipped-period",
                    "the transit time is {late} from the expected one, {periods} periods of {period}: \
                     the meter may have taken another wave of the signal; restart it, and check the \
                     signal and its strength",
                    late = format!("{:+.3} us", 1e6 * time),
                    periods = format!("{periods:+.0}"),
                    period = format!("{:.3} us", 1e6 * period),
                ),
            )
        })
    }

    /// Readings of the time difference on two levels, whole periods apart.
    fn jumps_by_periods(&self, period: f64) -> Option<Warning> {
        let readings = self.given.read().ok()?;
        let differences = &readings.column(Channel::TimeDifference)?.values;
        let middle = quantile(&mut differences.clone(), 0.5);
        let away = |value: &f64| ((value - middle) / period).round();
        let jumped = differences.iter().filter(|value| {
            let periods = away(value);
            periods != 0.0 && (*value - middle - periods * period).abs() < 0.1 * period
        });
        let count = jumped.count();
        (count > 0).then(|| {
            Warning::told(
                "skipped-period",
                message!(
                    "warnings.skipped-period-in-readings",
                    "{count} of {readings} readings of the time difference lie whole periods of \
                     {period} from the rest: the meter compared different waves of the two signals \
                     there; leave them out, and check the signal",
                    count = count.to_string(),
                    readings = differences.len().to_string(),
                    period = format!("{:.3} us", 1e6 * period),
                ),
            )
        })
    }
}
