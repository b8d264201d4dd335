//! A calibration certificate that states its factor point by point.

use crate::support::{assert_refused, assert_relative, demo, demo_readings, evaluate, with};
use crate::verify::{WATER, flow_of, site, square, steady, verified};
use flowdoubt::evaluate::{Channel, Evaluation, Log, Repeatability, SeriesOptions, Times};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::plan::Conditions;
use flowdoubt::record::{Extras, Record};
use flowdoubt::site::Site;

/// Three points with a common part, a correlation and a drift.
const CURVE: &str = "[meter.calibration_factor]\n\
    evidence = \"certificate\"\n\
    common = { standard_uncertainty = \"0.05 %\", evidence = \"gravimetric reference\" }\n\
    drift_per_year = { value = \"0.02 %\", standard_uncertainty = \"0.03 %\" }\n\
    age_years = 2.0\n\
    point = [\n\
    { flow = \"50 m3/h\", value = \"1.002\", standard_uncertainty = \"0.1 %\" },\n\
    { flow = \"100 m3/h\", value = \"0.998\", expanded_uncertainty = \"0.4 %\", coverage_factor = 2 },\n\
    { flow = \"200 m3/h\", value = \"1.005\", standard_uncertainty = \"0.1 %\" },\n\
    ]\n\
    correlation = [[1.0, 0.5, 0.0], [0.5, 1.0, 0.25], [0.0, 0.25, 1.0]]\n";

fn at(site: &Site, flow: f64) -> Evaluation {
    site.evaluate(&steady(flow)).expect("an evaluation")
}

/// The site with one factor for all flows.
fn single(factor: f64, u: f64) -> Site {
    let stated = format!("{{ value = \"{factor}\", standard_uncertainty = \"{u}\" }}");
    site(WATER, &format!("[meter]\ncalibration_factor = {stated}\n"))
}

/// The flow by the meter without calibration, in m3/h.
fn uncalibrated(flow: f64) -> f64 {
    3600.0 * flow_of(&site(WATER, ""), &steady(flow))
}

#[test]
fn between_points_factor_and_uncertainty_are_those_of_a_hand_calculation() {
    let curve = site(WATER, CURVE);
    for shown in [60.0, 80.0, 150.0] {
        let flow = uncalibrated(shown);
        let found = at(&curve, shown);
        assert_relative(
            3600.0 * found.steps.uncalibrated.volume_flow,
            flow,
            1e-12,
            "flow without the factor",
        );
        // the share of the upper point, and both with their correlation
        let (w, low, high, u, r) = if flow < 100.0 {
            ((flow - 50.0) / 50.0, 1.002, 0.998, [0.001, 0.002], 0.5)
        } else {
            ((flow - 100.0) / 100.0, 0.998, 1.005, [0.002, 0.001], 0.25)
        };
        let factor = (1.0 - w) * low + w * high + 2.0 * 0.0002;
        let (a, b) = ((1.0 - w) * u[0], w * u[1]);
        let drift: f64 = 2.0 * 0.0003;
        let u = (a * a + b * b + 2.0 * r * a * b + square(0.0005) + square(drift)).sqrt();
        let expected = at(&single(factor, u), shown);
        assert_relative(found.estimate(), expected.estimate(), 1e-12, "flow");
        assert_relative(
            found.standard_uncertainty(),
            expected.standard_uncertainty(),
            1e-9,
            "standard uncertainty",
        );
    }
    let warnings = at(&curve, 80.0).warnings();
    let codes: Vec<&str> = warnings.iter().map(|w| w.code).collect();
    assert!(!codes.contains(&"unusual-value"), "{warnings:?}");
    assert!(!codes.contains(&"calibration-range"), "{warnings:?}");
    let evidence = |name: &str| {
        let found = at(&curve, 80.0);
        let mut lines = found.budget.lines.iter();
        let line = lines.find(|line| line.input.name() == name);
        line.expect("a line").input.evidence().to_owned()
    };
    let point = evidence("meter.calibration_factor.point[1]");
    assert_eq!(point, "certificate, at 50 m3/h");
    let drift = evidence("meter.calibration_factor.drift");
    assert!(drift.starts_with("drift in 2 years"), "{drift}");
}

