//! From the sections of a verification file to a verification, with the line of whatever is wrong.

use super::file::{
    Entry, MeterPlace, PriorSection, ReferenceKind, Rule, RunSection, Start, VerificationFile,
};
use super::judgement::{Judgement, limits};
use super::quantity::ReferenceQuantity;
use super::question::{Indicated, Question};
use super::required_quantities::{Setting, check_range};
use super::verification::{Run, Verification};
use crate::error::{Error, Result};
use crate::evaluate::Readings;
use crate::line_numbers::Lines;
use crate::site::{Stated, StatedCorrelation, Subject, read_stated};
use crate::uncertainty::Distribution;
use crate::uncertainty::union::Own;
use crate::units::{Dimension, difference, quantity};
use std::ops::RangeInclusive;
use std::path::Path;
use std::sync::Arc;
use toml::Spanned;

/// The largest number of runs: nobody's file is to take hours or all memory.
const MOST_RUNS: usize = 200;

/// Turns the sections of a file into a [`Verification`].
pub(super) struct Builder<'a> {
    pub(super) text: &'a str,
    pub(super) lines: Lines,
    /// The name used in errors.
    pub(super) file: &'a Path,
    pub(super) sections: &'a VerificationFile,
    /// Reads a file of readings by its name in the verification file.
    pub(super) read: &'a dyn Fn(&str) -> Result<Readings>,
}

/// A quantity stated for a run, with its inputs and where.
type StatedInputs = (ReferenceQuantity, Vec<Own>);

