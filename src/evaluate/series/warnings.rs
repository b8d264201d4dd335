//! What a reader of a series must be told beside its uncertainty.

use super::rejected_rows::SuspectRows;
use super::total::Scatter;
use super::{Gap, Log, Times, faults};
use crate::evaluate::{Channel, Warning};
use crate::uncertainty::{Budget, counted};

/// Share of the variance of the total from which it matters how well a scatter is known.
const MATTERS: f64 = 0.01;

/// Currents in A beyond which an output stands still. Common practice, as in NAMUR NE 43 (from memory).
const LINEAR: [f64; 2] = [0.0038, 0.0205];

/// What the rows tell beside their total.
pub(super) fn warnings(
    log: &Log,
    channels: &[Channel],
    valid: &[usize],
    scatter: &[Scatter],
    total: &Budget,
    suspect: SuspectRows,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    for (channel, scatter) in channels.iter().zip(scatter) {
        let path = channel.quantity().path();
        let mut lines = total.lines.iter();
        let line = lines.find(|line| line.input.name() == path);
        let counts = line.is_some_and(|line| line.share >= MATTERS);
        if counts && !scatter.repeatability.told {
            let words = format!(
                "the scatter of {} cannot be told from the course of the flow: say how the meter \
                 damps its readings, or state their repeatability",
                channel.name()
            );
            warnings.push(Warning::new("scatter-not-told", words));
        }
        let saturated = |row: &&usize| {
            let current = log
                .column(Channel::Current)
                .map(|column| column.values[**row]);
            current.is_some_and(|current| !(LINEAR[0]..=LINEAR[1]).contains(&current))
        };
        let saturated = match channel {
            Channel::Current => valid.iter().filter(saturated).count(),
            _ => 0,
        };
        if saturated > 0 {
            let words = format!(
                "{} with a current below 3.8 mA or above 20.5 mA, where outputs stand \
                 still (common practice): the flow lay beyond the span, and the total lacks some of it",
                counted(saturated, "row")
            );
            warnings.push(Warning::new("current-saturated", words));
        }
        // a temperature may well stand still
        let column = log
            .column(*channel)
            .filter(|_| *channel != Channel::Temperature);
        if let Some(frozen) = column.and_then(|column| faults::frozen(column, valid)) {
            let words = format!(
                "{} is the same in {} rows that follow each other, {} to {}: the reading may have \
                 frozen",
                channel.name(),
                frozen.rows,
                frozen.from_row,
                frozen.to_row
            );
            warnings.push(Warning::new("frozen-readings", words));
        }
    }
    if suspect.periods > 0 {
        let words = format!(
            "{} of the time difference, whole periods of the carrier from the others; so many may \
             be the course of the flow, and they are used: look at them, and check the signal",
            counted(suspect.periods, "reading")
        );
        warnings.push(Warning::new("skipped-period", words));
    }
    if suspect.spikes > 0 {
        let words = format!(
            "{} far from those about them; so many are no faults but the course of the flow, and \
             they are used: look at them",
            counted(suspect.spikes, "reading")
        );
        warnings.push(Warning::new("many-spikes", words));
    }
    warnings
}

/// Rows at which a calibration factor was not found.
pub(super) fn calibration_warnings(beyond: [usize; 2], valid: usize) -> Vec<Warning> {
    let said = [
        (
            "calibration-range",
            "beyond the points of a calibration, the nearest of which is held, which nobody found there",
        ),
        (
            "in-situ-range",
            "outside the Reynolds numbers of the in-situ calibration: its factor was not found there",
        ),
    ];
    let found = said.into_iter().zip(beyond).filter(|(_, rows)| *rows > 0);
    found
        .map(|((code, words), rows)| {
            Warning::new(
                code,
                format!("{rows} of {} are {words}", counted(valid, "row")),
            )
        })
        .collect()
}

/// A clock that seems to have been put back or forward by an hour, of which the log does not say where
/// it stands.
pub(super) fn clock_warnings(
    log: &Log,
    seconds: &[f64],
    whole: &[usize],
    gaps: &[Gap],
    step: f64,
) -> Vec<Warning> {
    const HOUR: f64 = 3600.0;
    let mut warnings = Vec::new();
    if !matches!(log.times, Times::Local(_)) || step <= 0.0 || step >= HOUR {
        return warnings;
    }
    let advice =
        "name the time zone of the clock (time_zone), or let the logger write universal time";
    let back = whole.windows(3).find(|rows| {
        let change = |i: usize| seconds[rows[i + 1]] - seconds[rows[i]];
        // a single row out of order is followed by a leap forward
        let goes_on = change(1) > 0.0 && change(1) <= 2.0 * step;
        goes_on && (change(0) + HOUR - step).abs() <= step
    });
    if let Some(rows) = back {
        let words = format!(
            "times go back by an hour at row {}, as a clock does in autumn, and the rows of one of the \
             two hours are left out: {advice}",
            rows[1]
        );
        warnings.push(Warning::new("clock-put-back", words));
    }
    let forward = gaps.iter().find(|gap| {
        (gap.duration() - HOUR - step).abs() <= 0.5 * step && log.times.may_leap_after(gap.from_row)
    });
    if let Some(gap) = forward {
        let words = format!(
            "an hour is missing after row {}, in the night of a Sunday, as when a clock is put forward \
             in spring; it counts as a gap: {advice}",
            gap.from_row
        );
        warnings.push(Warning::new("clock-put-forward", words));
    }
    warnings
}
