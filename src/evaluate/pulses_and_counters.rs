//! Counts of a meter as the volume flow that it indicated: pulses, and readings of a counter or a
//! totaliser that goes on.

use super::{Channel, Readings};
use crate::error::{Error, Result, file_name};
use crate::model::Quantity;
use crate::site::Site;
use crate::uncertainty::{Input, Shape, plain, rounded};
use crate::watch::unwatched;

/// The name of the error of counting: the count begins and ends between two pulses.
const COUNTING: &str = "readings.volume_flow.counting";

/// Counts from which the scatter of single rates is more than that of counting.
const ENOUGH: f64 = 10.0;
/// Rates of which a scatter is judged.
const FEWEST: usize = 4;

/// What counts volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Counter {
    pub(super) channel: Channel,
    /// Volume in m3 of a reading of 1, in SI units.
    volume: f64,
    /// Volume in m3 of one count: the step of the last digit.
    pub(super) count: f64,
    /// The volume in m3 at which a counter begins anew at 0.
    full: Option<f64>,
}

impl Counter {
    /// Whether each reading is the count since the one before, and not the state of a counter.
    pub(super) fn is_since_before(&self) -> bool {
        self.channel == Channel::Pulses
    }

    /// The volume in m3 of a reading.
    pub(super) fn volume_of(&self, reading: f64) -> f64 {
        reading * self.volume
    }

    /// The volume in m3 that was counted from one reading to the next; `None` where the counter went
    /// back and not through its end. Of two ways through the end the shorter one is taken.
    pub(super) fn between(&self, before: f64, after: f64) -> Option<f64> {
        let (before, after) = (self.volume_of(before), self.volume_of(after));
        let step = after - before;
        if self.full.is_some_and(|full| after.max(before) >= full) || after < 0.0 {
            return None;
        }
        if step >= 0.0 {
            return Some(step);
        }
        let through = self.full.map(|full| (step + full, 0.5 * full));
        through.and_then(|(step, half)| (step < half).then_some(step))
    }

    /// Why there is no volume between two readings.
    fn refusal(&self, before: f64, after: f64) -> (String, String) {
        let (before, after) = (plain(before), plain(after));
        match self.full {
            Some(full) => (
                format!("{after} after {before}"),
                format!(
                    "readings that rise, below {} m3, and through it to 0: the counter was reset, or has \
                     other digits; take the readings before and after a reset apart",
                    plain(full)
                ),
            ),
            None => (
                format!("{after} after {before}"),
                "readings that rise: the counter was reset, and the readings before and after are to \
                 be taken apart; or it began anew at 0 after its last digit, and \
                 meter.programmed.counter_digits says how many it has"
                    .to_owned(),
            ),
        }
    }
}

impl Site {
    /// What counts, where the channel is one of counts.
    ///
    /// # Errors
    /// A site file that does not say what a count is worth.
    pub(super) fn counter(&self, channel: Channel) -> Result<Option<Counter>> {
        let programmed = self.skeleton.choices().programmed.unwrap_or_default();
        let (stated, key, what) = match channel {
            Channel::Pulses | Channel::PulseCount => (
                programmed.pulse_value,
                "pulse_value",
                "the volume of a pulse",
            ),
            Channel::Totaliser => (
                programmed.totaliser_resolution,
                "totaliser_resolution",
                "the volume of one step of the last digit of the totaliser",
            ),
            _ => return Ok(None),
        };
        let Some(count) = stated else {
            return Err(Error::Missing {
                field: format!("meter.programmed.{key}"),
                needed: format!("{what}, for readings of {}", channel.name()),
            });
        };
        let digits = programmed
            .counter_digits
            .filter(|_| channel != Channel::Pulses);
        let ten_to = |digits: u32| (0..digits).fold(1.0, |power: f64, _| 10.0 * power);
        Ok(Some(Counter {
            channel,
            volume: if channel == Channel::Totaliser {
                1.0
            } else {
                count
            },
            count,
            full: digits.map(|digits| count * ten_to(digits)),
        }))
    }

