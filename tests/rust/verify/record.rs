//! The record of a verification: recomputed to the last bit from what it holds alone.

use super::{WATER, demonstrated, site, steady, verified};
use crate::support::{assert_refused, number};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::record::{Content, Record, canonical_json, sha256};
use flowdoubt::verify::{Verification, VerificationResult};
use serde_json::{Value, json};

fn record_of(result: &VerificationResult, trials: u64) -> Record {
    let run = MonteCarlo {
        trials,
        seed: 5,
        ..MonteCarlo::default()
    };
    let trials = (trials > 0).then(|| result.monte_carlo(run).expect("trials"));
    Record::of_verification(result, trials.as_ref()).expect("record")
}

#[track_caller]
fn assert_reproduces(record: &Record) {
    let read = Record::from_text(&record.to_text()).expect("record");
    assert_eq!(read, *record);
    let reproduction = read.reproduce().expect("recomputed");
    assert!(reproduction.agrees(), "{}", reproduction.in_words());
    assert!(reproduction.agreed.len() > 100);
}

#[test]
fn the_demonstration_is_recomputed_from_its_record_alone() {
    let (site, verification) = demonstrated();
    let result = site.verify(&verification).expect("verified");
    let record = record_of(&result, 400);
    let Content::Verification(recorded) = record.content() else {
        panic!("a verification");
    };
    let (inputs, results) = (&recorded.inputs, &recorded.results);
    assert_eq!(inputs.readings.len(), 12);
    assert_eq!(inputs.readings[0].name, "verification/run_01.csv");
    assert_eq!(inputs.verification.file, "verification.toml");
    assert_eq!(results.headline, result.headline());
    assert_eq!(results.points[1].error, result.points[1].error);
    let own = &result.points[1].error_budget.lines;
    for (row, line) in results.points[1].budget.iter().zip(own) {
        assert_eq!(row.name, line.input.name());
        assert_eq!(row.contribution.to_bits(), line.contribution.to_bits());
    }
    assert!(results.monte_carlo.is_some() && results.line.is_some());
    let (name, headline) = record.content().headline();
    assert_eq!((name, headline), (site.name.as_str(), &*result.headline()));
    assert_reproduces(&record);
    assert!(record.worksheet().is_err());
}

/// There is one JSON of a result: that of its record.
#[test]
fn the_json_of_a_verification_is_that_of_its_record() {
    let (site, verification) = demonstrated();
    let result = site.verify(&verification).expect("verified");
    let run = MonteCarlo {
        trials: 400,
        ..MonteCarlo::default()
    };
    let trials = result.monte_carlo(run).expect("trials");
    for trials in [None, Some(&trials)] {
        let record = Record::of_verification(&result, trials).expect("record");
        let written: Value = serde_json::from_str(&record.to_text()).expect("JSON");
        let found = result.to_json(trials).expect("JSON");
        let found: serde_json::Value = serde_json::from_str(&found).expect("JSON");
        assert_eq!(found, written["content"]["verification"]["results"]);
    }
}

#[test]
fn records_of_exact_sides_and_of_single_runs_reproduce() {
    let text = "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"master meter\"\n\
                calibration_factor = \"1\"\nvolume_flow = \"100 m3/h\"\nabsolute_pressure = \"3 bar\"\ntemperature = \"18 degC\"\n\
                [[run]]\npoint = \"a\"\nreadings = \"101\"\n";
    let result = verified(&site(WATER, ""), text);
    // no uncertainty, no correlation, no scores: nothing of it may get lost as null
    assert_eq!(result.points[0].error.standard_uncertainty, 0.0);
    assert_reproduces(&record_of(&result, 0));
}

#[test]
fn a_figure_that_was_changed_is_named() {
    let (site, verification) = demonstrated();
    let result = site.verify(&verification).expect("verified");
    let text = record_of(&result, 0).to_text();
    let forge = |change: &dyn Fn(&mut Value)| {
        let mut value: Value = serde_json::from_str(&text).expect("JSON");
        change(&mut value["content"]["verification"]);
        value.as_object_mut().expect("record").remove("digest");
        let digest = sha256(&canonical_json(&value).expect("canonical"));
        value["digest"] =
            json!({"algorithm": "SHA-256", "canonical_form": "RFC 8785", "value": digest});
        Record::from_text(&value.to_string()).expect("forged")
    };
    let record = forge(&|own| {
        let point = &mut own["results"]["points"][2];
        assert_eq!(point["name"], "high");
        let error = number(&point["error"]["value"]);
        point["error"]["value"] = json!(error.next_up());
    });
    let reproduction = record.reproduce().expect("recomputed");
    assert_eq!(reproduction.differences.len(), 1);
    let name = &reproduction.differences[0].name;
    assert_eq!(name, "results.points[high].error.value");
    // other words of the inputs give other figures
    let record = forge(&|own| {
        let text = own["inputs"]["verification"]["text"].as_str();
        let text = text.expect("text").replace("26.751 m3", "26.752 m3");
        own["inputs"]["verification"]["text"] = json!(text);
    });
    assert!(!record.reproduce().expect("recomputed").agrees());
    // readings that are not there are no file on this machine
    let record = forge(&|own| {
        own["inputs"]["readings"]
            .as_array_mut()
            .expect("list")
            .pop();
    });
    assert_refused(record.reproduce(), "missing", &["run_12.csv"]);
    // readings that no run uses, and a second file under the name of one that is used
    for (name, found) in [
        ("better.csv", "no run uses"),
        ("verification/run_02.csv", "second entry"),
    ] {
        let record = forge(&|own| {
            let readings = own["inputs"]["readings"].as_array_mut().expect("list");
            let mut stray = readings[0].clone();
            stray["name"] = json!(name);
            readings.push(stray);
        });
        assert_refused(record.reproduce(), "conflict", &[name, found]);
    }
}

#[test]
fn one_name_stands_for_one_file_of_readings() {
    let text = "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"master meter\"\n\
                calibration_factor = \"1\"\nvolume_flow = \"100 m3/h\"\nabsolute_pressure = \"3 bar\"\ntemperature = \"18 degC\"\n\
                [[run]]\npoint = \"a\"\nreadings = \"same\"\n\
                [[run]]\npoint = \"a\"\nreadings = \"same\"\n";
    let read = |flows: [f64; 2]| {
        let next = std::cell::Cell::new(0);
        Verification::with_readings(text, "v.toml", move |_| {
            next.set(next.get() + 1);
            Ok(steady(flows[next.get() - 1]))
        })
        .expect("verification")
    };
    let same = site(WATER, "").verify(&read([101.0, 101.0]));
    assert_reproduces(&record_of(&same.expect("verified"), 0));
    let other = site(WATER, "").verify(&read([101.0, 102.0]));
    let refused = Record::of_verification(&other.expect("verified"), None);
    assert_refused(refused, "conflict", &["run[2].readings", "same"]);
}

#[test]
fn a_file_of_too_many_runs_is_refused() {
    let run = "[[run]]\npoint = \"a\"\nreadings = \"101\"\n";
    let text = format!(
        "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"master meter\"\n{}",
        run.repeat(201)
    );
    assert_refused(super::verification(&text), "length", &["201", "1 to 200"]);
}
