//! When rows were read: times from text, the order of the rows, the steps between them.

use crate::error::{Error, Result};
use crate::units::{Dimension, quantity};

/// When the rows of a log were read. A time that is missing or could not be read is `None` or NaN.
#[derive(Debug, Clone, PartialEq)]
pub enum Times {
    /// At points in universal time, in nanoseconds since 1970-01-01T00:00:00.
    Nanoseconds(Vec<Option<i64>>),
    /// At times of a clock whose offset from universal time is not known, in nanoseconds since
    /// 1970-01-01T00:00:00 of that clock.
    Local(Vec<Option<i64>>),
    /// In seconds after any moment.
    Seconds(Vec<f64>),
    /// One after the other, at an interval in seconds.
    Interval(f64),
}

impl Times {
    /// The interval in words, such as `60 s` or `1 min`.
    ///
    /// # Errors
    /// Not a time, or not above 0.
    pub fn interval(text: &str) -> Result<Times> {
        let read = quantity(text, Dimension::Time, "interval")?;
        let shown = read.unit.from_si(read.si);
        Error::range(read.si > 0.0, "interval", shown, &read.unit.symbol, ABOVE_0)?;
        Ok(Times::Interval(read.si))
    }

    /// Points in time from text after RFC 3339, such as `2026-09-17T10:00:05` or
    /// `2026-09-17 10:00:05.250+02:00`; `None` where a text is none.
    ///
    /// With an offset they are points in universal time. Without one they are those of the clock, and
    /// of a clock that is put back an hour runs twice: let loggers write universal time, or name the
    /// zone ([`Log::in_time_zone`](super::Log::in_time_zone)).
    ///
    /// # Errors
    /// Some texts with an offset and some without: the two cannot be put in order.
    pub fn from_text<'a>(texts: impl IntoIterator<Item = &'a str>) -> Result<Times> {
        let mut with_offset = None;
        let mut times = Vec::new();
        for (row, text) in texts.into_iter().enumerate() {
            let read = nanoseconds(text);
            if let Some((_, offset)) = read
                && *with_offset.get_or_insert(offset) != offset
            {
                return Err(Error::Conflict {
                    field: format!("time[{row}]"),
                    found: format!(
                        "`{}` {} an offset from universal time, unlike the rows before",
                        text.trim(),
                        if offset { "with" } else { "without" }
                    ),
                    allowed: "offsets in all rows or in none".to_owned(),
                });
            }
            times.push(read.map(|(time, _)| time));
        }
        Ok(match with_offset {
            Some(true) => Times::Nanoseconds(times),
            _ => Times::Local(times),
        })
    }

    /// The usual time in s from row to row; `None` where no two times that follow each other are
    /// known.
    pub(in crate::evaluate) fn usual_step(&self, rows: usize) -> Option<f64> {
        let seconds = self.seconds(rows);
        let known = (0..rows).filter(|row| seconds[*row].is_finite());
        let (rising, _) = rising(&seconds, &known.collect::<Vec<_>>());
        let step = usual_step(&seconds, &rising);
        (step > 0.0).then_some(step)
    }

    /// Whether a clock may be put forward after the time of a row: in the night of a Sunday, up to
    /// four o'clock.
    pub(super) fn may_leap_after(&self, row: usize) -> bool {
        const DAY: i64 = 86_400_000_000_000;
        let Times::Local(times) = self else {
            return false;
        };
        let time = times.get(row).copied().flatten();
        time.is_some_and(|time| {
            // 1970-01-01 was a Thursday
            let night = time.rem_euclid(DAY) < DAY / 6;
            let sunday = (time.div_euclid(DAY) + 4).rem_euclid(7) == 0;
            night && sunday
        })
    }

    pub(super) fn check(&self, rows: usize) -> Result<()> {
        let found = match self {
            Times::Nanoseconds(times) | Times::Local(times) => times.len(),
            Times::Seconds(times) => times.len(),
            Times::Interval(interval) => {
                let usable = *interval > 0.0 && interval.is_finite();
                Error::range(usable, "interval", *interval, "s", ABOVE_0)?;
                rows
            }
        };
        if found == rows {
            return Ok(());
        }
        Err(Error::Length {
            field: "time".to_owned(),
            found,
            allowed: format!("{rows}, as in the columns of readings"),
        })
    }

    /// Seconds after the first time that is known; NaN where a time is not.
    pub(in crate::evaluate) fn seconds(&self, rows: usize) -> Vec<f64> {
        match self {
            Times::Nanoseconds(times) | Times::Local(times) => {
                let first = times.iter().find_map(|time| *time).unwrap_or(0);
                // whole seconds stay whole
                let after = |time: i64| (i128::from(time) - i128::from(first)) as f64 / 1e9;
                times
                    .iter()
                    .map(|time| time.map_or(f64::NAN, after))
                    .collect()
            }
            Times::Seconds(times) => {
                let first = times.iter().copied().find(|time| time.is_finite());
                let first = first.unwrap_or(0.0);
                times.iter().map(|time| time - first).collect()
            }
            Times::Interval(interval) => (0..rows).map(|row| row as f64 * interval).collect(),
        }
    }
}

