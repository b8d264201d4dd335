//! Readings that no meter meant: codes of loggers for errors, impossible numbers, spikes, readings
//! that stand still.

use super::quantile::quantile;
use super::{Reason, skipped_periods};
use crate::error::{Error, Result};
use crate::evaluate::Channel;
use crate::evaluate::readings::Column;
use crate::table::tells_flow;

/// Which rows are faults. Limits are our judgement; every row that they reject is listed with its
/// reason.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Faults {
    /// Whether codes of loggers for errors and numbers beyond any meter are looked for.
    pub codes: bool,
    /// A reading is a spike if it is farther from the median of the seven rows about it than so many
    /// times their scatter; `None` if spikes are not looked for.
    pub spikes: Option<f64>,
    /// Magnitude of the mean velocity in m/s above which a row is rejected.
    pub velocity: Option<f64>,
    /// Relative difference of measured and expected time in the liquid above which a row is
    /// rejected: that of the sound speed that the row implies.
    pub sound_speed: Option<f64>,
}

impl Default for Faults {
    fn default() -> Faults {
        Faults {
            codes: true,
            spikes: Some(10.0),
            velocity: Some(20.0),
            sound_speed: Some(0.10),
        }
    }
}

impl Faults {
    /// Nothing is looked for.
    pub const NONE: Faults = Faults {
        codes: false,
        spikes: None,
        velocity: None,
        sound_speed: None,
    };

    pub(super) fn check(&self) -> Result<()> {
        for (name, limit, unit) in [
            ("faults.spikes", self.spikes, ""),
            ("faults.velocity", self.velocity, "m/s"),
            ("faults.sound_speed", self.sound_speed, ""),
        ] {
            if let Some(limit) = limit {
                Error::range(limit > 0.0, name, limit, unit, "above 0")?;
            }
        }
        Ok(())
    }
}

/// Rows on each side with which a reading is compared.
const BESIDE: usize = 3;
const WINDOW: usize = 2 * BESIDE + 1;

/// Spikes are rare: where more than one row in so many stands out, the flow itself comes and goes.
const ONE_IN: usize = 100;

/// Rows below which nothing is said of spikes or codes.
const FEWEST: usize = 10;

/// A code is farther from the median of other readings than so many times what 95 % of them are.
const FAR: f64 = 10.0;

/// Magnitudes of numbers that loggers write for errors, rising: three nines and more, a tenth and a
/// hundredth of it above 99, and the largest and smallest numbers of 16 and 32 bits. Common practice,
/// no source.
const CODES: [f64; 26] = [
    99.9,
    99.99,
    999.0,
    999.9,
    999.99,
    9999.0,
    9999.9,
    9999.99,
    32_767.0,
    32_768.0,
    65_535.0,
    99_999.0,
    99_999.9,
    99_999.99,
    999_999.0,
    999_999.9,
    999_999.99,
    9_999_999.0,
    9_999_999.9,
    9_999_999.99,
    99_999_999.0,
    99_999_999.9,
    999_999_999.0,
    2_147_483_647.0,
    2_147_483_648.0,
    4_294_967_295.0,
];

/// What no meter reads, in SI units: smallest and largest.
fn conceivable(channel: Channel) -> (f64, f64) {
    match channel {
        Channel::TransitTime => (0.0, 1.0),
        Channel::TimeDifference => (-1e-3, 1e-3),
        Channel::Temperature => (1.0, 2000.0),
        Channel::VolumeFlow => (-1e3, 1e3),
        Channel::Velocity => (-100.0, 100.0),
        Channel::Current => (-1.0, 1.0),
        Channel::Pulses | Channel::PulseCount | Channel::Totaliser => (0.0, 1e15),
    }
}

/// What was found in the readings of a channel.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Found {
    /// Places among the rows with their reasons, in order.
    pub(super) faults: Vec<(usize, Reason)>,
    /// Rows that stand out and were kept, since there are too many of them.
    pub(super) kept: usize,
    /// Rows that lie whole periods of the carrier from the others and were kept, since there are too
    /// many of them.
    pub(super) kept_periods: usize,
}

