//! Helpers shared by the tests.

pub mod noise;
pub mod philox;
pub mod tables;

use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::site::Site;
use flowdoubt::{Error, Result};
use serde_json::Value;

/// Reads a JSON file below `tests/`.
pub fn json(path: &str) -> Value {
    let path = format!("{}/tests/{path}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// A number inside a JSON value.
pub fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("{value} is not a number"))
}

/// Asserts that two numbers differ by no more than `tolerance` relative to `expected`.
#[track_caller]
pub fn assert_relative(found: f64, expected: f64, tolerance: f64, what: &str) {
    let difference = (found - expected).abs();
    let allowed = tolerance * expected.abs();
    assert!(
        difference <= allowed,
        "{what}: found {found:e}, expected {expected:e}, relative {:e}",
        difference / expected.abs()
    );
}

/// Asserts that `found`, rounded as printed, is the published number: it may differ by half a
/// unit of the last printed place.
#[track_caller]
pub fn assert_printed(found: f64, published: f64, place: f64, what: &str) {
    assert!(
        (found - published).abs() <= 0.5 * place * (1.0 + 1e-9),
        "{what}: found {found}, published {published}"
    );
}

/// The slope of `f` at `x` by five points: its error is of fourth order in the step `h`.
pub fn slope(f: impl Fn(f64) -> f64, x: f64, h: f64) -> f64 {
    let near = f(x + h) - f(x - h);
    let far = f(x + 2.0 * h) - f(x - 2.0 * h);
    (8.0 * near - far) / (12.0 * h)
}

/// The text of a file of the demonstration site.
pub fn demo(file: &str) -> String {
    let path = format!("{}/notebooks/demo/{file}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// The readings of the demonstration site.
pub fn demo_readings() -> Readings {
    Readings::from_csv_text(&demo("readings.csv"), "readings.csv").expect("readings")
}

/// Evaluates the text of a site file.
pub fn evaluate(site: &str, readings: &Readings) -> Result<Evaluation> {
    Site::from_toml(site, "site.toml")?.evaluate(readings)
}

/// The text with one passage replaced by another.
#[track_caller]
pub fn with(text: &str, passage: &str, replacement: &str) -> String {
    assert!(text.contains(passage), "no `{passage}` to replace");
    text.replacen(passage, replacement, 1)
}

/// The line, counted from 1, in which a passage first stands.
#[track_caller]
pub fn line_of(text: &str, passage: &str) -> usize {
    let line = text.lines().position(|line| line.contains(passage));
    1 + line.unwrap_or_else(|| panic!("no `{passage}` to find"))
}

/// Asserts that an input was refused with the given code and that the message has all `parts`.
#[track_caller]
pub fn assert_refused<T>(result: Result<T>, code: &str, parts: &[&str]) -> Error {
    let Err(error) = result else {
        panic!("accepted, though not {code} {parts:?}");
    };
    assert_eq!(error.code(), code, "{error}");
    let message = error.to_string();
    for part in parts {
        assert!(message.contains(part), "no `{part}` in: {message}");
    }
    error
}

/// The demonstration as a plain site: its fitting, its layers and what its calibration covers taken out, so
/// that it can be evaluated at any flow and every input has an uncertainty.
pub fn plain_demo() -> String {
    let text = demo("site.toml");
    let start = text.find("[[pipe.layer]]").expect("layers");
    let end = text.find("[path]").expect("a path");
    let without_layers = format!("{}{}", &text[..start], &text[end..]);
    let of_fitting = ["fitting =", "straight_run =", "orientation ="];
    let of_calibration = ["calibration_covers =", "calibration_reynolds ="];
    let lines = without_layers.lines().filter(|line| {
        let mut keys = of_fitting.iter().chain(&of_calibration);
        !keys.any(|key| line.starts_with(key))
    });
    let plain: String = lines.map(|line| format!("{line}\n")).collect();
    let plain = with(&plain, "[meter]\n", "[meter]\ncalibration_covers = []\n");
    with(
        &plain,
        "[installation]\n",
        &format!("[installation]\n{FACTOR}\n"),
    )
}

/// The line of [`plain_demo`] that states the effect of the installation.
pub const FACTOR: &str = "factor = { value = \"1.000\", half_width = \"1.4 %\", shape = \"triangular\", \
                          evidence = \"14 diameters downstream of one bend, judgement\" }";

/// The Python tests read the same site, and do not make it a second time.
#[test]
fn the_plain_demonstration_is_a_file() {
    tables::assert_page("tests/plain_site.toml", &plain_demo());
}
