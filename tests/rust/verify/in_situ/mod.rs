//! The result of a verification, put back into the site as its in-situ calibration.

mod coverage;

use crate::support::{assert_refused, assert_relative, demo, demo_readings, with};
use crate::verify::{asked_of_the_demonstration, demonstrated, square};
use flowdoubt::evaluate::{
    Channel, Evaluation, Log, Readings, Repeatability, SeriesOptions, Times,
};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::record::{Extras, Record};
use flowdoubt::site::{Change, Site};

fn uncertainty(evaluation: &Evaluation, name: &str) -> f64 {
    let mut lines = evaluation.budget.lines.iter();
    let line = lines.find(|line| line.input.name() == name);
    let line = line.unwrap_or_else(|| panic!("no {name}"));
    line.input.standard_uncertainty()
}

fn evaluated(site: &Site) -> Evaluation {
    site.evaluate(&demo_readings()).expect("an evaluation")
}

fn reread(text: &str) -> Site {
    Site::from_toml(text, "site.toml").unwrap_or_else(|e| panic!("{e}"))
}

/// The demonstration with a calibration that covers nothing, so that all it has counts.
fn uncovered(text: &str) -> Site {
    let kept = text
        .lines()
        .filter(|line| !line.starts_with("calibration_"));
    let kept: Vec<&str> = kept.collect();
    let factor = "[meter]\ncalibration_factor = { value = \"1.000\", standard_uncertainty = \"0.45 %\" }\n\
                  calibration_covers = []";
    reread(&with(&(kept.join("\n") + "\n"), "[meter]", factor))
}

/// The demonstration with runs of its first placement alone.
fn one_placement() -> (Site, flowdoubt::verify::VerificationResult) {
    let site = uncovered(&demo("site.toml"));
    let text = demo("verification.toml");
    let (head, runs) = text.split_once("[[run]]").expect("runs");
    let runs = runs
        .split("[[run]]")
        .filter(|run| run.contains("placement = \"A\""));
    let runs: Vec<String> = runs.map(|run| format!("[[run]]{run}")).collect();
    let root = env!("CARGO_MANIFEST_DIR");
    let file = format!("{root}/notebooks/demo/verification.toml");
    let text = head.to_owned() + &runs.concat();
    let verification = flowdoubt::verify::Verification::from_toml(&text, file);
    let found = site
        .verify(&verification.expect("a file"))
        .expect("a result");
    (site, found)
}

const BORE: [&str; 3] = [
    "pipe.outside_circumference",
    "pipe.wall",
    "pipe.wall.instrument",
];

const METER: [&str; 4] = [
    "meter.calibration_factor",
    "path.wedge_angle",
    "path.wedge_sound_speed",
    "meter.wedge_delay",
];

const MOUNTING: [&str; 2] = ["meter.zero_time_difference", "installation.remounting"];

const PROFILE: [&str; 4] = [
    "profile.law_factor",
    "profile.friction_ratio",
    "pipe.roughness",
    "installation.factor",
];

const MEASUREMENT: [&str; 3] = [
    "readings.time_difference",
    "liquid.temperature.instrument",
    "liquid.absolute_pressure",
];

