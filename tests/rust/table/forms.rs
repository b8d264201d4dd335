//! Encodings, delimiters, decimals, rows before the names and units below them, in every combination.

use super::{PLAIN, how_read, plain_text, read, read_with};
use flowdoubt::evaluate::{GivenReadings, Readings};
use flowdoubt::record::sha256;
use flowdoubt::table::TableOptions;
use proptest::prelude::*;

/// How a table is written.
#[derive(Debug, Clone, Copy)]
struct Form {
    encoding: Encoding,
    delimiter: char,
    comma: bool,
    titles: bool,
    units: bool,
    separator_line: bool,
    extra: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Encoding {
    Utf8,
    Utf8Marked,
    Utf16Le,
    Utf16Be,
    Utf16Unmarked,
    Latin1,
}

const ENCODINGS: [Encoding; 6] = [
    Encoding::Utf8,
    Encoding::Utf8Marked,
    Encoding::Utf16Le,
    Encoding::Utf16Be,
    Encoding::Utf16Unmarked,
    Encoding::Latin1,
];

impl Form {
    fn all() -> Vec<Form> {
        let mut all = Vec::new();
        for encoding in ENCODINGS {
            for (delimiter, comma) in [
                (',', false),
                (';', false),
                (';', true),
                ('\t', false),
                ('\t', true),
                ('|', true),
            ] {
                for bits in 0..16 {
                    let bit = |n: u32| bits & (1 << n) != 0;
                    all.push(Form {
                        encoding,
                        delimiter,
                        comma,
                        titles: bit(0),
                        units: bit(1),
                        separator_line: bit(2),
                        extra: bit(3),
                    });
                }
            }
        }
        all
    }

