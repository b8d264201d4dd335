//! An in-situ calibration: the factor that a verification on a pipe found, put back into the site.

use super::builder::Builder;
use super::stated_quantity::inputs_of;
use super::{Site, Stated};
use crate::error::{Error, Result};
use crate::message::{Message, Told, message};
use crate::model::{Basis, Belonging, Choices, FactorCurve, Quantity};
use crate::uncertainty::{Input, plain};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use toml::Spanned;

/// Of what an in-situ calibration is, in the words of the verification that found it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum InSituQuestion {
    /// Of meter, sensors, mounting and pipe together.
    #[serde(rename = "error as installed")]
    ErrorAsInstalled,
    /// Of meter and sensors alone, wherever they are mounted.
    #[serde(rename = "error of the meter")]
    ErrorOfTheMeter,
}

/// Whether the sensors are still where they were.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub(crate) enum SensorsSince {
    /// They have not been off. The default.
    #[default]
    #[serde(rename = "as verified")]
    AsVerified,
    /// They have been off, or the factor is a mean over several mountings.
    #[serde(rename = "mounted anew")]
    MountedAnew,
}

/// Section `[in_situ_calibration]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct InSituSection {
    /// The name of the verification.
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub verification: String,
    /// Of what it is.
    pub question: Spanned<InSituQuestion>,
    /// Whether the sensors are still where they were, for the error as installed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sensors: Option<Spanned<SensorsSince>>,
    /// The smallest and the largest Reynolds number of its runs.
    pub reynolds: Spanned<[f64; 2]>,
    /// True over computed flow.
    pub factor: Spanned<Stated>,
    /// The same with the uncertainty that it has once the sensors have been off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub factor_mounted_anew: Option<Spanned<Stated>>,
    /// The estimates with which the flow was computed, in SI units by name of the input. Where they
    /// are given, others are refused: the factor belongs to them.
    #[serde(default)]
    pub with: BTreeMap<String, f64>,
    /// The choices with which it was computed, likewise.
    #[serde(default)]
    pub choices: BTreeMap<String, String>,
}

/// The heading of what is in force among the choices of a site.
pub(super) const IN_SITU: &str = "in-situ calibration";

/// What is in force of an in-situ calibration.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct InSitu {
    /// The name of the verification.
    pub(crate) verification: String,
    /// Whether it is of meter, mounting and pipe together.
    pub(crate) installed: bool,
    /// Whether the sensors have been off since.
    pub(crate) mounted_anew: bool,
    /// The smallest and the largest Reynolds number of its runs.
    pub(crate) reynolds: [f64; 2],
}

impl InSitu {
    /// Whether a Reynolds number is among those of the runs.
    pub(crate) fn holds_at(&self, reynolds: f64) -> bool {
        let [low, high] = self.reynolds;
        (low..=high).contains(&reynolds.abs())
    }

    /// Whether the factor contains what is not known of a quantity, at a Reynolds number that is
    /// among those of the runs or not.
    pub(crate) fn covers(&self, q: Quantity, among_those_of_runs: bool) -> bool {
        match q.belongs_to() {
            Belonging::Meter => q != Quantity::InSituFactor,
            Belonging::Pipe => self.installed,
            Belonging::Mounting => self.installed && !self.mounted_anew,
            Belonging::Profile => self.installed && among_those_of_runs,
            Belonging::Measurement => false,
        }
    }

    /// The input of a quantity that the factor covers.
    pub(crate) fn covered(&self, input: &Input) -> Result<Input> {
        let covered = match self.verification.as_str() {
            "" => message!(
                "evidence.covered_in_situ",
                "uncertainty covered by {key}",
                key = Told::Key("in_situ_calibration")
            ),
            name => message!(
                "evidence.covered_in_situ_by",
                "uncertainty covered by {key}, verification \"{name}\"",
                key = Told::Key("in_situ_calibration"),
                name = Told::Theirs(name.to_owned())
            ),
        };
        without_uncertainty(input, covered)
    }

    /// What is in force, in words.
    pub(crate) fn told(&self) -> Message {
        let [low, high] = self.reynolds.map(plain);
        let of = match (self.installed, self.mounted_anew) {
            (false, _) => "of meter and sensors",
            (true, false) => "as installed, sensors as verified",
            (true, true) => "as installed, sensors mounted anew",
        };
        message!(
            "choices.in_situ",
            "{of}, Reynolds numbers {low} to {high}",
            of = of,
            low = low,
            high = high
        )
    }
}

