//! What a table leaves open is refused, with file, line, column, value and the option that settles it.

use super::{plain_text, read, read_with};
use crate::support::assert_refused;
use flowdoubt::table::{DecimalSign, Delimiter, TableOptions};

#[track_caller]
fn refuses(text: &str, line: usize, code: &str, parts: &[&str]) {
    let error = assert_refused(read(text), code, parts).to_string();
    assert!(
        error.starts_with(&format!("readings.csv:{line}: ")),
        "{error}"
    );
}

#[test]
fn thousands_or_decimals() {
    for sign in [',', '.'] {
        for delimiter in [';', '\t', '|'] {
            let text = format!(
                "transit_time_us{delimiter}temperature_degC\n610{sign}716{delimiter}8\n610{sign}715{delimiter}8\n"
            );
            let value =
                format!("transit_time_us: `610{sign}716`, which may be decimals or thousands");
            refuses(&text, 2, "conflict", &[&value, "`decimal`"]);
            let mut options = TableOptions::default();
            let (own, other) = match sign {
                ',' => (DecimalSign::Comma, DecimalSign::Point),
                _ => (DecimalSign::Point, DecimalSign::Comma),
            };
            options.decimal = Some(own);
            let found = plain_text(&read_with(text.clone(), &options).expect("decimals"));
            assert!(found.contains("\n610.716,8\n"), "{found}");
            options.decimal = Some(other);
            let found = plain_text(&read_with(text, &options).expect("thousands"));
            assert!(found.contains("\n610716,8\n"), "{found}");
        }
    }
    // one cell of any column settles it for all
    let settled = "transit_time_us;temperature_degC\n610,716;8\n610,715;8,1\n";
    let found = plain_text(&read(settled).expect("settled"));
    assert!(found.contains("\n610.716,8\n"), "{found}");
    // where commas part the columns, a point cannot part thousands
    let plain = "transit_time_us,temperature_degC\n610.716,8\n610.715,8\n";
    assert_eq!(read(plain).expect("plain").given().format(), None);
}

#[test]
fn points_and_commas() {
    let text = "transit_time_us;temperature_degC\n610,71;8\n610.72;8\n";
    refuses(
        text,
        2,
        "conflict",
        &[
            "transit_time_us: `610,71`",
            "`610.72` with a point in line 3",
            "`decimal`",
        ],
    );
    let mut options = TableOptions::default();
    options.decimal = Some(DecimalSign::Comma);
    let parts = ["transit_time_us: `610.72` is not a quantity", "`decimal`"];
    let error = assert_refused(read_with(text, &options), "not-a-quantity", &parts);
    assert!(error.to_string().starts_with("readings.csv:3: "), "{error}");
}

#[test]
fn units_that_are_nowhere_or_twice() {
    refuses(
        "Transit time;Temperature\n610,71;8,1\n610,72;8,2\n",
        1,
        "missing",
        &["Transit time: missing", "transit_time [unit]", "`columns`"],
    );
    refuses(
        "transit_time_us,temperature_degC\nns,degC\n610.71,8.1\n610.72,8.2\n",
        1,
        "conflict",
        &["transit_time_us: ns below a name with us", "`columns`"],
    );
}

#[test]
fn what_is_stated_and_not_so() {
    let text = "transit_time_us;temperature_degC\n610,71;8,1\n610,72;8,2\n";
    let mut options = TableOptions::default();
    options.delimiter = Some(Delimiter::Tab);
    assert_refused(
        read_with(text, &options),
        "unknown-unit",
        &["`us;temperature/degC`"],
    );
    let mut options = TableOptions::default();
    options.encoding = Some("utf-7".to_owned());
    let parts = ["encoding: found `utf-7`", "utf-16, latin-1"];
    assert_refused(read_with(text, &options), "unknown-name", &parts);
    options.encoding = Some("utf-8".to_owned());
    let latin = b"transit_time_us;L\xfcfter\n610,71;8,1\n".to_vec();
    let parts = ["bytes that are no UTF-8, from byte 17 on"];
    assert_refused(read_with(latin, &options), "conflict", &parts);
    let mut options = TableOptions::default();
    options.sheet = Some("Log".to_owned());
    assert_refused(read_with(text, &options), "conflict", &["no workbook"]);
    let mut options = TableOptions::default();
    options.skip_rows = Some(1);
    assert_refused(read_with(text, &options), "missing", &["header: missing"]);
    assert_refused(
        read("sep=x\ntransit_time_us\n1\n2\n"),
        "unknown-name",
        &["sep: found `x`"],
    );
}

#[test]
fn decimal_commas_where_commas_part_the_columns() {
    refuses(
        "transit_time_us,temperature_degC\n610,71,8,1\n610,72,8,2\n",
        2,
        "length",
        &["found 4 values; allowed: 2, as in the header; numbers with decimal commas"],
    );
}

#[test]
fn a_header_without_end_is_refused() {
    let text = format!("transit_time_us{}\n1\n2\n", ";x".repeat(100_000));
    let mut options = TableOptions::default();
    options.delimiter = Some(Delimiter::Semicolon);
    let parts = ["header: found 100001 values; allowed: 1024 columns at most"];
    assert_refused(read_with(text.clone(), &options), "length", &parts);
    assert_refused(
        read(text),
        "conflict",
        &["names of columns of 200 bytes at most"],
    );
}

#[test]
fn binary_files_are_no_tables() {
    for bytes in [
        &b"\x89PNG\r\n\x1a\n\0\0"[..],
        b"\0\x01\x02\x03\xff",
        b"\xd0\xcf\x11\xe0\xa1\xb1",
    ] {
        assert_refused(read(bytes), "file", &["allowed"]);
    }
    assert_refused(read(&b"PK\x03\x04damaged"[..]), refused_workbook(), &[]);
}

fn refused_workbook() -> &'static str {
    if cfg!(feature = "workbook") {
        "syntax"
    } else {
        "file"
    }
}
