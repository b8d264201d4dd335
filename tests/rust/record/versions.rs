//! Records of earlier versions.

use super::DEMO;
use super::forged;
use crate::support::assert_refused;
use flowdoubt::record::Record;
use serde_json::{Value, json};

fn golden(file: &str) -> Record {
    let path = format!("{}/tests/golden/{file}", env!("CARGO_MANIFEST_DIR"));
    Record::load(path).expect(file)
}

/// A release that changes the cautions must not change the digest that an auditor sees of old records.
#[test]
fn the_digest_and_the_text_are_those_that_were_given() {
    let text = forged(|record| record["cautions"] = json!("in the words of another version"));
    let value: Value = serde_json::from_str(&text).expect("JSON");
    let given = value["digest"]["value"].as_str().expect("digest");
    let record = Record::from_text(&text).expect("record");
    assert_eq!(record.digest(), given);
    assert_ne!(record.digest(), DEMO.digest());
    assert_ne!(record, *DEMO);
    assert_eq!(record.cautions(), "in the words of another version");
    assert_eq!(record.to_text(), text);
    let reproduction = record.reproduce().expect("recomputed");
    assert!(reproduction.agrees() && !reproduction.same_cautions);
    assert!(reproduction.in_words().contains(given));
    assert!(
        reproduction
            .in_words()
            .contains("cautions are in other words")
    );
}

/// A record of an older measurement model says what it says, and nobody takes what the present one
/// computes for its results.
#[test]
fn a_record_of_an_older_model_is_read_and_names_the_version_that_reproduces_it() {
    let record = golden("record_v1.json");
    assert_eq!(record.content().model(), "transit-time path 1");
    let (site, _) = record.content().headline();
    assert!(!site.is_empty());
    let parts = [
        "transit-time path 1",
        "transit-time path 2",
        "version 0.1.0",
    ];
    assert_refused(record.reproduce(), "other-model", &parts);
    assert_refused(record.recomputed(), "other-model", &parts);
    assert_refused(record.worksheet(), "other-model", &parts);
}

#[test]
fn a_record_of_version_1_is_read_for_ever() {
    let record = golden("record_v1_model_2.json");
    let reproduction = record.reproduce().expect("recomputed");
    // another version of the software may differ in the last digits of numbers, but in no words
    for difference in &reproduction.differences {
        // the verdict on the first order lies within chance of its limit: other draws, another one
        if difference.name == "results.monte_carlo.first_order_validated" {
            continue;
        }
        let number = |text: &str| text.parse::<f64>().ok();
        let old = number(&difference.recorded).unwrap_or_else(|| panic!("{difference:?}"));
        let new = number(&difference.recomputed).unwrap_or_else(|| panic!("{difference:?}"));
        let tolerance = if difference.name.starts_with("results.monte_carlo") {
            0.05 * old.abs()
        } else {
            1e-7 * old.abs() // slopes of the fits of tables and profiles are as good as that
        };
        assert!((old - new).abs() <= tolerance, "{difference:?}");
    }
}
