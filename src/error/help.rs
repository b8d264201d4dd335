//! What errors are made with.

use super::Error;
use crate::bounds::LONGEST_SLIP;
use std::path::Path;

/// The last part of a path, so that a result does not depend on where the file lies.
pub(crate) fn file_name(path: &Path) -> String {
    let name = path.file_name().unwrap_or(path.as_os_str());
    name.to_string_lossy().into_owned()
}

/// The candidate nearest in spelling to `found`, if it is near enough to be a slip.
pub(crate) fn nearest<'a>(
    found: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    if found.len() > LONGEST_SLIP {
        return None;
    }
    candidates
        .into_iter()
        .map(|c| (strsim::damerau_levenshtein(found, c), c))
        .min()
        .filter(|(distance, c)| *distance <= 1 + c.len().max(found.len()) / 3)
        .filter(|(_, c)| !another_word(found, c))
        .map(|(_, c)| c.to_owned())
}

/// Whether names of as many words have one that is no slip of the other: `inside_diameter` is no
/// `outside_diameter`.
fn another_word(found: &str, candidate: &str) -> bool {
    let words = |name: &str| name.split(['_', ' ', '.']).map(str::to_owned).collect();
    let (found, candidate): (Vec<String>, Vec<String>) = (words(found), words(candidate));
    let differs = |(a, b): (&String, &String)| {
        strsim::damerau_levenshtein(a, b) > 1 + a.len().max(b.len()) / 4
    };
    found.len() == candidate.len() && found.len() > 1 && found.iter().zip(&candidate).any(differs)
}

/// Keys that are often looked for under another name, or not at all: the last part of the path, and
/// what to do.
const LOOKED_FOR: &[(&[&str], &str)] = &[
    (
        &[
            "inside_diameter",
            "inner_diameter",
            "internal_diameter",
            "bore",
            "id",
            "ID",
        ],
        "the bore follows from the outside and the wall: state outside_circumference (by tape) or \
         outside_diameter, and wall",
    ),
    (
        &[
            "diameter",
            "od",
            "OD",
            "outer_diameter",
            "external_diameter",
        ],
        "state outside_diameter, or outside_circumference where a tape was used",
    ),
    (
        &["circumference", "outer_circumference"],
        "state outside_circumference",
    ),
    (
        &["wall_thickness", "thickness", "pipe_wall"],
        "state wall, in [pipe]",
    ),
    (
        &["pressure", "gauge_pressure", "gage_pressure"],
        "state absolute_pressure: what a gauge shows, plus that of the atmosphere, about 1.01 bar",
    ),
    (
        &["uncertainty", "u", "error", "tolerance", "accuracy"],
        "state standard_uncertainty, or expanded_uncertainty with coverage_factor, or half_width \
         with shape: which of them the number is makes a factor of two",
    ),
    (&["k"], "state coverage_factor"),
    (
        &["confidence", "confidence_level"],
        "state coverage_probability",
    ),
    (
        &["distribution"],
        "state half_width with shape, or standard_uncertainty, which is a normal distribution",
    ),
    (
        &["angle", "beam_angle", "sensor_angle", "transducer_angle"],
        "state wedge_angle, the angle of the ray in the wedge",
    ),
    (
        &["velocity", "sound_velocity", "speed_of_sound"],
        "state sound_speed in [liquid], wall_sound_speed in [pipe] or wedge_sound_speed in [path]",
    ),
    (
        &["viscosity", "dynamic_viscosity"],
        "state kinematic_viscosity, the dynamic one over the density",
    ),
    (
        &["k_factor", "meter_factor", "cal_factor", "calibration"],
        "state calibration_factor, true flow over the one shown",
    ),
    (
        &["zero", "zero_offset", "offset"],
        "state zero_time_difference or, on the indicated basis, zero_velocity",
    ),
    (
        &[
            "distance",
            "separation",
            "sensor_spacing",
            "transducer_spacing",
        ],
        "state spacing, between the exit points of the two sensors",
    ),
    (
        &["passes", "paths", "crossings", "mode"],
        "state traverses, the crossings of the liquid",
    ),
];

/// What to state in place of a key that does not exist, where it is often looked for.
pub(super) fn advice(key: &str, allowed: &[String]) -> Option<&'static str> {
    if allowed.iter().any(|own| own == key) {
        return None;
    }
    let listed = LOOKED_FOR.iter().find(|(keys, _)| keys.contains(&key));
    listed.map(|(_, words)| *words)
}

/// What serde says does not fit, as a typed error. Its wording is part of serde's documented trait
/// defaults; `keys` lead to the place, `format` names what was read.
pub(crate) fn of_serde(message: &str, keys: String, format: &'static str) -> Error {
    let below = |key: &str| {
        // the path of a key that is too many may end with that key already
        let last = keys.rsplit('.').next().unwrap_or_default();
        match keys.as_str() {
            "" => key.to_owned(),
            keys if last == key => keys.to_owned(),
            keys => format!("{keys}.{key}"),
        }
    };
    let mut quoted = message.split('`').skip(1).step_by(2).map(str::to_owned);
    if message.contains("expected `\"`") {
        return Error::Syntax {
            format,
            reason: "text without its closing quotation mark".to_owned(),
        };
    }
    if message.starts_with("invalid ")
        && let Some((found, allowed)) = message.split_once(", expected ")
    {
        // "invalid type: string "two"", but "invalid length 1"
        let found = found.split_once(": ").map_or(found, |(_, found)| found);
        let found = found.trim_start_matches("invalid ");
        return Error::WrongType {
            field: keys,
            found: found.to_owned(),
            allowed: type_in_words(allowed).to_owned(),
        };
    }
    match quoted.next() {
        Some(key) if message.starts_with("unknown field") => {
            let allowed: Vec<String> = quoted.collect();
            Error::UnknownKey {
                field: below(&key),
                // what is explained needs no guess
                nearest: match advice(&key, &allowed) {
                    Some(_) => None,
                    None => nearest(&key, allowed.iter().map(String::as_str)),
                },
                advice: advice(&key, &allowed),
                allowed,
            }
        }
        Some(key) if message.starts_with("missing field") => Error::Missing {
            field: below(&key),
            needed: format!("a section or key `{key}` here"),
        },
        Some(found) if message.starts_with("unknown variant") => {
            let allowed: Vec<String> = quoted.collect();
            Error::UnknownName {
                field: keys,
                nearest: nearest(&found, allowed.iter().map(String::as_str)),
                found,
                allowed,
            }
        }
        _ => Error::Syntax {
            format,
            reason: message.to_owned(),
        },
    }
}

/// What serde expects, for people who do not program.
fn type_in_words(expected: &str) -> &str {
    match expected {
        "a string" => "text in quotation marks",
        "f64" => "a number without a unit",
        "u32" | "u64" | "usize" => "a whole number, 0 or above",
        other => other,
    }
}
