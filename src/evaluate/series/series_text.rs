//! A series in words.

use super::{PeriodTotal, Reason, Rejected, Series};
use crate::error::{Result, shortened};
use crate::uncertainty::{counted, dof_in_words, plain, rounded, rounded_pair};
use std::collections::BTreeMap;
use std::fmt::{self, Display, Formatter, Write as _};

/// Gaps that the text lists, the longest first, and rejected rows of each kind; all are in the result.
const GAPS_LISTED: usize = 10;
const ROWS_LISTED: usize = 3;

/// States of rows that the text counts one by one.
const STATES_LISTED: usize = 12;

impl Display for Reason {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Reason::NoTime => f.write_str("its time is missing or cannot be read"),
            Reason::NotANumber(channel) => write!(f, "{} is missing or no number", channel.name()),
            Reason::Duplicate => f.write_str("a row with the same time is used"),
            Reason::OutOfOrder => {
                f.write_str("its time does not fit between those of the rows before and after")
            }
            Reason::Status(status) => write!(f, "its status is `{status}`"),
            Reason::Signal => f.write_str("its signal is missing or below the least asked for"),
            Reason::ErrorCode(channel, code) => {
                let code = plain(*code);
                write!(
                    f,
                    "{} is {code}, a code of the logger for an error",
                    channel.name()
                )
            }
            Reason::Inconceivable(channel) => {
                write!(f, "{} is beyond what any meter reads", channel.name())
            }
            Reason::Spike(channel) => {
                write!(f, "{} stands out of the rows about it", channel.name())
            }
            Reason::CurrentFault(current) => write!(
                f,
                "a current of {} mA tells a fault of the meter or of the loop",
                rounded(1e3 * current, 3)
            ),
            Reason::CounterStart => {
                f.write_str("a counter begins with it, so that it tells no flow of its own")
            }
            Reason::CounterReset => {
                f.write_str("the counter went back and not through its end: it was reset")
            }
            Reason::SkippedPeriod(periods) => write!(
                f,
                "its time difference jumped by {periods:+} periods of the carrier: the meter compared \
                 different waves"
            ),
            Reason::Velocity(velocity) => {
                write!(f, "a mean velocity of {} m/s", rounded(*velocity, 2))
            }
            Reason::SoundSpeed(difference) => write!(
                f,
                "its transit time would need a sound speed {} % off the expected one",
                rounded(100.0 * difference, 2)
            ),
            Reason::OutsideModel(error) => error.fmt(f),
        }
    }
}

/// A time in the unit in which it is easily read.
fn duration(seconds: f64) -> String {
    let (unit, size) = match seconds {
        s if s >= 172_800.0 => ("d", 86_400.0),
        s if s >= 7200.0 => ("h", 3600.0),
        s if s >= 120.0 => ("min", 60.0),
        _ => ("s", 1.0),
    };
    format!("{} {unit}", plain(seconds / size))
}

impl Series {
    /// The total volume with its expanded uncertainty, in one line.
    ///
    /// # Errors
    /// As [`Series::expanded`].
    pub fn headline(&self) -> Result<String> {
        let expanded = self.expanded()?;
        let unit = &self.total.output.unit;
        let (estimate, u) = rounded_pair(
            unit.from_si(self.total.estimate),
            unit.difference_from_si(expanded.expanded_uncertainty),
        );
        Ok(format!(
            "total volume ({estimate} +/- {u}) {symbol} in {time}, coverage probability {p} %, \
             coverage factor {k:.2}, {dof} effective degrees of freedom",
            symbol = unit.symbol,
            time = duration(self.duration),
            p = plain(100.0 * expanded.coverage_probability),
            k = expanded.coverage_factor,
            dof = dof_in_words(expanded.dof),
        ))
    }

    /// The total of a period with its expanded uncertainty, in one line.
    fn period_in_words(&self, period: &PeriodTotal) -> Result<String> {
        let expanded = period.total.expanded(self.site.coverage_probability)?;
        let unit = &period.total.output.unit;
        let (estimate, u) = rounded_pair(
            unit.from_si(period.total.estimate),
            unit.difference_from_si(expanded.expanded_uncertainty),
        );
        Ok(format!(
            "{}: ({estimate} +/- {u}) {}, {} % of the time covered",
            period.label,
            unit.symbol,
            rounded(100.0 * period.availability(), 3),
        ))
    }

    /// How the file of the log was read, one sentence each; nothing of one in the plain form.
    pub fn how_read(&self) -> Vec<String> {
        self.format.in_words()
    }

    /// The rows whose status was not asked for, by status.
    fn by_status(&self) -> Option<String> {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for rejected in &self.rejected {
            if let Reason::Status(status) = &rejected.reason {
                *counts.entry(status).or_default() += 1;
            }
        }
        let mut counts: Vec<_> = counts.into_iter().collect();
        counts.sort_by_key(|(_, rows)| std::cmp::Reverse(*rows));
        let more = counts.len().saturating_sub(STATES_LISTED);
        let listed = counts.iter().take(STATES_LISTED);
        let listed = listed.map(|(status, rows)| format!("{rows} of `{}`", shortened(status)));
        let mut words = listed.collect::<Vec<_>>().join(", ");
        if more > 0 {
            words += &format!(" and {more} more");
        }
        (!counts.is_empty()).then(|| format!("rows by status, not used: {words}"))
    }

