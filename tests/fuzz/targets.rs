//! What reads input that anybody may have written.

use crate::mutation::Source;
use crate::oracles::{self, Judgement};
use crate::seeds;
use flowdoubt::evaluate::{Log, Readings, SeriesOptions, Times};
use flowdoubt::kit::DayOnSite;
use flowdoubt::plan::PlanRequest;
use flowdoubt::record::{Record, canonical_json, sha256};
use flowdoubt::site::{Inventory, Site};
use flowdoubt::table::{TableFormat, TableOptions};
use flowdoubt::units::{Dimension, Unit, difference, quantity};
use flowdoubt::verify::Verification;
use serde_json::{Value, json};

/// Whether input was taken.
#[derive(PartialEq)]
pub enum Answer {
    Accepted,
    Refused,
}

/// A text, and where something in it was changed if that matters.
pub struct Input {
    pub text: String,
    pub changed: Vec<String>,
}

impl From<String> for Input {
    fn from(text: String) -> Input {
        Input {
            text,
            changed: Vec::new(),
        }
    }
}

/// Something that reads input.
pub struct Target {
    pub name: &'static str,
    /// How often it is executed beside the others.
    pub weight: usize,
    pub input: Box<dyn Fn(&mut Source) -> Input + Sync>,
    pub judge: fn(&Input) -> Result<Answer, String>,
}

/// Mutations of some texts.
fn texts(of: Vec<String>) -> Box<dyn Fn(&mut Source) -> Input + Sync> {
    Box::new(move |source| {
        let at = source.below(of.len());
        source.mutated(&of[at], &of).into()
    })
}

pub fn all() -> Vec<Target> {
    let quantities = [
        "168.3 mm",
        "4 1/2 in",
        "18 degC",
        "0.4 K",
        "1.2 %",
        "1480 m/s",
        "-3e-7 1/K",
        "120 ns",
        "90 cSt",
        "5.5 bar",
        "3/8 in",
        "12 m3/h",
        "2 ppm",
        "0.1 m/(s K)",
    ];
    let times = [
        "2030-06-03T09:00:00",
        "2030-06-03 09:00",
        "3.6.2030 9:00",
        "09:00:05",
        "5 s",
        "1 min",
        "12345.6",
        "2030-06-03T09:00:00+02:00",
    ];
    let owned = |of: &[&str]| of.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>();
    let target = |name, weight, input, judge| Target {
        name,
        weight,
        input,
        judge,
    };
    vec![
        target("quantity", 40, texts(owned(&quantities)), a_quantity),
        target("time", 20, texts(owned(&times)), a_time),
        target(
            "readings",
            8,
            texts(vec![seeds::READINGS.to_owned()]),
            some_readings,
        ),
        target("table", 8, texts(seeds::tables()), a_table),
        #[cfg(feature = "workbook")]
        target(
            "workbook",
            4,
            texts(vec![crate::workbook::sheet(&seeds::log())]),
            a_workbook,
        ),
        target("log", 8, texts(vec![seeds::log()]), a_log),
        target("site", 16, texts(seeds::sites()), a_site),
        target("plan", 1, texts(seeds::sites()), a_plan),
        target(
            "instruments",
            4,
            texts(seeds::instruments()),
            some_instruments,
        ),
        target(
            "verification",
            4,
            texts(seeds::verifications()),
            a_verification,
        ),
        target(
            "text of a record",
            2,
            texts(seeds::records()),
            a_text_of_a_record,
        ),
        target("record", 4, forged(), a_forged_record),
    ]
}

fn refused(error: &flowdoubt::Error) -> Result<Answer, String> {
    oracles::refusal(error).map(|()| Answer::Refused)
}

const DIMENSIONS: [Dimension; 12] = [
    Dimension::Ratio,
    Dimension::Length,
    Dimension::Time,
    Dimension::Velocity,
    Dimension::VolumeFlow,
    Dimension::Temperature,
    Dimension::Pressure,
    Dimension::Angle,
    Dimension::KinematicViscosity,
    Dimension::PerKelvin,
    Dimension::Diameters,
    Dimension::Current,
];

fn a_quantity(input: &Input) -> Result<Answer, String> {
    let text = &input.text;
    let mut answer = Answer::Refused;
    for dimension in DIMENSIONS {
        match quantity(text, dimension, "field") {
            Err(error) => oracles::refusal(&error)?,
            Ok(read) => {
                oracles::finite("the quantity", &[read.si])?;
                let written = read
                    .unit
                    .after(&format!("{:e}", read.unit.from_si(read.si)));
                oracles::shown(&written)?;
                answer = Answer::Accepted;
            }
        }
        match difference(text, 300.0, dimension, "field") {
            Err(error) => oracles::refusal(&error)?,
            Ok(si) => oracles::finite("the difference", &[si])?,
        }
        if let Err(error) = Unit::parse(text, dimension, "field") {
            oracles::refusal(&error)?;
        }
    }
    Ok(answer)
}

