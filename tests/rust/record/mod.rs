//! The record: written and read to the last bit, recomputed, and refused when anything is wrong
//! with it.

mod canonical;
mod of_a_model;
mod refused;
mod versions;

use crate::support::{assert_refused, demo, demo_readings, evaluate, number, with};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::record::{Content, Extras, Record, canonical_json, sha256};
use serde_json::{Value, json};
use std::sync::LazyLock;

fn record_of(evaluation: &Evaluation, at_no_flow: Option<&Readings>) -> Record {
    let run = MonteCarlo {
        trials: 500,
        seed: u64::MAX,
        allowed_failures: 0.0,
    };
    let trials = evaluation.monte_carlo(run).expect("trials");
    let extras = Extras {
        trials: Some(&trials),
        at_no_flow,
        ..Extras::default()
    };
    Record::of(evaluation, extras).expect("record")
}

static DEMO: LazyLock<Record> = LazyLock::new(|| {
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("demonstration");
    let zero = [("time_difference_ns", &[0.1, 0.2, 0.15][..])];
    record_of(
        &evaluation,
        Some(&Readings::from_columns(zero).expect("zero")),
    )
});

static TEXT: LazyLock<String> = LazyLock::new(|| DEMO.to_text());

/// A record whose JSON was changed, with a digest that fits.
fn forged(change: impl FnOnce(&mut Value)) -> String {
    let mut value: Value = serde_json::from_str(&TEXT).expect("JSON");
    change(&mut value);
    if let Value::Object(members) = &mut value {
        members.remove("digest");
    }
    let digest = sha256(&canonical_json(&value).expect("canonical"));
    value["digest"] =
        json!({"algorithm": "SHA-256", "canonical_form": "RFC 8785", "value": digest});
    value.to_string()
}

/// There is one JSON of a result: that of its record.
#[test]
fn the_json_of_an_evaluation_is_that_of_its_record() {
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("demonstration");
    let record = record_of(&evaluation, None);
    let recomputed = record.recomputed().expect("recomputed");
    let trials = recomputed.trials.expect("trials");
    let found = evaluation.to_json(Some((&trials, 2))).expect("JSON");
    let found: serde_json::Value = serde_json::from_str(&found).expect("JSON");
    let written: Value = serde_json::from_str(&record.to_text()).expect("JSON");
    assert_eq!(found, written["content"]["evaluation"]["results"]);
    let without = evaluation.to_json(None).expect("JSON");
    let without: serde_json::Value = serde_json::from_str(&without).expect("JSON");
    assert_eq!(without["monte_carlo"], Value::Null);
    assert_eq!(without["budget"], found["budget"]);
}

#[test]
fn a_record_keeps_every_bit_and_reproduces() {
    let read = Record::from_text(&TEXT).expect("record");
    assert_eq!(read, *DEMO);
    assert_eq!(read.to_text(), *TEXT);
    let Content::Evaluation(record) = read.content() else {
        panic!("an evaluation");
    };
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("demonstration");
    assert_eq!(record.inputs.site.text, demo("site.toml"));
    assert_eq!(record.results.volume_flow_m3_s, evaluation.estimate());
    let lines = evaluation.budget.lines.iter();
    for (row, line) in record.results.budget.iter().zip(lines) {
        assert_eq!(row.name, line.input.name());
        assert_eq!(row.sensitivity.to_bits(), line.sensitivity.to_bits());
        assert_eq!(row.contribution_m3_s.to_bits(), line.contribution.to_bits());
    }
    for (row, step) in record.results.steps.iter().zip(evaluation.steps.named()) {
        assert_eq!((row.name.as_str(), row.value), (step.name, step.value));
    }
    let monte_carlo = record.inputs.monte_carlo.as_ref().expect("trials");
    assert_eq!(monte_carlo.seed, u64::MAX.to_string());
    assert!(record.results.checks.zero.is_some());
    assert!(record.results.checks.sound_speed.is_some());

    let reproduction = read.reproduce().expect("recomputed");
    assert!(reproduction.agrees(), "{}", reproduction.in_words());
    let words = reproduction.in_words();
    assert!(words.contains("reproduced: all"), "{words}");
    assert!(words.contains("  budget: "), "{words}");
    assert!(words.contains(&read.digest()), "{words}");
}

#[test]
fn sites_of_other_kinds_reproduce() {
    let reconciled = evaluate(&demo("site.toml"), &demo_readings()).expect("demonstration");
    let reconciled = reconciled.reconciled().expect("reconciled").after;
    let record = record_of(&reconciled, None);
    let Content::Evaluation(content) = record.content() else {
        panic!("an evaluation");
    };
    assert!(content.inputs.reconciled && content.results.reconciliation.is_some());
    let geometric = with(&demo("site.toml"), "\"timed\"", "\"geometric\"");
    // columns to the last bit, an infinite number of effective degrees of freedom
    let exact = "[site]\nname = \"exact\"\n[liquid]\nkind = \"stated\"\n\
        sound_speed = \"1480 m/s\"\nkinematic_viscosity = \"1.1 mm2/s\"\n[pipe]\n\
        outside_diameter = { value = \"219.1 mm\", standard_uncertainty = \"0.4 mm\" }\n\
        wall = \"6.3 mm\"\nwall_sound_speed = \"3230 m/s\"\n[path]\nbasis = \"geometric\"\n\
        traverses = 2\nwedge_angle = \"39 deg\"\nwedge_sound_speed = \"2440 m/s\"\n";
    let steady = [("time_difference_ns", &[300.1 + 0.2, 300.1 + 0.2][..])];
    let steady = Readings::from_columns(steady).expect("readings");
    let others = [
        record,
        record_of(&evaluate(&geometric, &demo_readings()).expect("site"), None),
        record_of(&evaluate(exact, &steady).expect("site"), None),
    ];
    for record in others {
        let read = Record::from_text(&record.to_text()).expect("record");
        assert_eq!(read, record);
        let reproduction = read.reproduce().expect("recomputed");
        assert!(reproduction.agrees(), "{}", reproduction.in_words());
    }
}

