//! Every value of tests/published/table.json beside ours. Printed by
//! `cargo test --test rust published_table -- --nocapture`.

mod gum6;
mod jcgm100;
mod jcgm101;
mod jcgm102;
mod jcgm106;

pub use gum6::TIN;
pub use jcgm101::{ComparisonLoss, Sum, sum_of};

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
    println!("{}", table["source"].as_str().expect("source"));
    println!("guide, clause: quantity: published, ours, tolerance");
    let mut failed = Vec::new();
    for row in table["rows"].as_array().expect("rows") {
        let text = |key: &str| row[key].as_str().expect("text").to_owned();
        let (published, tolerance) = (number(&row["published"]), number(&row["tolerance"]));
        let id = text("id");
        let value = ours
            .remove(&id)
            .unwrap_or_else(|| panic!("{id} is not computed"));
        let good = (value - published).abs() <= tolerance * (1.0 + 1e-9);
        let line = format!(
            "{}, {}: {}: {published}, {value:.8}, {tolerance} ({}){}",
            text("guide"),
            text("clause"),
            text("quantity"),
            text("why"),
            if good { "" } else { "  DIFFERS" }
        );
        println!("{line}");
        if !good {
            failed.push(line);
        }
    }
    assert!(failed.is_empty(), "\n{}", failed.join("\n"));
    assert!(ours.is_empty(), "no row for {:?}", ours.keys());
}
