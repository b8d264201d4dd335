//! Records of a model of one's own: they come back as they were, reproduce, and tell what was changed.

use crate::support::assert_refused;
use flowdoubt::montecarlo::{JointTrials, MonteCarlo};
use flowdoubt::record::{ModelRecord, Record};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{Budget, Input, InputSet, MeasurementModel, Output, Shape, propagate};
use flowdoubt::units::Unit;
use serde_json::{Value, json};
use std::ops::ControlFlow;

/// Power and current of a resistor.
struct Resistor {
    exponent: i32,
}

impl MeasurementModel for Resistor {
    type Outputs<S: Scalar> = [S; 2];

    fn outputs(&self) -> Vec<Output> {
        let output = |name: &str, unit| Output {
            name: name.to_owned(),
            unit: Unit::named(unit),
        };
        vec![output("power", "W"), output("current", "A")]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> flowdoubt::Result<[S; 2]> {
        Ok([x[0].powi(self.exponent) / x[1], x[0] / x[1]])
    }
}

const MODEL: Resistor = Resistor { exponent: 2 };

fn inputs() -> InputSet {
    let voltage = Input::with_standard_uncertainty("voltage", 10.0, 0.1, 9.0).expect("voltage");
    let resistance =
        Input::with_half_width("resistance", 50.0, 1.0, Shape::Rectangular, f64::INFINITY);
    let pair = ("voltage".to_owned(), "resistance".to_owned(), 0.25);
    InputSet::correlated(
        vec![
            voltage.in_component("meter"),
            resistance.expect("resistance"),
        ],
        &[pair],
    )
    .expect("a set")
}

fn found(trials: u64) -> (Vec<Budget>, JointTrials) {
    let run = MonteCarlo {
        trials,
        seed: u64::MAX,
        ..MonteCarlo::default()
    };
    let budgets = propagate(&MODEL, &inputs()).expect("budgets");
    (budgets, run.joint(&MODEL, &inputs()).expect("trials"))
}

fn record() -> ModelRecord {
    let (budgets, trials) = found(3000);
    ModelRecord::of("resistor 1", &inputs(), &budgets, Some(&trials), 0.95).expect("a record")
}

fn differences(record: &ModelRecord, model: &Resistor) -> Vec<String> {
    let mut unwatched = |_: u64| ControlFlow::Continue(());
    let found = record.reproduce("resistor 1", model, &mut unwatched);
    found
        .expect("differences")
        .into_iter()
        .map(|d| d.name)
        .collect()
}

#[test]
fn a_record_comes_back_and_reproduces() {
    let (budgets, trials) = found(3000);
    let record = record();
    let read = ModelRecord::from_text(&record.to_text()).expect("read");
    assert_eq!(read, record);
    assert_eq!(read.to_text(), record.to_text());
    assert_eq!(read.inputs().expect("inputs"), inputs());
    assert_eq!(read.model(), "resistor 1");
    for (i, (output, budget)) in read.outputs().iter().zip(&budgets).enumerate() {
        assert_eq!(output.estimate, budget.estimate);
        assert_eq!(output.standard_uncertainty, budget.standard_uncertainty);
        assert_eq!(output.budget[0].component, "meter");
        assert_eq!(output.budget[1].sensitivity, budget.lines[1].sensitivity);
        let recorded = output.monte_carlo.as_ref().expect("trials");
        assert_eq!(recorded.mean, trials.of_output(i).mean);
    }
    assert_eq!(differences(&read, &MODEL), Vec::<String>::new());
    // without trials as well, and with an input that has infinitely many degrees of freedom
    let first_order = ModelRecord::of("resistor 1", &inputs(), &budgets, None, 0.9);
    let read = ModelRecord::from_text(&first_order.expect("a record").to_text()).expect("read");
    assert!(differences(&read, &MODEL).is_empty());
}

#[test]
fn another_model_is_named_or_found_out() {
    let record = record();
    let mut unwatched = |_: u64| ControlFlow::Continue(());
    let other = record.reproduce("resistor 2", &MODEL, &mut unwatched);
    assert_refused(other, "other-model", &["resistor 1", "resistor 2"]);
    let found = differences(&record, &Resistor { exponent: 3 });
    assert!(
        found.contains(&"outputs[power].estimate".to_owned()),
        "{found:?}"
    );
    assert!(
        !found
            .iter()
            .any(|name| name.starts_with("outputs[current]")),
        "{found:?}"
    );
}

#[test]
fn what_was_changed_or_is_something_else_is_refused() {
    let record = record();
    let text = record.to_text();
    let mut value: Value = serde_json::from_str(&text).expect("JSON");
    value["outputs"][0]["estimate"] = json!(2.5);
    assert_refused(
        ModelRecord::from_text(&value.to_string()),
        "edited",
        &[&record.digest()],
    );
    value.as_object_mut().expect("an object").remove("digest");
    assert_refused(
        ModelRecord::from_text(&value.to_string()),
        "missing",
        &["digest"],
    );
    // with the digest of what it says, it does not reproduce
    let digest = {
        let bytes = flowdoubt::record::canonical_json(&value).expect("canonical");
        flowdoubt::record::sha256(&bytes)
    };
    value["digest"] =
        json!({"algorithm": "SHA-256", "canonical_form": "RFC 8785", "value": digest});
    let forged = ModelRecord::from_text(&value.to_string()).expect("consistent");
    assert_eq!(differences(&forged, &MODEL), ["outputs[power].estimate"]);
    // neither kind is taken for the other
    assert_refused(
        Record::from_text(&text),
        "unknown-name",
        &["flowdoubt record"],
    );
    let newer = text.replace("\"version\": 1", "\"version\": 2");
    assert_refused(
        ModelRecord::from_text(&newer),
        "record-version",
        &["newer version"],
    );
    assert_refused(
        ModelRecord::from_text(&text[..200]),
        "syntax",
        &["cut short"],
    );
}

#[test]
fn what_cannot_be_recorded_is_refused() {
    let (budgets, trials) = found(300);
    let of = |budgets: &[Budget], probability| {
        ModelRecord::of("resistor 1", &inputs(), budgets, Some(&trials), probability)
    };
    assert_refused(
        of(&budgets[..1], 0.95),
        "conflict",
        &["budgets and trials of one model"],
    );
    assert_refused(of(&budgets, 1.5), "out-of-range", &["1.5"]);
    // 300 trials do not resolve it
    assert!(of(&budgets, 0.9999).is_err());
}

#[test]
fn a_watch_ends_the_reproduction() {
    let mut stop = |_: u64| ControlFlow::Break(());
    let ended = record().reproduce("resistor 1", &MODEL, &mut stop);
    assert_refused(ended, "cancelled", &[]);
}
