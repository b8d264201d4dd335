//! Comparisons with values from elsewhere, each a row of a page of the book.
//!
//! A comparison asserts every value as it is made. When it ends, its row must stand on the page as it
//! is; `FLOWDOUBT_WRITE_TABLES=1 cargo test --test rust` writes the page instead. So no figure on it is
//! typed by hand, and none is older than the tests.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::panic::Location;
use std::sync::{Mutex, PoisonError};

/// The page, below the root of the repository.
const PAGE: &str = "notebooks/checks_in_numbers.md";

const HEAD: &str = "\
# Checks in numbers

Every row is written by the test of `tests/rust` that its last column names, from the comparisons that it makes;
the test fails where the page says something else. *Largest deviation* is that of the value which comes nearest to
its tolerance; where the values of a row have tolerances of their own, both are in units of the tolerance.
Deviations are rounded to two digits. These are the Rust tests; those of Python compare with further packages:
[checks in Python](checks_in_python.md). `FLOWDOUBT_WRITE_TABLES=1 cargo test --test rust` writes this page.
";

const COLUMNS: &str = "\
| what | source | values | largest deviation | tolerance | test |
|---|---|---|---|---|---|
";

const MEASURED: &str = "\
Quotients are those of the differences and the standard uncertainties that the package states; a mean square
of 1 is what they promise, and 95 % inside.

| what | source | values | inside 95 % | mean square of quotients | largest difference | test |
|---|---|---|---|---|---|---|
";

/// How a value may differ.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Relative,
    Absolute,
    Printed,
    Own,
}

/// Numbers of ours beside those of a source.
pub struct Comparison {
    source: &'static str,
    what: &'static str,
    /// The file, below `tests/rust`.
    test: String,
    values: usize,
    worst: Option<(Kind, f64, f64)>,
}

/// Begins a comparison of `what` with a `source`; both as they stand on the page.
#[track_caller]
pub fn against(source: &'static str, what: &'static str) -> Comparison {
    Comparison {
        source,
        what,
        test: caller(),
        values: 0,
        worst: None,
    }
}

impl Comparison {
    #[track_caller]
    fn compare(&mut self, kind: Kind, deviation: f64, tolerance: f64, at: &str) {
        // a little more than half a unit of the last place, which may be exactly that
        let rounding = 1.0 + 1e-9;
        assert!(
            deviation <= tolerance * rounding,
            "{}, {at}: deviates by {deviation:e} and not at most {tolerance:e}",
            self.what
        );
        self.values += 1;
        let nearer = |(_, d, t): (Kind, f64, f64)| deviation * t > d * tolerance;
        if self.worst.is_none_or(nearer) {
            self.worst = Some((kind, deviation, tolerance));
        }
    }

    /// A value that may deviate by `tolerance` of the expected one.
    #[track_caller]
    pub fn relative(&mut self, found: f64, expected: f64, tolerance: f64, at: &str) {
        let difference = (found - expected).abs();
        let deviation = if difference == 0.0 {
            0.0
        } else {
            difference / expected.abs()
        };
        self.compare(Kind::Relative, deviation, tolerance, at);
    }

    /// A value that may deviate by `tolerance`, in its unit.
    #[track_caller]
    pub fn absolute(&mut self, found: f64, expected: f64, tolerance: f64, at: &str) {
        let deviation = (found - expected).abs();
        self.compare(Kind::Absolute, deviation, tolerance, at);
    }

    /// A value as printed: it may deviate by half a unit of its last `place`.
    #[track_caller]
    pub fn printed(&mut self, found: f64, published: f64, place: f64, at: &str) {
        let deviation = (found - published).abs() / place;
        self.compare(Kind::Printed, deviation, 0.5, at);
    }

    /// A value that has a tolerance of its own, which may be none.
    #[track_caller]
    pub fn within(&mut self, found: f64, expected: f64, tolerance: f64, at: &str) {
        let difference = (found - expected).abs();
        let deviation = if difference == 0.0 {
            0.0
        } else {
            difference / tolerance
        };
        self.compare(Kind::Own, deviation, 1.0, at);
    }

