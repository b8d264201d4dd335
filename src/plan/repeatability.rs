//! How far the readings on site are expected to scatter.

use crate::error::{Error, Result};
use crate::evaluate::{Channel, Readings};
use crate::model::Basis;
use crate::site::Site;
use crate::uncertainty::{Autocorrelated, Input, plain, rounded, variance_inflation};
use crate::units::{Dimension, Unit, difference};

/// Standard deviation of single readings: a part that is always the same and one that grows with
/// the reading, in quadrature.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Scatter {
    /// The part that does not depend on the reading, in SI units.
    pub absolute: f64,
    /// The part over the reading.
    pub relative: f64,
}

impl Scatter {
    /// The scatter of a channel from texts such as `2 ns` and `0.5 %`, in quadrature.
    ///
    /// # Errors
    /// No text, text that is no difference of the channel's kind, a negative number, a percentage
    /// of a temperature.
    pub fn parse(channel: Channel, texts: &[impl AsRef<str>]) -> Result<Scatter> {
        let field = format!("scatter.{}", channel.name());
        let dimension = channel.quantity().dimension();
        let mut square = [0.0; 2];
        for text in texts.iter().map(AsRef::as_ref) {
            let share = ["%", "ppm"].iter().any(|r| text.trim_end().ends_with(r));
            let relative = share && dimension != Dimension::Temperature;
            let read_as = if relative {
                Dimension::Ratio
            } else {
                dimension
            };
            let si = difference(text, f64::NAN, read_as, &field)?;
            let allowed = "a standard deviation, 0 or above";
            Error::range(si >= 0.0 && si.is_finite(), &field, si, "", allowed)?;
            square[usize::from(relative)] += si * si;
        }
        if texts.is_empty() {
            return Err(Error::Missing {
                field,
                needed: format!("a standard deviation, such as {}", example(channel)),
            });
        }
        let [absolute, relative] = square.map(f64::sqrt);
        Ok(Scatter { absolute, relative })
    }

    /// The standard deviation at a reading, both in SI units.
    pub fn at(&self, reading: f64) -> f64 {
        let relative = self.relative * reading;
        (self.absolute * self.absolute + relative * relative).sqrt()
    }
}

/// Where a scatter comes from.
#[derive(Debug, Clone, PartialEq)]
enum Source {
    Stated,
    /// In a trial run of that name.
    Observed(String, Run),
}

/// How the readings of a trial run follow each other.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Run {
    /// How many of them count as one independent reading.
    readings_for_one: f64,
    /// Degrees of freedom for each of them.
    dof_for_each: f64,
}

/// Scatter and number of the readings that are to be taken.
///
/// What is not stated is assumed, and the budget says so: 1 ns and 1 % of the time difference,
/// 10 ns of the transit time, 0.1 K, and 1 % of what a meter indicates. Our judgement; a trial run
/// of the same meter knows better. Readings are taken as independent of each other, unless a trial
/// run shows that they are not, or the site file tells the damping and the interval.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeatability {
    readings: usize,
    scatter: Vec<(Channel, Scatter, Source)>,
}

impl Default for Repeatability {
    fn default() -> Self {
        Repeatability {
            readings: Self::USUAL_READINGS,
            scatter: Vec::new(),
        }
    }
}

fn example(channel: Channel) -> &'static str {
    match channel {
        Channel::TimeDifference => "`2 ns` or `1 %`",
        Channel::TransitTime => "`10 ns`",
        Channel::Temperature => "`0.1 K`",
        _ => "`1 %`",
    }
}

fn assumed(channel: Channel) -> Scatter {
    let (absolute, relative) = match channel {
        Channel::TimeDifference => (1e-9, 0.01),
        Channel::TransitTime => (10e-9, 0.0),
        Channel::Temperature => (0.1, 0.0),
        _ => (0.0, 0.01),
    };
    Scatter { absolute, relative }
}

/// The unit in which readings of a channel are shown.
fn unit_of(channel: Channel, site: &Site) -> Unit {
    let (symbol, dimension) = match channel {
        Channel::TimeDifference => ("ns", Dimension::Time),
        Channel::TransitTime => ("us", Dimension::Time),
        Channel::Temperature => ("degC", Dimension::Temperature),
        Channel::Velocity => ("m/s", Dimension::Velocity),
        // plans are of flows; how these reach the readings makes no difference to them
        _ => return site.flow_unit.clone(),
    };
    Unit::parse(symbol, dimension, channel.name()).unwrap_or_else(|_| dimension.si_unit())
}

impl Repeatability {
    /// Number of readings where none is stated.
    pub const USUAL_READINGS: usize = 30;

    /// With so many readings.
    ///
    /// # Errors
    /// Fewer than two, from which no scatter could be found on site.
    pub fn with_readings(mut self, readings: usize) -> Result<Repeatability> {
        if readings < 2 {
            return Err(Error::Length {
                field: "readings".to_owned(),
                found: readings,
                allowed: "2 or more, to judge their scatter on site".to_owned(),
            });
        }
        self.readings = readings;
        Ok(self)
    }

