//! The form there and back: what is filled in as expected comes back good, what is wrong is told.

use super::{entry, filled, found, kinds, listed, noted, site_of, uncertain, written};
use crate::support::{assert_refused, assert_relative, line_of, with};
use flowdoubt::commission::Outcome;
use proptest::prelude::*;

#[test]
fn a_form_as_expected_comes_back_as_it_should_be() {
    for (kind, text, request) in kinds() {
        let site = site_of(&text);
        let list = site.commissioning(&request).expect("a list");
        let found = site.commissioned(&filled(&list), "form.toml");
        let found = found.unwrap_or_else(|e| panic!("{kind}: {e}"));
        let bad: Vec<_> = found
            .steps
            .iter()
            .filter(|step| !matches!(step.outcome(), Outcome::AsItShouldBe | Outcome::Done))
            .map(|step| (step.step.key, step.remarks()))
            .collect();
        assert!(found.is_as_it_should_be(), "{kind}: {bad:?}");
        assert_eq!(
            (found.by.as_str(), found.date.as_str()),
            ("A. Tester", "2026-05-04")
        );
        // the state of operation came through
        let found = found.commissioning.request;
        assert_eq!(found.flow, request.flow, "{kind}");
        if let Some(kelvin) = request.temperature {
            let read = found.temperature.expect("a temperature");
            assert_relative(read, kelvin, 1e-15, kind);
        }
    }
}

#[test]
fn an_empty_form_has_nothing_done() {
    let list = listed(&uncertain());
    let found = found(&uncertain(), &list.form());
    assert!(!found.is_as_it_should_be());
    for step in &found.steps {
        assert_eq!(step.outcome(), Outcome::NotDone, "{}", step.step.key);
        assert!(step.remarks().is_empty(), "{:?}", step.remarks());
    }
    assert!(
        found
            .in_words()
            .contains("0 of 14 steps done, 0 not as it should be")
    );
    assert!(found.offered().is_empty() && found.sound_speed.is_none());
}

#[test]
fn done_without_its_numbers_is_not_done() {
    let list = listed(&uncertain());
    let form = written(&filled(&list), "zero", "time_difference", "\"\"");
    let found = found(&uncertain(), &form);
    let zero = found.step("zero").expect("a step");
    assert_eq!(zero.outcome(), Outcome::NotDone);
    assert_eq!(zero.remarks(), ["not noted: time difference at no flow"]);
    // one of the two tells what both tell
    let form = written(&filled(&list), "times", "sound_speed", "\"\"");
    let found = super::found(&uncertain(), &form);
    assert_eq!(
        found.step("times").expect("a step").outcome(),
        Outcome::AsItShouldBe
    );
}

#[test]
fn a_question_that_is_not_answered_with_yes_is_told() {
    let list = listed(&uncertain());
    let form = with(
        &filled(&list),
        "against_the_flow = true",
        "against_the_flow = false",
    );
    let found = found(&uncertain(), &form);
    let signal = found.step("signal").expect("a step");
    assert_eq!(signal.outcome(), Outcome::NotAsItShouldBe);
    let remarks = signal.remarks().join("\n");
    assert!(
        remarks.contains("against the flow?") && remarks.contains("look at first: couplant"),
        "{remarks}"
    );
}

proptest! {
    #[test]
    fn what_lies_outside_is_told_and_what_lies_inside_is_not(
        which in 0_usize..8,
        by in -6.0..6.0_f64,
    ) {
        let list = listed(&uncertain());
        let judged: Vec<_> = list
            .steps
            .iter()
            .flat_map(|step| step.entries.iter().map(move |entry| (step, entry)))
            .filter(|(_, entry)| entry.limits.is_some())
            .collect();
        let (step, own) = judged[which % judged.len()];
        let u = own.standard_uncertainty.expect("u");
        let value = own.expected.expect("a value") + by * u;
        let form = noted(&filled(&list), step.key, own, value);
        let found = found(&uncertain(), &form);
        let found_step = found.step(step.key).expect("a step");
        let found_entry = found_step.entries.iter().find(|e| e.entry.key == own.key).expect("noted");
        let [low, high] = own.limits.expect("limits");
        // off the edge, where text and number may differ in the last bit
        prop_assume!((value - low).abs() > 1e-9 * u && (value - high).abs() > 1e-9 * u);
        let inside = (low..=high).contains(&value);
        prop_assert_eq!(found_entry.is_within(), Some(inside));
        prop_assert!((found_entry.standardised().expect("a score") - by).abs() < 1e-6);
        prop_assert_eq!(found.is_as_it_should_be(), inside);
        let remarks = found_step.remarks().join("\n");
        prop_assert_eq!(remarks.contains("outside of"), !inside, "{}", remarks);
        prop_assert_eq!(remarks.contains("look at first"), !inside, "{}", remarks);
    }
}

#[test]
fn an_uncertainty_that_is_noted_counts_in_place_of_the_one_foreseen() {
    let list = listed(&uncertain());
    let own = entry(&list, "zero.time_difference");
    // the zero as stated is known to 0.3 ns; this reading to 0.4 ns
    let toml = "{ value = \"1.1 ns\", standard_uncertainty = \"0.4 ns\" }";
    let form = written(&filled(&list), "zero", "time_difference", toml);
    let found = found(&uncertain(), &form);
    let zero = &found.step("zero").expect("a step").entries[0];
    assert_relative(zero.standard_uncertainty.expect("u"), 0.5e-9, 1e-12, "u");
    assert_eq!(zero.is_within(), Some(true)); // 0.9 ns and 1.96 * 0.5 ns
    let [_, high] = own.limits.expect("limits");
    assert!(high < 1.1e-9, "outside by the limits of the page");
}