#[test]
fn from_site_to_verification_to_site() {
    let (site, found) = one_placement();
    let calibrated = site.calibrated_by(&found).expect("the site calibrated");
    // nothing is lost, and the file says the same when it is read again
    assert!(calibrated.text().starts_with(site.text()));
    let again = evaluated(&reread(calibrated.text()));
    let own = evaluated(&calibrated);
    assert_eq!(again.estimate(), own.estimate());
    assert_eq!(again.standard_uncertainty(), own.standard_uncertainty());

    // the factor of the point in the middle, at whose flow the readings are
    let before = evaluated(&site);
    let flow = before.estimate();
    let points = &found.points;
    let indicated = |i: usize| points[i].flow.value * (1.0 + points[i].error.value);
    let low = (0..2).find(|i| (indicated(*i)..=indicated(i + 1)).contains(&flow));
    let low = low.expect("a flow among the points");
    let share = (flow - indicated(low)) / (indicated(low + 1) - indicated(low));
    let (a, b) = (points[low].meter_factor, points[low + 1].meter_factor);
    let factor = (1.0 - share) * a.value + share * b.value;
    // the profile factor moves a little with the flow
    assert_relative(own.estimate() / flow, factor, 1e-4, "factor");

    for name in BORE.into_iter().chain(METER).chain(MOUNTING).chain(PROFILE) {
        assert!(uncertainty(&before, name) > 0.0, "{name}");
        assert_eq!(uncertainty(&own, name), 0.0, "{name}");
        let lines = &own.budget.lines;
        let line = lines.iter().find(|line| line.input.name() == name);
        let evidence = line.expect("a line").input.evidence();
        assert!(
            evidence.contains("covered by in_situ_calibration"),
            "{evidence}"
        );
    }
    for name in MEASUREMENT {
        assert_eq!(
            uncertainty(&own, name),
            uncertainty(&before, name),
            "{name}"
        );
    }
    // what is left is about that of the factor
    let joint = found.joint_result().expect("a joint result");
    let covariance = joint.covariance[3 * low + 1][3 * low + 4];
    let (wa, wb) = (1.0 - share, share);
    let variance = square(wa * a.standard_uncertainty)
        + square(wb * b.standard_uncertainty)
        + 2.0 * wa * wb * covariance;
    let points_of = own.budget.lines.iter().filter(|line| {
        line.input
            .name()
            .starts_with("in_situ_calibration.factor.point")
    });
    let share: f64 = points_of.map(|line| line.share).sum();
    let u = share.sqrt() * own.standard_uncertainty() / own.estimate();
    assert_relative(u, variance.sqrt() / factor, 0.02, "u of the factor");
    assert!(own.standard_uncertainty() < 0.3 * before.standard_uncertainty());
    let codes = ["in-situ", "calibration", "unusual"];
    let about = |code: &str| codes.iter().any(|begin| code.starts_with(begin));
    let warnings = own.warnings();
    assert!(!warnings.iter().any(|w| about(w.code)), "{warnings:?}");

    // checks of what is stated know the uncertainties that are stated
    let check = |e: &Evaluation| e.sound_speed_check().expect("a check").difference;
    assert_eq!(
        check(&own).standard_uncertainty,
        check(&before).standard_uncertainty
    );
    let record = Record::of(&own, Extras::default()).expect("a record");
    assert!(record.reproduce().expect("a reproduction").agrees());
    let trials = own
        .monte_carlo(MonteCarlo {
            trials: 100_000,
            ..MonteCarlo::default()
        })
        .expect("trials");
    let ratio = trials.standard_uncertainty / own.standard_uncertainty();
    assert!((0.98..1.1).contains(&ratio), "{ratio}");
}

#[test]
fn sensors_that_were_off_bring_back_placement_zero_and_repeatability() {
    let (site, found) = one_placement();
    let calibrated = site.calibrated_by(&found).expect("the site calibrated");
    let text = with(
        calibrated.text(),
        "sensors = \"as verified\"",
        "sensors = \"mounted anew\"",
    );
    // a zero found anew is no contradiction; with the sensors as they were it is
    let zero = with(&text, "value = \"0.15 ns\"", "value = \"0.20 ns\"");
    let kept = with(
        calibrated.text(),
        "value = \"0.15 ns\"",
        "value = \"0.20 ns\"",
    );
    let parts = ["meter.zero_time_difference", "verify anew"];
    assert_refused(Site::from_toml(&kept, "site.toml"), "conflict", &parts);
    let own = evaluated(&reread(&zero));
    let before = evaluated(&site);
    for name in MOUNTING {
        assert_eq!(
            uncertainty(&own, name),
            uncertainty(&before, name),
            "{name}"
        );
    }
    for name in BORE.into_iter().chain(METER).chain(PROFILE) {
        assert_eq!(uncertainty(&own, name), 0.0, "{name}");
    }
    let warnings = own.warnings();
    let warning = warnings.iter().find(|w| w.code == "in-situ-mounted-anew");
    assert!(warning.expect("a warning").words.contains("zero"));
    // the factor has the mounting of the verification in it: both mountings count
    let factor = |e: &Evaluation| {
        let lines = e.budget.lines.iter();
        let own = lines.filter(|line| line.input.name().starts_with("in_situ_calibration"));
        let share: f64 = own.map(|line| line.share).sum();
        square(e.standard_uncertainty() / e.estimate()) * share
    };
    let grown = factor(&own) - factor(&evaluated(&calibrated));
    let mounting = MOUNTING.map(|name| {
        let mut lines = before.budget.lines.iter();
        let line = lines.find(|line| line.input.name() == name);
        square(line.expect("a line").contribution / before.estimate())
    });
    let once: f64 = mounting.iter().sum();
    assert_relative(
        grown,
        once,
        0.05,
        "variance of the mounting of the verification",
    );
}

