//! Rows that are not used, with their reasons.

use super::blocks::block_range;
use super::faults::{self, Found};
use super::rows::Block;
use super::{Log, Reason, Rejected, SeriesOptions};
use crate::error::Error;
use crate::evaluate::Channel;

/// The rows of which time and all readings are known.
pub(super) fn whole_rows(
    log: &Log,
    channels: &[Channel],
    seconds: &[f64],
    rejected: &mut Vec<Rejected>,
) -> Vec<usize> {
    let columns: Vec<_> = channels.iter().filter_map(|c| log.column(*c)).collect();
    let mut whole = Vec::with_capacity(log.rows);
    let mut next = log.unwanted.iter().peekable();
    for (row, &time) in seconds.iter().enumerate() {
        let missing = columns.iter().find(|c| !c.values[row].is_finite());
        let unwanted = next.next_if(|(unwanted, _)| *unwanted == row);
        let reason = match missing {
            _ if !time.is_finite() => Reason::NoTime,
            _ if unwanted.is_some() => {
                unwanted.map_or(Reason::Signal, |(_, reason)| reason.clone())
            }
            Some(column) => Reason::NotANumber(column.channel),
            None => {
                whole.push(row);
                continue;
            }
        };
        rejected.push(Rejected {
            row,
            seconds: time,
            reason,
        });
    }
    whole
}

/// How many rows stand out, and how many lie whole periods of the carrier from the others, that were kept
/// since there are too many of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SuspectRows {
    pub(super) spikes: usize,
    pub(super) periods: usize,
}

/// The rows without those that are faults, and how many stand out and were kept.
pub(super) fn without_faults(
    log: &Log,
    channels: &[Channel],
    seconds: &[f64],
    whole: Vec<usize>,
    (options, period): (&SeriesOptions, Option<f64>),
    rejected: &mut Vec<Rejected>,
) -> (Vec<usize>, SuspectRows) {
    let mut found = Found::default();
    for channel in channels {
        if let Some(column) = log.column(*channel) {
            faults::find(
                column,
                *channel,
                &whole,
                &options.faults,
                period,
                &mut found,
            );
        }
    }
    // of a row with several faults the first that was found counts
    found.faults.sort_by_key(|(place, _)| *place);
    found.faults.dedup_by_key(|(place, _)| *place);
    let mut next = found.faults.into_iter().peekable();
    let mut rest = Vec::with_capacity(whole.len());
    for (place, row) in whole.into_iter().enumerate() {
        match next.next_if(|(fault, _)| *fault == place) {
            None => rest.push(row),
            Some((_, reason)) => rejected.push(Rejected {
                row,
                seconds: seconds[row],
                reason,
            }),
        }
    }
    let suspect = SuspectRows {
        spikes: found.kept,
        periods: found.kept_periods,
    };
    (rest, suspect)
}

/// Rejects the rows that are whole but not among those whose times rise.
pub(super) fn reject_unordered(
    seconds: &[f64],
    whole: &[usize],
    used: &[usize],
    rejected: &mut Vec<Rejected>,
) {
    let mut next = used.iter().peekable();
    for &row in whole {
        if next.next_if_eq(&&row).is_some() {
            continue;
        }
        let time = seconds[row];
        let place = used.partition_point(|other| seconds[*other] < time);
        let same = used.get(place).is_some_and(|other| seconds[*other] == time);
        rejected.push(Rejected {
            row,
            seconds: time,
            reason: if same {
                Reason::Duplicate
            } else {
                Reason::OutOfOrder
            },
        });
    }
}

/// Moves what blocks refuse to the rejected rows; what is left of the rows used is returned.
pub(super) fn reject_refused(
    blocks: &mut [Block],
    seconds: &[f64],
    used: &[usize],
    rejected: &mut Vec<Rejected>,
) -> Vec<usize> {
    let mut valid = Vec::with_capacity(used.len());
    for (number, block) in blocks.iter_mut().enumerate() {
        let own = &used[block_range(number, used.len())];
        let mut refused = std::mem::take(&mut block.refused).into_iter().peekable();
        for (place, &row) in own.iter().enumerate() {
            match refused.next_if(|(other, _)| *other == place) {
                Some((_, reason)) => rejected.push(Rejected {
                    row,
                    seconds: seconds[row],
                    reason,
                }),
                None => valid.push(row),
            }
        }
    }
    valid
}

/// Nothing is left to evaluate.
pub(super) fn no_row(rows: usize, first: Option<&Rejected>) -> Error {
    let reason = match first.map(|rejected| &rejected.reason) {
        Some(Reason::NoTime) => "its time is missing or cannot be read".to_owned(),
        Some(Reason::NotANumber(channel)) => format!("{} is missing", channel.name()),
        Some(reason) => reason.to_string(),
        None => "it has no reading".to_owned(),
    };
    Error::Conflict {
        field: "readings".to_owned(),
        found: format!("none of {rows} rows can be used; of the first, {reason}"),
        allowed: "rows with a time and all readings".to_owned(),
    }
}
