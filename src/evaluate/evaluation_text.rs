//! An evaluation in words.

use super::Evaluation;
use crate::error::Result;
use crate::montecarlo::{Interval, IntervalKind, TrialStatistics, Validation, Verdict};
use crate::uncertainty::{counted, dof_in_words, grouped, plain, rounded, rounded_pair};
use std::fmt::Write as _;

/// What everybody who uses a result must know.
pub const CAUTIONS: &str = "\
No evidence for custody transfer or for a safety function without review by licensed practice.
Hot or pressurised pipe, hazardous areas, work at height and mains supply: local codes and the
permit of the site decide.";

impl Evaluation {
    /// The volume flow with its expanded uncertainty, in one line.
    ///
    /// # Errors
    /// As [`Evaluation::expanded`].
    pub fn headline(&self) -> Result<String> {
        let expanded = self.expanded()?;
        let unit = &self.budget.output.unit;
        let (estimate, u) = rounded_pair(
            unit.from_si(self.estimate()),
            unit.difference_from_si(expanded.expanded_uncertainty),
        );
        Ok(format!(
            "volume flow ({estimate} +/- {u}) {symbol}, coverage probability {p} %, \
             coverage factor {k:.2}, {dof} effective degrees of freedom",
            symbol = unit.symbol,
            p = plain(100.0 * expanded.coverage_probability),
            k = expanded.coverage_factor,
            dof = dof_in_words(expanded.dof),
        ))
    }

    /// The result in one line: by first order where trials have validated it, else by Monte Carlo.
    ///
    /// # Errors
    /// As [`Evaluation::headline`] and [`Evaluation::validation`].
    pub fn headline_with(&self, trials: &dyn TrialStatistics, digits: u32) -> Result<String> {
        let p = self.site.coverage_probability;
        self.headline_by(trials, &self.validation(trials, p, digits)?)
    }

    /// The result in one line, with a comparison that was made.
    fn headline_by(&self, trials: &dyn TrialStatistics, validation: &Validation) -> Result<String> {
        let p = self.site.coverage_probability;
        let reason = match validation.verdict {
            Verdict::Validated => return self.headline(),
            Verdict::NotValidated => "first order is not validated",
            Verdict::Undecided => "it is undecided whether first order is validated",
        };
        let unit = &self.budget.output.unit;
        // one digit more than the uncertainty, so that the ends can be told apart
        let place = unit.difference_from_si(trials.standard_uncertainty()) / 10.0;
        let shown = |v: f64| rounded_pair(unit.from_si(v), place).0;
        let interval = trials.interval(p, IntervalKind::Symmetric)?;
        Ok(format!(
            "volume flow {mean} {s}, {p} % coverage interval [{low}, {high}] {s}, by Monte Carlo, since \
             {reason} (JCGM 101:2008, clause 8)",
            mean = shown(trials.mean()),
            s = unit.symbol,
            p = plain(100.0 * p),
            low = shown(interval.low),
            high = shown(interval.high),
        ))
    }

    /// Site, result, budget and the steps that led there, as text for a terminal.
    ///
    /// # Errors
    /// As [`Evaluation::expanded`].
    pub fn in_words(&self) -> Result<String> {
        self.in_words_under(&self.headline()?)
    }

    /// As [`Evaluation::in_words`], with Monte Carlo and its comparison with first order.
    ///
    /// # Errors
    /// As [`Evaluation::headline_with`].
    pub fn in_words_with(&self, trials: &dyn TrialStatistics, digits: u32) -> Result<String> {
        let p = self.site.coverage_probability;
        let validation = self.validation(trials, p, digits)?;
        let first_order = self.headline()?;
        let headline = if validation.validated {
            first_order
        } else {
            let headline = self.headline_by(trials, &validation)?;
            format!("{headline}\nfirst order: {first_order}")
        };
        let text = self.in_words_under(&headline)?;
        Ok(format!(
            "{text}\n{}",
            self.compared_in_words(trials, &validation)?
        ))
    }

