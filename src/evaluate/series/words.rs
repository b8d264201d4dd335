//! A series in words.

use super::{Reason, Rejected, Series};
use crate::error::Result;
use crate::uncertainty::{dof_in_words, plain, rounded, rounded_pair};
use std::fmt::{self, Display, Formatter, Write as _};

/// Gaps that the text lists, the longest first, and rejected rows of each kind; all are in the result.
const GAPS_LISTED: usize = 10;
const ROWS_LISTED: usize = 3;

impl Display for Reason {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Reason::NoTime => f.write_str("its time is missing or cannot be read"),
            Reason::NotANumber(channel) => write!(f, "{} is missing or no number", channel.name()),
            Reason::Duplicate => f.write_str("a row with the same time is used"),
            Reason::OutOfOrder => {
                f.write_str("its time does not fit between those of the rows before and after")
            }
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

    /// How many rows were used and what became of the others, one sentence each.
    pub fn findings(&self) -> Vec<String> {
        let counts = &self.counts;
        let mut found = vec![format!(
            "{} of {} rows used, usual step {}, rule {}",
            counts.used,
            counts.rows,
            duration(self.usual_step),
            self.options.rule.name()
        )];
        for (count, words) in [
            (counts.no_time, "rows without a time"),
            (counts.not_a_number, "rows with a reading missing"),
            (counts.duplicate, "rows with the time of another one"),
            (counts.out_of_order, "rows whose time is out of order"),
            (counts.outside_model, "rows outside the model"),
        ] {
            if count > 0 {
                found.push(format!("{count} {words}, not used"));
            }
        }
        if counts.resets > 0 {
            let times = if counts.resets == 1 {
                "once"
            } else {
                "several times"
            };
            found.push(format!("time goes back {times} ({})", counts.resets));
        }
        if counts.gaps > 0 {
            let filled = match self.filled_volume() {
                0.0 => "not in the total".to_owned(),
                volume => {
                    let unit = &self.total.output.unit;
                    format!(
                        "filled (gaps = \"{}\") with {} {}, whose doubt is not in the budget",
                        self.options.gaps.name(),
                        rounded(unit.from_si(volume), 3),
                        unit.symbol
                    )
                }
            };
            let time = duration(self.gap_duration());
            found.push(format!("{} gaps of {time} in all, {filled}", counts.gaps));
        }
        for (count, words) in [
            (counts.laminar, "laminar flow"),
            (counts.transition, "flow between laminar and turbulent"),
        ] {
            if count > 0 {
                found.push(format!("{count} rows of {words}"));
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