    /// With a stated scatter of one channel.
    pub fn with_scatter(mut self, channel: Channel, scatter: Scatter) -> Repeatability {
        self.scatter.retain(|(other, ..)| *other != channel);
        self.scatter.push((channel, scatter, Source::Stated));
        self
    }

    /// With the scatter and the number of readings of a trial run. A scatter that it shows at its
    /// flow is taken for every flow.
    ///
    /// # Errors
    /// None for readings that were read; they have two rows at least.
    pub fn as_in(readings: &Readings) -> Result<Repeatability> {
        let mut found = Repeatability::default().with_readings(readings.rows())?;
        let origin = match readings.origin.as_str() {
            "" => "a trial run".to_owned(),
            file => crate::error::file_name(file.as_ref()),
        };
        for channel in Channel::ALL {
            if let Some(column) = readings.column(channel) {
                let a = Autocorrelated::of(&column.values, channel.name())?;
                let (count, effective) = (a.count as f64, a.effective_count());
                // what the standard deviation lacks since the mean moves with the readings
                let lacking = (1.0 - 1.0 / count) / (1.0 - 1.0 / effective);
                let scatter = Scatter {
                    absolute: a.standard_deviation * lacking.sqrt(),
                    relative: 0.0,
                };
                let run = Run {
                    readings_for_one: count / effective,
                    dof_for_each: a.dof / count,
                };
                let source = Source::Observed(origin.clone(), run);
                found.scatter.push((channel, scatter, source));
            }
        }
        Ok(found)
    }

    /// Number of readings.
    pub fn readings(&self) -> usize {
        self.readings
    }

    fn of(&self, channel: Channel) -> Option<&(Channel, Scatter, Source)> {
        self.scatter.iter().find(|(other, ..)| *other == channel)
    }

    /// Standard deviation of single readings of a channel at a reading, in SI units.
    pub fn standard_deviation(&self, channel: Channel, reading: f64) -> f64 {
        let scatter = self.of(channel).map(|(_, scatter, _)| *scatter);
        scatter.unwrap_or_else(|| assumed(channel)).at(reading)
    }

    /// As [`Repeatability::standard_deviation`], with the steps in which the meter of a site shows time
    /// differences: a step is a rectangular distribution (JCGM 100:2008, F.2.2.1). A trial run has them
    /// in its scatter.
    pub(super) fn of_readings(&self, channel: Channel, reading: f64, site: &Site) -> f64 {
        let deviation = self.standard_deviation(channel, reading);
        let observed = matches!(self.of(channel), Some((.., Source::Observed(..))));
        match site.resolution {
            Some(step) if channel == Channel::TimeDifference && !observed => {
                (deviation * deviation + step * step / 12.0).sqrt()
            }
            _ => deviation,
        }
    }

    /// The mean of the readings to come, as an input of the budget.
    ///
    /// # Errors
    /// A reading that is not finite.
    pub(crate) fn input(&self, channel: Channel, mean: f64, site: &Site) -> Result<Input> {
        let quantity = channel.quantity();
        let deviation = self.of_readings(channel, mean, site);
        let n = self.readings as f64;
        let unit = unit_of(channel, site);
        let shown = plain(unit.difference_from_si(deviation));
        let source = match self.of(channel) {
            None => "assumed, judgement".to_owned(),
            Some((.., Source::Stated)) => "as stated".to_owned(),
            Some((.., Source::Observed(file, _))) => format!("as in {file}"),
        };
        let evidence = format!(
            "planned: mean of {} readings that scatter by {} ({source})",
            self.readings,
            unit.of_differences().after(&shown)
        );
        let effective = n / self.readings_for_one(channel, site)?;
        let dof = match self.of(channel) {
            Some((.., Source::Observed(_, run))) if run.readings_for_one > 1.0 => {
                (n * run.dof_for_each).min(n - 1.0)
            }
            _ => (effective - 1.0).max(1.0),
        };
        let worth = if effective < n {
            format!(", worth {} independent ones", rounded(effective, 2))
        } else {
            String::new()
        };
        let basis: Basis = site.skeleton.choices().basis;
        let input = Input::with_standard_uncertainty(
            &quantity.path(),
            mean,
            deviation / effective.sqrt(),
            dof,
        )?;
        Ok(input
            .shown_in(unit)
            .in_component(quantity.component(basis).in_words())
            .evidence_in_words(evidence + &worth))
    }

    /// How many readings count as one independent reading, at most as many as there are.
    fn readings_for_one(&self, channel: Channel, site: &Site) -> Result<f64> {
        let observed = match self.of(channel) {
            Some((.., Source::Observed(_, run))) => run.readings_for_one,
            _ => 1.0,
        };
        let damping = site.damping.filter(|_| channel != Channel::Temperature);
        let damped = match damping.zip(site.sampling_interval) {
            Some((damping, interval)) => {
                let rho = damping.autocorrelation(interval, self.readings, "meter")?;
                variance_inflation(self.readings, rho.len(), |k| rho[k - 1])
            }
            None => 1.0,
        };
        Ok(observed.max(damped).min(self.readings as f64))
    }
}
