//! Columns by the names that others gave them, and rows by their status.

use super::{how_read, plain_text, read_with};
use crate::support::{assert_refused, demo, evaluate};
use flowdoubt::evaluate::{GivenReadings, Log, Readings, Selection};
use flowdoubt::record::{Extras, Record};
use flowdoubt::site::Site;
use flowdoubt::table::{NamedColumn, StatusColumn, TableOptions};
use serde_json::json;

fn column(quantity: &str, name: &str, unit: Option<&str>) -> NamedColumn {
    let names = vec![name.to_owned()];
    NamedColumn::new(quantity, names, unit.map(str::to_owned), "columns").expect("a column")
}

const LOGGER: &str = "\
Laufzeit [µs];dT;T Wasser;T Luft;Zustand\n\
610,72;798,1;8,1;21,0;ok\n\
610,71;799,3;8,2;21,1;ok\n\
0;0;0;21,0;no echo\n\
610,73;797,2;8,1;21,2;weak\n\
610,70;798,5;8,1;21,2;ok\n";

fn options() -> TableOptions {
    let mut options = TableOptions::default();
    options.columns = vec![
        column("transit_time", "Laufzeit", None),
        column("time_difference", "dT", Some("ns")),
        column("temperature_degC", "T Wasser", None),
    ];
    options
}

#[test]
fn names_are_mapped_to_quantities() {
    let found = read_with(LOGGER, &options()).expect("readings");
    assert!(
        plain_text(&found)
            .starts_with("transit_time_us,time_difference_ns,temperature_degC\n610.72,798.1,8.1\n")
    );
    let said = how_read(&found).join("; ");
    for words in [
        "`Laufzeit [µs]` as transit_time_us",
        "`dT` as time_difference_ns",
        "columns not used: `T Luft`, `Zustand`",
    ] {
        assert!(said.contains(words), "{said}");
    }
}

#[test]
fn rows_of_other_states_are_left_out_and_counted() {
    let mut options = options();
    let good = vec!["ok".to_owned()];
    options.status = Some(StatusColumn::new("Zustand", good, "status").expect("a status"));
    let found = read_with(LOGGER, &options).expect("readings");
    assert_eq!(found.rows(), 3);
    let said = how_read(&found).join("; ");
    let words = "status in `Zustand`, rows left out: 2 (1 of status `no echo`, 1 of status `weak`)";
    assert!(said.contains(words), "{said}");
    let evaluation = evaluate(&demo("site.toml"), &found).expect("an evaluation");
    let warnings = evaluation.warnings();
    let own = warnings
        .iter()
        .find(|w| w.code == "rows-left-out")
        .expect("a warning");
    assert!(
        own.words.contains("2 of 5 rows were left out"),
        "{}",
        own.words
    );
    let text = evaluation.in_words().expect("words");
    assert!(
        text.contains("how the readings were read: columns parted by semicolons"),
        "{text}"
    );
    // the record holds what was read, and how
    let record = Record::of(&evaluation, Extras::default()).expect("a record");
    let again = Record::from_text(&record.to_text())
        .expect("read")
        .reproduce()
        .expect("done");
    assert!(again.agrees(), "{}", again.in_words());
    assert!(record.to_text().contains("\"no echo\""));
    options.status =
        Some(StatusColumn::new("Status", vec!["ok".to_owned()], "status").expect("a status"));
    assert_refused(read_with(LOGGER, &options), "missing", &["Status: missing"]);
}

#[test]
fn a_log_counts_its_states() {
    let mut options = options();
    let good = vec!["ok".to_owned(), "weak".to_owned()];
    options.status = Some(StatusColumn::new("Zustand", good, "status").expect("a status"));
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("log.csv");
    let (names, rows) = LOGGER.split_once('\n').expect("names");
    std::fs::write(&path, format!("{names}\n{}", rows.repeat(8))).expect("a file");
    let log = Log::from_file(&path, Some(5.0), &Selection::default(), &options).expect("a log");
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("a site");
    let series = site
        .evaluate_series(&log, Default::default())
        .expect("a series");
    let text = series.in_words().expect("words");
    assert!(
        text.contains("rows by status, not used: 8 of `no echo`"),
        "{text}"
    );
    assert!(
        text.contains("how the log was read: columns parted by semicolons"),
        "{text}"
    );
}

#[test]
fn maps_that_do_not_fit() {
    let refused =
        |quantity: &str, names: &[&str], unit: Option<&str>, code: &str, parts: &[&str]| {
            let names = names.iter().map(|name| (*name).to_owned()).collect();
            let made = NamedColumn::new(quantity, names, unit.map(str::to_owned), "columns");
            assert_refused(made, code, parts);
        };
    refused(
        "transit_tim",
        &["a"],
        None,
        "unknown-name",
        &["did you mean `transit_time`?"],
    );
    refused(
        "transit_time",
        &["a"],
        Some("km"),
        "unknown-unit",
        &["columns.transit_time"],
    );
    refused(
        "transit_time_us",
        &["a"],
        Some("us"),
        "conflict",
        &["needs none"],
    );
    refused(
        "transit_time_us",
        &["a", "b"],
        None,
        "conflict",
        &["2 names of columns"],
    );
    refused(
        "transit_time_us",
        &[],
        None,
        "conflict",
        &["0 names of columns"],
    );
    refused(
        "transit_time_us",
        &[" "],
        None,
        "conflict",
        &["an empty name"],
    );
    let mut options = options();
    options
        .columns
        .push(column("velocity_m_s", "Geschwindigkeit", None));
    let parts = [
        "columns.velocity_m_s: missing",
        "`Geschwindigkeit`",
        "none of the 5 columns",
    ];
    assert_refused(read_with(LOGGER, &options), "missing", &parts);
}

