//! Readings of a meter: what is refused, in which words, and what is kept out.

use crate::support::{assert_refused, assert_relative, demo, demo_readings, evaluate, with};
use flowdoubt::Result;
use flowdoubt::evaluate::Readings;
use proptest::prelude::*;

fn read(text: &str) -> Result<Readings> {
    Readings::from_csv_text(text, "readings.csv")
}

/// Asserts that the text is refused with `code` at `line`.
#[track_caller]
fn refuses(text: &str, line: usize, code: &str, parts: &[&str]) {
    let error = assert_refused(read(text), code, parts).to_string();
    let start = format!("readings.csv:{line}: ");
    assert!(error.starts_with(&start), "not {start} but {error}");
}

#[test]
fn headers_that_are_none() {
    let column = [
        "column of readings: found `velocty_m_s`, did you mean `velocity_m_s`?",
        "transit_time_us",
        "time, remark",
    ];
    refuses(
        "velocty_m_s,transit_time_us\n1,2\n3,4\n",
        1,
        "unknown-name",
        &column,
    );
    let slip = ["`transit_tim_us`, did you mean `transit_time_us`?"];
    refuses("transit_tim_us\n1\n2\n", 1, "unknown-name", &slip);
    let no_unit = ["`transit_time`, did you mean `transit_time_us`?"];
    refuses("transit_time\n1\n2\n", 1, "unknown-name", &no_unit);
    let unit = ["transit_time_km: unknown unit `km`", "s, ms, us, ns, ps"];
    refuses("transit_time_km\n1\n2\n", 1, "unknown-unit", &unit);
    let kind = ["velocity_mm: `mm` is of kind length, not velocity", "m/s"];
    refuses("velocity_mm\n1\n2\n", 1, "wrong-dimension", &kind);
    refuses(
        "610.7,798.2\n610.6,798.1\n",
        1,
        "missing",
        &["header: missing", "names of the columns", "found `610.7`"],
    );
    let twice = [
        "transit_time_s: two columns of transit_time",
        "one column of each kind",
    ];
    refuses(
        "transit_time_us,transit_time_s\n1,2\n3,4\n",
        1,
        "conflict",
        &twice,
    );
    refuses("", 1, "missing", &["readings: missing", "transit_time_us"]);
    refuses(
        "time,remark\n10:00,calm\n10:01,calm\n",
        1,
        "missing",
        &["transit_time_us"],
    );
    let mixed = "\n\ntime,foo\n1,1\n2,2\n";
    refuses(mixed, 3, "unknown-name", &["`foo`"]);
    // what is no table of readings may be anybody's file, and is not quoted
    let other = "\n\nfoo\n1\n2\n";
    refuses(
        other,
        3,
        "conflict",
        &["none of the 1 columns is one of readings"],
    );
}

#[test]
fn cells_that_are_no_numbers() {
    for cell in [
        "abc", "", "NaN", "inf", "-inf", "1e999", "1.2.3", "0x10", "1 2",
    ] {
        let text = format!("transit_time_us,time_difference_ns\n610.7,798.2\n610.6,{cell}\n");
        let found = format!("time_difference_ns: `{cell}` is not a quantity");
        refuses(&text, 3, "not-a-quantity", &[&found, "a finite number"]);
    }
    // a comma as decimal sign makes one cell more
    let comma = "transit_time_us\n610,7\n610,6\n";
    let parts = ["row of readings: found 2 values; allowed: 1, as in the header"];
    refuses(comma, 2, "length", &parts);
    let ragged = "transit_time_us,time_difference_ns\n610.7,798.2\n610.6\n";
    refuses(
        ragged,
        3,
        "length",
        &["found 1 values; allowed: 2, as in the header"],
    );
}

#[test]
fn lines_are_those_of_an_editor() {
    let header = "transit_time_us,remark\n";
    refuses(
        &format!("{header}1,a\n\n\nx,b\n"),
        5,
        "not-a-quantity",
        &["`x`"],
    );
    refuses(
        &format!("{header}1,a\r\n\r\nx,b\r\n"),
        4,
        "not-a-quantity",
        &["`x`"],
    );
    refuses(&format!("{header}1,a\n\n2\n"), 4, "length", &["found 1"]);
    refuses(
        &format!("{header}1,\"two\nlines\"\nx,b\n"),
        4,
        "not-a-quantity",
        &["`x`"],
    );
    refuses(
        &format!("{header}1,Nyköping µ\nx,b\n"),
        3,
        "not-a-quantity",
        &["`x`"],
    );
}

#[test]
fn rows_that_are_too_few() {
    let two = ["readings: found 1 values; allowed: two rows or more"];
    refuses("transit_time_us\n610.7\n", 1, "length", &two);
    refuses("transit_time_us\n", 1, "length", &["found 0"]);
}

