//! Calendar periods of a series: where they begin and end, and which rows belong to them.

use super::integration::Timing;
use super::{Gaps, Rule, Series, Times, time_zone};
use crate::error::{Error, Result};
use crate::uncertainty::Budget;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{ToSpan, Zoned};
use std::ops::Range;

/// The length of the periods of which totals are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Period {
    /// From midnight to midnight.
    Day,
    /// From Monday to Monday.
    Week,
    /// A calendar month.
    Month,
}

impl Period {
    /// The names by which to choose.
    pub const NAMES: &'static [&'static str] = &["day", "week", "month"];

    /// The choice of a name.
    ///
    /// # Errors
    /// A name that is not in [`Self::NAMES`].
    pub fn from_name(name: &str) -> Result<Period> {
        match name {
            "day" => Ok(Period::Day),
            "week" => Ok(Period::Week),
            "month" => Ok(Period::Month),
            _ => Err(Error::unknown_name("period", name, Self::NAMES)),
        }
    }

    fn first_day(self, date: Date) -> Date {
        match self {
            Period::Day => date,
            Period::Week => {
                let days = i64::from(date.weekday().to_monday_zero_offset());
                date.checked_sub(days.days()).unwrap_or(date)
            }
            Period::Month => date.first_of_month(),
        }
    }

    fn next(self, first: Date) -> Option<Date> {
        let span = match self {
            Period::Day => 1.day(),
            Period::Week => 1.week(),
            Period::Month => 1.month(),
        };
        first.checked_add(span).ok()
    }

    fn label(self, first: Date) -> String {
        match self {
            Period::Day => first.to_string(),
            Period::Week => {
                let week = first.iso_week_date();
                format!("{:04}-W{:02}", week.year(), week.week())
            }
            Period::Month => format!("{:04}-{:02}", first.year(), first.month()),
        }
    }
}

/// The total volume of a calendar period.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct PeriodTotal {
    /// Its first day as `2026-10-25`, its week as `2026-W43` (ISO 8601), or its month as `2026-10`.
    pub label: String,
    /// Its beginning and end, in s after the first row.
    pub limits: Range<f64>,
    /// The time in s that the total covers.
    pub duration: f64,
    /// The budget of the volume. What is the same in all rows is the same deviation in all periods.
    pub total: Budget,
    /// The part of its standard uncertainty that is its own, in m3: the scatter of readings. The
    /// rest does not average out over periods.
    pub random_uncertainty: f64,
}

impl PeriodTotal {
    /// The share of the period that the total covers.
    pub fn availability(&self) -> f64 {
        self.duration / (self.limits.end - self.limits.start)
    }
}

impl Series {
    /// Covariances of the totals of the periods, in m3 squared, row by row, shape
    /// `(periods, periods)`: what is the same in all rows is the same deviation in all periods,
    /// scatter is not. Its sum is the variance of the total of all periods, but for the error of
    /// counting, which two periods share where they meet.
    pub fn period_covariance(&self) -> Vec<Vec<f64>> {
        let lines = self.total.lines.iter().map(|line| line.input.name());
        let names: Vec<&str> = lines.filter(|name| !self.scatters(name)).collect();
        // a period without rows in the transition has no line for it
        let shared = |period: &PeriodTotal| -> Vec<f64> {
            let of = |name: &&str| {
                let mut lines = period.total.lines.iter();
                let line = lines.find(|line| line.input.name() == *name);
                line.map_or(0.0, |line| line.contribution)
            };
            names.iter().map(of).collect()
        };
        let place = |name: &String| names.iter().position(|own| own == name);
        let stated = self.site.correlations.iter().map(|stated| &stated.pair);
        let pairs: Vec<(usize, usize, f64)> = stated
            .filter_map(|(a, b, r)| Some((place(a)?, place(b)?, *r)))
            .collect();
        let shared: Vec<Vec<f64>> = self.periods.iter().map(shared).collect();
        let between = |a: &[f64], b: &[f64]| -> f64 {
            let alone: f64 = a.iter().zip(b).map(|(x, y)| x * y).sum();
            let pairs = pairs.iter();
            alone
                + pairs
                    .map(|(i, j, r)| r * (a[*i] * b[*j] + a[*j] * b[*i]))
                    .sum::<f64>()
        };
        let row = |(i, a): (usize, &Vec<f64>)| -> Vec<f64> {
            let others = shared.iter().enumerate();
            let element = |(j, b): (usize, &Vec<f64>)| {
                let own = self.periods[i].random_uncertainty;
                between(a, b) + if i == j { own * own } else { 0.0 }
            };
            others.map(element).collect()
        };
        shared.iter().enumerate().map(row).collect()
    }
}

