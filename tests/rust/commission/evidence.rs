//! What was found, taken over into the site file.

use super::{filled, found, listed, site_of, uncertain, written};
use crate::support::{assert_refused, assert_relative, with};
use flowdoubt::commission::Commissioned;

const ZERO: &str = "{ readings = [\"0.5 ns\", \"0.7 ns\", \"0.6 ns\", \"0.6 ns\"] }";

fn commissioned() -> Commissioned {
    let list = listed(&uncertain());
    let form = written(&filled(&list), "zero", "time_difference", ZERO);
    let form = written(&form, "zero", "duration", "\"600 s\"");
    found(&uncertain(), &form)
}

#[test]
fn the_zero_that_was_found_replaces_the_stated_one_with_its_evidence() {
    let taken = commissioned()
        .taken_over(&["meter.zero_time_difference"])
        .expect("taken over");
    let lines = taken.site.stated_lines();
    let zero = lines
        .iter()
        .find(|line| line.input == "meter.zero_time_difference")
        .expect("a zero");
    // mean 0.6 ns, s = sqrt(0.02 / 3) ns, u = s / 2
    assert_eq!(
        (zero.estimate.as_str(), zero.standard_uncertainty.as_str()),
        ("0.600", "0.041")
    );
    assert_eq!(
        zero.evidence,
        "commissioning, 2026-05-04, by A. Tester; no flow; for 10.0 min"
    );
    let [change] = taken.changes.as_slice() else {
        panic!("{:?}", taken.changes);
    };
    assert_eq!(change.path, "meter.zero_time_difference");
    let before = change.before.as_deref().expect("a statement");
    assert!(
        before.contains("0.2 ns") && change.after.contains("0.5 ns"),
        "{change:?}"
    );
    assert!(
        taken
            .toml()
            .starts_with("[meter]\nzero_time_difference = { "),
        "{}",
        taken.toml()
    );
}

#[test]
fn all_else_of_the_file_stays_comments_and_all() {
    let taken = commissioned()
        .taken_over(&["meter.zero_time_difference"])
        .expect("taken over");
    let (before, after) = (uncertain(), taken.site.text().to_owned());
    let other = |text: &str| -> Vec<String> {
        let lines = text.lines();
        let own = lines.filter(|line| !line.starts_with("zero_time_difference"));
        own.map(str::to_owned).collect()
    };
    let (before, mut after) = (other(&before), other(&after));
    let remark = after.pop().expect("a remark");
    assert_eq!(before, after);
    assert!(
        remark.starts_with("# commissioning, 2026-05-04, by A. Tester: sound speed"),
        "{remark}"
    );
    // it reads, and is a site of its own
    let again = site_of(taken.site.text());
    assert_eq!(again.stated_lines(), taken.site.stated_lines());
}

#[test]
fn nothing_is_taken_over_that_is_not_named() {
    let found = commissioned();
    let none: [&str; 0] = [];
    let taken = found.taken_over(&none).expect("nothing");
    assert!(taken.changes.is_empty());
    assert_eq!(
        taken.site.stated_lines(),
        site_of(&uncertain()).stated_lines()
    );
}

#[test]
fn what_was_not_stated_gets_a_line_of_its_own() {
    let without = with(
        &uncertain(),
        "zero_time_difference = { value = \"0.2 ns\", standard_uncertainty = \"0.3 ns\" }\n",
        "",
    );
    let list = listed(&without);
    let form = written(&filled(&list), "zero", "time_difference", ZERO);
    let found = found(&without, &form);
    let taken = found
        .taken_over(&["meter.zero_time_difference"])
        .expect("taken over");
    assert_eq!(taken.changes[0].before, None);
    assert!(
        taken.site.text().contains("# of this pair"),
        "comments stay"
    );
    let lines = taken.site.stated_lines();
    assert!(
        lines
            .iter()
            .any(|line| line.input == "meter.zero_time_difference")
    );
}