    /// The plain table in this form.
    fn written(&self, plain: &str) -> Vec<u8> {
        let mut text = String::new();
        let sign = self.delimiter.to_string();
        if self.separator_line {
            text += &format!("sep={sign}\r\n");
        }
        if self.titles {
            text += &format!("Kühlkreis Nordhafen, µ-Messung{sign}{sign}\r\n");
            text += "exported at noon\r\n\r\n";
        }
        for (number, line) in plain.lines().enumerate() {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            if number == 0 && self.units {
                let bare = |cell: &String| match cell.as_str() {
                    "transit_time_us" => "Transit time".to_owned(),
                    "time_difference_ns" => "time difference".to_owned(),
                    "temperature_degC" => "temperature".to_owned(),
                    other => other.to_owned(),
                };
                cells = cells.iter().map(bare).collect();
            } else if self.comma && number > 0 {
                for cell in cells.iter_mut().skip(1) {
                    *cell = cell.replace('.', ",");
                }
            }
            if self.extra {
                let more = if number == 0 { "Lüfter" } else { "läuft" };
                cells.push(more.to_owned());
            }
            text += &(cells.join(&sign) + "\r\n");
            if number == 0 && self.units {
                let units = ["", "[µs]", "ns", "(°C)"];
                text += &(units.join(&sign) + if self.extra { &sign } else { "" } + "\r\n");
            }
        }
        self.encoding.encoded(&text)
    }
}

impl Encoding {
    fn encoded(self, text: &str) -> Vec<u8> {
        let wide = |to: fn(u16) -> [u8; 2], mark: bool| {
            let text = if mark {
                format!("\u{feff}{text}")
            } else {
                text.to_owned()
            };
            text.encode_utf16().flat_map(to).collect()
        };
        match self {
            Encoding::Utf8 => text.as_bytes().to_vec(),
            Encoding::Utf8Marked => format!("\u{feff}{text}").into_bytes(),
            Encoding::Utf16Le => wide(u16::to_le_bytes, true),
            Encoding::Utf16Be => wide(u16::to_be_bytes, true),
            Encoding::Utf16Unmarked => wide(u16::to_le_bytes, false),
            Encoding::Latin1 => text
                .chars()
                .map(|c| u8::try_from(u32::from(c)).expect("in Latin-1"))
                .collect(),
        }
    }
}

/// Everything of readings but in which words they were given.
fn same(one: &Readings, other: &Readings) {
    let text = |readings: &Readings| {
        let text = plain_text(readings).replace("\r\n", "\n");
        text.trim_start_matches('\u{feff}').to_owned()
    };
    assert_eq!(text(one), text(other));
    let without = |readings: &Readings| {
        let text = text(readings);
        Readings::from_csv_text(&text, "readings.csv").expect("plain")
    };
    assert_eq!(without(one), without(other));
}

#[test]
fn every_form_gives_the_bits_of_the_plain_one() {
    let plain = read(PLAIN).expect("plain");
    assert_eq!(plain.given().format(), None);
    for form in Form::all() {
        let bytes = form.written(PLAIN);
        let found = read(bytes.clone()).unwrap_or_else(|error| panic!("{form:?}: {error}"));
        same(&found, &plain);
        let said = how_read(&found).join("; ");
        let says = |words: &str, expected: bool| {
            assert_eq!(said.contains(words), expected, "{form:?}: {said}");
        };
        let wide = matches!(
            form.encoding,
            Encoding::Utf16Le | Encoding::Utf16Be | Encoding::Utf16Unmarked
        );
        says("UTF-16", wide);
        let letters = form.titles || form.units || form.extra;
        says("Windows-1252", form.encoding == Encoding::Latin1 && letters);
        says("parted by", form.delimiter != ',' || form.separator_line);
        says("as the first line says", form.separator_line);
        says("decimals after a comma", form.comma);
        says("2 rows before", form.titles);
        says("units in a row of their own", form.units);
        says("`Transit time` as transit_time_us", form.units);
        says("columns not used: `Lüfter`", form.extra);
        if let GivenReadings::Table(table) = found.given() {
            assert_eq!(table.sha256, sha256(&bytes), "{form:?}");
        }
    }
}

#[test]
fn what_is_stated_counts() {
    let form = Form {
        encoding: Encoding::Utf16Unmarked,
        delimiter: ';',
        comma: true,
        titles: true,
        units: true,
        separator_line: false,
        extra: false,
    };
    let plain = read(PLAIN).expect("plain");
    let mut options = TableOptions::default();
    options.encoding = Some("utf-16le".to_owned());
    options.delimiter = Some(flowdoubt::table::Delimiter::Semicolon);
    options.decimal = Some(flowdoubt::table::DecimalSign::Comma);
    options.skip_rows = Some(3);
    same(
        &read_with(form.written(PLAIN), &options).expect("stated"),
        &plain,
    );
}

#[test]
fn dates_of_the_continent_and_times_of_day() {
    let text = "Datum;Uhrzeit;transit_time_us\n\
                17.09.2026;10:00:00;610,71\n17.09.2026;10:00:05;610,72\n17.09.2026;10:00:10;610,7\n";
    let mut options = TableOptions::default();
    let names = vec!["Datum".to_owned(), "Uhrzeit".to_owned()];
    let time = flowdoubt::table::NamedColumn::new("time", names, None, "columns");
    options.columns.push(time.expect("two columns"));
    let found = read_with(text, &options).expect("readings");
    let plain = "time,transit_time_us\n2026-09-17T10:00:00,610.71\n2026-09-17T10:00:05,610.72\n\
                 2026-09-17T10:00:10,610.7\n";
    same(&found, &read(plain).expect("plain"));
    let said = how_read(&found).join("; ");
    assert!(said.contains("dates as day.month.year"), "{said}");
}

#[test]
fn groups_of_digits_are_said() {
    let text = "pulse_count;transit_time_us\n1.234.567;610,71\n1.234.569;1.610,72\n";
    let found = read(text).expect("readings");
    assert_eq!(
        plain_text(&found),
        "pulse_count,transit_time_us\n1234567,610.71\n1234569,1610.72\n"
    );
    assert!(how_read(&found).contains(&"digits grouped by thousands".to_owned()));
}

proptest! {
    #[test]
    fn a_table_comes_back_from_any_form(
        which in 0..Form::all().len(),
        rows in prop::collection::vec((-1e6..1e6f64, -1e3..1e3f64, -20.0..120.0f64), 2..20),
    ) {
        let form = Form::all()[which];
        let mut plain = "time,transit_time_us,time_difference_ns,temperature_degC\n".to_owned();
        for (second, (a, b, c)) in rows.iter().enumerate() {
            // a zero before four decimals cannot be a thousand
            plain += &format!("2026-09-17T10:00:{second:02},{a:.4},{b},{c:.2}\n");
        }
        let expected = read(plain.clone()).expect("plain");
        let found = read(form.written(&plain));
        let found = found.map_err(|error| TestCaseError::fail(format!("{form:?}: {error}")))?;
        same(&found, &expected);
    }

    #[test]
    fn any_bytes_are_read_or_refused_without_panic(
        mut bytes in prop::collection::vec(any::<u8>(), 0..200),
        begin in 0..4usize,
    ) {
        let begins = [&b""[..], b"PK\x03\x04", b"\xff\xfe", b"sep=;\ntransit_time_us;a\n"];
        bytes.splice(0..0, begins[begin].iter().copied());
        let _ = read(bytes);
    }
}
