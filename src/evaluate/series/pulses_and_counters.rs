//! Counts of a log as flows: what was counted from row to row, over the time from row to row.

use super::{Log, Reason, Rejected};
use crate::error::Result;
use crate::evaluate::Channel;
use crate::evaluate::pulses_and_counters::Counter;
use crate::evaluate::readings::Column;
use crate::site::Site;
use crate::uncertainty::{Input, Shape};

/// The line of the error of counting in the budget of a total.
pub(super) const LINE: &str = "series.counting";

/// When each row of counts begins, and what a count is worth.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CountedRows {
    /// Time in s from which on a row counts, by row of the log; NaN in rows that are not used.
    pub(super) since: Vec<f64>,
    /// Over how much time in s it does.
    time: Vec<f64>,
    /// Volume in m3 of a count.
    pub(super) volume: f64,
}

impl CountedRows {
    /// The standard uncertainty in m3/s of the flow of a row from counting: it begins and ends anywhere
    /// between two counts.
    pub(super) fn uncertainty_of(&self, row: usize) -> f64 {
        self.volume / (6.0_f64.sqrt() * self.time[row])
    }

    /// The error of counting of a volume.
    ///
    /// # Errors
    /// None: a count has a volume.
    pub(super) fn input(&self, stretches: usize) -> Result<Input> {
        let shape = Shape::Triangular;
        let input = Input::with_half_width(LINE, 0.0, self.volume, shape, f64::INFINITY)?;
        let evidence =
            format!("a count more or less at the ends of {stretches} stretches without a gap");
        Ok(input.in_component("meter").evidence_in_words(evidence))
    }
}

impl Site {
    /// The log with the flow that its counts make, and the rows of `used` that have one. The first
    /// reading of a counter that goes on, and one after a reset, have none.
    pub(super) fn flows_of_counts(
        &self,
        counter: &Counter,
        log: &Log,
        seconds: &[f64],
        used: Vec<usize>,
        (longest, usual_step): (f64, f64),
        rejected: &mut Vec<Rejected>,
    ) -> (Log, Vec<usize>) {
        let readings = log
            .column(counter.channel)
            .map_or(&[][..], |column| &column.values);
        let mut flow = vec![f64::NAN; log.rows];
        let mut since = vec![f64::NAN; log.rows];
        let mut time = vec![f64::NAN; log.rows];
        let mut rest = Vec::with_capacity(used.len());
        for (place, &row) in used.iter().enumerate() {
            let before = place.checked_sub(1).map(|place| used[place]);
            let counted = if counter.is_since_before() {
                let begin = before.map(|before| seconds[before]);
                let begin = begin.filter(|begin| seconds[row] - begin <= longest);
                let begin = begin.unwrap_or(seconds[row] - usual_step);
                Ok((begin, counter.volume_of(readings[row])))
            } else {
                before.ok_or(Reason::CounterStart).and_then(|before| {
                    let volume = counter.between(readings[before], readings[row]);
                    let volume = volume.ok_or(Reason::CounterReset)?;
                    Ok((seconds[before], volume))
                })
            };
            match counted {
                Ok((begin, volume)) => {
                    time[row] = seconds[row] - begin;
                    flow[row] = volume / time[row];
                    since[row] = begin;
                    rest.push(row);
                }
                Err(reason) => rejected.push(Rejected {
                    row,
                    seconds: seconds[row],
                    reason,
                }),
            }
        }
        let mut log = log.clone();
        log.columns
            .retain(|column| column.channel != counter.channel);
        log.columns.push(Column {
            channel: Channel::VolumeFlow,
            unit: self.flow_unit.clone(),
            values: flow,
        });
        log.counted = Some(CountedRows {
            since,
            time,
            volume: counter.count,
        });
        (log, rest)
    }
}