/// Beginning and end of a period in s after the first row, with its label.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Limits {
    pub(super) label: String,
    pub(super) range: Range<f64>,
}

/// More periods than anybody reads; keeps a log with one time in another century from filling memory.
const MOST_PERIODS: usize = 40_000;

/// The periods from the time that the first of the rows used stands for to the last of them.
///
/// # Errors
/// Times that belong to no calendar, more than 40000 periods.
pub(super) fn limits(
    period: Period,
    times: &Times,
    zone: Option<&str>,
    timing: &Timing<'_>,
    used: &[usize],
) -> Result<Vec<Limits>> {
    let seconds = timing.seconds;
    let (first, last) = match (used.first(), used.last()) {
        (Some(first), Some(last)) => (*first, *last),
        _ => return Ok(Vec::new()),
    };
    let known = match times {
        Times::Nanoseconds(times) | Times::Local(times) => times[first].zip(times[last]),
        Times::Seconds(_) | Times::Interval(_) => None,
    };
    let lead = match timing.options.rule {
        Rule::Since => seconds[first] - timing.begin(None, first),
        Rule::Trapezoid | Rule::Hold => 0.0,
    };
    let known = known.map(|(from, to)| (from.saturating_sub((lead * 1e9) as i64), to));
    let Some((from, to)) = known else {
        return Err(Error::Missing {
            field: "time".to_owned(),
            needed: "times of a calendar, for totals of calendar periods".to_owned(),
        });
    };
    // a clock of no zone is its own universal time
    let zone = zone.map_or(Ok(TimeZone::UTC), time_zone::named)?;
    let date = |time: i64| Some(time_zone::moment(time)?.to_zoned(zone.clone()).date());
    let outside = || Error::Missing {
        field: "time".to_owned(),
        needed: "times of the calendar".to_owned(),
    };
    let mut day = period.first_day(date(from).ok_or_else(outside)?);
    let midnight = |day: Date| -> Option<i64> {
        let zoned: Zoned = day.to_zoned(zone.clone()).ok()?;
        i64::try_from(zoned.timestamp().as_nanosecond()).ok()
    };
    let after_first =
        |time: i64| (i128::from(time) - i128::from(from)) as f64 / 1e9 + (seconds[first] - lead);
    let mut found = Vec::new();
    while found.len() < MOST_PERIODS {
        let next = period.next(day).ok_or_else(outside)?;
        let limits = midnight(day).zip(midnight(next)).ok_or_else(outside)?;
        if limits.0 > to {
            return Ok(found);
        }
        found.push(Limits {
            label: period.label(day),
            range: after_first(limits.0)..after_first(limits.1),
        });
        day = next;
    }
    Err(Error::Length {
        field: "period".to_owned(),
        found: found.len() + 1,
        allowed: format!("{MOST_PERIODS} periods at most"),
    })
}

/// What rows add to a period: weights in s of the rows used from a place on.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Share {
    pub(super) start: usize,
    pub(super) weights: Vec<f64>,
}

