//! Texts that somebody wrote to do harm: long ones, and such as go on for lines.

use crate::support::{demo, demo_readings};
use flowdoubt::Error;
use flowdoubt::evaluate::Readings;
use flowdoubt::site::{Change, Site};
use flowdoubt::text::shown;
use flowdoubt::uncertainty::{
    Autocorrelated, Correlations, Input, InputSet, StraightLine, TypeA, WeightedMean,
};
use flowdoubt::units::{Dimension, Unit, difference, quantity};
use flowdoubt::verify::Verification;
use proptest::prelude::*;
use std::time::{Duration, Instant};

/// Refused in a few lines of plain text, whatever was found.
#[track_caller]
fn refused_shortly<T>(found: flowdoubt::Result<T>, code: &str) {
    let error = found.err().expect("refused");
    assert_eq!(error.code(), code, "{error}");
    let context = error.context();
    let parts = [Some(error.to_string()), context.field, context.found];
    for part in parts.into_iter().flatten() {
        assert!(part.len() < 2000, "{} bytes", part.len());
        assert!(!part.contains(char::is_control), "{part:?}");
    }
}

#[test]
fn a_quantity_is_as_long_as_one_can_be() {
    for text in [
        "1".repeat(300_000),
        format!("{} mm", "1".repeat(300_000)),
        format!("1 {}", "m".repeat(300_000)),
        format!("1/{}", "1".repeat(300_000)),
        "\u{1d7d8}".repeat(100_000),
    ] {
        refused_shortly(quantity(&text, Dimension::Length, "pipe.wall"), "too-long");
        refused_shortly(difference(&text, 1.0, Dimension::Length, "u"), "too-long");
    }
    let error = quantity(&"1".repeat(1000), Dimension::Length, "pipe.wall").expect_err("long");
    let words = error.to_string();
    for part in [
        "pipe.wall",
        "1000 bytes",
        "allowed: 200 at most",
        "800 more",
    ] {
        assert!(words.contains(part), "{words}");
    }
    // as many digits as a number can have are read, and what stands around it does not count
    let digits = format!(
        "{}0.{}1 mm{}",
        " ".repeat(500),
        "0".repeat(150),
        " ".repeat(500)
    );
    assert!(quantity(&digits, Dimension::Length, "pipe.wall").is_ok());
}

#[test]
fn errors_quote_a_line_at_most() {
    let (site, readings) = (demo("site.toml"), demo("readings.csv"));
    let long = "\u{fc}\u{1f4a7}".repeat(100_000);
    let lines = "first\\n\\u001b[2Ksecond\\u0007";
    for value in [long.as_str(), lines] {
        let changed = |from: &str, to: String| {
            assert!(site.contains(from), "{from}");
            Site::from_toml(&site.replacen(from, &to, 1), "site.toml")
        };
        let unit = changed("flow_unit = \"m3/h\"", format!("flow_unit = \"{value}\""));
        refused_shortly(unit, "unknown-unit");
        let key = changed("flow_unit = ", format!("\"{value}\" = "));
        refused_shortly(key, "unknown-key");
        let kind = changed("kind = \"water\"", format!("kind = \"{value}\""));
        refused_shortly(kind, "unknown-name");
        let twice = changed(
            "flow_unit = ",
            format!("\"{value}\" = 1\n\"{value}\" = 1\nflow_unit = "),
        );
        assert!(twice.expect_err("twice").to_string().len() < 2000);
    }
    let header = readings.replacen("temperature_degC", &long, 1);
    assert!(
        Readings::from_csv_text(&header, "readings.csv").is_err_and(|e| e.to_string().len() < 2000)
    );
    let cell = readings.replacen(",8.12\n", &format!(",{long}\n"), 1);
    assert!(
        Readings::from_csv_text(&cell, "readings.csv").is_err_and(|e| e.to_string().len() < 2000)
    );
    let names: [String; 2] = [long.clone(), "b".to_owned()];
    let pairs = [(names[0].clone(), "c".to_owned(), 0.5)];
    let unknown = Correlations::from_pairs(&[&names[0], &names[1]], &pairs);
    assert!(
        unknown
            .expect_err("unknown")
            .context()
            .field
            .is_some_and(|f| f.len() < 400)
    );
}