#[test]
fn the_first_figure_that_differs_is_named() {
    let text = forged(|record| {
        let rows = &mut record["content"]["evaluation"]["results"]["budget"];
        let row = rows.as_array_mut().expect("rows").iter_mut();
        let wall = row.into_iter().find(|row| row["name"] == "pipe.wall");
        let wall = wall.expect("wall");
        let sensitivity = number(&wall["sensitivity"]);
        wall["sensitivity"] = json!(sensitivity.next_up());
        wall["share"] = json!(0.5);
    });
    let reproduction = Record::from_text(&text).expect("forged").reproduce();
    let reproduction = reproduction.expect("recomputed");
    assert!(!reproduction.agrees());
    let names: Vec<&str> = reproduction
        .differences
        .iter()
        .map(|d| d.name.as_str())
        .collect();
    let expected = ["sensitivity", "share"].map(|key| format!("results.budget[pipe.wall].{key}"));
    assert_eq!(names, expected);
    let words = reproduction.in_words();
    assert!(words.contains("NOT reproduced: 2 of "), "{words}");
    assert!(
        words.contains("first results.budget[pipe.wall].sensitivity: recorded "),
        "{words}"
    );
    // other inputs, other results
    let text = forged(|record| {
        let site = &mut record["content"]["evaluation"]["inputs"]["site"]["text"];
        *site = json!(with(&demo("site.toml"), "39.6 deg", "39.7 deg"));
    });
    let reproduction = Record::from_text(&text).expect("forged").reproduce();
    let reproduction = reproduction.expect("recomputed");
    assert_eq!(reproduction.differences[0].name, "results.headline");
    // a list that lacks a line
    let text = forged(|record| {
        let rows = &mut record["content"]["evaluation"]["results"]["budget"];
        rows.as_array_mut().expect("rows").pop();
    });
    let reproduction = Record::from_text(&text).expect("forged").reproduce();
    let first = &reproduction.expect("recomputed").differences[0];
    assert_eq!(first.name, "number of results.budget");
}

#[test]
fn the_published_schema_is_that_of_the_record() {
    let path = "python/flowdoubt/record.schema.json";
    let path = format!("{}/{path}", env!("CARGO_MANIFEST_DIR"));
    let published = std::fs::read_to_string(path).expect("schema");
    let own = format!("{}\n", Record::schema());
    assert!(
        published == own,
        "tests/golden/generate/record.py writes it anew"
    );
}

#[test]
fn the_largest_difference_is_told_and_the_words_follow_it() {
    let changed = |factor: f64, version: &str| {
        let text = forged(|record| {
            record["software"]["version"] = json!(version);
            let results = &mut record["content"]["evaluation"]["results"];
            for (key, part) in [("expanded_uncertainty_m3_s", 1.0), ("coverage_factor", 0.5)] {
                let number = number(&results[key]);
                results[key] = json!(number * (1.0 + part * (factor - 1.0)));
            }
        });
        let record = Record::from_text(&text).expect("record");
        record.reproduce().expect("recomputed")
    };
    for (factor, version, said) in [
        (
            1.0 + 1e-14,
            "0.1.9",
            "in their last digits, as between versions",
        ),
        (
            1.0 + 1e-14,
            env!("CARGO_PKG_VERSION"),
            "promises the same bits",
        ),
        (1.0 + 1e-8, "0.1.9", "less than is shown"),
        (
            1.5,
            "0.1.9",
            "far more than their last digits: version 0.1.9",
        ),
        (
            1.5,
            env!("CARGO_PKG_VERSION"),
            "far more than their last digits, though",
        ),
    ] {
        let reproduction = changed(factor, version);
        let largest = reproduction.largest().expect("numbers");
        assert_eq!(largest.name, "results.expanded_uncertainty_m3_s");
        let relative = largest.relative.expect("numbers");
        assert!(
            (relative - (1.0 - 1.0 / factor)).abs() < 1e-15,
            "{relative}"
        );
        let words = reproduction.in_words();
        assert!(words.contains(said), "{words}");
        assert!(
            words.contains("first results.coverage_factor: recorded "),
            "{words}"
        );
        assert!(words.contains("largest difference of numbers: "), "{words}");
    }
}

#[test]
fn an_input_without_effect_does_not_reproduce() {
    for seed in ["+1", "01", " 1", "1.0"] {
        let text = forged(|record| {
            record["content"]["evaluation"]["inputs"]["monte_carlo"]["seed"] = json!(seed);
        });
        let record = Record::from_text(&text).expect("record");
        assert_refused(
            record.reproduce(),
            "wrong-type",
            &["seed", seed, "zeros before"],
        );
    }
    let text = forged(|record| {
        record["content"]["evaluation"]["inputs"]["site"]["file"] = json!("elsewhere/site.toml");
    });
    let reproduction = Record::from_text(&text).expect("record").reproduce();
    let reproduction = reproduction.expect("recomputed");
    assert_eq!(reproduction.differences[0].name, "inputs.site.file");
    assert!(reproduction.in_words().contains("are words or missing"));
}
