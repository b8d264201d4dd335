//! The scatter of single readings: stated, or about the course of the flow.

use super::integration::Weights;
use super::total::Scatter;
use super::{Log, Repeatability, SeriesOptions};
use crate::error::{Error, Result};
use crate::evaluate::{Channel, Readings};
use crate::uncertainty::{AboutCourse, Autocorrelated, Damping};
use crate::watch::{Watch, look};
use std::ops::Range;

impl Repeatability {
    /// The scatter of readings at no flow, with the pipe full and the valves shut, channel by channel,
    /// and how long it lasts. Temperatures are left out: they do not scatter as they do in flow.
    ///
    /// # Errors
    /// None for readings that were read.
    pub fn at_no_flow(readings: &Readings) -> Result<Vec<(Channel, Repeatability)>> {
        let columns = readings.columns.iter();
        let own = columns.filter(|column| {
            column.channel != Channel::Temperature && !column.channel.is_counted()
        });
        own.map(|column| {
            let of = Autocorrelated::of(&column.values, column.channel.name())?;
            let found = Repeatability {
                standard_deviation: of.standard_deviation,
                dof: of.dof,
                rows_for_one: of.count as f64 / of.effective_count(),
                told: true,
            };
            Ok((column.channel, found))
        })
        .collect()
    }
}

/// Second differences without a gap between their rows, of which the scatter is judged if there are so
/// many.
const FEWEST_DIFFERENCES: usize = 30;

/// The scatter of single readings of each channel: stated, or from rows that follow each other
/// without a gap.
pub(super) fn scatter_of(
    log: &Log,
    channels: &[Channel],
    used: &[usize],
    weights: &Weights,
    options: &SeriesOptions,
    damping: Option<(Damping, f64)>,
    watch: &mut Watch<'_>,
) -> Result<Vec<Scatter>> {
    let mut stretches = weights.stretches(used);
    let differences = |stretch: &Range<usize>| stretch.len().saturating_sub(2);
    if stretches.iter().map(differences).sum::<usize>() < FEWEST_DIFFERENCES {
        // a log of which every other row is missing still has a course
        stretches = std::iter::once(0..used.len()).collect();
    }
    let longest = stretches.iter().map(ExactSizeIterator::len).max();
    let damping = damping
        .filter(|(_, step)| *step > 0.0)
        .map(|(damping, step)| damping.autocorrelation(step, longest.unwrap_or(0), "series"));
    let damping = damping.transpose()?;
    let of = |channel: &Channel| {
        let column = log.column(*channel);
        let values = column.map_or(&[][..], |column| &column.values);
        let values: Vec<f64> = used.iter().map(|row| values[*row]).collect();
        let stated = options.repeatability.iter().find(|(of, _)| of == channel);
        let repeatability = match stated {
            Some((_, stated)) => {
                let name = format!("repeatability.{}", channel.name());
                let (s, dof) = (stated.standard_deviation, stated.dof);
                let usable = s >= 0.0 && s.is_finite();
                Error::range(usable, &name, s, "", "standard deviation, 0 or above")?;
                Error::range(dof > 0.0, &name, dof, "", "degrees of freedom above 0")?;
                // a stated scatter lasts as long as stated damping makes it
                let lasting = damping.as_ref().map_or(0.0, |rho| rho.iter().sum());
                Repeatability {
                    rows_for_one: stated.rows_for_one.max(1.0 + 2.0 * lasting),
                    ..*stated
                }
            }
            None => {
                let field = format!("repeatability.{}", channel.name());
                let found = AboutCourse::of(&values, &stretches, damping.as_deref(), &field)?;
                Repeatability {
                    standard_deviation: found.standard_deviation,
                    dof: found.dof,
                    rows_for_one: found.readings_for_one,
                    told: found.told,
                }
            }
        };
        Ok(Scatter {
            repeatability,
            stated: stated.is_some(),
            mean: values.iter().sum::<f64>() / used.len() as f64,
        })
    };
    let each = channels.iter().map(|channel| {
        look(watch, 0, log.rows as u64)?;
        of(channel)
    });
    each.collect()
}