/// An input without its uncertainty, and why.
pub(super) fn without_uncertainty(input: &Input, why: Message) -> Result<Input> {
    let evidence = match input.evidence() {
        "" => why,
        _ => message!(
            "evidence.and",
            "{evidence}; {why}",
            evidence = input.evidence_told(),
            why = why
        ),
    };
    Ok(Input::exact(input.name(), input.estimate())?
        .shown_in(input.unit().clone())
        .in_component(input.component())
        .evidence_in_message(evidence))
}

/// How far an estimate may lie from the one that a calibration was made with, relative: rounding.
const SAME: f64 = 1e-12;

impl Builder<'_> {
    fn in_situ_section(&self) -> Option<&InSituSection> {
        let section = self.sections.in_situ_calibration.as_ref();
        section.map(Spanned::get_ref)
    }

    /// What is in force of the in-situ calibration, where there is one.
    pub(super) fn in_situ(&self) -> Result<Option<InSitu>> {
        let Some(section) = self.in_situ_section() else {
            return Ok(None);
        };
        let installed = *section.question.get_ref() == InSituQuestion::ErrorAsInstalled;
        let conflict = |key: &str| Error::Conflict {
            field: format!("in_situ_calibration.{key}"),
            found: "stated for question = \"error of the meter\"".to_owned(),
            allowed: "with question = \"error as installed\" only: a factor of meter and sensors \
                      leaves every mounting to its own uncertainty"
                .to_owned(),
        };
        if let (Some(sensors), false) = (&section.sensors, installed) {
            return Err(self.at(conflict("sensors"), sensors));
        }
        if let (Some(factor), false) = (&section.factor_mounted_anew, installed) {
            return Err(self.at(conflict("factor_mounted_anew"), factor));
        }
        let sensors = section.sensors.as_ref().map(|s| *s.get_ref());
        let mounted_anew = sensors.unwrap_or_default() == SensorsSince::MountedAnew;
        if mounted_anew && section.factor_mounted_anew.is_none() {
            let missing = Error::Missing {
                field: "in_situ_calibration.factor_mounted_anew".to_owned(),
                needed:
                    "the factor with the uncertainty that the mounting of the verification adds, for \
                         sensors = \"mounted anew\""
                        .to_owned(),
            };
            return Err(self.at(missing, &section.question));
        }
        let [low, high] = *section.reynolds.get_ref();
        let rising = low > 0.0 && high >= low && high.is_finite();
        let (field, allowed) = (
            "in_situ_calibration.reynolds",
            "the smallest and the largest of the runs, both above 0",
        );
        Error::range(rising, field, low, "", allowed).map_err(|e| self.at(e, &section.reynolds))?;
        Ok(Some(InSitu {
            verification: section.verification.clone(),
            installed,
            mounted_anew,
            reynolds: [low, high],
        }))
    }

    /// The factor that is in force.
    pub(super) fn in_situ_factor(&self) -> Result<Option<&Spanned<Stated>>> {
        let (Some(section), Some(in_situ)) = (self.in_situ_section(), self.in_situ()?) else {
            return Ok(None);
        };
        let anew = section.factor_mounted_anew.as_ref();
        let anew = anew.filter(|_| in_situ.mounted_anew);
        Ok(Some(anew.unwrap_or(&section.factor)))
    }

    /// The curve of the factor that is in force. Beyond its points the nearest one counts.
    pub(super) fn in_situ_curve(&self) -> Result<Option<FactorCurve>> {
        let Some(entry) = self.in_situ_factor()? else {
            return Ok(None);
        };
        let curve = entry.get_ref().curve(&Quantity::InSituFactor.path());
        let curve = curve.map_err(|e| self.at(e, entry))?;
        Ok(curve.map(|curve| FactorCurve {
            beyond: crate::model::Beyond::Nearest,
            ..curve
        }))
    }

    /// The inputs of the factor that is in force.
    pub(super) fn in_situ_inputs(&self, basis: Basis) -> Result<Vec<(Quantity, Input)>> {
        let Some(entry) = self.in_situ_factor()? else {
            return Ok(Vec::new());
        };
        let q = Quantity::InSituFactor;
        let inputs = inputs_of(entry.get_ref(), q, basis).map_err(|e| self.at(e, entry))?;
        Ok(inputs.into_iter().map(|input| (q, input)).collect())
    }

    /// Refuses a site that is not the one for which the factor was found.
    pub(super) fn check_in_situ(&self, site: &Site) -> Result<()> {
        let (Some(section), Some(in_situ)) = (&self.sections.in_situ_calibration, &site.in_situ)
        else {
            return Ok(());
        };
        let refused = |field: &str, found: String, then: String| {
            let advice = if in_situ.installed {
                "verify anew, or let the verification ask for the error of the meter, which holds \
                 on other pipes too"
            } else {
                "verify anew"
            };
            let conflict = Error::Conflict {
                field: field.to_owned(),
                found: format!("{found}, where the in-situ calibration was made with {then}"),
                allowed: format!("{then}, to which its factor belongs; or {advice}"),
            };
            Err(self.at(conflict, section))
        };
        let own = section.get_ref();
        if !own.choices.is_empty() {
            let now = site.choices_covered(in_situ);
            let headings = now.keys().chain(own.choices.keys());
            for heading in headings {
                let of = |choices: &BTreeMap<String, String>| match choices.get(heading) {
                    Some(words) => format!("\"{words}\""),
                    None => "nothing stated".to_owned(),
                };
                if now.get(heading) != own.choices.get(heading) {
                    return refused(heading, of(&now), of(&own.choices));
                }
            }
        }
        if own.with.is_empty() {
            return Ok(());
        }
        let mut now = site.estimates_covered(in_situ);
        let known = |name: &str| site.stated.iter().any(|(_, input)| input.name() == name);
        for (name, then) in &own.with {
            match now.remove(name) {
                Some(value) if (value - then).abs() <= SAME * then.abs() => {}
                Some(value) => return refused(name, plain(value), plain(*then)),
                // of a mounting that is another one now
                None if known(name) => {}
                None if in_situ.mounted_anew && is_of_mounting(name) => {}
                None => return refused(name, "nothing stated".to_owned(), plain(*then)),
            }
        }
        match now.into_iter().next() {
            Some((name, value)) => refused(&name, plain(value), "nothing stated".to_owned()),
            None => Ok(()),
        }
    }
}