#[test]
fn the_temperature_that_was_found_moves_what_is_expected() {
    let text = with(
        &uncertain(),
        "temperature = { value = \"20 degC\", standard_uncertainty = \"0.3 K\" }\n",
        "thermometer = { standard_uncertainty = \"0.3 K\" }\n",
    );
    let site = site_of(&text);
    let request = flowdoubt::commission::CommissioningRequest {
        temperature: Some(293.15),
        ..Default::default()
    };
    let list = site.commissioning(&request).expect("a list");
    let warmer = flowdoubt::commission::CommissioningRequest {
        temperature: Some(301.15),
        ..Default::default()
    };
    let there = site.commissioning(&warmer).expect("a list");
    // readings of 28 degC
    let mut form = filled(&list);
    for path in ["times.transit_time", "times.sound_speed"] {
        let own = entry(&there, path);
        form = noted(&form, "times", own, own.expected.expect("a value"));
    }
    let times = |form: &str| {
        let found = site.commissioned(form, "form.toml").expect("read");
        found.step("times").expect("a step").outcome()
    };
    assert_eq!(times(&form), Outcome::NotAsItShouldBe);
    let form = written(&form, "temperature", "temperature", "\"28 degC\"");
    assert_eq!(times(&form), Outcome::AsItShouldBe);
    // what no water can be at is told where it was noted
    let form = written(&form, "temperature", "temperature", "\"700 K\"");
    let line = format!("form.toml:{}:", line_of(&form, "\"700 K\""));
    assert_refused(
        site.commissioned(&form, "form.toml"),
        "out-of-range",
        &[&line],
    );
}

#[test]
fn a_wrong_transit_time_names_likely_causes() {
    let list = listed(&uncertain());
    let own = entry(&list, "times.transit_time");
    // one period of 1 MHz
    let form = noted(
        &filled(&list),
        "times",
        own,
        own.expected.expect("a time") + 1e-6,
    );
    let found = found(&uncertain(), &form);
    let check = found.sound_speed.as_ref().expect("a check");
    assert!(!check.agrees() && check.measured < check.expected);
    let words = found.in_words();
    assert!(words.contains("likely causes"), "{words}");
    assert!(words.contains("look at first: a wrong peak"), "{words}");
}

#[test]
fn a_form_of_another_site_file_is_refused_with_what_to_do() {
    let form = listed(&uncertain()).form();
    let other = with(&uncertain(), "# of this pair", "# of that pair");
    let refused = site_of(&other).commissioned(&form, "form.toml");
    let line = format!("form.toml:{}:", line_of(&form, "site_digest ="));
    let parts = [
        line.as_str(),
        "commissioning.site_digest",
        "\"base\"",
        "make a new form",
    ];
    assert_refused(refused, "conflict", &parts);
}

#[test]
fn wrong_input_is_refused_with_its_place() {
    let site = site_of(&uncertain());
    let list = listed(&uncertain());
    let form = list.form();
    let refused = |form: &str, code: &str, parts: &[&str]| {
        assert_refused(site.commissioned(form, "form.toml"), code, parts);
    };
    let key = with(&form, "\nwall = \"\"", "\nwal = \"7 mm\"");
    refused(
        &key,
        "unknown-key",
        &["form.toml:", "dimensions.wal", "did you mean `wall`"],
    );
    let step = with(&form, "[zero]", "[zeros]");
    refused(&step, "unknown-key", &["zeros", "did you mean `zero`"]);
    let bare = with(&form, "\nwall = \"\"", "\nwall = 7.1");
    refused(&bare, "wrong-type", &["dimensions.wall"]);
    let unit = written(&form, "dimensions", "wall", "\"7.1 s\"");
    refused(&unit, "wrong-dimension", &["dimensions.wall", "length"]);
    let none = written(&form, "dimensions", "wall", "\"thick\"");
    refused(&none, "not-a-quantity", &["dimensions.wall"]);
    let far = written(&form, "dimensions", "wall", "\"9 m\"");
    let line = format!("form.toml:{}:", line_of(&far, "\"9 m\""));
    refused(
        &far,
        "out-of-range",
        &[&line, "dimensions.wall", "0.0001 m to 0.5 m"],
    );
    let ratio = written(&form, "placement", "ratio", "\"3\"");
    refused(&ratio, "out-of-range", &["placement.ratio", "0.5 to 2"]);
    let duration = written(&form, "zero", "duration", "\"-3 min\"");
    refused(&duration, "out-of-range", &["zero.duration", "above 0"]);
    // a reflected path has no half circumference, and this site no circumference by tape
    let half = with(
        &form,
        "[marks]\n",
        "[marks]\nhalf_circumference = \"264 mm\"\n",
    );
    refused(&half, "conflict", &["marks.half_circumference", "spacing"]);
    refused("done = true", "unknown-key", &["done"]);
    refused("", "missing", &["commissioning"]);
    refused("[commissioning", "syntax", &["form.toml:1"]);
}

#[test]
fn only_what_has_an_uncertainty_is_offered() {
    let list = listed(&uncertain());
    assert!(found(&uncertain(), &filled(&list)).offered().is_empty());
    let toml = "{ value = \"0.2 ns\", standard_uncertainty = \"0.1 ns\" }";
    let form = written(&filled(&list), "zero", "time_difference", toml);
    assert_eq!(
        found(&uncertain(), &form).offered(),
        ["meter.zero_time_difference"]
    );
    let form = with(&form, "no_flow = true", "no_flow = false");
    assert!(found(&uncertain(), &form).offered().is_empty());
}