const ABOVE_0: &str = "a time above 0";

/// Nanoseconds since 1970 and whether the text states an offset.
fn nanoseconds(text: &str) -> Option<(i64, bool)> {
    use toml::value::{Datetime, Offset};
    let read: Datetime = text.trim().parse().ok()?;
    let (date, time) = (read.date?, read.time?);
    let days = days_since_1970(
        i64::from(date.year),
        i64::from(date.month),
        i64::from(date.day),
    );
    let clock = 3600 * i64::from(time.hour)
        + 60 * i64::from(time.minute)
        + i64::from(time.second.unwrap_or(0));
    let offset = match read.offset {
        None | Some(Offset::Z) => 0,
        Some(Offset::Custom { minutes }) => 60 * i64::from(minutes),
    };
    let seconds = 86_400 * days + clock - offset;
    let nanoseconds = seconds.checked_mul(1_000_000_000)?;
    let nanoseconds = nanoseconds.checked_add(i64::from(time.nanosecond.unwrap_or(0)))?;
    Some((nanoseconds, read.offset.is_some()))
}

/// Days from 1970-01-01 in the Gregorian calendar. Years begin in March, so that the leap day is the
/// last.
fn days_since_1970(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let month = (month + 9) % 12;
    let leap_days = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
    // months of 31, 30, 31, 30, 31 days, twice and a bit
    365 * year + leap_days + (153 * month + 2) / 5 + day - 1 - 719_468
}

/// The largest set of the rows `usable` whose times rise, in order, and how often time stood still or
/// went back from one row to the next. Of rows with the same time the first counts.
///
/// # Source
/// Longest increasing subsequence by patience sorting: M. L. Fredman, Discrete Math. 11 (1975) 29.
pub(super) fn rising(seconds: &[f64], usable: &[usize]) -> (Vec<usize>, usize) {
    let backward = usable
        .windows(2)
        .filter(|pair| seconds[pair[1]] < seconds[pair[0]])
        .count();
    // ends[k]: place of the row with the earliest time at which k + 1 rows that rise can end
    let mut ends: Vec<usize> = Vec::new();
    let mut before = vec![usize::MAX; usable.len()];
    for (place, row) in usable.iter().enumerate() {
        let time = seconds[*row];
        let at = |end: &usize| seconds[usable[*end]];
        let k = match ends.last() {
            Some(last) if at(last) < time => ends.len(),
            _ => ends.partition_point(|end| at(end) < time),
        };
        if k > 0 {
            before[place] = ends[k - 1];
        }
        match ends.get_mut(k) {
            Some(end) if seconds[usable[*end]] == time => {}
            Some(end) => *end = place,
            None => ends.push(place),
        }
    }
    let mut kept = Vec::with_capacity(ends.len());
    let mut next = ends.last().copied();
    while let Some(place) = next {
        kept.push(usable[place]);
        next = before.get(before[place]).map(|_| before[place]);
    }
    kept.reverse();
    (kept, backward)
}

/// The lower median of the steps between rows; 0 for fewer than two rows.
pub(super) fn usual_step(seconds: &[f64], kept: &[usize]) -> f64 {
    let steps = kept
        .windows(2)
        .map(|pair| seconds[pair[1]] - seconds[pair[0]]);
    let mut steps: Vec<f64> = steps.collect();
    if steps.is_empty() {
        return 0.0;
    }
    let middle = (steps.len() - 1) / 2;
    *steps.select_nth_unstable_by(middle, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_count_from_1970() {
        // proleptic Gregorian dates by the day numbers of a calendar: 2000-03-01 is day 11017
        for (date, days) in [
            ((1970, 1, 1), 0),
            ((1969, 12, 31), -1),
            ((2000, 2, 29), 11_016),
            ((2000, 3, 1), 11_017),
            ((2026, 9, 17), 20_713),
            ((1900, 3, 1), -25_508),
        ] {
            let (year, month, day) = date;
            assert_eq!(days_since_1970(year, month, day), days, "{date:?}");
        }
    }

    #[test]
    fn the_largest_rising_set_is_kept() {
        let all = |times: &[f64]| rising(times, &(0..times.len()).collect::<Vec<_>>());
        assert_eq!(all(&[0.0, 1.0, 2.0]), (vec![0, 1, 2], 0));
        // a time far ahead is the odd one out, not all that come after it
        assert_eq!(all(&[0.0, 99.0, 1.0, 2.0]), (vec![0, 2, 3], 1));
        // of equal times the first
        assert_eq!(all(&[0.0, 1.0, 1.0, 2.0]), (vec![0, 1, 3], 0));
        assert_eq!(all(&[]), (vec![], 0));
    }
}