/// Looks through the readings of a channel in the `rows`; `period` is that of the carrier in s, where it
/// is known.
pub(super) fn find(
    column: &Column,
    channel: Channel,
    rows: &[usize],
    faults: &Faults,
    period: Option<f64>,
    found: &mut Found,
) {
    let mut rest = Vec::with_capacity(rows.len());
    let codes = if faults.codes {
        codes(column, rows)
    } else {
        Vec::new()
    };
    let (lowest, highest) = conceivable(channel);
    for (place, row) in rows.iter().enumerate() {
        let value = column.values[*row];
        if codes.contains(&value) {
            let code = column.unit.from_si(value);
            found.faults.push((place, Reason::ErrorCode(channel, code)));
        } else if faults.codes && !(lowest..=highest).contains(&value) {
            found.faults.push((place, Reason::Inconceivable(channel)));
        } else if faults.codes && channel == Channel::Current && !tells_flow(value) {
            found.faults.push((place, Reason::CurrentFault(value)));
        } else {
            rest.push(place);
        }
    }
    if let Some(period) = period.filter(|_| channel == Channel::TimeDifference) {
        let values: Vec<f64> = rest
            .iter()
            .map(|place| column.values[rows[*place]])
            .collect();
        let skipped = skipped_periods::find(&values, period);
        found.kept_periods += skipped.kept;
        let off: Vec<usize> = skipped
            .faults
            .iter()
            .map(|(place, _)| rest[*place])
            .collect();
        let own = skipped.faults.into_iter().zip(&off);
        let own = own.map(|((_, reason), place)| (*place, reason));
        found.faults.extend(own);
        rest.retain(|place| off.binary_search(place).is_err());
    }
    // a counter that goes on rises by as much as has flowed
    let goes_on = channel.is_counted() && channel != Channel::Pulses;
    let Some(limit) = faults.spikes.filter(|_| rest.len() >= FEWEST && !goes_on) else {
        return;
    };
    let values: Vec<f64> = rest
        .iter()
        .map(|place| column.values[rows[*place]])
        .collect();
    let spikes = spikes(&values, limit);
    if spikes.len() > (values.len() / ONE_IN).max(2) {
        found.kept += spikes.len();
        return;
    }
    for spike in spikes {
        found.faults.push((rest[spike], Reason::Spike(channel)));
    }
}

/// Readings that are codes for errors: numbers of nines or ends of whole numbers, as they were
/// written, that are far from all other readings.
fn codes(column: &Column, rows: &[usize]) -> Vec<f64> {
    if rows.len() < FEWEST {
        return Vec::new();
    }
    let mut codes: Vec<f64> = Vec::new();
    for row in rows {
        let value = column.values[*row];
        if !codes.contains(&value) && is_code(column.unit.from_si(value)) {
            codes.push(value);
        }
    }
    if codes.is_empty() {
        return codes;
    }
    let others = rows.iter().map(|row| column.values[*row]);
    let mut others: Vec<f64> = others.filter(|value| !codes.contains(value)).collect();
    if others.is_empty() {
        return Vec::new();
    }
    let middle = quantile(&mut others, 0.5);
    others
        .iter_mut()
        .for_each(|value| *value = (*value - middle).abs());
    let usual = quantile(&mut others, 0.95);
    codes.retain(|code| (code - middle).abs() > FAR * usual);
    codes
}

/// Whether a number as written is one that loggers use for errors.
fn is_code(written: f64) -> bool {
    let size = written.abs();
    let above = CODES.partition_point(|code| *code < size * (1.0 - 1e-9));
    CODES
        .get(above)
        .is_some_and(|code| *code <= size * (1.0 + 1e-9))
}