impl Share {
    fn add(&mut self, place: usize, weight: f64) {
        if weight == 0.0 {
            return;
        }
        if self.weights.is_empty() {
            self.start = place;
        }
        self.weights.resize(place + 1 - self.start, 0.0);
        self.weights[place - self.start] += weight;
    }

    pub(super) fn duration(&self) -> f64 {
        self.weights.iter().sum()
    }

    /// The weights of the rows at `places`, where there are any but zeros.
    pub(super) fn at(&self, places: Range<usize>) -> Option<Vec<f64>> {
        let own = self.start..self.start + self.weights.len();
        let meet = own.start.max(places.start)..own.end.min(places.end);
        if meet.is_empty() {
            return None;
        }
        let mut weights = vec![0.0; places.len()];
        weights[meet.start - places.start..meet.end - places.start]
            .copy_from_slice(&self.weights[meet.start - own.start..meet.end - own.start]);
        Some(weights)
    }
}

/// The shares of the periods in the time that the `rows`, some of those `used`, stand for: as the
/// weights of the total, parted where a period ends.
pub(super) fn shares(
    limits: &[Limits],
    timing: &Timing<'_>,
    rows: &[usize],
    used: &[usize],
) -> Vec<Share> {
    if limits.is_empty() {
        return Vec::new();
    }
    let Timing {
        seconds,
        usual_step,
        options,
        ..
    } = *timing;
    // places of the rows among those used
    let mut next = 0;
    let place = |row: &usize| {
        while used[next] != *row {
            next += 1;
        }
        next
    };
    let places: Vec<usize> = rows.iter().map(place).collect();
    let mut shares = vec![Share::default(); limits.len()];
    let mut first = 0;
    // adds the time from a row on, in which the flow goes to that of the next row or holds
    let mut add = |i: usize, from: f64, covered: f64, step: f64, straight: bool| {
        while limits.get(first).is_some_and(|l| l.range.end <= from) {
            first += 1;
        }
        for (share, own) in shares.iter_mut().zip(limits).skip(first) {
            let begin = (own.range.start - from).max(0.0);
            let end = (own.range.end - from).min(covered);
            if begin >= covered {
                break;
            }
            if straight {
                // the integral of a straight line over a part of the step
                let next = 0.5 * (end * end - begin * begin) / step;
                share.add(places[i], (end - begin) - next);
                share.add(places[i + 1], next);
            } else {
                share.add(places[i], end - begin);
            }
        }
    };
    if options.rule == Rule::Since {
        for (i, row) in rows.iter().enumerate() {
            let before = i.checked_sub(1).map(|i| rows[i]);
            let begin = timing.begin(before, *row);
            if let Some(from) = before
                .map(|before| seconds[before])
                .filter(|from| *from < begin)
            {
                let step = begin - from;
                match options.gaps {
                    Gaps::LeaveOut => {}
                    Gaps::Hold => add(i - 1, from, step, step, false),
                    Gaps::Interpolate => add(i - 1, from, step, step, true),
                }
            }
            let own = seconds[*row] - begin;
            add(i, begin, own, own, false);
        }
        return shares;
    }
    for i in 0..rows.len() {
        let from = seconds[rows[i]];
        let Some(next) = rows.get(i + 1) else {
            if options.rule == Rule::Hold {
                add(i, from, usual_step, usual_step, false);
            }
            break;
        };
        let step = seconds[*next] - from;
        let gap = step > options.gap_factor * usual_step;
        match (gap, options.gaps, options.rule) {
            (false, _, Rule::Trapezoid) | (true, Gaps::Interpolate, _) => {
                add(i, from, step, step, true);
            }
            (false, _, Rule::Hold | Rule::Since) | (true, Gaps::Hold, _) => {
                add(i, from, step, step, false);
            }
            (true, Gaps::LeaveOut, Rule::Hold | Rule::Since) => {
                add(i, from, usual_step, usual_step, false);
            }
            (true, Gaps::LeaveOut, Rule::Trapezoid) => {}
        }
    }
    shares
}
