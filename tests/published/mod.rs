//! Every value of tests/published/table.json beside ours, as a page of the book.

mod gum6;
mod jcgm100;
mod jcgm101;
mod jcgm102;
mod jcgm106;

pub use gum6::TIN;
pub use jcgm101::{ComparisonLoss, Sum, sum_of};

use crate::support::tables::assert_page;
use crate::support::{json, number};
use flowdoubt::uncertainty::Output;
use flowdoubt::units::Unit;
use serde_json::Value;
use std::collections::BTreeMap;

/// Our values by the row's `id`.
pub type Values = Vec<(String, f64)>;

/// The one output of a model.
pub fn one_output(name: &str, unit: &'static str) -> Vec<Output> {
    vec![Output {
        name: name.to_owned(),
        unit: Unit::named(unit),
    }]
}

/// The list of numbers in a JSON array.
pub fn column(value: &Value) -> Vec<f64> {
    value
        .as_array()
        .expect("array")
        .iter()
        .map(number)
        .collect()
}

const HEAD: &str = "\
# Worked examples of the guides

Numbers that the guides print beside ours, written by the test `published_table` that compares them. A
number may differ by half a unit of its last printed place, or by what the last column says. Those of Monte Carlo are
of a fixed seed. `FLOWDOUBT_WRITE_TABLES=1 cargo test --test rust published_table` writes this page.
";

const COLUMNS: &str = "\
| clause | quantity | printed | ours | tolerance |
|---|---|---|---|---|
";

/// A number with two digits more than its tolerance.
fn beyond(value: f64, tolerance: f64) -> String {
    if tolerance == 0.0 {
        return value.to_string();
    }
    let places = (1.0 - libm::log10(tolerance)).ceil().max(0.0);
    format!("{value:.0$}", places as usize)
}

#[test]
fn published_table() {
    let mut ours = BTreeMap::new();
    let all = [
        jcgm100::values(),
        jcgm101::values(),
        jcgm102::values(),
        jcgm106::values(),
        gum6::values(),
    ];
    for (id, value) in all.into_iter().flatten() {
        assert!(
            ours.insert(id.clone(), value).is_none(),
            "{id} computed twice"
        );
    }
    let table = json("published/table.json");
    let mut page = format!("{HEAD}\n{}.\n", table["source"].as_str().expect("source"));
    let (mut guide, mut failed) = (String::new(), Vec::new());
    let mut rows = table["rows"].as_array().expect("rows").clone();
    rows.sort_by(|a, b| a["guide"].as_str().cmp(&b["guide"].as_str()));
    for row in &rows {
        let text = |key: &str| row[key].as_str().expect("text");
        let (published, tolerance) = (number(&row["published"]), number(&row["tolerance"]));
        let id = text("id");
        let value = ours
            .remove(id)
            .unwrap_or_else(|| panic!("{id} is not computed"));
        if text("guide") != guide {
            text("guide").clone_into(&mut guide);
            page += &format!("\n## {guide}\n\n{COLUMNS}");
        }
        let why = match text("why") {
            "half a unit of the last printed place" => String::new(),
            why => format!(", {why}"),
        };
        let line = format!(
            "| {} | {} | {published} | {} | {tolerance}{why} |",
            text("clause"),
            text("quantity"),
            beyond(value, tolerance)
        );
        if (value - published).abs() > tolerance * (1.0 + 1e-9) {
            failed.push(line.clone());
        }
        page += &line;
        page.push('\n');
    }
    assert!(failed.is_empty(), "\n{}", failed.join("\n"));
    assert!(ours.is_empty(), "no row for {:?}", ours.keys());
    assert_page("notebooks/published_values.md", &page);
}