#[test]
fn lists_of_names_end() {
    let names: Vec<String> = (0..4000)
        .map(|i| format!("a name as long as {i}"))
        .collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let pairs = [("x".to_owned(), "y".to_owned(), 0.5)];
    let error = Correlations::from_pairs(&names, &pairs).expect_err("unknown");
    let words = error.to_string();
    assert!(words.len() < 2000 && words.contains(" more"), "{words}");
    refused_shortly::<()>(Err(error), "unknown-name");
    let other = Error::OtherModel {
        recorded: " ".repeat(5000),
        current: "this",
        version: "\u{202e}1".repeat(5000),
    };
    refused_shortly::<()>(Err(other), "other-model");
}

proptest! {
    #[test]
    fn whatever_was_found_is_quoted_on_a_line(text in "(?s).{0,400}") {
        let error = Error::NotAQuantity {
            field: text.clone(),
            found: text.clone(),
            allowed: String::new(),
        };
        let words = error.to_string();
        prop_assert!(words.len() < 3000 && !words.contains(char::is_control));
        if text.len() <= 200 && shown(&text) == text {
            let quoted = format!("`{text}`");
            prop_assert!(words.contains(&quoted));
        }
    }

    #[test]
    fn statistics_are_finite_or_refused(
        values in prop::collection::vec(prop::num::f64::ANY, 3..6),
        u in prop::collection::vec(prop::num::f64::ANY, 3..6),
        exponent in -160..160_i32,
    ) {
        // such as the greatest numbers whose squares are finite, besides any
        let scale = format!("1e{exponent}").parse::<f64>().expect("number");
        let count = values.len().min(u.len());
        let x: Vec<f64> = (0..count).map(|i| i as f64).collect();
        for values in [&values[..count], &x.iter().map(|x| x * scale - scale).collect::<Vec<_>>()] {
            let u: Vec<f64> = u[..count].iter().map(|u| u.abs()).collect();
            let found = TypeA::of(values, "x").map(|a| vec![a.mean, a.standard_deviation]);
            let line = |line: StraightLine| vec![line.slope(), line.intercept(), line.slope_uncertainty()];
            let all = [
                found,
                Autocorrelated::of(values, "x").map(|a| vec![a.mean, a.standard_uncertainty, a.dof]),
                WeightedMean::whether_or_not_they_agree(values, &u)
                    .map(|mean| vec![mean.mean, mean.standard_uncertainty, mean.chi_squared]),
                StraightLine::ordinary(&x, values).map(line),
                StraightLine::weighted(&x, values, &u).map(line),
            ];
            for (which, found) in all.into_iter().enumerate() {
                if let Ok(numbers) = found {
                    prop_assert!(numbers.iter().all(|n| n.is_finite()), "{}: {:?}: {:?}", which, values, numbers);
                }
            }
        }
    }

    #[test]
    fn quantities_are_finite_or_refused(number in prop::num::f64::ANY, place in 0_usize..8) {
        use Dimension::*;
        let (dimension, unit) = [
            (Pressure, "GPa"), (Pressure, "bar"), (Temperature, "degF"), (Temperature, "degC"),
            (Length, "ft"), (Mass, "t"), (Frequency, "MHz"), (Ratio, "%"),
        ][place];
        let text = format!("{number:e} {unit}");
        for read in [
            quantity(&text, dimension, "x").map(|read| read.si),
            difference(&text, 1e300, dimension, "x"),
        ] {
            match read {
                Ok(si) => prop_assert!(si.is_finite(), "{}", text),
                Err(error) => prop_assert_eq!(error.code(), "not-a-quantity"),
            }
        }
    }
}

#[test]
fn a_number_beyond_all_numbers_in_si_is_none() {
    for (text, dimension) in [
        ("1e308 bar", Dimension::Pressure),
        ("-1e308 km/s", Dimension::Velocity),
    ] {
        let error = quantity(text, dimension, "site.x").expect_err("infinite");
        assert_eq!(error.code(), "not-a-quantity");
        assert!(error.to_string().contains("finite in SI units"), "{error}");
    }
    let relative = difference("1e200 %", 1e200, Dimension::Length, "site.x");
    assert!(relative.is_err());
    assert!(Unit::parse("bar", Dimension::Pressure, "x").is_ok());
}