#[test]
fn a_mean_over_mountings_is_not_that_of_the_present_one() {
    let (site, verification) = demonstrated();
    let found = site.verify(&verification).expect("a result");
    let calibrated = site.calibrated_by(&found).expect("the site calibrated");
    assert!(calibrated.text().contains("sensors = \"mounted anew\""));
    let u = uncertainty(&evaluated(&calibrated), "installation.remounting");
    assert!(u > 0.0);
}

#[test]
fn outside_its_reynolds_numbers_the_profile_counts_again() {
    let (site, found) = one_placement();
    let calibrated = site.calibrated_by(&found).expect("the site calibrated");
    let slow = |site: &Site| {
        let readings = Readings::from_columns([
            ("time_difference_ns", &[200.0, 200.1][..]),
            ("transit_time_us", &[610.7, 610.7][..]),
            ("temperature_degC", &[8.1, 8.1][..]),
        ]);
        site.evaluate(&readings.expect("readings"))
            .expect("an evaluation")
    };
    let (before, own) = (slow(&site), slow(&calibrated));
    for name in PROFILE {
        assert_relative(
            uncertainty(&own, name),
            uncertainty(&before, name),
            0.05,
            name,
        );
    }
    for name in BORE.into_iter().chain(METER).chain(MOUNTING) {
        assert_eq!(uncertainty(&own, name), 0.0, "{name}");
    }
    let warnings = own.warnings();
    let warning = warnings.iter().find(|w| w.code == "in-situ-range");
    let words = &warning.expect("a warning").words;
    assert!(words.contains("velocity profile counts again"), "{words}");

    // a log with rows on both sides: each as it is by itself
    let differences = [798.0, 200.0, 798.0];
    let (time, temperature) = ([610.7; 3], [8.1; 3]);
    let columns = [
        ("time_difference_ns", &differences[..]),
        ("transit_time_us", &time[..]),
        ("temperature_degC", &temperature[..]),
    ];
    let log = Log::from_columns(columns, Times::Interval(60.0)).expect("a log");
    let channels = [
        Channel::TimeDifference,
        Channel::TransitTime,
        Channel::Temperature,
    ];
    let none = |channel| (channel, Repeatability::independent(0.0, f64::INFINITY));
    let options = SeriesOptions {
        repeatability: channels.map(none).to_vec(),
        ..SeriesOptions::default()
    };
    let series = calibrated.evaluate_series(&log, options).expect("a series");
    // readings that are all alike would have half of their last digit as uncertainty
    let about = |value: f64, by: f64| [value - by, value + by];
    for (row, difference) in differences.into_iter().enumerate() {
        let readings = Readings::from_columns([
            ("time_difference_ns", &about(difference, 1e-5)[..]),
            ("transit_time_us", &about(610.7, 1e-7)[..]),
            ("temperature_degC", &about(8.1, 1e-6)[..]),
        ]);
        let one = calibrated
            .evaluate(&readings.expect("readings"))
            .expect("one");
        let (u, expected) = (series.standard_uncertainty[row], one.standard_uncertainty());
        assert_relative(series.flow[row], one.estimate(), 1e-12, "flow");
        assert_relative(u, expected, 1e-9, "standard uncertainty");
    }
    let codes: Vec<&str> = series.warnings.iter().map(|w| w.code).collect();
    assert!(codes.contains(&"in-situ-range"), "{codes:?}");
    let lines = &series.total.lines;
    let line = lines
        .iter()
        .find(|line| line.input.name() == "installation.factor");
    assert!(line.expect("a line").contribution > 0.0);
}