#[test]
fn over_reynolds_numbers_it_is_the_same() {
    let reynolds = |flow: f64| at(&site(WATER, ""), flow).steps.reynolds;
    let (low, high) = (reynolds(50.0), reynolds(200.0));
    let points = format!(
        "[meter.calibration_factor]\npoint = [{{ reynolds = {low:?}, value = \"1\", \
         standard_uncertainty = \"0.1 %\" }}, {{ reynolds = {high:?}, value = \"1.01\", \
         standard_uncertainty = \"0.1 %\" }}]\n"
    );
    let curve = site(WATER, &points);
    let share = (reynolds(120.0) - low) / (high - low);
    let expected = at(&single(1.0 + 0.01 * share, 0.0), 120.0);
    assert_relative(
        at(&curve, 120.0).estimate(),
        expected.estimate(),
        1e-12,
        "flow",
    );
    assert_refused(
        curve.evaluate(&steady(30.0)),
        "out-of-range",
        &["meter.calibration_factor.point", "Reynolds numbers"],
    );
}

#[test]
fn beyond_the_points_it_is_refused_or_held_and_said() {
    let curve = site(WATER, CURVE);
    for outside in [40.0, 230.0] {
        let error = curve.evaluate(&steady(outside));
        let parts = [
            "meter.calibration_factor.point",
            "50 to 200 m3/h",
            "nearest",
        ];
        assert_refused(error, "out-of-range", &parts);
    }
    let held = CURVE.replace("age_years", "beyond = \"nearest\"\nage_years");
    let found = at(&site(WATER, &held), 40.0);
    let warnings = found.warnings();
    let warning = warnings.iter().find(|w| w.code == "calibration-range");
    let words = &warning.expect("a warning").words;
    assert!(words.contains("nearest point is held"), "{words}");
    let u = (square(0.001) + square(0.0005) + square(0.0006)).sqrt();
    let expected = at(&single(1.0024, u), 40.0);
    assert_relative(found.estimate(), expected.estimate(), 1e-12, "flow");
    let u = expected.standard_uncertainty();
    assert_relative(
        found.standard_uncertainty(),
        u,
        1e-9,
        "standard uncertainty",
    );
}

#[test]
fn trials_series_plan_and_record_know_the_curve() {
    let curve = site(WATER, CURVE);
    let found = at(&curve, 80.0);
    let trials = found
        .monte_carlo(MonteCarlo {
            trials: 100_000,
            ..MonteCarlo::default()
        })
        .expect("trials");
    let ratio = trials.standard_uncertainty / found.standard_uncertainty();
    assert!((ratio - 1.0).abs() < 0.01, "{ratio}");

    // row by row, and a total in which the points share by what the rows add
    let shown = [55.0, 120.0, 180.0, 90.0];
    let temperature = [18.0; 4];
    let all = [
        ("volume_flow_m3_h", &shown[..]),
        ("temperature_degC", &temperature[..]),
    ];
    let log = Log::from_columns(all, Times::Interval(60.0)).expect("a log");
    let none = |channel| (channel, Repeatability::independent(0.0, f64::INFINITY));
    let options = SeriesOptions {
        repeatability: vec![none(Channel::VolumeFlow), none(Channel::Temperature)],
        ..SeriesOptions::default()
    };
    let series = curve
        .evaluate_series(&log, options.clone())
        .expect("a series");
    let mut gradient: Vec<f64> = Vec::new();
    for (row, flow) in shown.iter().enumerate() {
        let one = at(&curve, *flow);
        assert_relative(series.flow[row], one.estimate(), 1e-12, "flow of a row");
        let u = one.standard_uncertainty();
        assert_relative(series.standard_uncertainty[row], u, 1e-9, "u of a row");
        let weight = if row == 0 || row == 3 { 30.0 } else { 60.0 };
        let lines = one
            .budget
            .lines
            .iter()
            .map(|line| weight * line.sensitivity);
        match gradient.is_empty() {
            true => gradient = lines.collect(),
            false => gradient.iter_mut().zip(lines).for_each(|(a, b)| *a += b),
        }
    }
    let covariance = found.inputs.covariance();
    let variance: f64 = (0..gradient.len())
        .flat_map(|i| (0..gradient.len()).map(move |j| (i, j)))
        .map(|(i, j)| gradient[i] * gradient[j] * covariance[i][j])
        .sum();
    let total = series.total.standard_uncertainty;
    assert_relative(total, variance.sqrt(), 1e-9, "total");
    let beyond = [
        ("volume_flow_m3_h", &[55.0, 20.0, 180.0, 90.0][..]),
        ("temperature_degC", &temperature[..]),
    ];
    let log = Log::from_columns(beyond, Times::Interval(60.0)).expect("a log");
    let series = curve.evaluate_series(&log, options).expect("a series");
    assert_eq!((series.counts.used, series.counts.outside_model), (3, 1));

    let conditions = Conditions {
        volume_flow: 0.03,
        temperature: Some(291.15),
    };
    let expected = curve
        .expected(&conditions, &Default::default())
        .expect("a plan");
    assert_relative(expected.budget().estimate, 0.03, 1e-12, "planned flow");

    let record = Record::of(&found, Extras::default()).expect("a record");
    let text = record.to_text();
    let again = Record::from_text(&text).expect("the same").reproduce();
    assert!(again.expect("a reproduction").agrees());
    // an alternative is a file that says the same
    let alternative = curve.with(&flowdoubt::site::Change {
        traverses: Some(1),
        ..Default::default()
    });
    let alternative = alternative.expect("an alternative");
    let again = Site::from_toml(alternative.text(), "site.toml").expect("its file");
    assert_eq!(
        at(&again, 80.0).estimate(),
        at(&alternative, 80.0).estimate()
    );
}

