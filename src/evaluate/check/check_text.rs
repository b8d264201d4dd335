//! Checks in words.

use super::{InterchangedZero, ProgrammedCheck, SoundSpeedCheck, ZeroCheck};
use crate::message::{Message, Told, message};
use crate::uncertainty::{dof_in_words, plain, rounded, rounded_pair};

/// Causes that are worth naming: those that would have to be off by the fewest uncertainties.
const NAMED_CAUSES: usize = 3;

/// A difference in standard uncertainties, in words.
fn in_uncertainties(standardised: f64) -> Message {
    if standardised.is_finite() {
        message!(
            "checks.in_uncertainties",
            "{number} standard uncertainties",
            number = format!("{standardised:+.1}"),
        )
    } else {
        message!("checks.both_exact", "both sides stated as exact")
    }
}

fn judged(agrees: bool) -> &'static str {
    if agrees { "agrees" } else { "does not agree" }
}

impl SoundSpeedCheck {
    /// Measured and expected sound speed in one line.
    pub fn in_one_line(&self) -> String {
        self.told().words()
    }

    /// As [`SoundSpeedCheck::in_one_line`], to be said in any language.
    pub fn told(&self) -> Message {
        let (difference, u) = rounded_pair(
            self.difference.estimate,
            self.difference.standard_uncertainty,
        );
        let to_place = |speed: f64| match self.difference.standard_uncertainty {
            0.0 => rounded(speed, 6),
            u => rounded_pair(speed, u).0,
        };
        message!(
            "checks.sound_speed",
            "sound speed of the liquid: measured {measured}, expected {expected}, difference \
             {difference} with standard uncertainty {u} ({standardised}): {judged}",
            measured = format!("{} m/s", to_place(self.measured)),
            expected = format!("{} m/s", to_place(self.expected)),
            difference = format!("{difference} m/s"),
            u = format!("{u} m/s"),
            standardised = in_uncertainties(self.standardised()),
            judged = judged(self.agrees()),
        )
    }

    /// The most plausible causes, one in a line.
    pub fn causes_in_words(&self) -> String {
        let told = self.causes_told();
        let lines = told.iter().map(|cause| format!("  {}\n", cause.words()));
        lines.collect()
    }

    /// As [`SoundSpeedCheck::causes_in_words`], to be said in any language.
    pub fn causes_told(&self) -> Vec<Message> {
        let named = self.causes.iter().take(NAMED_CAUSES).map(|cause| {
            let uncertainty = if cause.standard_uncertainties.is_finite() {
                message!(
                    "checks.in_uncertainties",
                    "{number} standard uncertainties",
                    number = format!("{:.1}", cause.standard_uncertainties),
                )
            } else {
                message!("checks.exact", "stated as exact")
            };
            // a shift far below its uncertainty is none
            let u = (cause.shift / cause.standard_uncertainties).abs();
            let shift = match u.is_finite() && u > 0.0 {
                true if cause.standard_uncertainties < 1.0 => rounded_pair(cause.shift, u).0,
                _ => rounded(cause.shift, 2),
            };
            let shift = match cause.unit.as_str() {
                "1" => shift,
                unit => format!("{shift} {unit}"),
            };
            message!(
                "checks.cause",
                "{input}: {words} would have to be {shift} different ({uncertainty})",
                input = Told::Theirs(cause.quantity.clone()),
                words = cause.words,
                shift = shift,
                uncertainty = uncertainty,
            )
        });
        named.chain(self.causes_without_number()).collect()
    }

    /// Causes that no input stands for; common practice, no source.
    fn causes_without_number(&self) -> Vec<Message> {
        let mut causes = Vec::new();
        if self.agrees() {
            return causes;
        }
        if self.measured < self.expected {
            causes.push(message!(
                "checks.cause_gas",
                "gas in the liquid: bubbles lower its sound speed, and the signal comes and goes; \
                 vent, raise the pressure, measure elsewhere (common practice)"
            ));
        }
        causes.push(message!(
            "checks.cause_not_full",
            "a pipe that does not run full: a path through its top is lost or comes as an echo \
             from the surface; put the sensors on the sides, at the lowest place of the line \
             (common practice)"
        ));
        causes
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
        self.told().words()
    }

    /// As [`ZeroCheck::in_words`], to be said in any language.
    pub fn told(&self) -> Message {
        let unit = self.unit();
        let shown = |si: f64| unit.difference_from_si(si);
        let worth = if self.effective_readings < self.readings as f64 {
            message!(
                "checks.worth",
                " (worth {effective} independent ones)",
                effective = rounded(self.effective_readings, 2),
            )
            .into()
        } else {
            Told::Number(String::new())
        };
        let (found, found_u) = rounded_pair(shown(self.found), shown(self.found_uncertainty));
        let with_unit = |number: String| format!("{number} {}", unit.symbol);
        message!(
            "checks.zero",
            "zero from {readings} readings at no flow{worth}: {found} with standard uncertainty \
             {found_u}; stated {stated} with {stated_u}; difference {difference}, of which {allowed} \
             are allowed: {judged}; putting it right would change the flow by {change}",
            readings = self.readings.to_string(),
            worth = worth,
            found = with_unit(found),
            found_u = with_unit(found_u),
            stated = with_unit(plain(shown(self.stated))),
            stated_u = with_unit(plain(shown(self.stated_uncertainty))),
            difference = in_uncertainties(self.standardised()),
            allowed = format!("{:.1}", self.coverage_factor),
            judged = judged(self.agrees()),
            change = self
                .flow_unit
                .after(&rounded(self.flow_unit.difference_from_si(self.flow), 2)),
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
            in_uncertainties(self.standardised).words(),
            unit = self.unit,
        )
    }
}