/// Places of values that are farther from the median of the seven about them than `limit` times the
/// scatter: the larger of that of the whole series (68.27 % of the differences of neighbours, over
/// the root of 2) and that of the seven (their median distance from the median, times 1.4826).
///
/// # Source
/// F. R. Hampel, J. Am. Stat. Assoc. 69 (1974) 383, median and median deviation; a moving window of
/// them is common practice.
pub(in crate::evaluate) fn spikes(values: &[f64], limit: f64) -> Vec<usize> {
    let mut differences: Vec<f64> = values.windows(2).map(|w| (w[1] - w[0]).abs()).collect();
    let mut scatter = quantile(&mut differences, 0.6827) / std::f64::consts::SQRT_2;
    if scatter == 0.0 {
        // readings of few digits: the step between them
        let steps = differences.into_iter().filter(|d| *d > 0.0);
        scatter = steps.fold(f64::INFINITY, f64::min);
    }
    let far = |place: &usize| {
        let first = place.saturating_sub(BESIDE).min(values.len() - WINDOW);
        let mut window = [0.0; WINDOW];
        window.copy_from_slice(&values[first..first + WINDOW]);
        let middle = median(&mut window);
        let distance = (values[*place] - middle).abs();
        if distance <= limit * scatter {
            return false;
        }
        window
            .iter_mut()
            .for_each(|value| *value = (*value - middle).abs());
        distance > limit * 1.4826 * median(&mut window)
    };
    (0..values.len()).filter(far).collect()
}

/// Comparisons that sort seven numbers; by the zero-one principle, tried for all of 128 cases.
const SORTING: [(usize, usize); 16] = [
    (0, 6),
    (2, 3),
    (4, 5),
    (0, 2),
    (1, 4),
    (3, 6),
    (0, 1),
    (2, 5),
    (3, 4),
    (1, 2),
    (4, 6),
    (2, 3),
    (4, 5),
    (1, 2),
    (3, 4),
    (5, 6),
];

/// The median of a window, which is sorted. Without branches, since every row of a log has its own.
fn median(window: &mut [f64; WINDOW]) -> f64 {
    for (low, high) in SORTING {
        let (a, b) = (window[low], window[high]);
        window[low] = a.min(b);
        window[high] = a.max(b);
    }
    window[BESIDE]
}

/// Rows in which a reading stands still.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::evaluate) struct Frozen {
    /// The first row with the reading.
    pub(in crate::evaluate) from_row: usize,
    /// The last one.
    pub(super) to_row: usize,
    /// Rows that follow each other and have the same reading.
    pub(in crate::evaluate) rows: usize,
}

/// How often a run of equal readings may come about in a whole log without a word being said of it.
const CHANCE: f64 = 1e-3;

/// The longest run of equal readings in the `rows`, if it is too long to have come about by chance:
/// as many as `r` follow each other by chance `n p^(r-1)` times, where `p` is the share of neighbours
/// that are equal in the rest of the rows. Zeros do not count: they are what a meter shows below its
/// low-flow cut-off.
pub(in crate::evaluate) fn frozen(column: &Column, rows: &[usize]) -> Option<Frozen> {
    let same = |pair: &[usize]| column.values[pair[0]] == column.values[pair[1]];
    let (mut longest, mut end, mut run, mut equal) = (0, 0, 0, 0_usize);
    for (place, pair) in rows.windows(2).enumerate() {
        let own = same(pair) && column.values[pair[0]] != 0.0;
        run = if own { run + 1 } else { 0 };
        equal += usize::from(own);
        if run > longest {
            (longest, end) = (run, place + 1);
        }
    }
    let others = rows.len().saturating_sub(1 + longest);
    // one more than there are, so that the share is not zero for want of rows
    let share = (equal - longest + 1) as f64 / (others + 1) as f64;
    let expected = rows.len() as f64 * libm::pow(share, longest as f64);
    let long = longest + 1 >= FEWEST && (expected < CHANCE || others == 0);
    long.then(|| Frozen {
        from_row: rows[end - longest],
        to_row: rows[end],
        rows: longest + 1,
    })
}
