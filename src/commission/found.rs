//! What was found on site, step by step, against what it should be.

use super::entry::{Entry, Parts, Step};
use super::expected_readings::VELOCITY;
use super::read_form::{Filled, Form};
use super::{Commissioning, CommissioningRequest};
use crate::error::{Error, Result};
use crate::evaluate::SoundSpeedCheck;
use crate::files::{Kind, read_text};
use crate::line_numbers::Lines;
use crate::model::Quantity;
use crate::site::{Site, Stated, Subject, read_stated};
use crate::uncertainty::Input;
use crate::units::{Dimension, quantity};
use std::path::{Path, PathBuf};
use toml::Spanned;

/// What a step comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Outcome {
    /// Done, and all that was noted lies within its limits.
    AsItShouldBe,
    /// Done, with nothing that limits could be held against.
    Done,
    /// Something noted lies outside its limits, or a question is not answered with yes.
    NotAsItShouldBe,
    /// Not marked as done, or what limits are held against was not noted.
    NotDone,
}

impl Outcome {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Outcome::AsItShouldBe => "as it should be",
            Outcome::Done => "done",
            Outcome::NotAsItShouldBe => "not as it should be",
            Outcome::NotDone => "not done",
        }
    }
}

/// What was noted.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct EntryFound {
    /// What it should be.
    pub entry: Entry,
    /// What was noted, in SI units.
    pub found: f64,
    /// Standard uncertainty of what was noted less what is expected; none without limits.
    pub standard_uncertainty: Option<f64>,
    /// The limits, with the uncertainty of the reading where it was noted.
    pub limits: Option<[f64; 2]>,
    /// The uncertainty that was noted with it, in SI units.
    pub(super) stated_uncertainty: f64,
}

impl EntryFound {
    /// Whether it lies within its limits; none where there are none.
    pub fn is_within(&self) -> Option<bool> {
        let [low, high] = self.limits?;
        Some((low..=high).contains(&self.found))
    }

    /// Found less expected, in standard uncertainties; none without limits.
    pub fn standardised(&self) -> Option<f64> {
        Some((self.found - self.entry.expected?) / self.standard_uncertainty?)
    }
}

/// A step as it was found.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct StepFound {
    /// The step.
    pub step: Step,
    /// Whether it was marked as done.
    pub done: bool,
    /// What was noted of it in words.
    pub note: String,
    /// What was noted.
    pub entries: Vec<EntryFound>,
    /// Keys of what was answered with yes.
    pub answers: Vec<&'static str>,
    /// How long readings were taken, in s.
    pub duration: Option<f64>,
}

impl StepFound {
    /// What has limits and was not noted. One of transit time and sound speed tells what both tell.
    pub fn missing(&self) -> Vec<&Entry> {
        let noted = |entry: &&Entry| {
            self.entries
                .iter()
                .any(|found| found.entry.key == entry.key)
        };
        let judged = |entry: &&Entry| entry.limits.is_some();
        let own = self.step.entries.iter();
        if self.step.key == "times" && own.clone().any(|entry| noted(&entry)) {
            return Vec::new();
        }
        own.filter(|entry| judged(entry) && !noted(entry)).collect()
    }

    /// What it comes to.
    pub fn outcome(&self) -> Outcome {
        let outside = |found: &EntryFound| found.is_within() == Some(false);
        let questions = self.step.questions.iter();
        let unanswered = questions.filter(|question| !self.answers.contains(&question.key));
        if self.entries.iter().any(outside) || (self.done && unanswered.count() > 0) {
            return Outcome::NotAsItShouldBe;
        }
        if !self.done || !self.missing().is_empty() {
            return Outcome::NotDone;
        }
        match self.entries.iter().any(|found| found.is_within().is_some()) {
            true => Outcome::AsItShouldBe,
            false => Outcome::Done,
        }
    }
}

/// The form as it was filled in, judged.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Commissioned {
    /// The list, with transit time and sound speed at the temperature that was noted.
    pub commissioning: Commissioning,
    /// By whom.
    pub by: String,
    /// When, in words.
    pub date: String,
    /// Remarks in words.
    pub note: String,
    /// The steps, in their order.
    pub steps: Vec<StepFound>,
    /// The sound speed that follows from the transit time noted, with the likely causes of a
    /// difference; none without a transit time, or where no sound crosses the pipe in it.
    pub sound_speed: Option<SoundSpeedCheck>,
    pub(super) site: Site,
    /// What was noted of quantities that a site file states.
    pub(super) statements: Vec<(Quantity, Stated)>,
}