    /// How many rows were used and what became of the others, one sentence each.
    pub fn findings(&self) -> Vec<String> {
        let counts = &self.counts;
        let mut found = vec![format!(
            "{} of {} used, usual step {}, rule {}",
            counts.used,
            counted(counts.rows, "row"),
            duration(self.usual_step),
            self.options.rule.name()
        )];
        for (count, words) in [
            (counts.no_time, "without a time"),
            (counts.not_a_number, "with a reading missing"),
            (counts.duplicate, "with the time of another one"),
            (counts.out_of_order, "whose time is out of order"),
            (counts.status, "whose status was not asked for"),
            (counts.signal, "whose signal is too weak"),
            (counts.error_code, "with a code for an error"),
            (counts.inconceivable, "with a reading beyond any meter"),
            (counts.spike, "with a spike"),
            (counts.current_fault, "with a current that tells a fault"),
            (counts.counter_start, "with which a counter begins"),
            (counts.counter_reset, "in which a counter had been reset"),
            (counts.skipped_period, "off by whole periods of the carrier"),
            (counts.velocity, "with a velocity beyond the limit"),
            (counts.sound_speed, "with a sound speed beyond the limits"),
            (counts.outside_model, "outside the model"),
        ] {
            if count > 0 {
                found.push(format!("{} {words}, not used", counted(count, "row")));
            }
        }
        found.extend(self.by_status());
        if counts.resets > 0 {
            let times = if counts.resets == 1 {
                "once"
            } else {
                "several times"
            };
            found.push(format!("time goes back {times} ({})", counts.resets));
        }
        if let Some(clock) = &self.clock {
            for (rows, words) in [
                (&clock.twice, "in an hour that the clock runs through twice"),
                (
                    &clock.skipped,
                    "at times that the clock leaps over in spring",
                ),
            ] {
                if let [first, .., last] = rows[..] {
                    let zone = &clock.zone;
                    let count = counted(rows.len(), "row");
                    found.push(format!("{count} {words} ({zone}), {first} to {last}"));
                }
            }
        }
        if counts.gaps > 0 {
            let filled = match self.filled_volume() {
                0.0 => "not in the total".to_owned(),
                volume => {
                    let unit = &self.total.output.unit;
                    format!(
                        "filled (gaps = \"{}\") with {} {}, whose uncertainty is not in the budget",
                        self.options.gaps.name(),
                        rounded(unit.from_si(volume), 3),
                        unit.symbol
                    )
                }
            };
            let time = duration(self.gap_duration());
            found.push(format!(
                "{} of {time} in all, {filled}",
                counted(counts.gaps, "gap")
            ));
        }
        for (count, words) in [
            (
                counts.below_cut_off,
                "flow below the low-flow cut-off, taken as none",
            ),
            (counts.laminar, "laminar flow"),
            (counts.transition, "flow between laminar and turbulent"),
        ] {
            if count > 0 {
                found.push(format!("{} of {words}", counted(count, "row")));
            }
        }
        found
    }

    /// Site, total, what became of the rows, and budget, as text for a terminal.
    ///
    /// # Errors
    /// As [`Series::expanded`].
    pub fn in_words(&self) -> Result<String> {
        let mut text = format!("{}\n{}\n", self.site.name, self.headline()?);
        // writing to a String cannot fail
        for finding in self.findings() {
            let _ = writeln!(text, "{finding}");
        }
        let how_read = self.how_read();
        if !how_read.is_empty() {
            let _ = writeln!(text, "how the log was read: {}", how_read.join("; "));
        }
        for warning in &self.warnings {
            let _ = writeln!(text, "{}: {}", warning.code, warning.words);
        }
        if let Some(both) = &self.directions {
            for (budget, direction) in both.iter().zip(["forward", "reverse"]) {
                let (volume, u) = budget.result_shown();
                let (volume, u) = rounded_pair(volume, u);
                let unit = &budget.output.unit.symbol;
                let _ = writeln!(
                    text,
                    "{direction} {volume} {unit}, standard uncertainty {u} {unit}"
                );
            }
        }
        for period in &self.periods {
            let _ = writeln!(text, "{}", self.period_in_words(period)?);
        }
        let mut listed = Vec::new();
        for Rejected { row, reason, .. } in &self.rejected {
            listed.push(reason.code());
            let of_kind = listed.iter().filter(|code| **code == reason.code()).count();
            if of_kind > ROWS_LISTED {
                listed.pop();
            } else {
                let _ = writeln!(text, "row {row}: {reason}");
            }
        }
        if let Some(more) = self
            .rejected
            .len()
            .checked_sub(listed.len())
            .filter(|m| *m > 0)
        {
            let _ = writeln!(text, "and {more} more rows");
        }
        let mut gaps: Vec<_> = self.gaps.iter().collect();
        gaps.sort_by(|a, b| b.duration().total_cmp(&a.duration()));
        for gap in gaps.iter().take(GAPS_LISTED) {
            let (from, to) = (gap.from_row, gap.to_row);
            let time = duration(gap.duration());
            let _ = writeln!(text, "gap between rows {from} and {to}: {time}");
        }
        if let Some(more) = gaps.len().checked_sub(GAPS_LISTED).filter(|m| *m > 0) {
            let _ = writeln!(text, "and {more} shorter gaps");
        }
        let _ = write!(text, "\n{}", self.total);
        Ok(text)
    }
}