    fn in_words_under(&self, headline: &str) -> Result<String> {
        let relative = match 100.0 * self.budget.relative_standard_uncertainty() {
            relative if relative.is_finite() => format!("{relative:.2} %"),
            _ => "not defined at no flow".to_owned(),
        };
        let steps = &self.steps;
        let mut text = format!("{}\n{headline}\n", self.site.name);
        // writing to a String cannot fail
        let _ = writeln!(
            text,
            "relative standard uncertainty {relative}, {}, {} basis",
            counted(self.readings, "reading"),
            self.model.choices().basis.in_words()
        );
        let how_read = self.how_read();
        if !how_read.is_empty() {
            let _ = writeln!(text, "how the readings were read: {}", how_read.join("; "));
        }
        let _ = writeln!(text, "\n{}\n", self.budget);
        let _ = writeln!(
            text,
            "bore {:.2} mm, path velocity {:.4} m/s, mean velocity {:.4} m/s",
            1e3 * steps.inside_diameter,
            steps.path_velocity,
            steps.mean_velocity,
        );
        let _ = writeln!(
            text,
            "{} flow, Reynolds number {}, profile factor {:.4} ({})",
            self.regime().in_words(),
            grouped(steps.reynolds),
            steps.profile_factor,
            self.model.choices().law.in_words(),
        );
        if let Some(placement) = self.placement()? {
            let [in_wall, in_liquid] = steps.angles().map(f64::to_degrees);
            let _ = writeln!(
                text,
                "sound path: {in_wall:.2} deg in the wall, {in_liquid:.2} deg in the liquid, \
                 spacing {:.1} mm, dead time {:.3} us",
                1e3 * placement.spacing,
                1e6 * steps.dead_time,
            );
            let angle_from = self.model.choices().angle_from.in_words();
            let _ = match placement.relative_sensitivity {
                Some(slope) => writeln!(
                    text,
                    "angle of the ray from the {angle_from}; from the spacing, 1 mm more would \
                     change the flow by {:+.3} %",
                    0.1 * slope,
                ),
                None => writeln!(text, "angle of the ray from the {angle_from}"),
            };
            if let Some(flow) = placement.other_flow
                && self.estimate() != 0.0
            {
                let _ = writeln!(
                    text,
                    "angle of the ray from the {}: flow {:+.2} % different",
                    self.model.choices().angle_from.other().in_words(),
                    100.0 * (flow / self.estimate() - 1.0),
                );
            }
        }
        if let Ok(check) = self.sound_speed_check() {
            let _ = writeln!(text, "{}", check.in_one_line());
        }
        for check in self.programmed_check()? {
            let _ = writeln!(text, "{}", check.in_words());
        }
        for advice in self.mounting_advice() {
            let _ = writeln!(text, "mounting (common practice): {advice}");
        }
        for warning in self.warnings() {
            let _ = writeln!(text, "warning ({}): {}", warning.code, warning.words);
        }
        Ok(text)
    }

    /// Monte Carlo and its comparison with first order, as text for a terminal.
    ///
    /// # Errors
    /// As [`Evaluation::validation`].
    pub fn trials_in_words(&self, trials: &dyn TrialStatistics, digits: u32) -> Result<String> {
        let p = self.site.coverage_probability;
        self.compared_in_words(trials, &self.validation(trials, p, digits)?)
    }

    fn compared_in_words(
        &self,
        trials: &dyn TrialStatistics,
        validation: &Validation,
    ) -> Result<String> {
        let p = self.site.coverage_probability;
        let unit = &self.budget.output.unit;
        let symmetric = trials.interval(p, IntervalKind::Symmetric)?;
        let shortest = trials.interval(p, IntervalKind::Shortest)?;
        let (mean, u) = rounded_pair(
            unit.from_si(trials.mean()),
            unit.difference_from_si(trials.standard_uncertainty()),
        );
        // one digit more than the uncertainty, so that the intervals can be told apart
        let place = unit.difference_from_si(trials.standard_uncertainty()) / 10.0;
        let interval = |i: Interval| {
            let end = |v: f64| rounded_pair(unit.from_si(v), place).0;
            format!("[{}, {}]", end(i.low), end(i.high))
        };
        let difference = |d: f64| rounded(unit.difference_from_si(d), 2);
        Ok(format!(
            "Monte Carlo (JCGM 101), {n} trials, seed {seed}: mean {mean} {s}, \
             standard uncertainty {u} {s}\n\
             {p} % coverage intervals in {s}: symmetric {symmetric}, shortest {shortest}, \
             first order {first_order}\n\
             endpoints{by} differ by {low} and {high} {s}, known to {low_error} and {high_error} {s}, \
             tolerance {delta} {s} ({digits} significant digits): {verdict}",
            n = trials.trials(),
            seed = trials.seed(),
            s = unit.symbol,
            p = plain(100.0 * p),
            symmetric = interval(symmetric),
            by = if validation.by_points {
                format!(" of {} points of low discrepancy", validation.trials)
            } else {
                String::new()
            },
            low_error = difference(validation.low_standard_error),
            high_error = difference(validation.high_standard_error),
            digits = validation.digits,
            shortest = interval(shortest),
            first_order = interval(validation.first_order),
            low = difference(validation.low_difference),
            high = difference(validation.high_difference),
            delta = plain(unit.difference_from_si(validation.tolerance)),
            verdict = validation.verdict_in_words(),
        ))
    }
}