    /// The mean volume flow of counted readings, and the error of counting.
    ///
    /// ```text
    /// Q_i = V/T,   error of counting: triangular, one count over T
    /// ```
    /// A count begins and ends anywhere between two pulses; each end is rectangular over one of them.
    /// The scatter is that of the rates of equal parts of the time, each of ten counts or more, so
    /// that it is of the flow and not of counting. Of fewer than four parts none is judged.
    ///
    /// # Errors
    /// Readings without times and no sampling interval, times that do not rise, a counter that goes
    /// back.
    pub(super) fn counted_inputs(
        &self,
        counter: &Counter,
        readings: &Readings,
    ) -> Result<Vec<(Quantity, Input)>> {
        let (times, volumes) = self.course_of(counter, readings)?;
        let (first, last) = (times[0], times[times.len() - 1]);
        let (duration, volume) = (last - first, volumes[volumes.len() - 1]);
        let steps = times.len() - 1;
        let counts = volume / counter.count;
        let quantity = Quantity::IndicatedFlow;
        let path = quantity.path();
        let unit = &self.flow_unit;
        let mut evidence = format!(
            "{} m3 in {} s, {} counts",
            plain(volume),
            plain(duration),
            rounded(counts, 6)
        );
        if !readings.origin.is_empty() {
            evidence += &format!(" in {}", file_name(readings.origin.as_ref()));
        }
        let parts = ((counts / ENOUGH).floor() as usize).max(FEWEST).min(steps);
        let mean = if parts < FEWEST {
            evidence += "; the flow of that time, of which no scatter is known";
            Input::exact(&path, volume / duration)?
        } else {
            let rates = rates(&times, &volumes, parts);
            let interval = Some(duration / parts as f64);
            let series = self.statistics_of(&rates, true, interval, &path, &mut unwatched)?;
            evidence += &format!("; mean of {parts} equal parts of the time");
            let effective = series.effective_count();
            if effective < series.count as f64 {
                evidence += &format!(", worth {} independent ones", rounded(effective, 2));
            }
            Input::from_series(&path, &rates, &series)?
        };
        let one = counter.count / duration;
        let counting =
            Input::with_half_width(COUNTING, 0.0, one, Shape::Triangular, f64::INFINITY)?
                .evidence_in_words("a count more or less, since it begins and ends between two");
        let component = quantity.component(self.skeleton.choices().basis).in_words();
        let own = |input: Input| input.shown_in(unit.clone()).in_component(component);
        Ok(vec![
            (quantity, own(counting)),
            (quantity, own(mean.evidence_in_words(evidence))),
        ])
    }

    /// Times in s and the volumes in m3 counted up to them.
    fn course_of(&self, counter: &Counter, readings: &Readings) -> Result<(Vec<f64>, Vec<f64>)> {
        let name = counter.channel.name();
        let column = readings.column(counter.channel);
        let values = column.map_or(&[][..], |column| &column.values);
        let mut times = match (&readings.seconds, self.sampling_interval) {
            (Some(seconds), _) => seconds.clone(),
            (None, Some(interval)) => (0..values.len()).map(|i| i as f64 * interval).collect(),
            (None, None) => {
                return Err(Error::Missing {
                    field: "readings.time".to_owned(),
                    needed: format!(
                        "a column `time` or `time_s` beside {name}, or meter.sampling_interval in the \
                         site file: counts are a flow only with the time that they took"
                    ),
                });
            }
        };
        // a time that is missing does not rise either
        let rises = |i: &usize| times[*i] > times[i - 1];
        if let Some(i) = (1..times.len()).find(|i| !rises(i)) {
            return Err(Error::Conflict {
                field: format!("readings.time[{i}]"),
                found: "a time that is missing or not after the one before".to_owned(),
                allowed: "times that rise from row to row".to_owned(),
            });
        }
        let mut volumes = vec![0.0];
        let mut volume = 0.0;
        if counter.is_since_before() {
            // the first count began an interval before; without times that is known
            let from = match (&readings.seconds, self.sampling_interval) {
                (None, Some(interval)) => {
                    times.insert(0, -interval);
                    0
                }
                _ => 1,
            };
            for (i, value) in values.iter().enumerate().skip(from) {
                let counted = *value >= 0.0;
                Error::range(counted, format!("{name}[{i}]"), *value, "", "0 or above")?;
                volume += counter.volume_of(*value);
                volumes.push(volume);
            }
        } else {
            for (i, pair) in values.windows(2).enumerate() {
                let Some(step) = counter.between(pair[0], pair[1]) else {
                    let (found, allowed) = counter.refusal(pair[0], pair[1]);
                    return Err(Error::Conflict {
                        field: format!("{name}[{}]", i + 1),
                        found,
                        allowed,
                    });
                };
                volume += step;
                volumes.push(volume);
            }
        }
        Ok((times, volumes))
    }
}

/// The rates in so many equal parts of the time, the volume between two times taken to rise on a
/// straight line.
fn rates(times: &[f64], volumes: &[f64], parts: usize) -> Vec<f64> {
    let (first, last) = (times[0], times[times.len() - 1]);
    let part = (last - first) / parts as f64;
    let mut next = 1;
    let mut at = |number: usize| {
        if number == parts {
            return volumes[volumes.len() - 1];
        }
        let time = first + number as f64 * part;
        while next + 1 < times.len() && times[next] < time {
            next += 1;
        }
        let share = (time - times[next - 1]) / (times[next] - times[next - 1]);
        volumes[next - 1] + share * (volumes[next] - volumes[next - 1])
    };
    let mut before = 0.0;
    let rate = |number| {
        let volume = at(number);
        let rate = (volume - before) / part;
        before = volume;
        rate
    };
    (1..=parts).map(rate).collect()
}
