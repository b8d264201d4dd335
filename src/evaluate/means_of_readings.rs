//! The means of the readings, with the uncertainty that their scatter says.

use super::readings::Column;
use super::{Channel, Readings, suspicious_readings};
use crate::error::{Error, Result, file_name};
use crate::message::{Told, message};
use crate::model::{Basis, Quantity};
use crate::site::{MeanOf, Site};
use crate::uncertainty::{Autocorrelated, Input, rounded};
use crate::watch::Watch;

impl Site {
    /// The means of the readings that the basis uses.
    pub(super) fn inputs_of_readings(
        &self,
        readings: &Readings,
        watch: &mut Watch<'_>,
    ) -> Result<Vec<(Quantity, Input)>> {
        let columns = readings.columns.iter();
        let of_file: Vec<Channel> = columns.map(|c| c.channel).collect();
        let wanted = self.wanted_channels(&of_file).map_err(|error| {
            if readings.origin.is_empty() {
                error
            } else {
                error.in_file(&readings.origin, 1)
            }
        })?;
        let mut read = Vec::new();
        for column in wanted
            .iter()
            .filter_map(|channel| readings.column(*channel))
        {
            match self.counter(column.channel)? {
                Some(counter) => read.extend(self.counted_inputs(&counter, readings)?),
                None => {
                    let mean = self.mean_of(column, readings, watch)?;
                    read.push((column.channel.quantity(), mean));
                }
            }
        }
        Ok(read)
    }

    /// The mean of a column.
    fn mean_of(
        &self,
        column: &Column,
        readings: &Readings,
        watch: &mut Watch<'_>,
    ) -> Result<Input> {
        let quantity = column.channel.quantity();
        let path = quantity.path();
        let component = quantity.component(self.skeleton.choices().basis);
        if let Some(alike) = suspicious_readings::without_scatter(&path, column, readings)? {
            return Ok(alike.in_component(component.in_words()));
        }
        let series = self.series_of(column, readings, &path, watch)?;
        let mut evidence = message!(
            "evidence.mean",
            "mean of {count} readings",
            count = column.values.len().to_string()
        );
        if !readings.origin.is_empty() {
            evidence = message!(
                "evidence.in_file",
                "{evidence} in {file}",
                evidence = evidence,
                file = Told::Theirs(file_name(readings.origin.as_ref()).to_string())
            );
        }
        let effective = series.effective_count();
        if effective < series.count as f64 {
            evidence = message!(
                "evidence.worth",
                "{evidence}, worth {effective} independent ones",
                evidence = evidence,
                effective = rounded(effective, 2)
            );
        }
        Ok(Input::from_series(&path, &column.values, &series)?
            .shown_in(column.unit.clone())
            .in_component(component.in_words())
            .evidence_in_message(evidence))
    }

    /// Mean and standard uncertainty of a column, whose rows follow each other in time.
    pub(super) fn series_of(
        &self,
        column: &Column,
        readings: &Readings,
        field: &str,
        watch: &mut Watch<'_>,
    ) -> Result<Autocorrelated> {
        let damps = column.channel != Channel::Temperature;
        let found = self.statistics_of(&column.values, damps, readings.interval, field, watch)?;
        Ok(
            match suspicious_readings::uncertainty_of_digits(column, readings) {
                Some(standard_uncertainty) => Autocorrelated {
                    standard_uncertainty,
                    dof: f64::INFINITY,
                    ..found
                },
                None => found,
            },
        )
    }

    /// Mean and standard uncertainty of values that follow each other in time, at an interval in s
    /// or at the stated one; those of a meter that damps depend on each other at least as it says.
    pub(super) fn statistics_of(
        &self,
        values: &[f64],
        damps: bool,
        interval: Option<f64>,
        field: &str,
        watch: &mut Watch<'_>,
    ) -> Result<Autocorrelated> {
        let found = match self.mean_of {
            MeanOf::SteadyFlow => Autocorrelated::of_watched(values, field, watch)?,
            MeanOf::Period => Autocorrelated::over_the_period_watched(values, field, watch)?,
        };
        let Some(damping) = self.damping.filter(|_| damps) else {
            return Ok(found);
        };
        let interval = interval.or(self.sampling_interval);
        let interval = interval.ok_or_else(|| Error::Missing {
            field: "meter.sampling_interval".to_owned(),
            needed:
                "the time from reading to reading beside meter.damping, since the readings have \
                     no times"
                    .to_owned(),
        })?;
        found.damped(damping, interval, field)
    }

    /// The transit time that was read though the geometric basis does not use it.
    pub(super) fn spare_transit_time(
        &self,
        readings: &Readings,
        watch: &mut Watch<'_>,
    ) -> Result<Option<Input>> {
        let spare = self.skeleton.choices().basis == Basis::Geometric;
        let column = readings.column(Channel::TransitTime).filter(|_| spare);
        column
            .map(|column| self.mean_of(column, readings, watch))
            .transpose()
    }
}
