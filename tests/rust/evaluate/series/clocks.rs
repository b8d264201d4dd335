//! Logs with clocks on a wall, signals and states.

use crate::support::{assert_refused, demo};
use flowdoubt::Result;
use flowdoubt::evaluate::{Log, Selection, Series, SeriesOptions, Times};
use flowdoubt::site::Site;

/// A CSV log of steady rows at times as written.
fn log(times: &[String]) -> Log {
    let mut text = "time,transit_time_us,time_difference_ns,temperature_degC\n".to_owned();
    for (row, time) in times.iter().enumerate() {
        let scatter = [0, 3, 1, 2][row % 4];
        text += &format!("{time},610.7{scatter},79{scatter}.5,8.1{scatter}\n");
    }
    Log::from_csv_text(&text, "log.csv", None).expect("log")
}

fn evaluated(log: &Log) -> Series {
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    site.evaluate_series(log, SeriesOptions::default())
        .expect("series")
}

/// What a clock shows each minute for so many hours from midnight, where after the full hour
/// `after` it is moved by so many hours.
fn minutes(date: &str, hours: i64, after: i64, moved: i64) -> Vec<String> {
    (0..=60 * hours)
        .map(|minute| {
            let shown = minute + if minute >= 60 * after { 60 * moved } else { 0 };
            format!("{date}T{:02}:{:02}:00", shown / 60, shown % 60)
        })
        .collect()
}

fn codes(series: &Series) -> Vec<&str> {
    series.warnings.iter().map(|w| w.code).collect()
}

/// In 2026 clocks in Germany are put back on 25 October at 03:00 and forward on 29 March at 02:00
/// (Directive 2000/84/EC: last Sundays of March and October, 01:00 universal time).
#[test]
fn the_hour_of_autumn_is_not_lost() {
    let log = log(&minutes("2026-10-25", 6, 3, -1));
    let told = evaluated(&log.clone().in_time_zone("Europe/Berlin").expect("zone"));
    assert_eq!((told.counts.used, told.counts.gaps), (361, 0));
    assert_eq!(told.duration, 6.0 * 3600.0);
    let clock = told.clock.as_ref().expect("clock");
    assert_eq!((clock.twice.len(), clock.skipped.len()), (120, 0));
    assert_eq!((clock.twice[0], clock.twice[119]), (120, 239));
    let words = told.findings().join("\n");
    assert!(
        words.contains("runs through twice (Europe/Berlin)"),
        "{words}"
    );
    // without a zone a sixth is lost, and it is said why
    let lost = evaluated(&log);
    assert_eq!(lost.counts.used, 301);
    assert_eq!(codes(&lost), ["clock-put-back"]);
    assert!(
        lost.warnings[0].words.contains("at row 180"),
        "{:?}",
        lost.warnings
    );
}

#[test]
fn the_hour_of_spring_is_no_gap() {
    let log = log(&minutes("2026-03-29", 5, 2, 1));
    let told = evaluated(&log.clone().in_time_zone("Europe/Berlin").expect("zone"));
    assert_eq!((told.counts.gaps, told.duration), (0, 5.0 * 3600.0));
    let gap = evaluated(&log);
    assert_eq!(
        (gap.counts.gaps, codes(&gap)),
        (1, vec!["clock-put-forward"])
    );
    // a clock that was not put forward shows what there is not
    let idle = crate::evaluate::series::clocks::log(&minutes("2026-03-29", 5, 2, 0));
    let idle = evaluated(&idle.in_time_zone("Europe/Berlin").expect("zone"));
    assert_eq!(idle.clock.expect("clock").skipped.len(), 60);
    // an hour that is missing in the middle of the week is a gap and no more
    let plain = evaluated(&crate::evaluate::series::clocks::log(&minutes(
        "2026-03-25",
        5,
        2,
        1,
    )));
    assert_eq!((plain.counts.gaps, codes(&plain)), (1, vec![]));
}

#[test]
fn zones_are_for_clocks_that_have_none() {
    let local = log(&minutes("2026-07-01", 1, 2, 0));
    let unknown = local.clone().in_time_zone("Europe/Harrowmere");
    assert_refused(unknown, "unknown-name", &["time_zone", "Europe/Harrowmere"]);
    let berlin = local.clone().in_time_zone("Europe/Berlin").expect("zone");
    assert_eq!(evaluated(&berlin).duration, 3600.0);
    assert_refused(berlin.in_time_zone("UTC"), "conflict", &["time_zone"]);
    let columns = [("transit_time_us", &[610.7; 2][..])];
    let seconds = Log::from_columns(columns, Times::Seconds(vec![0.0, 1.0]));
    assert_refused(
        seconds.expect("log").in_time_zone("UTC"),
        "conflict",
        &["time_zone"],
    );
}

#[test]
fn times_come_back_as_they_were_written() {
    let mut times = minutes("2026-07-01", 1, 2, 0);
    times[3] = "sometime".to_owned();
    assert_eq!(log(&times).stamps(), Some(&times[..]));
}

/// A log with a status and a quality of the signal.
fn with_signal(selection: &Selection) -> Result<Log> {
    let mut text =
        "time_s,transit_time_us,time_difference_ns,temperature_degC,state,quality\n".to_owned();
    for row in 0..40 {
        let scatter = [0, 3, 1, 2][row % 4];
        let state = if row == 7 { "no signal" } else { "ok" };
        let quality = if row == 9 {
            String::new()
        } else {
            format!("{}", 50 + row)
        };
        text += &format!("{row},610.7{scatter},79{scatter}.5,8.1{scatter},{state},{quality}\n");
    }
    Log::selected_from_csv_text(&text, "log.csv", None, selection)
}

#[test]
fn rows_are_selected_by_status_and_signal() {
    let selection = Selection {
        status: Some(("state".to_owned(), vec!["ok".to_owned()])),
        signal: Some(("quality".to_owned(), Some(52.0))),
    };
    let series = evaluated(&with_signal(&selection).expect("log"));
    assert_eq!((series.counts.status, series.counts.signal), (1, 3));
    let reasons: Vec<_> = series.rejected.iter().map(|r| r.reason.code()).collect();
    assert_eq!(reasons, ["signal", "signal", "status", "signal"]);
    assert!(series.rejected[2].reason.to_string().contains("no signal"));
    let signal = series.signal.expect("signal");
    assert_eq!((signal.name.as_str(), signal.values[12]), ("quality", 62.0));
    assert!(signal.values[9].is_nan());
    // columns that are not named are left out and said, named ones must be there
    let none = with_signal(&Selection::default()).expect("log");
    let format = none.format().expect("columns not used");
    assert_eq!(format.not_used, ["state", "quality"]);
    let other = Selection {
        status: Some(("flag".to_owned(), vec!["0".to_owned()])),
        signal: Some(("quality".to_owned(), None)),
    };
    assert_refused(with_signal(&other), "missing", &["log.csv:1", "flag"]);
}