#[test]
fn columns_by_name() {
    let columns = |a: &'static [f64], b: &'static [f64]| {
        Readings::from_columns([("transit_time_us", a), ("time_difference_ns", b)])
    };
    assert_eq!(columns(&[1.0, 2.0], &[3.0, 4.0]).map(|r| r.rows()), Ok(2));
    let length = ["time_difference: found 3 values; allowed: 2, as in the first column"];
    assert_refused(columns(&[1.0, 2.0], &[3.0, 4.0, 5.0]), "length", &length);
    let finite = ["time_difference_ns[1]: found NaN ns; allowed: finite numbers"];
    assert_refused(
        columns(&[1.0, 2.0], &[3.0, f64::NAN]),
        "out-of-range",
        &finite,
    );
    assert_refused(columns(&[1.0], &[3.0]), "length", &["found 1"]);
    let twice = [
        ("velocity_m_s", &[1.0, 2.0][..]),
        ("velocity_ft_s", &[1.0, 2.0]),
    ];
    assert_refused(
        Readings::from_columns(twice),
        "conflict",
        &["two columns of velocity"],
    );
    let unknown = [("speed_m_s", &[1.0, 2.0][..])];
    assert_refused(
        Readings::from_columns(unknown),
        "unknown-name",
        &["`speed_m_s`"],
    );
    assert_refused(Readings::from_columns([]), "missing", &["transit_time_us"]);
}

#[test]
fn a_file_that_is_not_there() {
    let parts = ["cannot read nowhere/readings.csv"];
    assert_refused(Readings::from_csv("nowhere/readings.csv"), "file", &parts);
}

#[test]
fn columns_kept_out_change_nothing() {
    let text = demo("readings.csv");
    let remarked: String = text
        .lines()
        .map(|line| {
            format!(
                "{line},{}\n",
                if line.starts_with("time,") {
                    "remark"
                } else {
                    "\"a, b\""
                }
            )
        })
        .collect();
    let site = demo("site.toml");
    let plain = evaluate(&site, &demo_readings()).expect("plain");
    let remarked = evaluate(&site, &read(&remarked).expect("remarked")).expect("remarked");
    assert_eq!(plain.budget, remarked.budget);
}

#[test]
fn units_of_the_name_are_read() {
    let site = demo("site.toml");
    let plain = evaluate(&site, &demo_readings()).expect("plain");
    let in_fahrenheit: String = demo("readings.csv")
        .lines()
        .map(|line| {
            let (rest, celsius) = line.rsplit_once(',').expect("cells");
            match celsius.parse::<f64>() {
                Ok(celsius) => format!("{rest},{}\n", celsius * 1.8 + 32.0),
                Err(_) => format!("{rest},temperature_degF\n"),
            }
        })
        .collect();
    let converted = evaluate(&site, &read(&in_fahrenheit).expect("degF")).expect("degF");
    assert_relative(converted.estimate(), plain.estimate(), 1e-13, "flow");
    let u = plain.standard_uncertainty();
    assert_relative(converted.standard_uncertainty(), u, 1e-10, "u");
}

#[test]
fn a_column_that_the_basis_needs() {
    let site = demo("site.toml");
    let without = |column: &str| {
        let text = demo("readings.csv");
        let header = text.lines().next().expect("header");
        let i = header.split(',').position(|c| c == column).expect("column");
        let cut = text.lines().map(|line| {
            let cells = line.split(',').enumerate().filter(|(j, _)| *j != i);
            cells.map(|(_, cell)| cell).collect::<Vec<_>>().join(",") + "\n"
        });
        read(&cut.collect::<String>()).expect("readings")
    };
    let missing = |site: &str, column: &str, part: &str| {
        let result = evaluate(site, &without(column)).map(|_| ());
        assert_refused(result, "missing", &[part, "needed: a column of"]);
    };
    missing(&site, "transit_time_us", "readings.transit_time: missing");
    missing(
        &site,
        "time_difference_ns",
        "readings.time_difference: missing",
    );
    missing(&site, "temperature_degC", "readings.temperature: missing");
    let geometric = with(&site, "\"timed\"", "\"geometric\"");
    missing(
        &geometric,
        "time_difference_ns",
        "readings.time_difference: missing",
    );
    assert!(evaluate(&geometric, &without("transit_time_us")).is_ok());

    let stated = with(
        &site,
        "thermometer =",
        "temperature = \"8 degC\"\nthermometer =",
    );
    let both = [
        "liquid.temperature: a stated temperature beside",
        "one of the two",
    ];
    let result = evaluate(&stated, &demo_readings()).map(|_| ());
    assert_refused(result, "conflict", &both);
    assert!(evaluate(&stated, &without("temperature_degC")).is_ok());
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused_without_panic(text in "[a-z_,0-9.\"\n\r µ-]{0,60}") {
        let _ = read(&text);
        let _ = read(&format!("transit_time_us,time_difference_ns\n{text}"));
    }
}