fn a_time(input: &Input) -> Result<Answer, String> {
    if let Err(error) = Times::interval(&input.text) {
        oracles::refusal(&error)?;
    }
    match Times::from_text([input.text.as_str(), "2030-06-03T09:00:01"]) {
        Err(error) => refused(&error),
        Ok(_) => Ok(Answer::Accepted),
    }
}

fn some_readings(input: &Input) -> Result<Answer, String> {
    let evaluated = Readings::from_csv_text(&input.text, "readings.csv")
        .and_then(|readings| seeds::SITE.evaluate(&readings));
    match evaluated {
        Err(error) => refused(&error),
        Ok(found) => kept(&found, &input.text),
    }
}

/// An evaluation that was accepted prints, records, comes back and reproduces.
fn kept(found: &flowdoubt::evaluate::Evaluation, input: &str) -> Result<Answer, String> {
    oracles::evaluation(found, input)?;
    let with_trials = input.len().is_multiple_of(8);
    match seeds::record_of(found, with_trials) {
        Err(error) => oracles::refusal(&error)?,
        Ok(record) => oracles::record(&record)?,
    }
    Ok(Answer::Accepted)
}

/// A table in any form: it says how it was read, comes back from the plain form that a record has, and is
/// the same in another encoding.
fn a_table(input: &Input) -> Result<Answer, String> {
    let mapped = seeds::table_options();
    let mut answer = Answer::Refused;
    for options in [&TableOptions::default(), &mapped] {
        let read = Readings::from_bytes(input.text.clone().into_bytes(), "table.csv", options);
        let readings = match read {
            Err(error) => {
                oracles::refusal(&error)?;
                continue;
            }
            Ok(readings) => readings,
        };
        let words = readings.given().format().map(TableFormat::in_words);
        for words in words.into_iter().flatten() {
            oracles::shown(&words)?;
        }
        let again = readings.given().read();
        let again = again.map_err(|error| format!("it does not come back: {error}"))?;
        // a time that is missing is no number, which equals nothing
        if format!("{again:?}") != format!("{readings:?}") {
            return Err("it comes back otherwise".to_owned());
        }
        // what has zeros in it is no text in UTF-16
        if !input.text.contains('\0') {
            let wide = format!("\u{feff}{}", input.text.trim_start_matches('\u{feff}'));
            let bytes = wide.encode_utf16().flat_map(u16::to_le_bytes).collect();
            let wide = Readings::from_bytes(bytes, "table.csv", options);
            let wide = wide.map_err(|error| format!("refused in UTF-16: {error}"))?;
            if wide.rows() != readings.rows() {
                return Err("otherwise in UTF-16".to_owned());
            }
        }
        answer = match seeds::SITE.evaluate(&readings) {
            Err(error) => refused(&error)?,
            Ok(found) => kept(&found, &input.text)?,
        };
    }
    Ok(answer)
}

/// The cells of a sheet, changed before they are packed.
#[cfg(feature = "workbook")]
fn a_workbook(input: &Input) -> Result<Answer, String> {
    let bytes = crate::workbook::packed(&input.text);
    let options = TableOptions::default();
    match Readings::from_bytes(bytes, "table.xlsx", &options) {
        Err(error) => refused(&error),
        Ok(readings) => match seeds::SITE.evaluate(&readings) {
            Err(error) => refused(&error),
            Ok(found) => kept(&found, &input.text),
        },
    }
}

fn a_log(input: &Input) -> Result<Answer, String> {
    let series = Log::from_csv_text(&input.text, "log.csv", None)
        .and_then(|log| seeds::SITE.evaluate_series(&log, SeriesOptions::default()));
    match series {
        Err(error) => refused(&error),
        Ok(series) => {
            let total = &series.total;
            oracles::finite("the total", &[total.estimate, total.standard_uncertainty])?;
            let words = series
                .in_words()
                .map_err(|error| format!("it does not print: {error}"))?;
            oracles::shown(&words)?;
            oracles::finite_words(&words, &input.text)?;
            Ok(Answer::Accepted)
        }
    }
}

/// The readings that a site asks for may be others than those of the demonstration.
fn readings_for(site: &Site) -> flowdoubt::Result<flowdoubt::evaluate::Evaluation> {
    site.evaluate(&seeds::GIVEN).or_else(|_| {
        let columns = [
            ("velocity_m_s", &[1.5, 1.52, 1.49][..]),
            ("temperature_degC", &[19.0, 19.1, 19.05]),
        ];
        site.evaluate(&Readings::from_columns(columns)?)
    })
}