/// The choices to which the factor of meter and sensors belongs.
const OF_METER: [&str; 4] = [
    "basis",
    "angle of the ray from the",
    "profile law",
    "friction law",
];

impl Site {
    /// The choices to which the factor of an in-situ calibration belongs, in words by heading.
    pub(crate) fn choices_covered(&self, in_situ: &InSitu) -> BTreeMap<String, String> {
        let said = self.choices_in_words().into_iter();
        let own = said.filter(|(heading, _)| {
            OF_METER.contains(heading) || in_situ.installed && *heading != IN_SITU
        });
        let mut all: BTreeMap<String, String> = own
            .map(|(heading, words)| (heading.to_owned(), words))
            .collect();
        if !in_situ.installed {
            return all;
        }
        for (n, layer) in (1..).zip(&self.skeleton.choices().layers) {
            let words = match layer.outside {
                None => "inside",
                Some(outside) if outside.under_sensors => "outside, under the sensors",
                Some(_) => "outside, taken off under the sensors",
            };
            let over = layer.outside.map_or("", |outside| {
                match (outside.in_outside_dimension, outside.in_wall_reading) {
                    (true, true) => ", in outside dimension and wall reading",
                    (true, false) => ", in the outside dimension",
                    (false, true) => ", in the wall reading",
                    (false, false) => "",
                }
            });
            all.insert(format!("pipe.layer[{n}]"), format!("{words}{over}"));
        }
        if let Some(upstream) = &self.upstream {
            all.insert("installation.fitting".to_owned(), upstream.in_words());
        }
        all
    }

    /// The estimates to which the factor of an in-situ calibration belongs, in SI units by name.
    pub(crate) fn estimates_covered(&self, in_situ: &InSitu) -> BTreeMap<String, f64> {
        let stated = self.stated.iter();
        let covered = stated.filter(|(q, _)| in_situ.covers(*q, true));
        let named = covered.map(|(_, input)| (input.name().to_owned(), input.estimate()));
        let mut all: BTreeMap<String, f64> = named.collect();
        if in_situ.installed {
            all.extend(programmed_values(self.skeleton.choices()));
        }
        all
    }
}

/// Whether an input belongs to the mounting, by its name.
fn is_of_mounting(name: &str) -> bool {
    Quantity::of_input(name).is_some_and(|q| q.belongs_to() == Belonging::Mounting)
}

/// What was programmed into a meter that shows the flow, by key in the site file.
fn programmed_values(choices: &Choices) -> Vec<(String, f64)> {
    let programmed = choices.programmed.iter().flat_map(|p| p.listed());
    programmed
        .map(|(key, value, _)| (format!("meter.programmed.{key}"), value))
        .collect()
}