    fn cells(&self) -> String {
        let (kind, deviation, tolerance) = self.worst.expect("values to compare");
        let (deviation, tolerance) = match kind {
            Kind::Relative => (digits(deviation), format!("{}, relative", short(tolerance))),
            Kind::Absolute => (digits(deviation), short(tolerance)),
            Kind::Printed => (digits(deviation), "0.5 of the last place printed".into()),
            Kind::Own => (digits(deviation), "1, the value's own".into()),
        };
        format!("{} | {deviation} | {tolerance}", self.values)
    }
}

/// Two digits.
fn digits(x: f64) -> String {
    let text = format!("{x:.1e}");
    let rounded: f64 = text.parse().expect("a number");
    short(rounded)
}

/// A number as short as it is, with an exponent where it is small or large.
fn short(x: f64) -> String {
    if x == 0.0 || (1e-3..1e4).contains(&x) {
        x.to_string()
    } else {
        format!("{x:e}")
    }
}

impl Drop for Comparison {
    fn drop(&mut self) {
        if std::thread::panicking() {
            return;
        }
        let module = self.test.split(['/', '.']).next().expect("a folder");
        enter(
            module,
            COLUMNS,
            [self.what, self.source, &self.cells(), &self.test],
        );
    }
}

/// Numbers of ours beside measured ones: how many of them their standard uncertainty explains.
#[track_caller]
pub fn measured(what: &str, source: &str, quotients: &[f64], largest: f64) {
    let inside = quotients.iter().filter(|q| q.abs() <= 1.96).count();
    let squares: f64 = quotients.iter().map(|q| q * q).sum();
    let cells = format!(
        "{} | {inside} | {} | {} %",
        quotients.len(),
        digits(squares / quotients.len() as f64),
        digits(100.0 * largest)
    );
    enter("measurements", MEASURED, [what, source, &cells, &caller()]);
}

/// The file of the test, below `tests/rust`.
#[track_caller]
fn caller() -> String {
    let file = Location::caller().file().replace('\\', "/");
    file.trim_start_matches("tests/rust/").to_owned()
}

fn writing() -> bool {
    std::env::var_os("FLOWDOUBT_WRITE_TABLES").is_some()
}

const HOW: &str = "FLOWDOUBT_WRITE_TABLES=1 cargo test --test rust writes it";

/// A file of the book.
fn page(path: &str) -> String {
    let path = format!("{}/{path}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// Finds a row on the page, or puts it there when this run writes it, below a heading.
fn enter(heading: &str, columns: &'static str, [what, source, cells, test]: [&str; 4]) {
    static TABLES: Mutex<BTreeMap<String, (&str, BTreeSet<String>)>> = Mutex::new(BTreeMap::new());
    let row = format!("| {what} | {source} | {cells} | `{test}` |");
    if !writing() {
        let stands = page(PAGE).lines().any(|line| line == row);
        assert!(stands, "{PAGE} has no row\n{row}\n{HOW}");
        return;
    }
    let mut tables = TABLES.lock().unwrap_or_else(PoisonError::into_inner);
    let table = tables.entry(heading.to_owned());
    table.or_insert((columns, BTreeSet::new())).1.insert(row);
    let mut text = HEAD.to_owned();
    for (heading, (columns, rows)) in &*tables {
        let (first, rest) = heading.split_at(1);
        let first = first.to_uppercase();
        let _ = write!(text, "\n## {first}{rest}\n\n{columns}");
        for row in rows {
            let _ = writeln!(text, "{row}");
        }
    }
    let path = format!("{}/{PAGE}", env!("CARGO_MANIFEST_DIR"));
    std::fs::write(path, text).expect("the page can be written");
}

/// A file of its own that one test writes, or finds as it is.
pub fn assert_page(path: &str, text: &str) {
    if writing() {
        let path = format!("{}/{path}", env!("CARGO_MANIFEST_DIR"));
        std::fs::write(path, text).expect("it can be written");
    } else {
        assert!(page(path) == text, "{path} is another; {HOW}");
    }
}

/// A row whose comparison is gone would stand on the page for ever.
#[test]
fn every_row_has_its_comparison() {
    if writing() {
        return;
    }
    for line in page(PAGE).lines().filter(|line| line.ends_with("` |")) {
        let mut cells = line.trim_matches('|').split(" | ").map(str::trim);
        let what = cells.next().expect("what");
        let source = cells.next().expect("source");
        let test = cells.last().expect("test").trim_matches('`');
        let test = page(&format!("tests/rust/{test}"));
        for words in [what, source] {
            assert!(test.contains(&format!("\"{words}\"")), "{line}");
        }
    }
}