#[test]
fn another_pipe_brings_diameter_and_wall_back() {
    let (site, found) = one_placement();
    let calibrated = site.calibrated_by(&found).expect("the site calibrated");
    // as installed, the factor belongs to the bore that it was found with
    let other = |text: &str| with(text, "\"1276.5 mm\"", "\"1280.5 mm\"");
    let parts = ["pipe.outside_circumference", "error of the meter"];
    let refused = Site::from_toml(&other(calibrated.text()), "site.toml");
    assert_refused(refused, "conflict", &parts);
    let direct = with(calibrated.text(), "traverses = 2", "traverses = 1");
    assert_refused(
        Site::from_toml(&direct, "site.toml"),
        "conflict",
        &["sound path"],
    );
    let fitting = with(calibrated.text(), "\"14 D\"", "\"20 D\"");
    let parts = ["installation.fitting"];
    assert_refused(Site::from_toml(&fitting, "site.toml"), "conflict", &parts);
    let paint = with(
        calibrated.text(),
        "under_sensors = false",
        "under_sensors = true\nsound_speed = \"2000 m/s\"",
    );
    assert_refused(
        Site::from_toml(&paint, "site.toml"),
        "conflict",
        &["pipe.layer[1]"],
    );
    let more = with(
        calibrated.text(),
        "roughness =",
        "liner = \"2 mm\"\nliner_sound_speed = \"2500 m/s\"\nroughness =",
    );
    assert_refused(
        Site::from_toml(&more, "site.toml"),
        "conflict",
        &["pipe.liner"],
    );

    // that of the meter goes to another pipe, whose bore counts
    let (site, verification) = asked_of_the_demonstration("error of the meter");
    let site = uncovered(site.text());
    let found = site.verify(&verification).expect("a result");
    let elsewhere = reread(&other(site.text()));
    let own = evaluated(&elsewhere.calibrated_by(&found).expect("calibrated"));
    let before = evaluated(&elsewhere);
    for name in BORE.into_iter().chain(MOUNTING).chain(PROFILE) {
        assert_relative(
            uncertainty(&own, name),
            uncertainty(&before, name),
            0.01,
            name,
        );
    }
    for name in METER {
        assert_eq!(uncertainty(&own, name), 0.0, "{name}");
    }
    // another path of the same sensors, with a file of its own
    let calibrated = elsewhere.calibrated_by(&found).expect("calibrated");
    let change = Change {
        traverses: Some(1),
        ..Change::default()
    };
    let direct = calibrated.with(&change).expect("an alternative");
    let factor = |site: &Site| uncertainty(&evaluated(site), "in_situ_calibration.factor.point[3]");
    assert_eq!(factor(&reread(direct.text())), factor(&calibrated));
    let wedge = with(elsewhere.text(), "39.6 deg", "39.7 deg");
    let refused = reread(&wedge).calibrated_by(&found);
    assert_refused(refused, "conflict", &["path.wedge_angle"]);
}

#[test]
fn what_is_no_error_of_the_flow_is_not_put_back() {
    let (site, verification) = asked_of_the_demonstration("agreement");
    let found = site.verify(&verification).expect("a result");
    let parts = ["verification.question", "agreement"];
    assert_refused(site.calibrated_by(&found), "conflict", &parts);
    let (site, found) = one_placement();
    let calibrated = site.calibrated_by(&found).expect("the site calibrated");
    let parts = ["in_situ_calibration", "without"];
    assert_refused(calibrated.calibrated_by(&found), "conflict", &parts);
    let (_, verification) = demonstrated();
    let again = calibrated.verify(&verification).expect("a result");
    // the meter is right where it was found to be
    for (point, before) in again.points.iter().zip(&found.points) {
        assert!(point.error.value.abs() < 0.3 * before.error.value.abs().max(0.01));
    }
    assert_refused(site.calibrated_by(&again), "conflict", &parts);
    let reconciled = evaluated(&calibrated).reconciled();
    assert_refused(reconciled, "conflict", &["in_situ_calibration"]);

    let bad = |from: &str, to: &str, code: &str, parts: &[&str]| {
        let text = with(calibrated.text(), from, to);
        assert_refused(Site::from_toml(&text, "site.toml"), code, parts);
    };
    let section = "in_situ_calibration";
    bad(
        "\"as verified\"\n",
        "\"in place\"\n",
        "unknown-name",
        &[section, "sensors"],
    );
    bad(
        "[in_situ_calibration.factor]",
        "[in_situ_calibration.factors]",
        "unknown-key",
        &["factor"],
    );
    let of_meter = with(
        calibrated.text(),
        "question = \"error as installed\"",
        "question = \"error of the meter\"",
    );
    assert_refused(
        Site::from_toml(&of_meter, "site.toml"),
        "conflict",
        &["sensors"],
    );
}