/// The time for which this thread was on a processor, which other work of the machine leaves alone;
/// where the system does not tell it, the time since `begun`.
fn time_worked(begun: Instant) -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let worked = told.and_then(|text| text.split_whitespace().next()?.parse().ok());
    worked.map_or_else(|| begun.elapsed(), Duration::from_nanos)
}

/// The least time of a few that `work` takes.
fn least_time(mut work: impl FnMut()) -> Duration {
    let begun = Instant::now();
    let once = |_| {
        let before = time_worked(begun);
        work();
        time_worked(begun).saturating_sub(before)
    };
    (0..5).map(once).min().unwrap_or_default()
}

/// How many times as long much takes as the same in sixteen parts: once in proportion, which caches
/// blur, and sixteen times with the square.
#[track_caller]
fn grows_in_proportion<T>(what: &str, few: usize, of: impl Fn(usize) -> T, work: impl Fn(&T)) {
    let (part, whole) = (of(few), of(16 * few));
    let parts = least_time(|| (0..16).for_each(|_| work(&part)));
    let whole = least_time(|| work(&whole));
    assert!(whole < 6 * parts, "{what}: {whole:?}, in parts {parts:?}");
}

#[test]
fn the_time_to_read_grows_in_proportion() {
    let site = demo("site.toml");
    let read = |text: &String| drop(Site::from_toml(text, "site.toml"));
    // each has a line of its own
    let correlations = |count: usize| {
        let one = |i: usize| {
            format!("\n[[correlation]]\nbetween = [\"pipe.wall\", \"x{i}\"]\ncoefficient = 0.1\n")
        };
        site.clone() + &(0..count).map(one).collect::<String>()
    };
    grows_in_proportion("correlations", 4000, correlations, read);

    let columns = |count: usize| {
        let names = "remark,".repeat(count) + "transit_time_us\n";
        names + &",".repeat(count) + "600\n"
    };
    grows_in_proportion("columns", 8000, columns, |text| {
        drop(Readings::from_csv_text(text, "readings.csv"));
    });

    let names: Vec<String> = (0..600).map(|i| format!("x{i}")).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let pairs: Vec<(String, String, f64)> = (0..600)
        .flat_map(|i| (0..i).map(move |j| (i, j)))
        .map(|(i, j)| (names[i].to_owned(), names[j].to_owned(), 0.0))
        .collect();
    let some = |count: usize| {
        // all others are looked up before the last
        let twice = ("x1".to_owned(), "x2".to_owned(), 0.0);
        [&pairs[..count], &[twice]].concat()
    };
    grows_in_proportion("pairs of names", 10_000, some, |pairs| {
        let twice = Correlations::from_pairs(&names, pairs).expect_err("a pair given twice");
        assert_eq!(twice.code(), "conflict");
    });
}

#[test]
fn more_than_there_is_memory_for_is_refused() {
    let inputs = (0..100_000).map(|i| Input::exact(&format!("x{i}"), 1.0).expect("input"));
    refused_shortly(InputSet::independent(inputs.collect()), "length");
    let points: Vec<f64> = (0..1_000_000).map(f64::from).collect();
    let u = vec![1.0; points.len()];
    let line = StraightLine::with_uncertainties(&points, &u, &points, &u);
    refused_shortly(line, "length");
    let few = 3..=1000;
    for count in [3, 1001] {
        let points = &points[..count];
        let line = StraightLine::with_uncertainties(points, &u[..count], points, &u[..count]);
        assert_eq!(line.is_ok(), few.contains(&count));
    }
    assert!(StraightLine::weighted(&points, &points, &u).is_ok());
    let many = "\n[[point]]\nname = \"x\"".repeat(100_000);
    let text = demo("verification.toml") + &many;
    let readings = |_: &str| Ok(demo_readings());
    refused_shortly(
        Verification::with_readings(&text, "v.toml", readings),
        "length",
    );
}

#[test]
fn a_site_that_was_read_is_changed_as_before() {
    // lines of errors are looked up in the text of the site as it is now
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    let changed = site.with(&Change {
        traverses: Some(1),
        ..Change::default()
    });
    assert!(changed.is_ok_and(|site| site.evaluate(&demo_readings()).is_ok()));
}
