//! Checks in words.

use super::{InterchangedZero, ProgrammedCheck, SoundSpeedCheck, ZeroCheck};
use crate::uncertainty::{dof_in_words, plain, rounded, rounded_pair};
use std::fmt::Write as _;

/// Causes that are worth naming: those that would have to be off by the fewest uncertainties.
const NAMED_CAUSES: usize = 3;

fn judged(agrees: bool) -> &'static str {
    if agrees { "agrees" } else { "does not agree" }
}

impl SoundSpeedCheck {
    /// Measured and expected sound speed in one line.
    pub fn in_one_line(&self) -> String {
        let (difference, u) = rounded_pair(
            self.difference.estimate,
            self.difference.standard_uncertainty,
        );
        format!(
            "sound speed of the liquid: measured {:.2} m/s, expected {:.2} m/s, difference \
             {difference} m/s with standard uncertainty {u} m/s ({:+.1} standard uncertainties): {}",
            self.measured,
            self.expected,
            self.standardised(),
            judged(self.agrees()),
        )
    }

    /// The most plausible causes, one in a line.
    pub fn causes_in_words(&self) -> String {
        let mut text = String::new();
        for cause in self.causes.iter().take(NAMED_CAUSES) {
            let doubt = if cause.standard_uncertainties.is_finite() {
                format!("{:.1} standard uncertainties", cause.standard_uncertainties)
            } else {
                "stated as exact".to_owned()
            };
            // writing to a String cannot fail
            let shift = rounded(cause.shift, 2);
            let shift = match cause.unit.as_str() {
                "1" => shift,
                unit => format!("{shift} {unit}"),
            };
            let _ = writeln!(
                text,
                "  {}: {} would have to be {shift} different ({doubt})",
                cause.quantity, cause.words,
            );
        }
        text
    }

    /// The check with its likely causes.
    pub fn in_words(&self) -> String {
        format!(
            "{}\nlikely causes if they differ, the most plausible first:\n{}",
            self.in_one_line(),
            self.causes_in_words()
        )
    }
}

impl ZeroCheck {
    /// The check in one line. The unit is that of a time difference or, on the indicated basis, of
    /// a velocity.
    pub fn in_words(&self) -> String {
        let (unit, factor) = if self.is_velocity {
            ("mm/s", 1e3)
        } else {
            ("ns", 1e9)
        };
        let worth = if self.effective_readings < self.readings as f64 {
            let effective = rounded(self.effective_readings, 2);
            format!(" (worth {effective} independent ones)")
        } else {
            String::new()
        };
        let (found, found_u) = rounded_pair(factor * self.found, factor * self.found_uncertainty);
        format!(
            "zero from {} readings at no flow{worth}: {found} {unit} with standard uncertainty \
             {found_u} {unit}; stated {} {unit} with {} {unit}; difference {:+.1} standard \
             uncertainties, of which {:.1} are allowed: {}; putting it right would change the flow \
             by {} m3/h",
            self.readings,
            plain(factor * self.stated),
            plain(factor * self.stated_uncertainty),
            self.standardised(),
            self.coverage_factor,
            judged(self.agrees()),
            rounded(3600.0 * self.flow, 2),
        )
    }
}

impl InterchangedZero {
    /// The zero in one line, as it may be stated in the site file.
    pub fn in_words(&self) -> String {
        let (unit, factor) = if self.is_velocity {
            ("mm/s", 1e3)
        } else {
            ("ns", 1e9)
        };
        let (zero, u) = rounded_pair(factor * self.zero, factor * self.standard_uncertainty);
        let (change, own) = rounded_pair(factor * self.change, factor * self.change_uncertainty);
        format!(
            "zero {zero} {unit} with standard uncertainty {u} {unit} and {} degrees of freedom from \
             runs with interchanged sensors at a reading of {} {unit}; from the first to the last \
             run the reading changed by {change} {unit} (standard uncertainty {own} {unit}, {:.1} of \
             them allowed): the flow {}",
            dof_in_words(self.dof),
            rounded(factor * self.reading_of_flow, 4),
            self.coverage_factor,
            if self.steady() {
                "stood still"
            } else {
                "did not stand still; repeat the runs"
            },
        )
    }
}

impl ProgrammedCheck {
    /// The check in one line.
    pub fn in_words(&self) -> String {
        format!(
            "{}: programmed {} {unit}, surveyed {} {unit} ({:+.2} %, {:+.1} standard uncertainties)",
            self.parameter,
            plain(self.programmed),
            plain(self.surveyed),
            100.0 * self.relative_difference(),
            self.standardised,
            unit = self.unit,
        )
    }
}
