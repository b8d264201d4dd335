//! The list of commissioning: its limits against an independent forward model, the form there and
//! back, what is taken over.

mod coverage;
mod evidence;
mod form;
mod limits;

use crate::site::{BASE, site};
use crate::support::with;
use flowdoubt::commission::{Commissioned, Commissioning, CommissioningRequest, Entry};
use flowdoubt::site::Site;

/// The base with an uncertainty of everything that the limits rest on.
pub fn uncertain() -> String {
    let stated = [
        (
            "temperature = \"20 degC\"",
            "temperature = { value = \"20 degC\", standard_uncertainty = \"0.3 K\" }\n\
             sound_speed_formulation = { value = \"1\", standard_uncertainty = \"0.02 %\" }",
        ),
        (
            "outside_diameter = \"168.3 mm\"",
            "outside_diameter = { value = \"168.3 mm\", standard_uncertainty = \"0.15 mm\" }",
        ),
        (
            "wall = \"7.11 mm\"",
            "wall = { value = \"7.11 mm\", standard_uncertainty = \"0.08 mm\" }",
        ),
        (
            "wedge_angle = \"40 deg\"",
            "wedge_angle = { value = \"40 deg\", standard_uncertainty = \"0.15 deg\" }",
        ),
        (
            "wedge_delay = \"16 us\"",
            "# of this pair\nwedge_delay = { value = \"16 us\", standard_uncertainty = \"0.1 us\" }\n\
             zero_time_difference = { value = \"0.2 ns\", standard_uncertainty = \"0.3 ns\" }",
        ),
    ];
    let base = site(&[(
        "installation",
        "remounting = { value = \"1\", standard_uncertainty = \"0.4 %\" }",
    )]);
    stated
        .iter()
        .fold(base, |text, (from, to)| with(&text, from, to))
}

#[track_caller]
pub fn site_of(text: &str) -> Site {
    Site::from_toml(text, "site.toml").unwrap_or_else(|e| panic!("{e}\n{text}"))
}

#[track_caller]
pub fn listed(text: &str) -> Commissioning {
    let list = site_of(text).commissioning(&CommissioningRequest::default());
    list.unwrap_or_else(|e| panic!("{e}\n{text}"))
}

#[track_caller]
pub fn entry<'a>(list: &'a Commissioning, path: &str) -> &'a Entry {
    list.entry(path).unwrap_or_else(|| panic!("no {path}"))
}

/// A form with everything done, answered, and noted as expected.
pub fn filled(list: &Commissioning) -> String {
    let mut text = list.form().replace("done = false", "done = true");
    for step in &list.steps {
        for question in &step.questions {
            let (no, yes) = (
                format!("\n{} = false", question.key),
                format!("\n{} = true", question.key),
            );
            text = with(&text, &no, &yes);
        }
        for entry in &step.entries {
            if let Some(expected) = entry.expected {
                text = noted(&text, step.key, entry, expected);
            }
        }
    }
    with(
        &text,
        "by = \"\"\ndate = \"\"",
        "by = \"A. Tester\"\ndate = \"2026-05-04\"",
    )
}

/// The form with a value noted in a step, in SI units.
pub fn noted(text: &str, step: &str, entry: &Entry, si: f64) -> String {
    let unit = &entry.unit;
    let symbol = match unit.symbol.as_ref() {
        "1" => "",
        symbol => symbol,
    };
    written(
        text,
        step,
        entry.key,
        &format!("\"{:?} {symbol}\"", unit.from_si(si)),
    )
}

/// The form with TOML as the value of a key of a step.
#[track_caller]
pub fn written(text: &str, step: &str, key: &str, toml: &str) -> String {
    let (before, own) = text
        .split_once(&format!("[{step}]\n"))
        .unwrap_or_else(|| panic!("no [{step}]"));
    let line = own
        .lines()
        .find(|line| line.starts_with(&format!("{key} = ")))
        .unwrap_or_else(|| panic!("no {key} in [{step}]"));
    let own = own.replacen(line, &format!("{key} = {toml}"), 1);
    format!("{before}[{step}]\n{own}")
}

#[track_caller]
pub fn found(site: &str, form: &str) -> Commissioned {
    let found = site_of(site).commissioned(form, "form.toml");
    found.unwrap_or_else(|e| panic!("{e}\n{form}"))
}

/// Sites of every kind have a list; the base is one of exact numbers.
pub fn kinds() -> Vec<(&'static str, String, CommissioningRequest)> {
    let planned = CommissioningRequest {
        temperature: Some(281.15),
        temperature_standard_uncertainty: 0.5,
        flow: Some(0.15),
    };
    let stated = CommissioningRequest::default();
    let warm = CommissioningRequest {
        temperature: Some(288.15),
        ..stated
    };
    let direct = with(&uncertain(), "traverses = 2", "traverses = 1");
    let geometric = with(&uncertain(), "basis = \"timed\"", "basis = \"geometric\"");
    let starter = |basis| Site::starter_for(basis, "water").expect("a starter");
    vec![
        ("base", BASE.to_owned(), stated),
        ("uncertain", uncertain(), stated),
        ("direct", direct, stated),
        ("geometric", geometric, stated),
        ("demo", crate::support::demo("site.toml"), planned),
        (
            "indicated",
            starter(flowdoubt::model::Basis::Indicated),
            warm,
        ),
    ]
}