/// What was noted, as numbers.
struct Reading {
    found: f64,
    parts: Parts,
}

impl Site {
    /// Reads a form of [`Commissioning::form`] that was filled in.
    ///
    /// # Errors
    /// As [`Site::commissioned`]; the file cannot be read, is no regular one or is larger than 4 MiB.
    pub fn read_commissioning(&self, path: impl AsRef<Path>) -> Result<Commissioned> {
        let path = path.as_ref();
        let text = read_text(path, Kind::Site)?;
        self.commissioned(&text, path)
    }

    /// Reads the text of a form that was filled in; `file` is the name used in errors. What is
    /// expected is computed once more, at the temperature that was noted where the site file leaves
    /// it to the readings.
    ///
    /// # Errors
    /// A form of another site file; what is not TOML, an unknown key, text that is no quantity, a
    /// number that cannot be; something noted that this site has no place for; those of
    /// [`Site::commissioning`] at the temperature noted.
    pub fn commissioned(&self, text: &str, file: impl Into<PathBuf>) -> Result<Commissioned> {
        let file = file.into();
        let form = Form::parse(text, &file)?;
        let lines = Lines::of(text);
        let planned = form.request(&lines, &file)?;
        let list = self.commissioning(&planned)?;
        form.check_site(&list, &lines, &file)?;
        let filled = form.filled();
        let reader = Reader {
            lines: &lines,
            file: &file,
        };
        // all that was noted, before anything is made of it
        let mut readings = Vec::new();
        for own in &filled {
            readings.push(reader.readings(&list, own)?);
        }
        // the sensors were placed, and the temperature is judged, by what was foreseen; what is read
        // belongs to the temperature that was found
        let mut list = list;
        let at = found_temperature(&planned, &readings).unwrap_or(planned);
        if at != planned {
            let found = self.commissioning(&at);
            let found = found.map_err(|e| reader.at_temperature(e, &filled))?;
            let times = list.steps.iter_mut().find(|step| step.key == "times");
            if let (Some(own), Some(there)) = (times, found.step("times")) {
                *own = there.clone();
            }
        }
        let mut steps = Vec::new();
        let mut statements = Vec::new();
        for (own, readings) in filled.iter().zip(&readings) {
            let Some(step) = list.step(own.key) else {
                continue;
            };
            let mut entries = Vec::new();
            for (key, reading) in readings {
                let Some(entry) = step.entries.iter().find(|entry| entry.key == *key) else {
                    continue;
                };
                let (standard_uncertainty, limits) = entry.for_reading(reading.parts.clone())?;
                let square: f64 = reading.parts.iter().map(|(u, _)| u * u).sum();
                entries.push(EntryFound {
                    entry: entry.clone(),
                    found: reading.found,
                    standard_uncertainty,
                    limits,
                    stated_uncertainty: square.sqrt(),
                });
            }
            for (key, stated) in &own.entries {
                if let Some(q) = stated_by(own.key, key) {
                    statements.push((q, stated.get_ref().clone()));
                }
            }
            steps.push(StepFound {
                step: step.clone(),
                done: own.done,
                note: own.note.to_owned(),
                entries,
                answers: own.answers.clone(),
                duration: reader.duration(own)?,
            });
        }
        let head = form.commissioning.get_ref();
        let sound_speed = self.sound_speed_found(&at, &steps)?;
        Ok(Commissioned {
            commissioning: list,
            by: head.by.clone(),
            date: head.date.clone(),
            note: head.note.clone(),
            steps,
            sound_speed,
            site: self.clone(),
            statements,
        })
    }

    /// The check of the sound speed at the transit time noted.
    fn sound_speed_found(
        &self,
        request: &CommissioningRequest,
        steps: &[StepFound],
    ) -> Result<Option<SoundSpeedCheck>> {
        let noted = steps.iter().flat_map(|step| &step.entries);
        let q = Quantity::TransitTime;
        let Some(noted) = noted.into_iter().find(|found| found.entry.quantity == q) else {
            return Ok(None);
        };
        let u = request.temperature_standard_uncertainty;
        let before = self.before_readings(request.temperature.map(|kelvin| (kelvin, u)))?;
        let (time, u) = (noted.found, noted.stated_uncertainty);
        let input = match u > 0.0 {
            true => Input::with_standard_uncertainty(&q.path(), time, u, f64::INFINITY)?,
            false => Input::exact(&q.path(), time)?,
        };
        let at = before.with_transit_time(VELOCITY, Some(input.shown_in(noted.entry.unit.clone())));
        // a time that is out of all bounds is told by its limits
        Ok(at.and_then(|at| at.sound_speed_check()).ok())
    }
}