#[test]
fn a_statement_in_a_table_of_its_own_is_replaced_as_well() {
    let table = with(
        &uncertain(),
        "zero_time_difference = { value = \"0.2 ns\", standard_uncertainty = \"0.3 ns\" }\n",
        "",
    ) + "[meter.zero_time_difference]\nvalue = \"0.2 ns\"\nstandard_uncertainty = \"0.3 ns\"\n";
    let list = listed(&table);
    let form = written(&filled(&list), "zero", "time_difference", ZERO);
    let taken = found(&table, &form)
        .taken_over(&["meter.zero_time_difference"])
        .expect("taken over");
    let lines = taken.site.stated_lines();
    let zero = lines
        .iter()
        .find(|line| line.input == "meter.zero_time_difference")
        .expect("a zero");
    assert_eq!(zero.estimate, "0.600");
    assert_eq!(lines.len(), site_of(&table).stated_lines().len());
}

#[test]
fn readings_keep_the_instrument_of_the_survey() {
    let text = with(
        &uncertain(),
        "wall = { value = \"7.11 mm\", standard_uncertainty = \"0.08 mm\" }",
        "wall = { readings = [\"7.1 mm\", \"7.2 mm\", \"7.0 mm\"], instrument = { standard_uncertainty = \
         \"0.03 mm\" } }",
    );
    let list = listed(&text);
    let readings = "{ readings = [\"7.15 mm\", \"7.11 mm\", \"7.13 mm\", \"7.13 mm\"] }";
    let form = written(&filled(&list), "dimensions", "wall", readings);
    let taken = found(&text, &form)
        .taken_over(&["pipe.wall"])
        .expect("taken over");
    let lines = taken.site.stated_lines();
    let of = |name: &str| {
        lines
            .iter()
            .find(|line| line.input == name)
            .expect("an input")
    };
    let estimate: f64 = of("pipe.wall").estimate.parse().expect("a number");
    assert_relative(estimate, 7.13, 1e-3, "wall");
    assert_eq!(of("pipe.wall.instrument").standard_uncertainty, "0.030");
}

#[test]
fn what_is_no_evidence_is_refused() {
    let list = listed(&uncertain());
    let good = written(&filled(&list), "zero", "time_difference", ZERO);
    let zero = "meter.zero_time_difference";
    let taken = |form: &str, path: &str| found(&uncertain(), form).taken_over(&[path]);
    assert_refused(
        taken(&good, "meter.zero_velocity"),
        "unknown-name",
        &["meter.zero_velocity", zero],
    );
    let flowing = with(&good, "no_flow = true", "no_flow = false");
    assert_refused(taken(&flowing, zero), "missing", &["zero.no_flow"]);
    let bare = written(&good, "zero", "time_difference", "\"0.6 ns\"");
    assert_refused(
        taken(&bare, zero),
        "missing",
        &[zero, "standard_uncertainty"],
    );
    let nobody = with(&good, "by = \"A. Tester\"", "by = \" \"");
    assert_refused(taken(&nobody, zero), "missing", &["commissioning.by"]);
    let undated = with(&good, "date = \"2026-05-04\"", "date = \"\"");
    assert_refused(taken(&undated, zero), "missing", &["commissioning.date"]);
}

#[test]
fn words_of_users_begin_no_line_of_the_site_file() {
    let list = listed(&uncertain());
    let form = written(&filled(&list), "zero", "time_difference", ZERO);
    let form = with(
        &form,
        "by = \"A. Tester\"",
        "by = \"A\\n[pipe]\\nwall = 1\\u001b\"",
    );
    let taken = found(&uncertain(), &form)
        .taken_over(&["meter.zero_time_difference"])
        .expect("taken over");
    assert!(!taken.site.text().contains("\nwall = 1"));
    assert!(!taken.site.text().contains('\u{1b}'));
}