impl Builder<'_> {
    pub(super) fn build(&self) -> Result<Verification> {
        let f = self.sections;
        let reference = f.reference.get_ref();
        let (question, indicated, question_line) = self.question()?;
        let setting = self.setting()?;
        let count = |field: &str, found: usize, allowed: RangeInclusive<usize>| {
            if allowed.contains(&found) {
                return Ok(());
            }
            let (least, most) = (allowed.start(), allowed.end());
            Err(Error::Length {
                field: field.to_owned(),
                found,
                allowed: format!("{least} to {most} {field}s"),
            })
        };
        count("run", f.run.len(), 1..=MOST_RUNS)?;
        // each has a run
        count("point", f.point.len(), 0..=MOST_RUNS)?;
        let points = self.points()?;
        let shared = self.inputs_of(&setting, &reference.stated(), "reference", None)?;
        let mut runs = Vec::with_capacity(f.run.len());
        for (n, section) in (1..).zip(&f.run) {
            runs.push(self.run(n, section, &setting, &shared)?);
        }
        for (point, section) in points.iter().zip(&f.point) {
            if !runs.iter().any(|run| run.point == *point) {
                let missing = Error::Missing {
                    field: format!("point[{point}]"),
                    needed: "a run that refers to it".to_owned(),
                };
                return Err(self.at(missing, section));
            }
        }
        let lined = runs
            .iter()
            .any(|run| run.has(ReferenceQuantity::LineVolume));
        let meter = match &reference.meter {
            Some(place) => *place.get_ref(),
            None if lined => {
                let missing = Error::Missing {
                    field: "reference.meter".to_owned(),
                    needed: "\"upstream\" or \"downstream\" of the reference, for the line between"
                        .to_owned(),
                };
                return Err(self.at(missing, &f.reference));
            }
            None => MeterPlace::Upstream,
        };
        let own = &f.verification;
        let repeatability = own.repeatability.as_ref();
        Ok(Verification {
            name: own.name.clone(),
            note: own.note.clone(),
            reference_name: reference.name.clone(),
            question,
            indicated,
            question_line,
            setting,
            meter,
            repeatability: repeatability.map(|r| *r.get_ref()).unwrap_or_default(),
            judgement: self.judgement(question)?,
            points: self.points_in_order(points),
            runs,
            curves: self.curves()?,
            correlations: self.correlations()?,
            file: self.file.to_owned(),
            text: Arc::from(self.text),
        })
    }

    /// Places an error at the line of the value that caused it.
    pub(super) fn at<T>(&self, error: Error, value: &Spanned<T>) -> Error {
        error.in_file(self.file, self.lines.at(value.span().start))
    }

    /// The question, what is compared with the reference value, and the line of either.
    fn question(&self) -> Result<(Question, Indicated, usize)> {
        let own = &self.sections.verification;
        let missing = |key: &str, needed: String| {
            let field = format!("verification.{key}");
            Error::Missing { field, needed }.in_file(self.file, 1)
        };
        let Some(question) = &own.question else {
            let each = Question::ALL.map(|question| format!("\"{}\"", question.in_words()));
            let [installed, meter, agreement] = each;
            let needed = format!(
                "{installed} (indicated less reference value, valid for this mounting), {meter} (for \
                 use elsewhere; bore, profile and mounting of the test pipe count) or {agreement} (of \
                 two results with their whole budgets)"
            );
            return Err(missing("question", needed));
        };
        let line = self.lines.at(question.span().start);
        let question = *question.get_ref();
        let (shown, computed) = (Indicated::Shown.in_words(), Indicated::Computed.in_words());
        match (&own.indicated, question) {
            (None, Question::ErrorAsInstalled) => {
                let needed = format!("\"{shown}\" or \"{computed}\"");
                Err(missing("indicated", needed))
            }
            (Some(at), Question::ErrorOfTheMeter | Question::Agreement)
                if *at.get_ref() == Indicated::Shown =>
            {
                let conflict = Error::Conflict {
                    field: "verification.indicated".to_owned(),
                    found: format!("\"{shown}\" for question = \"{}\"", question.in_words()),
                    allowed: format!(
                        "\"{computed}\": the flow shown contains the bore and the profile factor \
                         that were programmed and has no budget"
                    ),
                };
                Err(self.at(conflict, at))
            }
            (None, _) => Ok((question, Indicated::Computed, line)),
            (Some(at), _) => {
                let line = self.lines.at(at.span().start);
                Ok((question, *at.get_ref(), line))
            }
        }
    }

    fn setting(&self) -> Result<Setting> {
        let section = self.sections.reference.get_ref();
        let kind = *section.kind.get_ref();
        let start = match (&section.start, kind) {
            (Some(start), ReferenceKind::MasterMeter) => {
                let conflict = Error::Conflict {
                    field: "reference.start".to_owned(),
                    found: "a start with a master meter".to_owned(),
                    allowed: "start with a tank only".to_owned(),
                };
                return Err(self.at(conflict, start));
            }
            (None, ReferenceKind::MasterMeter) => None,
            (Some(start), _) => Some(*start.get_ref()),
            (None, _) => {
                let missing = Error::Missing {
                    field: "reference.start".to_owned(),
                    needed: "\"flying\" (with a diverter) or \"standing\"".to_owned(),
                };
                return Err(self.at(missing, &self.sections.reference));
            }
        };
        let timing = section.timing.as_ref().map(|t| *t.get_ref());
        let timing = timing.unwrap_or_default();
        if let (Some(Start::Standing), super::file::Timing::InSeries, Some(at)) =
            (start, timing, &section.timing)
        {
            let conflict = Error::Conflict {
                field: "reference.timing".to_owned(),
                found: "runs in series with a standing start".to_owned(),
                allowed: "simultaneous runs with a standing start".to_owned(),
            };
            return Err(self.at(conflict, at));
        }
        Ok(Setting {
            kind,
            start,
            timing,
        })
    }

    /// The names of the flow points that have a table of their own.
    fn points(&self) -> Result<Vec<String>> {
        let mut names: Vec<String> = Vec::new();
        for section in &self.sections.point {
            let name = &section.get_ref().name;
            if names.contains(name.get_ref()) {
                let conflict = Error::Conflict {
                    field: "point.name".to_owned(),
                    found: format!("two points named \"{}\"", name.get_ref()),
                    allowed: "a name for each point".to_owned(),
                };
                return Err(self.at(conflict, name));
            }
            names.push(name.get_ref().clone());
        }
        Ok(names)
    }

    fn points_in_order(&self, mut names: Vec<String>) -> Vec<String> {
        for run in &self.sections.run {
            let name = run.get_ref().point.get_ref();
            if !names.contains(name) {
                names.push(name.clone());
            }
        }
        names
    }

    fn run(
        &self,
        n: usize,
        section: &Spanned<RunSection>,
        setting: &Setting,
        shared: &[StatedInputs],
    ) -> Result<Run> {
        let run = section.get_ref();
        let point = run.point.get_ref();
        let tables = &self.sections.point;
        let own = tables.iter().find(|p| p.get_ref().name.get_ref() == point);
        if own.is_none() && !tables.is_empty() {
            let names = tables.iter().map(|p| p.get_ref().name.get_ref().as_str());
            let names: Vec<&str> = names.collect();
            let unknown = Error::unknown_name(&format!("run[{n}].point"), point, &names);
            return Err(self.at(unknown, &run.point));
        }
        let mut stated = shared.to_vec();
        if let Some(table) = own {
            let level = format!("point[{point}]");
            let inputs = table.get_ref().stated();
            self.add(
                &mut stated,
                self.inputs_of(setting, &inputs, &level, None)?,
                section,
            )?;
        }
        let inputs = self.inputs_of(setting, &run.stated(), &format!("run[{n}]"), Some(n))?;
        self.add(&mut stated, inputs, section)?;
        let has = |q: ReferenceQuantity| stated.iter().any(|(other, _)| *other == q);
        if let Some((a, b)) = Setting::excluded(&has) {
            let conflict = Error::Conflict {
                field: format!("run[{n}].{}", a.key()),
                found: format!("{} beside {}", a.key(), b.key()),
                allowed: "one of the two".to_owned(),
            };
            return Err(self.at(conflict, section));
        }
        for q in ReferenceQuantity::ALL {
            if !has(*q)
                && let Some(needed) = setting.needs(*q, &has)
            {
                let missing = Error::Missing {
                    field: format!("run[{n}].{}", q.key()),
                    needed: format!("{needed} (in [reference], [[point]] or [[run]])"),
                };
                return Err(self.at(missing, section));
            }
        }
        let readings = (self.read)(run.readings.get_ref()).map_err(|error| match error {
            placed @ Error::InFile { .. } => placed,
            unplaced => self.at(unplaced, &run.readings),
        })?;
        let terms = stated.into_iter();
        Ok(Run {
            number: n,
            point: point.clone(),
            placement: run.placement.clone(),
            note: run.note.clone(),
            readings_file: run.readings.get_ref().clone(),
            readings,
            stated: terms
                .flat_map(|(q, inputs)| inputs.into_iter().map(move |own| (q, own)))
                .collect(),
            line: self.lines.at(section.span().start),
        })
    }

    /// Adds what a lower level states; a quantity is stated on one level only.
    fn add(
        &self,
        stated: &mut Vec<StatedInputs>,
        more: Vec<StatedInputs>,
        section: &Spanned<RunSection>,
    ) -> Result<()> {
        for (q, inputs) in more {
            if let Some((_, above)) = stated.iter().find(|(other, _)| *other == q) {
                let name = |of: &[Own]| of.first().map_or(String::new(), |own| own.name.clone());
                let conflict = Error::Conflict {
                    field: name(&inputs),
                    found: format!("beside {}", name(above)),
                    allowed: "one of [reference], [[point]] and [[run]]".to_owned(),
                };
                return Err(self.at(conflict, section));
            }
            stated.push((q, inputs));
        }
        Ok(())
    }

    /// The inputs that a section states. The correction of an instrument is the same in all runs.
    fn inputs_of(
        &self,
        setting: &Setting,
        entries: &[(ReferenceQuantity, &Entry)],
        level: &str,
        run: Option<usize>,
    ) -> Result<Vec<StatedInputs>> {
        let mut inputs = Vec::new();
        for (q, entry) in entries {
            let Some(entry) = entry else { continue };
            let path = format!("{level}.{}", q.key());
            if let Some(allowed) = setting.no_use_for(*q) {
                let conflict = Error::Conflict {
                    field: path,
                    found: format!("stated for kind = \"{}\"", setting.kind.in_words()),
                    allowed: format!("{} {allowed}", q.key()),
                };
                return Err(self.at(conflict, entry));
            }
            let read = self.read_entry(*q, entry, &path)?;
            self.check_curve(*q, setting, entry, &path)?;
            let repeated = run.is_some() && entry.get_ref().readings.is_some();
            let corrected = format!("reference.{}.instrument", q.key());
            let own = read.into_iter().map(|input| {
                let correction = input.name().ends_with(".instrument");
                Own {
                    name: if correction {
                        corrected.clone()
                    } else {
                        input.name().to_owned()
                    },
                    scatters: repeated && !correction,
                    input,
                }
            });
            inputs.push((*q, own.collect()));
        }
        Ok(inputs)
    }

    fn read_entry(
        &self,
        q: ReferenceQuantity,
        entry: &Spanned<Stated>,
        path: &str,
    ) -> Result<Vec<crate::uncertainty::Input>> {
        let subject = Subject {
            path,
            dimension: q.dimension(),
            component: q.component().in_words(),
            grid: false,
            certificate: q.has_certificate(),
        };
        read_stated(entry.get_ref(), &subject, &|path, si, unit| {
            check_range(q, path, si, unit)
        })
        .map_err(|e| self.at(e, entry))
    }

    fn judgement(&self, question: Question) -> Result<Option<Judgement>> {
        let own = &self.sections.verification;
        let ratio = |text: &Option<Spanned<String>>, key: &str| {
            let field = format!("verification.{key}");
            let read = text.as_ref().map(|text| {
                let read = quantity(text.get_ref(), Dimension::Ratio, &field);
                let read = read.and_then(|q| conceivable(&field, q.si));
                read.map_err(|e| self.at(e, text))
            });
            read.transpose()
        };
        let both = ratio(&own.permissible_error, "permissible_error")?;
        let lower = ratio(&own.lower_limit, "lower_limit")?;
        let upper = ratio(&own.upper_limit, "upper_limit")?;
        let first = [&own.permissible_error, &own.lower_limit, &own.upper_limit];
        let first = first.into_iter().flatten().next();
        let place = |error: Error| match first {
            Some(at) => self.at(error, at),
            None => error,
        };
        if let Some(largest) = both {
            let (field, allowed) = ("verification.permissible_error", "above 0, to 1000 %");
            Error::range(largest > 0.0, field, 100.0 * largest, "%", allowed).map_err(place)?;
        }
        let Some(limits) = limits(both, lower, upper).map_err(place)? else {
            let without_effect = |key: &str| Error::Conflict {
                field: format!("verification.{key}"),
                found: "stated without permissible errors, so that it would have no effect"
                    .to_owned(),
                allowed: "with permissible_error, lower_limit or upper_limit".to_owned(),
            };
            return match (
                &own.rule,
                &own.probability,
                &own.prior,
                &own.uncertainty_at_most,
            ) {
                (Some(at), _, _, _) => Err(self.at(without_effect("rule"), at)),
                (_, Some(at), _, _) => Err(self.at(without_effect("probability"), at)),
                (_, _, Some(at), _) => Err(self.at(without_effect("prior"), at)),
                (_, _, _, Some(at)) => Err(self.at(without_effect("uncertainty_at_most"), at)),
                _ => Ok(None),
            };
        };
        if question == Question::Agreement {
            return Err(place(Error::Conflict {
                field: "verification.permissible_error".to_owned(),
                found: "permissible errors where the agreement of two results is asked".to_owned(),
                allowed: format!(
                    "permissible errors with question = \"{}\" or \"{}\"",
                    Question::ErrorAsInstalled.in_words(),
                    Question::ErrorOfTheMeter.in_words()
                ),
            }));
        }
        let rule = own.rule.as_ref().map(|r| *r.get_ref()).unwrap_or_default();
        if let Some(at) = &own.uncertainty_at_most
            && rule != Rule::SimpleAcceptance
        {
            let conflict = Error::Conflict {
                field: "verification.uncertainty_at_most".to_owned(),
                found: format!("stated for {}", rule.in_words()),
                allowed: "with rule = \"simple acceptance\" only: a guard band needs no such limit"
                    .to_owned(),
            };
            return Err(self.at(conflict, at));
        }
        let probability = own.probability.as_ref();
        if let Some(at) = probability {
            let p = *at.get_ref();
            let inside = (0.5..1.0).contains(&p);
            let field = "verification.probability";
            Error::range(inside, field, p, "", "0.5 to below 1").map_err(|e| self.at(e, at))?;
        }
        let prior = own.prior.as_ref();
        let prior = prior.map(|at| read_prior(at.get_ref()).map_err(|e| self.at(e, at)));
        Ok(Some(Judgement {
            limits,
            rule,
            uncertainty_at_most: own
                .uncertainty_at_most
                .as_ref()
                .map(|u| *u.get_ref())
                .unwrap_or_default(),
            probability: probability.map_or(0.95, |p| *p.get_ref()),
            prior: prior.transpose()?,
        }))
    }

    fn correlations(&self) -> Result<Vec<StatedCorrelation>> {
        let stated = self.sections.correlation.iter();
        let stated = stated.map(|c| c.stated(&self.lines, self.file));
        let mut all: Vec<StatedCorrelation> = stated.collect::<Result<_>>()?;
        all.extend(self.correlated_points()?);
        Ok(all)
    }
}

/// Ten times what flows: no meter errs by more, and larger numbers leave none for what follows.
const MOST_ERROR: f64 = 10.0;

/// A stated error that a meter can have.
fn conceivable(field: &str, error: f64) -> Result<f64> {
    let inside = error.abs() <= MOST_ERROR;
    Error::range(inside, field, 100.0 * error, "%", "-1000 % to 1000 %")?;
    Ok(error)
}

fn read_prior(section: &PriorSection) -> Result<Distribution> {
    let field = |key: &str| format!("verification.prior.{key}");
    let mean = section.mean.as_ref();
    let mean = mean.map(|text| {
        let read = quantity(text, Dimension::Ratio, &field("mean"))?;
        conceivable(&field("mean"), read.si)
    });
    let mean = mean.transpose()?.unwrap_or(0.0);
    let key = field("standard_deviation");
    let text = &section.standard_deviation;
    let standard_deviation = difference(text, 0.0, Dimension::Ratio, &key)?;
    let shown = 100.0 * standard_deviation;
    let inside = standard_deviation > 0.0 && standard_deviation <= MOST_ERROR;
    Error::range(inside, key, shown, "%", "above 0, to 1000 %")?;
    Ok(Distribution::Normal {
        mean,
        standard_deviation,
    })
}
