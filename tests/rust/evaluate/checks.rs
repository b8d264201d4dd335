//! Checks on site and reconciliation, against what they must find when a quantity is made wrong.

use crate::site::BASE;
use crate::support::noise::Noise;
use crate::support::{assert_refused, assert_relative, demo, evaluate, with};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::scalar::special::chi_squared_upper_tail;
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{Input, InputSet};
use nalgebra::{DMatrix, DVector};

/// The base with uncertainty on what a sound path depends on.
fn uncertain(temperature: &str) -> String {
    let text = with(
        BASE,
        "temperature = \"20 degC\"",
        &format!("temperature = {{ value = \"{temperature}\", standard_uncertainty = \"1.5 K\" }}"),
    );
    let text = with(
        &text,
        "wall = \"7.11 mm\"",
        "wall = { value = \"7.11 mm\", standard_uncertainty = \"0.08 mm\" }",
    );
    let text = with(
        &text,
        "outside_diameter = \"168.3 mm\"",
        "outside_diameter = { value = \"168.3 mm\", standard_uncertainty = \"0.2 mm\" }",
    );
    with(
        &text,
        "wedge_delay = \"16 us\"",
        "wedge_delay = { value = \"16 us\", standard_uncertainty = \"0.1 us\" }",
    )
}

/// Evaluates with a steady transit time of `time` in s and 100 ns.
fn at(text: &str, time: f64) -> Evaluation {
    let columns = [
        ("time_difference_ns", &[99.0, 101.0, 100.0][..]),
        ("transit_time_s", &[time - 1e-9, time, time + 1e-9]),
    ];
    let readings = Readings::from_columns(columns).expect("readings");
    evaluate(text, &readings).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

/// The transit time that a site expects of its liquid at rest.
fn expected_time(text: &str) -> f64 {
    let steps = at(text, 240e-6).steps;
    steps.path.time_in_liquid + steps.dead_time
}

const BASES: [(&str, &str); 3] = [
    ("\"timed\"", ""),
    ("\"geometric\"", ""),
    (
        "\"timed\"",
        "spacing = \"154.7 mm\"\nangle_from = \"spacing\"\n",
    ),
];

#[test]
fn a_sound_speed_that_fits_agrees_and_one_that_does_not_names_its_cause() {
    for (basis, path) in BASES {
        let text = with(&uncertain("20 degC"), "\"timed\"", basis);
        let text = with(&text, "[path]\n", &format!("[path]\n{path}"));
        let time = expected_time(&text);
        let check = at(&text, time).sound_speed_check().expect("check");
        assert!(check.agrees());
        assert!(
            (check.measured / check.expected - 1.0).abs() < 1e-9,
            "{check:?}"
        );
        // the thermometer is 4 K wrong: the transit time is that of 24 degC
        let warm = expected_time(&with(&text, "20 degC", "24 degC"));
        let check = at(&text, warm).sound_speed_check().expect("check");
        let cause = &check.causes[0];
        assert_eq!(cause.quantity, "liquid.temperature", "{basis} {path}");
        assert!((cause.shift - 4.0).abs() < 0.3, "{cause:?}");
        assert_eq!(cause.unit, "K");
        assert_relative(
            cause.standard_uncertainties,
            cause.shift / 1.5,
            1e-12,
            "shift over u",
        );
        assert!(check.measured > check.expected);
        let ranks: Vec<f64> = check
            .causes
            .iter()
            .map(|c| c.standard_uncertainties)
            .collect();
        assert!(ranks.is_sorted());
        let named = |q: &str| check.causes.iter().any(|c| c.quantity == q);
        for q in [
            "pipe.wall",
            "pipe.outside_diameter",
            "liquid.sound_speed_formulation",
        ] {
            assert!(named(q), "{q}");
        }
        assert_eq!(named("path.spacing"), !path.is_empty());
        // the shift by the wall: put it in and the difference is gone, but for the second order
        let wall = check
            .causes
            .iter()
            .find(|c| c.quantity == "pipe.wall")
            .expect("wall");
        let wall = format!("value = \"{} mm\"", 7.11 + wall.shift);
        let thicker = with(&text, "value = \"7.11 mm\"", &wall);
        let left = at(&thicker, warm).sound_speed_check().expect("check");
        let before = check.difference.estimate;
        assert!(
            left.difference.estimate.abs() < 0.02 * before.abs(),
            "{before} {left:?}"
        );
    }
}

#[test]
fn a_sharp_thermometer_shifts_the_blame() {
    let text = uncertain("20 degC").replace("1.5 K", "0.02 K");
    let warm = expected_time(&with(&text, "20 degC", "24 degC"));
    let check = at(&text, warm).sound_speed_check().expect("check");
    assert_ne!(check.causes[0].quantity, "liquid.temperature");
    assert!(!check.agrees());
    assert!(check.standardised() > 2.0);
}

#[test]
fn a_sound_speed_needs_a_path_and_a_transit_time() {
    let indicated = with(BASE, "\"timed\"", "\"indicated\"")
        + "[meter.programmed]\nprinciple = \"timed\"\ninside_diameter = \"154 mm\"\nprofile_factor = 1.0\n";
    let readings = Readings::from_columns([("volume_flow_m3_h", &[50.0, 51.0][..])]);
    let found = evaluate(&indicated, &readings.expect("readings")).expect("flow");
    assert_refused(
        found.sound_speed_check(),
        "missing",
        &["readings.transit_time"],
    );
    assert_refused(found.reconciled(), "missing", &["readings.transit_time"]);
    let geometric = with(BASE, "\"timed\"", "\"geometric\"");
    let readings = Readings::from_columns([("time_difference_ns", &[100.0, 101.0][..])]);
    let found = evaluate(&geometric, &readings.expect("readings")).expect("flow");
    assert_refused(
        found.sound_speed_check(),
        "missing",
        &["readings.transit_time"],
    );
}

#[test]
fn reconciliation_shrinks_uncertainty_and_closes_the_difference() {
    for (basis, path) in BASES {
        let text = with(&uncertain("20 degC"), "\"timed\"", basis);
        let text = with(&text, "[path]\n", &format!("[path]\n{path}"));
        let time = expected_time(&with(&text, "20 degC", "21.5 degC"));
        let evaluation = at(&text, time);
        let check = evaluation.sound_speed_check().expect("check");
        let found = evaluation.reconciled().expect("reconciled");
        // one constraint: chi-square is the square of the standardised difference, but for the
        // second order
        let square = check.standardised() * check.standardised();
        assert_relative(found.chi_square, square, 0.05, "chi-square");
        assert_eq!(
            found.probability,
            chi_squared_upper_tail(found.chi_square, 1.0)
        );
        assert!(found.is_consistent());
        let after = found.after.sound_speed_check().expect("check");
        assert!(after.difference.estimate.abs() < 1e-8, "{after:?}");
        // nothing is left uncertain along the constraint
        assert!(after.difference.standard_uncertainty < 1e-5, "{after:?}");
        assert!(
            found.after.standard_uncertainty() <= found.before.standard_uncertainty * (1.0 + 1e-12)
        );
        for a in &found.adjustments {
            assert!(a.uncertainty_after <= a.uncertainty_before, "{a:?}");
            assert!(
                (a.after - a.before).abs() <= 2.0 * a.uncertainty_before,
                "{a:?}"
            );
        }
        let temperature = found
            .adjustments
            .iter()
            .find(|a| a.input == "liquid.temperature");
        let temperature = temperature.expect("temperature");
        assert!(temperature.after > temperature.before + 0.5);
        assert!(temperature.uncertainty_after < 0.7 * temperature.uncertainty_before);
        // the budget before is that of the evaluation, which stays as it was
        assert_eq!(found.before, evaluation.budget);
    }
}

/// The adjustment by Lagrange's multipliers as one linear system, with derivatives by differences.
#[test]
fn reconciliation_solves_the_equations_of_lagrange() {
    let text = uncertain("20 degC")
        + "[[correlation]]\nbetween = [\"pipe.wall\", \"pipe.outside_diameter\"]\ncoefficient = 0.4\n";
    let evaluation = at(&text, expected_time(&with(&text, "20 degC", "20.3 degC")));
    let found = evaluation.reconciled().expect("reconciled");
    let x = evaluation.inputs.estimates();
    let n = x.len();
    let covariance = |inputs: &InputSet| {
        let u: Vec<f64> = inputs
            .inputs()
            .iter()
            .map(Input::standard_uncertainty)
            .collect();
        DMatrix::from_fn(n, n, |i, j| {
            let r = if i == j {
                1.0
            } else {
                inputs.correlations().coefficient(i, j)
            };
            r * u[i] * u[j]
        })
    };
    // at the solution, where the constraint is met
    let solution = found.after.inputs.estimates();
    let check = found.after.sound_speed_check().expect("check");
    let gradient = DVector::from_iterator(n, check.difference.lines.iter().map(|l| l.sensitivity));
    let v = covariance(&evaluation.inputs);
    let free: Vec<usize> = (0..n).filter(|i| v[(*i, *i)] > 0.0).collect();
    let m = free.len();
    // [V^-1  J^T; J  0] [x - x0; lambda] = [0; -d], scaled by the uncertainties
    let u = |i: usize| v[(free[i], free[i])].sqrt();
    let r = DMatrix::from_fn(m, m, |i, j| v[(free[i], free[j])] / (u(i) * u(j)));
    let weight = r.try_inverse().expect("weights");
    let mut system = DMatrix::zeros(m + 1, m + 1);
    system.view_mut((0, 0), (m, m)).copy_from(&weight);
    let scale = check.difference.standard_uncertainty.max(1.0);
    for i in 0..m {
        let j = gradient[free[i]] * u(i) / scale;
        system[(i, m)] = j;
        system[(m, i)] = j;
    }
    let mut right = DVector::zeros(m + 1);
    right[m] = (0..m)
        .map(|i| gradient[free[i]] * (solution[free[i]] - x[free[i]]) / scale)
        .sum();
    let solved = system.clone().lu().solve(&right).expect("a solution");
    for i in 0..m {
        let moved = (solution[free[i]] - x[free[i]]) / u(i);
        assert!(
            (moved - solved[i]).abs() < 1e-6,
            "{i}: {moved} {}",
            solved[i]
        );
    }
    // the upper left block of the inverse is the covariance after
    let inverse = system.try_inverse().expect("inverse");
    let after = covariance(&found.after.inputs);
    for i in 0..m {
        for j in 0..m {
            let expected = inverse[(i, j)];
            let found = after[(free[i], free[j])] / (u(i) * u(j));
            assert!(
                (found - expected).abs() < 1e-6,
                "{i} {j}: {found} {expected}"
            );
        }
    }
}

#[test]
fn what_does_not_fit_is_called_inconsistent() {
    let text = uncertain("20 degC");
    let evaluation = at(&text, expected_time(&with(&text, "20 degC", "34 degC")));
    let found = evaluation.reconciled().expect("reconciled");
    assert!(!found.is_consistent());
    assert!(found.chi_square > 3.84);
}

#[test]
fn a_zero_that_has_moved_is_found() {
    let text = with(
        BASE,
        "[meter]",
        "[meter]\nzero_time_difference = { value = \"0.1 ns\", standard_uncertainty = \"0.05 ns\" }",
    );
    let evaluation = at(&text, 240e-6);
    let zero = |values: &[f64]| {
        let readings = Readings::from_columns([("time_difference_ns", values)]).expect("readings");
        evaluation.zero_check(&readings).expect("check")
    };
    let same = zero(&[0.08, 0.12, 0.10, 0.11, 0.09]);
    assert!(same.agrees());
    assert_relative(same.found, 0.1e-9, 1e-12, "found");
    let moved = zero(&[0.48, 0.52, 0.50, 0.51, 0.49]);
    assert!(!moved.agrees());
    // s = sqrt(10)/200 ns, over the root of 5
    let u = libm::sqrt(0.0025 + 0.001 / 20.0);
    assert_relative(moved.standardised(), 0.4 / u, 1e-10, "standardised");
    // 0.4 ns of 100 ns: the flow was found 0.4 % too large
    let flow = moved.flow / evaluation.estimate();
    assert!((flow + 0.0041).abs() < 2e-4, "{flow}");
    let none =
        Readings::from_columns([("transit_time_us", &[240.0, 240.1][..])]).expect("readings");
    assert_refused(
        evaluation.zero_check(&none),
        "missing",
        &["readings.time_difference"],
    );
}

#[test]
fn a_wrongly_programmed_meter_is_noticed() {
    let text = with(&uncertain("20 degC"), "\"timed\"", "\"indicated\"");
    let text = text
        + "[meter.programmed]\nprinciple = \"timed\"\ninside_diameter = \"150 mm\"\nprofile_factor = 0.94\n\
           wedge_angle = \"40 deg\"\nwedge_sound_speed = \"2430 m/s\"\n";
    let readings = Readings::from_columns([("volume_flow_m3_h", &[50.0, 51.0, 50.5][..])]);
    let found = evaluate(&text, &readings.expect("readings")).expect("flow");
    let checks = found.programmed_check().expect("checks");
    let names: Vec<&str> = checks.iter().map(|c| c.parameter).collect();
    assert_eq!(
        names,
        [
            "inside diameter",
            "axial slowness of the ray",
            "profile factor"
        ]
    );
    let bore = &checks[0];
    let surveyed = 0.1683 - 2.0 * 7.11e-3;
    assert_relative(bore.surveyed, surveyed, 1e-14, "bore");
    let u = libm::hypot(0.2e-3, 2.0 * 0.08e-3);
    assert_relative(bore.standard_uncertainty, u, 1e-12, "u");
    assert_relative(
        bore.standardised,
        (0.150 - surveyed) / u,
        1e-10,
        "standardised",
    );
    assert_relative(
        bore.relative_difference(),
        0.150 / surveyed - 1.0,
        1e-12,
        "relative",
    );
    assert_eq!(checks[1].programmed, checks[1].surveyed);
    let warnings = found.warnings();
    let warning = warnings.iter().find(|w| w.code == "programmed-differs");
    let warning = warning.expect("warning");
    assert!(
        warning.words.contains("inside diameter"),
        "{}",
        warning.words
    );
    assert_eq!(at(BASE, 240e-6).programmed_check().expect("none"), []);
}

#[test]
fn a_programmed_value_within_twice_its_uncertainty_is_no_warning() {
    let text = with(&uncertain("20 degC"), "\"timed\"", "\"indicated\"");
    let u = libm::hypot(0.2e-3, 2.0 * 0.08e-3);
    for (uncertainties, warned) in [(1.9, false), (2.1, true)] {
        let bore = 0.1683 - 2.0 * 7.11e-3 + uncertainties * u;
        let text = format!(
            "{text}[meter.programmed]\nprinciple = \"timed\"\ninside_diameter = \"{bore:e} m\"\nprofile_factor = 1.0\n"
        );
        let readings = Readings::from_columns([("volume_flow_m3_h", &[50.0, 51.0, 50.5][..])]);
        let found = evaluate(&text, &readings.expect("readings")).expect("flow");
        assert_eq!(!found.warnings().is_empty(), warned, "{uncertainties} u");
    }
}

#[test]
fn terms_of_a_cause_add_with_their_correlation() {
    let text = with(
        &uncertain("20 degC"),
        "standard_uncertainty = \"1.5 K\" }",
        "standard_uncertainty = \"1.5 K\" }\nthermometer = { standard_uncertainty = \"0.8 K\" }",
    ) + "[[correlation]]\nbetween = [\"liquid.temperature\", \"liquid.temperature.instrument\"]\n\
         coefficient = 0.6\n";
    let check = at(&text, 240e-6).sound_speed_check().expect("check");
    let cause = check
        .causes
        .iter()
        .find(|c| c.quantity == "liquid.temperature");
    let cause = cause.expect("temperature");
    let u = libm::sqrt(1.5 * 1.5 + 0.8 * 0.8 + 2.0 * 0.6 * 1.5 * 0.8);
    assert_relative(
        cause.standard_uncertainties,
        cause.shift.abs() / u,
        1e-12,
        "u",
    );
}

#[test]
fn exact_numbers_that_agree_do_so_by_no_uncertainty() {
    let evaluation = at(BASE, 240e-6);
    let steady = Readings::from_columns([("time_difference_ns", &[0.0, 0.0, 0.0][..])]);
    let zero = evaluation
        .zero_check(&steady.expect("readings"))
        .expect("check");
    assert_eq!(zero.standardised(), 0.0);
    assert!(zero.agrees());
}

#[test]
fn a_transit_time_too_short_for_any_liquid_is_refused() {
    let columns = [
        ("time_difference_ns", &[99.0, 101.0, 100.0][..]),
        ("transit_time_us", &[60.0, 60.0, 60.1]),
    ];
    let readings = Readings::from_columns(columns).expect("readings");
    let evaluation = evaluate(&uncertain("20 degC"), &readings).expect("a flow");
    let parts = [
        "readings.transit_time: found 0.0000600",
        "s and more",
        "dead time",
    ];
    assert_refused(evaluation.sound_speed_check(), "out-of-range", &parts);
    assert_refused(evaluation.reconciled(), "out-of-range", &parts);
}

/// By `s / sqrt(n)` and twice the standard uncertainty, the check once alarmed falsely in half of
/// the cases where 30 s of damping were read each second.
#[test]
fn the_zero_check_seldom_alarms_falsely() {
    let text = with(
        &demo("site.toml"),
        "{ value = \"0.15 ns\", standard_uncertainty = \"0.30 ns\", dof = 29, evidence = \"valves \
         closed for ten minutes before the run\" }",
        "\"0 ns\"",
    );
    let site = Site::from_toml(&text, "site.toml").expect("site");
    let readings = Readings::from_csv_text(&demo("readings.csv"), "readings.csv");
    let evaluation = site.evaluate(&readings.expect("readings")).expect("flow");
    for phi in [0.0, 0.9, 0.967] {
        let noise = Noise::Autoregressive { phi, white: 0.0 };
        let alarm = |i: &u32| {
            let zero = noise.readings(360, &format!("zero {phi} {i}"));
            let columns = [("time_difference_ns", &zero[..])];
            let zero = Readings::from_columns(columns).expect("zero");
            !evaluation.zero_check(&zero).expect("check").agrees()
        };
        let alarms = (0..1000).filter(alarm).count();
        assert!(alarms <= 80, "{phi}: {alarms} of 1000");
    }
}
