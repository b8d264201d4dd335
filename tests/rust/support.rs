//! Helpers shared by the tests.

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
