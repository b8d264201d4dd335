//! The form as it was filled in: TOML sections as they are written.

use super::{Commissioning, CommissioningRequest};
use crate::error::{Error, Result};
use crate::line_numbers::Lines;
use crate::site::{Stated, parse_sections};
use crate::units::{Dimension, difference, quantity};
use serde::Deserialize;
use std::path::Path;
use toml::Spanned;

/// Section `[commissioning]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Head {
    /// The name of the site.
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub(super) site: String,
    /// SHA-256 of the text of the site file.
    pub(super) site_digest: Spanned<String>,
    temperature: Option<Spanned<String>>,
    temperature_standard_uncertainty: Option<Spanned<String>>,
    flow: Option<Spanned<String>>,
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub(super) by: String,
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub(super) date: String,
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub(super) note: String,
}

/// What was filled in of a step.
pub(super) struct Filled<'a> {
    pub(super) key: &'static str,
    pub(super) done: bool,
    pub(super) note: &'a str,
    pub(super) duration: Option<&'a Spanned<String>>,
    /// What was noted.
    pub(super) entries: Vec<(&'static str, &'a Spanned<Stated>)>,
    /// What was answered with yes.
    pub(super) answers: Vec<&'static str>,
}

macro_rules! sections {
    ($($name:ident $key:ident [$($entry:ident)*] [$($question:ident)*] [$($duration:ident)?];)*) => {
        /// A whole form.
        #[derive(Debug, Clone, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub(super) struct Form {
            pub(super) commissioning: Spanned<Head>,
            $(#[serde(default)] $key: $name,)*
        }

        $(
            #[derive(Debug, Clone, Default, Deserialize)]
            #[serde(deny_unknown_fields)]
            struct $name {
                #[serde(default)]
                done: bool,
                #[serde(default, deserialize_with = "crate::site::fit_to_show")]
                note: String,
                $($duration: Option<Spanned<String>>,)?
                $($entry: Option<Spanned<Stated>>,)*
                $(#[serde(default)] $question: bool,)*
            }
        )*

        impl Form {
            /// What was filled in, step by step.
            pub(super) fn filled(&self) -> Vec<Filled<'_>> {
                vec![$({
                    let own = &self.$key;
                    let entries: Vec<(&'static str, &Option<Spanned<Stated>>)> =
                        vec![$((stringify!($entry), &own.$entry),)*];
                    let answers: Vec<(&'static str, bool)> =
                        vec![$((stringify!($question), own.$question),)*];
                    let duration: Option<&Spanned<String>> = None;
                    $(let duration = own.$duration.as_ref().or(duration);)?
                    Filled {
                        key: stringify!($key),
                        done: own.done,
                        note: &own.note,
                        duration: duration.filter(|text| !text.get_ref().trim().is_empty()),
                        entries: entries
                            .into_iter()
                            .filter_map(|(key, entry)| Some((key, entry.as_ref()?)))
                            .filter(|(_, entry)| is_noted(entry.get_ref()))
                            .collect(),
                        answers: answers
                            .into_iter()
                            .filter_map(|(key, yes)| yes.then_some(key))
                            .collect(),
                    }
                },)*]
            }
        }
    };
}

sections! {
    Permit permit [] [] [];
    Place place [] [] [];
    Surface surface [] [] [];
    Dimensions dimensions [outside_circumference outside_diameter wall] [] [];
    Marks marks [spacing half_circumference] [] [];
    Settings settings [] [] [];
    Sensors sensors [] [] [];
    Signal signal [] [with_the_flow against_the_flow] [];
    Temperature temperature [temperature] [] [];
    Times times [transit_time sound_speed] [] [];
    Zero zero [time_difference velocity] [no_flow] [duration];
    Direction direction [time_difference velocity volume_flow] [positive turns] [];
    Placement placement [ratio] [] [];
    LeftBehind left_behind [] [] [];
}

/// Whether anything was written; the form has empty text where nothing was.
fn is_noted(stated: &Stated) -> bool {
    let empty = Stated {
        value: stated.value.clone(),
        ..Stated::default()
    };
    let blank = stated
        .value
        .as_ref()
        .is_none_or(|text| text.trim().is_empty());
    !(blank && *stated == empty)
}

impl Form {
    pub(super) fn parse(text: &str, file: &Path) -> Result<Form> {
        parse_sections(text, file, "commissioning form")
    }

    /// The state of operation for which the list was made.
    pub(super) fn request(&self, lines: &Lines, file: &Path) -> Result<CommissioningRequest> {
        let head = self.commissioning.get_ref();
        let at =
            |error: Error, text: &Spanned<String>| error.in_file(file, lines.at(text.span().start));
        let read = |text: &Option<Spanned<String>>, dimension, field: &str| match text {
            Some(text) => quantity(text.get_ref(), dimension, field)
                .map(|read| Some(read.si))
                .map_err(|e| at(e, text)),
            None => Ok(None),
        };
        let temperature = read(
            &head.temperature,
            Dimension::Temperature,
            "commissioning.temperature",
        )?;
        let u = match &head.temperature_standard_uncertainty {
            Some(text) => {
                let field = "commissioning.temperature_standard_uncertainty";
                difference(text.get_ref(), f64::NAN, Dimension::Temperature, field)
                    .map_err(|e| at(e, text))?
            }
            None => 0.0,
        };
        Ok(CommissioningRequest {
            temperature,
            temperature_standard_uncertainty: u,
            flow: read(&head.flow, Dimension::VolumeFlow, "commissioning.flow")?,
        })
    }

    /// Refuses a form of another site, or of the site as it was.
    pub(super) fn check_site(&self, of: &Commissioning, lines: &Lines, file: &Path) -> Result<()> {
        let head = self.commissioning.get_ref();
        let stated = &head.site_digest;
        if *stated.get_ref() == of.site_digest {
            return Ok(());
        }
        let error = Error::Conflict {
            field: "commissioning.site_digest".to_owned(),
            found: format!(
                "a form of \"{}\", site file {}",
                head.site,
                stated.get_ref()
            ),
            allowed: format!(
                "that of this site, {}: read the form with the site file as it was when the form was \
                 made, or make a new form and copy into it what was noted",
                of.site_digest
            ),
        };
        Err(error.in_file(file, lines.at(stated.span().start)))
    }
}