#[test]
fn the_worksheet_shows_the_line_between_the_points() {
    let worksheet = at(&site(WATER, CURVE), 80.0)
        .worksheet()
        .expect("a worksheet");
    let line = worksheet.lines.iter().find(|line| line.symbol == "K_cal");
    let line = line.expect("the factor");
    assert_eq!(
        line.equation,
        "K_cal_a + (K_cal_b - K_cal_a)*(Q_0 - 1.3888888888888888e-2)/(2.7777777777777776e-2 - \
         1.3888888888888888e-2) + K_cal_d + K_cal_e"
    );
    let factors = worksheet.lines.iter().find(|line| line.symbol == "K");
    assert_eq!(factors.expect("K").equation, "K_cal*K_law");
}

#[test]
fn a_single_factor_drifts_too() {
    let text = with(
        &demo("site.toml"),
        "dof = 50, evidence",
        "dof = 50, drift_per_year = { value = \"0 %\", standard_uncertainty = \"0.2 %\" }, \
         age_years = 3, evidence",
    );
    let found = evaluate(&text, &demo_readings()).expect("an evaluation");
    let mut lines = found.budget.lines.iter();
    let drift = lines.find(|line| line.input.name() == "meter.calibration_factor.drift");
    let u = drift.expect("a line").input.standard_uncertainty();
    assert_relative(u, 0.006, 1e-12, "drift");
}

#[test]
fn what_no_certificate_says_is_refused() {
    let refused = |from: &str, to: &str, code: &str, parts: &[&str]| {
        let template = site(WATER, CURVE);
        let text = with(template.text(), from, to);
        let error = assert_refused(Site::from_toml(&text, "site.toml"), code, parts);
        assert!(error.to_string().starts_with("site.toml:"), "{error}");
    };
    let (first, second) = ("flow = \"50 m3/h\"", "flow = \"100 m3/h\"");
    let point = "meter.calibration_factor.point";
    let name = |n: u32, key: &str| format!("{point}[{n}].{key}");
    refused(
        second,
        "flow = \"40 m3/h\"",
        "out-of-range",
        &[&name(2, "flow"), "above 50 m3/h"],
    );
    refused(second, first, "out-of-range", &[&name(2, "flow")]);
    refused(
        first,
        "flow = \"0 m3/h\"",
        "out-of-range",
        &[&name(1, "flow"), "above 0"],
    );
    refused(
        first,
        "flow = \"50 mm\"",
        "wrong-dimension",
        &[&name(1, "flow"), "mm"],
    );
    refused(
        first,
        "reynolds = 1e5",
        "conflict",
        &[point, "flow in all points"],
    );
    refused(
        &format!("{first}, "),
        "",
        "missing",
        &[&format!("{point}[1]"), "flow or reynolds"],
    );
    refused(
        "standard_uncertainty = \"0.1 %\" },",
        "standard_uncertainty = \"-0.1 %\" },",
        "out-of-range",
        &[&name(1, "standard_uncertainty")],
    );
    refused(
        "value = \"1.002\"",
        "value = \"1.002 m\"",
        "wrong-dimension",
        &[&format!("{point}[1]")],
    );
    refused(
        "value = \"1.002\"",
        "value = \"-1.002\"",
        "out-of-range",
        &[&format!("{point}[1]")],
    );
    refused("age_years = 2.0\n", "", "missing", &["age_years"]);
    refused(
        "age_years = 2.0",
        "age_years = -1.0",
        "out-of-range",
        &["age_years"],
    );
    refused(
        "[0.5, 1.0, 0.25]",
        "[0.4, 1.0, 0.25]",
        "out-of-range",
        &["correlation[2][1]"],
    );
    refused(
        "[0.5, 1.0, 0.25]",
        "[0.5, 0.9, 0.25]",
        "out-of-range",
        &["correlation[2][2]"],
    );
    refused("[0.5, 1.0, 0.25], ", "", "length", &["3 rows of 3"]);
    refused(
        "[1.0, 0.5, 0.0], [0.5, 1.0, 0.25], [0.0, 0.25, 1.0]",
        "[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]",
        "not-positive-semi-definite",
        &["correlation"],
    );
    refused(
        "age_years",
        "value = \"1\"\nage_years",
        "conflict",
        &["points beside a value"],
    );
    let one = "[meter]\ncalibration_factor = { point = [{ flow = \"5 m3/h\", value = \"1\" }] }\n";
    let text = site(WATER, "").text().to_owned() + one;
    assert_refused(
        Site::from_toml(&text, "site.toml"),
        "length",
        &["one alone is a single"],
    );
    let text = site(WATER, "").text().to_owned();
    let wall = with(
        &text,
        "wall = \"7.1 mm\"",
        "wall = { value = \"7.1 mm\", age_years = 3 }",
    );
    assert_refused(
        Site::from_toml(&wall, "site.toml"),
        "conflict",
        &["pipe.wall"],
    );
    let alone = text + "[meter]\ncalibration_factor = { value = \"1\", beyond = \"nearest\" }\n";
    assert_refused(
        Site::from_toml(&alone, "site.toml"),
        "conflict",
        &["without points"],
    );
}

