//! Checks in words.

use super::{ProgrammedCheck, SoundSpeedCheck, ZeroCheck};
use crate::uncertainty::{plain, rounded, rounded_pair};
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
        let (found, found_u) = rounded_pair(factor * self.found, factor * self.found_uncertainty);
        format!(
            "zero from {} readings at no flow: {found} {unit} with standard uncertainty {found_u} \
             {unit}; stated {} {unit} with {} {unit}; difference {:+.1} standard uncertainties: {}; \
             putting it right would change the flow by {} m3/h",
            self.readings,
            plain(factor * self.stated),
            plain(factor * self.stated_uncertainty),
            self.standardised(),
            judged(self.agrees()),
            rounded(3600.0 * self.flow, 2),
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