#[test]
fn a_map_does_not_hinder_our_own_names() {
    let plain =
        "transit_time_us,time_difference_ns,temperature_degC\n610.72,798.1,8.1\n610.7,798,8\n";
    let found = read_with(plain, &options()).expect("readings");
    assert_eq!(found.given().format(), None);
}

const SECTION: &str = "
[readings]
delimiter = \";\"
decimal = \",\"
status = { column = \"Zustand\", good = [\"ok\"] }

[readings.columns]
transit_time = \"Laufzeit\"
time_difference = { name = \"dT\", unit = \"ns\" }
temperature_degC = \"T Wasser\"
remark = [\"T Luft\"]
";

#[test]
fn the_site_file_keeps_the_map() {
    let text = demo("site.toml") + SECTION;
    let site = Site::from_toml(&text, "site.toml").expect("a site");
    let found = Readings::from_bytes(LOGGER.into(), "log.csv", site.table_options());
    let evaluation = site
        .evaluate(&found.expect("readings"))
        .expect("an evaluation");
    assert_eq!(evaluation.readings, 3);
    // an alternative of the site keeps it too
    let direct = flowdoubt::site::Change {
        traverses: Some(1),
        ..Default::default()
    };
    assert_eq!(
        site.with(&direct).expect("an alternative").table_options(),
        site.table_options()
    );
    for (old, new, code, parts) in [
        (
            "delimiter = \";\"",
            "delimiter = \":\"",
            "unknown-name",
            &["readings.delimiter"][..],
        ),
        (
            "decimal = \",\"",
            "decimal = \"'\"",
            "unknown-name",
            &["readings.decimal"],
        ),
        (
            "decimal",
            "decimals",
            "unknown-key",
            &["did you mean `decimal`?"],
        ),
        (
            "transit_time =",
            "transit_tme =",
            "unknown-name",
            &["did you mean `transit_time`?"],
        ),
        (
            "unit = \"ns\"",
            "unit = \"kg\"",
            "wrong-dimension",
            &["readings.columns.time_difference"],
        ),
        (
            "unit = \"ns\"",
            "units = \"ns\"",
            "unknown-key",
            &["did you mean `unit`?"],
        ),
        (
            "\"Laufzeit\"",
            "12",
            "wrong-type",
            &["the name of a column"],
        ),
        ("[\"ok\"]", "[]", "missing", &["readings.status"]),
    ] {
        assert!(text.contains(old), "{old}");
        let result = Site::from_toml(&text.replacen(old, new, 1), "site.toml").map(|_| ());
        let error = assert_refused(result, code, parts).to_string();
        let line = error
            .split(':')
            .nth(1)
            .and_then(|line| line.parse::<usize>().ok());
        assert!(
            line.is_some_and(|line| line > demo("site.toml").lines().count()),
            "{error}"
        );
    }
}

/// A record may have been written by anybody.
#[test]
fn what_a_record_says_of_a_table_is_bounded_and_escaped() {
    let hostile = format!("\u{1b}[2J\nsecond line{}", "x".repeat(10_000));
    let mut options = options();
    let good = vec!["ok".to_owned()];
    options.status = Some(StatusColumn::new("Zustand", good, "status").expect("a status"));
    let found = read_with(LOGGER, &options).expect("readings");
    let mut given = serde_json::to_value(found.given()).expect("JSON");
    let read = &mut given["table"]["read"];
    for key in ["encoding", "sheet", "status_column"] {
        read[key] = json!(hostile);
    }
    read["not_used"] = json!(vec![hostile.clone(); 1000]);
    read["columns"] = json!([{"name": hostile, "read_as": hostile}]);
    let count = json!({"status": hostile, "rows": u64::MAX});
    read["left_out"] = json!(vec![count; 1000]);
    let given: GivenReadings = serde_json::from_value(given).expect("a table");
    let evaluation = evaluate(&demo("site.toml"), &given.read().expect("readings"));
    let evaluation = evaluation.expect("an evaluation");
    let text = evaluation.in_words().expect("words");
    assert!(!text.contains('\u{1b}') && !text.contains("\nsecond line"));
    assert!(text.lines().all(|line| line.len() < 20_000));
    let warnings = evaluation.warnings();
    let own = warnings
        .iter()
        .find(|w| w.code == "rows-left-out")
        .expect("a warning");
    assert!(!own.words.contains('\u{1b}') && !own.words.contains('\n') && own.words.len() < 20_000);
}