/// A run at 60 m3/h by the meter against a master meter whose certificate says `certificate`.
fn against(certificate: &str) -> String {
    format!(
        "[verification]\nname = \"v\"\nquestion = \"error as installed\"\n\
         indicated = \"computed from its readings\"\n[reference]\nkind = \"master meter\"\n\
         {certificate}\n[[run]]\npoint = \"p\"\nreadings = \"60\"\nvolume = \"3.1 m3\"\n\
         duration = \"180 s\"\n"
    )
}

const OF_REFERENCE: &str = "calibration_factor = { point = [\n\
    { flow = \"40 m3/h\", value = \"1.001\", standard_uncertainty = \"0.1 %\" },\n\
    { flow = \"80 m3/h\", value = \"0.997\", standard_uncertainty = \"0.2 %\" },\n\
    ], correlation = [[1, 0.3], [0.3, 1]], common = { standard_uncertainty = \"0.03 %\" } }";

#[test]
fn the_reference_of_a_verification_has_a_curve() {
    let site = site(WATER, "");
    let found = &verified(&site, &against(OF_REFERENCE)).points[0];
    // 62 m3/h lies at 0.55 of the way
    let factor: f64 = 0.45 * 1.001 + 0.55 * 0.997;
    let (a, b) = (0.45 * 0.001, 0.55 * 0.002);
    let u: f64 = (a * a + b * b + 0.6 * a * b + square(0.0003)).sqrt();
    let one =
        format!("calibration_factor = {{ value = \"{factor}\", standard_uncertainty = \"{u}\" }}");
    let expected = &verified(&site, &against(&one)).points[0];
    assert_relative(found.error.value, expected.error.value, 1e-10, "error");
    let (found, expected) = (found.error, expected.error);
    let u = expected.standard_uncertainty;
    assert_relative(found.standard_uncertainty, u, 1e-9, "standard uncertainty");

    // the same certificate, stated as an error
    let of_errors = "error = { point = [{ flow = \"40 m3/h\", value = \"-0.1 %\" }, \
                     { flow = \"80 m3/h\", value = \"0.3 %\" }] }";
    let one = "error = \"0.12 %\"";
    let error = |certificate: &str| verified(&site, &against(certificate)).points[0].error.value;
    assert_relative(error(of_errors), error(one), 1e-10, "error");

    let outside = against(OF_REFERENCE).replace("3.1 m3", "1.1 m3");
    let verification = crate::verify::verification(&outside).expect("a file");
    let parts = ["reference.calibration_factor.point", "40 to 80 m3/h"];
    assert_refused(site.verify(&verification), "out-of-range", &parts);
    let tank = against(OF_REFERENCE).replace(
        "kind = \"master meter\"",
        "kind = \"volumetric tank\"\nstart = \"standing\"",
    );
    let refused = crate::verify::verification(&tank);
    assert_refused(refused, "conflict", &["master meter"]);
    let reynolds = OF_REFERENCE.replace("flow = \"40 m3/h\"", "reynolds = 4e4");
    let reynolds = reynolds.replace("flow = \"80 m3/h\"", "reynolds = 8e4");
    let refused = crate::verify::verification(&against(&reynolds));
    assert_refused(refused, "conflict", &["reference.calibration_factor.point"]);
}
