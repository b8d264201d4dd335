//! What is no record, or no longer the record that was written.

use super::forged;
use super::{DEMO, TEXT};
use crate::support::{assert_refused, demo, with};
use flowdoubt::record::{MonteCarloInputs, Record};
use proptest::prelude::*;
use serde_json::{Value, json};

#[test]
fn what_was_changed_after_writing_is_refused() {
    let refused = |text: &str, code: &str, parts: &[&str]| {
        assert_refused(Record::from_text(text), code, parts);
    };
    let stated = DEMO.digest();
    let edited = with(&TEXT, "\"flow_unit\": \"m3/h\"", "\"flow_unit\": \"L/s\"");
    refused(
        &edited,
        "edited",
        &["changed after it was written", &stated],
    );
    // order of keys, spaces and the spelling of numbers are no change
    let spelt = with(
        &TEXT,
        "\"coverage_probability\": 0.95",
        "\"coverage_probability\" :9.5e-1",
    );
    assert_eq!(Record::from_text(&spelt).expect("the same record"), *DEMO);

    for end in [1, TEXT.len() / 2, TEXT.len() - 3] {
        refused(&TEXT[..end], "syntax", &["cut short"]);
    }
    refused("", "syntax", &["cut short"]);
    refused(&format!("{}{{}}", *TEXT), "syntax", &["trailing"]);
    let flow = "\"volume_flow_m3_s\": ";
    for (number, code) in [
        ("NaN, \"", "syntax"),
        ("1e999, \"", "syntax"),
        ("null, \"", "wrong-type"),
    ] {
        let start = TEXT.find(flow).expect("flow") + flow.len();
        let rest = &TEXT[start + TEXT[start..].find(',').expect("comma") + 1..];
        let text = format!("{}{}x\": 1,{rest}", &TEXT[..start], number);
        refused(&text, code, &[]);
    }
    let nested = "[".repeat(1_000_000);
    refused(&nested, "wrong-type", &[]);
    let heading = "{\"format\": \"flowdoubt record\", \"version\": 1, \"software\": ";
    refused(&format!("{heading}{nested}"), "syntax", &[]);
    let nested = format!("{nested}{}", "]".repeat(1_000_000));
    refused(&format!("{heading}{nested}}}"), "wrong-type", &["software"]);
}

#[test]
fn what_is_no_record_is_refused_in_words() {
    let refused = |text: &str, code: &str, parts: &[&str]| {
        assert_refused(Record::from_text(text), code, parts);
    };
    refused(
        "{\"format\": \"letter\", \"version\": 1}",
        "unknown-name",
        &["`letter`"],
    );
    refused("{}", "missing", &["format"]);
    refused("[1, 2]", "wrong-type", &[]);
    refused(
        &forged(|r| r["version"] = json!(0)),
        "record-version",
        &["version 0"],
    );
    let newer = forged(|r| {
        r["version"] = json!(2);
        r["new"] = json!("section");
    });
    refused(
        &newer,
        "record-version",
        &["version 2", "newer version of this software", "1 to 1"],
    );
    refused(
        &forged(|r| r["version"] = json!(1.5)),
        "wrong-type",
        &["version"],
    );
    let inputs = |r: &mut Value, key: &str, value: Value| {
        r["content"]["evaluation"]["inputs"][key] = value;
    };
    let unknown = forged(|r| inputs(r, "reconcilde", json!(true)));
    refused(
        &unknown,
        "unknown-key",
        &["content.evaluation.inputs.reconcilde", "`reconciled`"],
    );
    let missing = forged(|r| {
        let inputs = r["content"]["evaluation"]["inputs"].as_object_mut();
        inputs.expect("inputs").remove("monte_carlo");
    });
    refused(&missing, "missing", &["monte_carlo"]);
    let kind = forged(|r| r["content"] = json!({"poem": {}}));
    refused(&kind, "unknown-name", &["content", "`poem`"]);
    let wrong = forged(|r| inputs(r, "reconciled", json!("yes")));
    refused(
        &wrong,
        "wrong-type",
        &["content.evaluation.inputs.reconciled"],
    );
    let twice = with(
        &TEXT,
        "\"reconciled\": false",
        "\"reconciled\": false, \"reconciled\": true",
    );
    refused(&twice, "syntax", &["duplicate field `reconciled`"]);
    let mut value: Value = serde_json::from_str(&TEXT).expect("JSON");
    value["digest"] = Value::Null;
    refused(&value.to_string(), "missing", &["digest"]);
    // what can be read but not evaluated
    let seed = json!({"trials": 500, "seed": "-1", "digits": 2});
    let seed = Record::from_text(&forged(|r| inputs(r, "monte_carlo", seed))).expect("forged");
    assert_refused(seed.reproduce(), "wrong-type", &["monte_carlo.seed"]);
    let most = MonteCarloInputs::MOST_TRIALS + 1;
    let many = json!({"trials": most, "seed": "1", "digits": 2});
    let many = Record::from_text(&forged(|r| inputs(r, "monte_carlo", many))).expect("forged");
    assert_refused(
        many.reproduce(),
        "out-of-range",
        &["monte_carlo.trials", "at most 20000000"],
    );
    let layers = "[[pipe.layer]]\nthickness = \"1 mm\"\nsound_speed = \"2 km/s\"\n".repeat(50_000);
    let site = json!({"file": "a.toml", "text": format!("{}\n{layers}", demo("site.toml"))});
    let hostile = Record::from_text(&forged(|r| inputs(r, "site", site))).expect("forged");
    assert_refused(
        hostile.reproduce(),
        "length",
        &["pipe.layer", "100 at most"],
    );
}

#[test]
fn files_are_not_overwritten_unasked_and_not_read_when_too_large() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("run.json");
    DEMO.save(&path, false).expect("saved");
    assert_eq!(Record::load(&path).expect("loaded"), *DEMO);
    assert_refused(DEMO.save(&path, false), "exists", &["run.json exists"]);
    std::fs::write(&path, "something else").expect("written");
    assert_refused(DEMO.save(&path, false), "exists", &[]);
    assert_eq!(
        std::fs::read_to_string(&path).expect("file"),
        "something else"
    );
    DEMO.save(&path, true).expect("overwritten");
    assert_eq!(std::fs::read_to_string(&path).expect("file"), *TEXT);
    assert_refused(
        Record::load(folder.path().join("none.json")),
        "file",
        &["cannot read"],
    );
    assert_refused(
        DEMO.save(folder.path().join("no/run.json"), false),
        "file",
        &["cannot write"],
    );
    let large = std::fs::File::create(&path).expect("file");
    if large.set_len(Record::MOST_BYTES + 1).is_ok() {
        assert_refused(Record::load(&path), "too-large", &["67108865 bytes"]);
    }
    std::fs::write(&path, b"\xff\xfe{}").expect("written");
    assert_refused(Record::load(&path), "syntax", &["not UTF-8"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Whatever happens to the bytes of a record, it is read only if its digest agrees.
    #[test]
    fn no_damaged_record_is_read(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let mut bytes = TEXT.clone().into_bytes();
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        if let Ok(text) = std::str::from_utf8(&bytes) {
            match Record::from_text(text) {
                Ok(read) => prop_assert_eq!(read.digest(), DEMO.digest()),
                Err(error) => prop_assert!(!error.to_string().is_empty()),
            }
        }
    }
}
