//! Verification against a reference.

mod conformity;
mod decisions;
mod files;
mod in_situ;
mod questions;
mod record;
mod reference;
mod runs;
mod scatter;
mod scores;
mod weighing;
mod weighing_facility;

use crate::support::demo;
use flowdoubt::evaluate::Readings;
use flowdoubt::site::Site;
use flowdoubt::verify::{Verification, VerificationResult};
use flowdoubt::{Error, Result};

/// A site whose meter indicates volume flow: exact but for what `more` states.
pub fn site(liquid: &str, more: &str) -> Site {
    let text = format!(
        "[site]\nname = \"Test\"\n[liquid]\n{liquid}\n[pipe]\noutside_diameter = \"168.3 mm\"\n\
         wall = \"7.1 mm\"\n[path]\nbasis = \"indicated\"\ntraverses = 2\n[meter.programmed]\n\
         principle = \"timed\"\ninside_diameter = \"154.1 mm\"\nprofile_factor = 0.9432\n[profile]\nlaw_factor = \"1\"\n{more}"
    );
    Site::from_toml(&text, "site.toml").unwrap_or_else(|e| panic!("{e}"))
}

pub const WATER: &str = "kind = \"water\"\nabsolute_pressure = \"3 bar\"\n\
                         density_formulation = \"1\"\nviscosity_formulation = \"1\"";

/// Readings without scatter of a flow in m3/h at 18 degC.
pub fn steady(flow: f64) -> Readings {
    columns(&[flow, flow], &[18.0, 18.0])
}

pub fn columns(flow: &[f64], temperature: &[f64]) -> Readings {
    let mut text = "volume_flow_m3_h,temperature_degC\n".to_owned();
    for (flow, temperature) in flow.iter().zip(temperature) {
        // with so many digits that those of readings that are all alike leave no uncertainty
        text += &format!("{flow:.400},{temperature:.400}\n");
    }
    Readings::from_csv_text(&text, "readings.csv").expect("readings")
}

/// The flow in m3/s by which a site evaluates readings.
pub fn flow_of(site: &Site, readings: &Readings) -> f64 {
    site.evaluate(readings).expect("evaluation").estimate()
}

/// A verification whose runs name their flow in m3/h as the file of their readings.
pub fn verification(text: &str) -> Result<Verification> {
    Verification::with_readings(text, "verification.toml", |name| {
        let flow = name.parse().map_err(|_| Error::File {
            file: name.into(),
            action: "read",
            reason: "not a flow".to_owned(),
            source: None,
        })?;
        Ok(steady(flow))
    })
}

#[track_caller]
pub fn verified(site: &Site, text: &str) -> VerificationResult {
    let verification = verification(text).unwrap_or_else(|e| panic!("{e}"));
    site.verify(&verification).unwrap_or_else(|e| panic!("{e}"))
}

/// The value of a step of the reference in a run.
#[track_caller]
pub fn step(result: &VerificationResult, run: usize, name: &str) -> f64 {
    let steps = result.runs[run].steps.iter();
    let mut own = steps.filter(|step| step.name == name);
    own.next().unwrap_or_else(|| panic!("no step {name}")).value
}

pub fn square(x: f64) -> f64 {
    x * x
}

pub fn cube(x: f64) -> f64 {
    x * x * x
}

/// The demonstration.
pub fn demonstrated() -> (Site, Verification) {
    let root = env!("CARGO_MANIFEST_DIR");
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    let path = format!("{root}/notebooks/demo/verification.toml");
    (
        site,
        Verification::load(path).unwrap_or_else(|e| panic!("{e}")),
    )
}

/// The demonstration with another question and without limits of the error.
pub fn asked_of_the_demonstration(question: &str) -> (Site, Verification) {
    let (site, _) = demonstrated();
    let text = demo("verification.toml");
    let judged = [
        "permissible_error",
        "rule",
        "probability",
        "prior",
        "indicated",
    ];
    let lines = text.lines().filter(|line| {
        let key = line.split(" =").next().unwrap_or_default();
        !judged.contains(&key)
    });
    let text: Vec<&str> = lines.collect();
    let text = crate::support::with(
        &text.join("\n"),
        "\"error as installed\"",
        &format!("{question:?}"),
    );
    let file = format!(
        "{}/notebooks/demo/verification.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    let verification = Verification::from_toml(&text, file);
    (site, verification.unwrap_or_else(|e| panic!("{e}")))
}