fn a_site(input: &Input) -> Result<Answer, String> {
    let site = match Site::from_toml(&input.text, "site.toml") {
        Err(error) => return refused(&error),
        Ok(site) => site,
    };
    match readings_for(&site) {
        Err(error) => refused(&error),
        Ok(found) => kept(&found, &input.text),
    }
}

fn a_plan(input: &Input) -> Result<Answer, String> {
    let request = PlanRequest {
        flows: vec![0.001, 0.1],
        ..PlanRequest::default()
    };
    let plan = Site::from_toml(&input.text, "site.toml").and_then(|site| site.plan(&request));
    let plan = match plan {
        Err(error) => return refused(&error),
        Ok(plan) => plan,
    };
    for point in &plan.points {
        match &point.expected {
            Err(error) => oracles::refusal(error)?,
            Ok(expected) => {
                oracles::finite("expected", &[expected.budget().standard_uncertainty])?;
            }
        }
    }
    plan.to_json(None)
        .map_err(|error| format!("it has no JSON: {error}"))?;
    Ok(Answer::Accepted)
}

fn some_instruments(input: &Input) -> Result<Answer, String> {
    let inventory = match Inventory::from_toml(&input.text, "instruments.toml") {
        Err(error) => return refused(&error),
        Ok(inventory) => inventory,
    };
    let day = DayOnSite {
        temperatures: vec![281.0],
        cable_run: Some(8.0),
        ..DayOnSite::default()
    };
    match seeds::SITE.kit(&inventory, &day) {
        Err(error) => refused(&error),
        Ok(list) => {
            for item in list.items() {
                oracles::shown(&item.finding())?;
                oracles::finite_words(&item.finding(), &input.text)?;
            }
            Ok(Answer::Accepted)
        }
    }
}

fn a_verification(input: &Input) -> Result<Answer, String> {
    let result = Verification::with_readings(&input.text, "verification.toml", seeds::readings)
        .and_then(|verification| seeds::SITE.verify(&verification));
    let result = match result {
        Err(error) => return refused(&error),
        Ok(result) => result,
    };
    for point in &result.points {
        let error = &point.error;
        oracles::finite("an error", &[error.value, error.expanded_uncertainty])?;
    }
    oracles::shown(&result.headline())?;
    oracles::finite_words(&result.headline(), &input.text)?;
    match Record::of_verification(&result, None) {
        Err(error) => oracles::refusal(&error)?,
        Ok(record) => oracles::record(&record)?,
    }
    Ok(Answer::Accepted)
}

fn a_text_of_a_record(input: &Input) -> Result<Answer, String> {
    match Record::from_text(&input.text).and_then(|record| record.reproduce()) {
        Err(error) => refused(&error),
        Ok(_) => Ok(Answer::Accepted),
    }
}

/// Records in which one value was changed and the digest computed anew.
fn forged() -> Box<dyn Fn(&mut Source) -> Input + Sync> {
    let documents: Vec<Value> = seeds::records()
        .iter()
        .map(|text| serde_json::from_str(text).expect("JSON"))
        .collect();
    Box::new(move |source| {
        let mut document = documents[source.below(documents.len())].clone();
        let changed = source.mutated_json(&mut document);
        if let Value::Object(members) = &mut document {
            members.remove("digest");
            let digest = sha256(&canonical_json(&document).expect("a canonical form"));
            document["digest"] =
                json!({"algorithm": "SHA-256", "canonical_form": "RFC 8785", "value": digest});
        }
        Input {
            text: document.to_string(),
            changed,
        }
    })
}

fn a_forged_record(input: &Input) -> Result<Answer, String> {
    let read = Record::from_text(&input.text);
    let record = match read {
        Err(error) => return refused(&error),
        Ok(record) => record,
    };
    let reproduction = match record.reproduce() {
        Err(error) => return refused(&error),
        Ok(reproduction) => reproduction,
    };
    let words = reproduction.in_words();
    oracles::shown(&words)?;
    forgery(&record, input, reproduction.agrees())?;
    Ok(if reproduction.agrees() {
        Answer::Accepted
    } else {
        Answer::Refused
    })
}

/// What was changed among the results does not reproduce, unless the change was none.
fn forgery(record: &Record, input: &Input, agrees: bool) -> Judgement {
    let results = input.changed.iter().any(|key| key == "results");
    if !(agrees && results) {
        return Ok(());
    }
    let same = seeds::records()
        .iter()
        .any(|text| Record::from_text(text).is_ok_and(|original| original == *record));
    if same {
        return Ok(());
    }
    Err(format!(
        "a forged result reproduces, at {}",
        input.changed.join(".")
    ))
}