/// The quantity of the site file that an entry of the form states anew.
fn stated_by(step: &str, key: &str) -> Option<Quantity> {
    Some(match (step, key) {
        ("dimensions", "outside_circumference") => Quantity::OutsideCircumference,
        ("dimensions", "outside_diameter") => Quantity::OutsideDiameter,
        ("dimensions", "wall") => Quantity::Wall,
        ("marks", "spacing") => Quantity::Spacing,
        ("zero", "time_difference") => Quantity::ZeroTimeDifference,
        ("zero", "velocity") => Quantity::ZeroVelocity,
        _ => return None,
    })
}

/// The request at the temperature that was noted, where it was foreseen and not stated.
fn found_temperature(
    planned: &CommissioningRequest,
    readings: &[Vec<(&'static str, Reading)>],
) -> Option<CommissioningRequest> {
    planned.temperature?;
    let noted = readings
        .iter()
        .flatten()
        .find(|(key, _)| *key == "temperature");
    noted.map(|(_, reading)| CommissioningRequest {
        temperature: Some(reading.found),
        temperature_standard_uncertainty: reading
            .parts
            .iter()
            .map(|(u, _)| u * u)
            .sum::<f64>()
            .sqrt(),
        ..*planned
    })
}

struct Reader<'a> {
    lines: &'a Lines,
    file: &'a Path,
}

impl Reader<'_> {
    fn at<T>(&self, error: Error, value: &Spanned<T>) -> Error {
        error.in_file(self.file, self.lines.at(value.span().start))
    }

    /// An error that the temperature leads to which was noted.
    fn at_temperature(&self, error: Error, filled: &[Filled<'_>]) -> Error {
        let mut entries = filled.iter().flat_map(|own| &own.entries);
        match entries.find(|(key, _)| *key == "temperature") {
            Some((_, stated)) => self.at(error, stated),
            None => error,
        }
    }

    /// What was noted of a step.
    fn readings(
        &self,
        list: &Commissioning,
        filled: &Filled<'_>,
    ) -> Result<Vec<(&'static str, Reading)>> {
        let mut found = Vec::new();
        for (key, stated) in &filled.entries {
            let path = format!("{}.{key}", filled.key);
            let Some(entry) = list.entry(&path) else {
                let known = list.step(filled.key).map(|step| &step.entries);
                let keys = known.into_iter().flatten().map(|entry| entry.key);
                let keys: Vec<&str> = keys.collect();
                let error = Error::Conflict {
                    field: path,
                    found: "a value that has no place on this site".to_owned(),
                    allowed: match keys.as_slice() {
                        [] => "none in this step".to_owned(),
                        some => some.join(", "),
                    },
                };
                return Err(self.at(error, stated));
            };
            let reading = read(entry, &path, stated.get_ref());
            found.push((*key, reading.map_err(|e| self.at(e, stated))?));
        }
        Ok(found)
    }

    fn duration(&self, filled: &Filled<'_>) -> Result<Option<f64>> {
        let Some(text) = filled.duration else {
            return Ok(None);
        };
        let field = format!("{}.duration", filled.key);
        let read = quantity(text.get_ref(), Dimension::Time, &field).and_then(|read| {
            let shown = read.unit.from_si(read.si);
            Error::range(read.si > 0.0, &field, shown, &read.unit.symbol, "above 0")?;
            Ok(read.si)
        });
        read.map(Some).map_err(|e| self.at(e, text))
    }
}

fn read(entry: &Entry, path: &str, stated: &Stated) -> Result<Reading> {
    let subject = Subject {
        path,
        dimension: entry.quantity.dimension(),
        component: "",
        grid: entry.quantity == Quantity::Wall,
        certificate: false,
    };
    let inputs = read_stated(stated, &subject, &|path, si, unit| {
        entry.check(path, si, unit)
    })?;
    let parts = inputs
        .iter()
        .filter(|input| input.standard_uncertainty() > 0.0)
        .map(|input| (input.standard_uncertainty(), input.dof()));
    Ok(Reading {
        found: inputs.iter().map(Input::estimate).sum(),
        parts: parts.collect(),
    })
}

impl Commissioned {
    /// Whether every step is done, and all is as it should be.
    pub fn is_as_it_should_be(&self) -> bool {
        let good =
            |step: &StepFound| matches!(step.outcome(), Outcome::AsItShouldBe | Outcome::Done);
        self.steps.iter().all(good)
    }

    /// A step by its key.
    pub fn step(&self, key: &str) -> Option<&StepFound> {
        self.steps.iter().find(|found| found.step.key == key)
    }
}
