//! Checks in words.

use super::{InterchangedZero, ProgrammedCheck, SoundSpeedCheck, ZeroCheck};
use crate::uncertainty::{dof_in_words, plain, rounded, rounded_pair};
use std::fmt::Write as _;

/// Causes that are worth naming: those that would have to be off by the fewest uncertainties.
const NAMED_CAUSES: usize = 3;

/// A difference in standard uncertainties, in words.
fn in_uncertainties(standardised: f64) -> String {
    if standardised.is_finite() {
        format!("{standardised:+.1} standard uncertainties")
    } else {
        "both sides stated as exact".to_owned()
    }
}

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
             {difference} m/s with standard uncertainty {u} m/s ({}): {}",
            self.measured,
            self.expected,
            in_uncertainties(self.standardised()),
            judged(self.agrees()),
        )
    }

    /// The most plausible causes, one in a line.
    pub fn causes_in_words(&self) -> String {
        let mut text = String::new();
        for cause in self.causes.iter().take(NAMED_CAUSES) {
            let uncertainty = if cause.standard_uncertainties.is_finite() {
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
                "  {}: {} would have to be {shift} different ({uncertainty})",
                cause.quantity, cause.words,
            );
        }
        text + self.causes_without_number()
    }

    /// Causes that no input stands for; common practice, no source.
    fn causes_without_number(&self) -> &'static str {
        match (self.agrees(), self.measured < self.expected) {
            (true, _) => "",
            (false, true) => {
                "  gas in the liquid: bubbles lower its sound speed, and the signal comes and goes; \
                 vent, raise the pressure, measure elsewhere (common practice)\n  a pipe that does \
                 not run full: a path through its top is lost or comes as an echo from the surface; \
                 put the sensors on the sides, at the lowest place of the line (common practice)\n"
            }
            (false, false) => {
                "  a pipe that does not run full: a path through its top is lost or comes as an echo \
                 from the surface; put the sensors on the sides, at the lowest place of the line \
                 (common practice)\n"
            }
        }
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
    /// The check in one line.
    pub fn in_words(&self) -> String {
        let unit = self.unit();
        let shown = |si: f64| unit.difference_from_si(si);
        let worth = if self.effective_readings < self.readings as f64 {
            let effective = rounded(self.effective_readings, 2);
            format!(" (worth {effective} independent ones)")
        } else {
            String::new()
        };
        let (found, found_u) = rounded_pair(shown(self.found), shown(self.found_uncertainty));
        format!(
            "zero from {} readings at no flow{worth}: {found} {unit} with standard uncertainty \
             {found_u} {unit}; stated {} {unit} with {} {unit}; difference {}, of \
             which {:.1} are allowed: {}; putting it right would change the flow \
             by {}",
            self.readings,
            plain(shown(self.stated)),
            plain(shown(self.stated_uncertainty)),
            in_uncertainties(self.standardised()),
            self.coverage_factor,
            judged(self.agrees()),
            self.flow_unit
                .after(&rounded(self.flow_unit.difference_from_si(self.flow), 2)),
            unit = unit.symbol,
        )
    }
}

impl InterchangedZero {
    /// The zero in one line, as it may be stated in the site file.
    pub fn in_words(&self) -> String {
        let unit = self.unit();
        let shown = |si: f64| unit.difference_from_si(si);
        let (zero, u) = rounded_pair(shown(self.zero), shown(self.standard_uncertainty));
        let (change, own) = rounded_pair(shown(self.change), shown(self.change_uncertainty));
        format!(
            "zero {zero} {unit} with standard uncertainty {u} {unit} and {} degrees of freedom from \
             runs with interchanged sensors at a reading of {} {unit}; from the first to the last \
             run the reading changed by {change} {unit} (standard uncertainty {own} {unit}, {:.1} of \
             them allowed): the flow {}",
            dof_in_words(self.dof),
            rounded(shown(self.reading_of_flow), 4),
            self.coverage_factor,
            if self.steady() {
                "stood still"
            } else {
                "did not stand still; repeat the runs"
            },
            unit = unit.symbol,
        )
    }
}

impl ProgrammedCheck {
    /// The check in one line.
    pub fn in_words(&self) -> String {
        let relative = match 100.0 * self.relative_difference() {
            relative if relative.is_finite() => format!("{relative:+.2} %, "),
            _ => String::new(),
        };
        format!(
            "{}: programmed {} {unit}, surveyed {} {unit} ({relative}{})",
            self.parameter,
            plain(self.programmed),
            plain(self.surveyed),
            in_uncertainties(self.standardised),
            unit = self.unit,
        )
    }
}
