//! What was found on site, taken over as evidence into the site file.

use super::Commissioned;
use super::entry::unit;
use crate::error::{Error, Result};
use crate::model::Quantity;
use crate::site::{Restated, Site, Stated};
use crate::uncertainty::rounded;
use crate::units::Dimension;

/// A site with what was found in place of what was stated.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct TakenOver {
    /// The site.
    pub site: Site,
    /// What changed in its file.
    pub changes: Vec<Restated>,
}

impl TakenOver {
    /// The changed lines of the site file, each under its section.
    pub fn toml(&self) -> String {
        let lines = self.changes.iter().map(Restated::toml);
        lines.collect::<Vec<_>>().join("\n")
    }
}

impl Commissioned {
    /// The paths in the site file of what was noted and can be taken over: with an uncertainty, and a
    /// zero without flow.
    pub fn offered(&self) -> Vec<String> {
        let own = self
            .statements
            .iter()
            .filter(|(q, stated)| has_uncertainty(stated) && (!is_zero(*q) || self.no_flow()));
        own.map(|(q, _)| q.path().into_owned()).collect()
    }

    /// The site with what was found at these paths of the site file, such as
    /// `meter.zero_time_difference`, in place of what it stated, and the sound-speed check as a remark
    /// at the end of its file. Nothing else changes.
    ///
    /// The evidence says in words when, by whom and for how long it was found. The uncertainty of the
    /// instrument stays where readings are noted without one of their own.
    ///
    /// # Errors
    /// [`Error::UnknownName`] for a path that was not noted; [`Error::Missing`] for a number without
    /// an uncertainty, without name or date, or for a zero of which it is not said that nothing
    /// flowed; what makes the site file contradictory.
    pub fn taken_over(&self, paths: &[impl AsRef<str>]) -> Result<TakenOver> {
        let missing = |field: &str, needed: &str| {
            Err(Error::Missing {
                field: field.to_owned(),
                needed: needed.to_owned(),
            })
        };
        for (field, text) in [
            ("commissioning.by", &self.by),
            ("commissioning.date", &self.date),
        ] {
            if text.trim().is_empty() {
                return missing(field, "who found it and when, to take it over as evidence");
            }
        }
        let mut statements = Vec::new();
        for path in paths {
            let path = path.as_ref();
            let own = self.statements.iter().find(|(q, _)| q.path() == path);
            let Some((q, stated)) = own else {
                let offered = self.offered();
                let offered: Vec<&str> = offered.iter().map(String::as_str).collect();
                return Err(Error::unknown_name("taken over", path, &offered));
            };
            if is_zero(*q) && !self.no_flow() {
                return missing(
                    "zero.no_flow",
                    "true: a zero found while something may flow is none",
                );
            }
            if !has_uncertainty(stated) {
                return missing(
                    path,
                    "an uncertainty: readings, standard_uncertainty, expanded_uncertainty with \
                     coverage_factor, or half_width with shape",
                );
            }
            statements.push((*q, self.with_evidence(*q, stated)?));
        }
        let (site, changes) = self.site.restated(&statements, &self.remark())?;
        Ok(TakenOver { site, changes })
    }

    fn no_flow(&self) -> bool {
        let zero = self.step("zero");
        zero.is_some_and(|step| step.answers.contains(&"no_flow"))
    }

    /// A statement as the site file has it, with its evidence in words.
    fn with_evidence(&self, q: Quantity, stated: &Stated) -> Result<Stated> {
        let mut stated = stated.clone();
        let readings = stated.readings.is_some() || stated.grid.is_some();
        if readings && stated.instrument.is_none() {
            stated.instrument = self.site.stated_as(q)?.and_then(|before| before.instrument);
        }
        let mut words = Vec::new();
        if !stated.uncertainty.evidence.is_empty() {
            words.push(std::mem::take(&mut stated.uncertainty.evidence));
        }
        words.push(format!("commissioning, {}, by {}", self.date, self.by));
        if is_zero(q) {
            words.push("no flow".to_owned());
            let duration = self.step("zero").and_then(|step| step.duration);
            if let Some(seconds) = duration {
                let minutes = unit("min", Dimension::Time);
                words.push(format!(
                    "for {}",
                    minutes.after(&rounded(minutes.from_si(seconds), 3))
                ));
            }
        }
        stated.uncertainty.evidence = words.join("; ");
        Ok(stated)
    }

    /// The sound-speed check as a remark.
    fn remark(&self) -> String {
        let check = self.sound_speed.as_ref();
        check.map_or_else(String::new, |check| {
            format!(
                "commissioning, {}, by {}: {}",
                self.date,
                self.by,
                check.in_one_line()
            )
        })
    }
}

fn is_zero(q: Quantity) -> bool {
    matches!(q, Quantity::ZeroTimeDifference | Quantity::ZeroVelocity)
}

fn has_uncertainty(stated: &Stated) -> bool {
    let own = &stated.uncertainty;
    stated.readings.is_some()
        || stated.grid.is_some()
        || own.standard_uncertainty.is_some()
        || own.expanded_uncertainty.is_some()
        || own.half_width.is_some()
}
