//! From readings to flow: the demonstration site, its budget and its trials.

use crate::support::{
    assert_refused, assert_relative, demo, demo_readings, evaluate, plain_demo, with,
};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::montecarlo::{MonteCarlo, Validation, Verdict};
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{Budget, Input, InputSet};
use nalgebra::{DMatrix, DVector};

fn demonstration() -> Evaluation {
    evaluate(&demo("site.toml"), &demo_readings()).expect("demonstration")
}

fn input<'a>(evaluation: &'a Evaluation, name: &str) -> &'a Input {
    let inputs = evaluation.inputs.inputs().iter();
    inputs
        .clone()
        .find(|input| input.name() == name)
        .unwrap_or_else(|| panic!("no {name}"))
}

/// Twice the same reading in each column, so that the readings add no uncertainty.
fn steady(columns: &[(&str, f64)]) -> Readings {
    let columns: Vec<(&str, [f64; 2])> = columns.iter().map(|(n, v)| (*n, [*v; 2])).collect();
    Readings::from_columns(columns.iter().map(|(n, v)| (*n, &v[..]))).expect("readings")
}

#[test]
fn the_budget_is_the_explicit_matrix_product() {
    let evaluation = evaluate(&plain_demo(), &demo_readings()).expect("a site");
    let budget = &evaluation.budget;
    let n = budget.lines.len();
    let c = DVector::from_fn(n, |i, _| budget.lines[i].sensitivity);
    let u = |i: usize| budget.lines[i].input.standard_uncertainty();
    let name = |i: usize| budget.lines[i].input.name();
    // as the site file states it
    let correlated = ["meter.cable_delay", "meter.electronics_delay"];
    let r = |i: usize, j: usize| match i == j {
        true => 1.0,
        false if correlated.contains(&name(i)) && correlated.contains(&name(j)) => 0.5,
        false => 0.0,
    };
    let covariance = DMatrix::from_fn(n, n, |i, j| u(i) * u(j) * r(i, j));
    let variance = (c.transpose() * &covariance * &c)[(0, 0)];
    assert_relative(budget.standard_uncertainty, variance.sqrt(), 1e-14, "u_c");
    // a share is the part of the product that belongs to its row
    let rows = &covariance * &c;
    for i in 0..n {
        let share = c[i] * rows[i] / variance;
        assert!((budget.lines[i].share - share).abs() < 1e-14, "{}", name(i));
        let contribution = c[i] * u(i);
        assert_relative(budget.lines[i].contribution, contribution, 1e-15, name(i));
    }
    // the correlation acts
    let text = with(&plain_demo(), "coefficient = 0.5", "coefficient = 0.0");
    let independent = evaluate(&text, &demo_readings()).expect("independent");
    let [i, j] = correlated.map(|name| row(budget, name));
    let difference = 2.0 * c[i] * covariance[(i, j)] * c[j];
    let expected = variance - difference;
    let found = independent.standard_uncertainty();
    assert_relative(found, expected.sqrt(), 1e-12, "without correlation");
    assert!(difference.abs() > 1e-7 * variance);
}

fn row(budget: &Budget, name: &str) -> usize {
    let mut lines = budget.lines.iter();
    lines
        .position(|line| line.input.name() == name)
        .unwrap_or_else(|| panic!("no {name}"))
}

#[test]
fn shares_and_components_add_up() {
    let budget = demonstration().budget;
    let shares: f64 = budget.lines.iter().map(|line| line.share).sum();
    assert!((shares - 1.0).abs() < 1e-14);
    let components = budget.components();
    let names: Vec<&str> = components.iter().map(|c| c.component.as_str()).collect();
    // ISO 12242:2012
    let expected = [
        "calibration factor",
        "velocity profile",
        "cross-section",
        "path geometry",
        "time measurement",
        "delay time",
        "installation",
        "re-mounting",
    ];
    assert_eq!(names, expected);
    let shares: f64 = components.iter().map(|c| c.share).sum();
    assert!((shares - 1.0).abs() < 1e-14);
    let squares: f64 = components
        .iter()
        .map(|c| c.contribution * c.contribution)
        .sum();
    assert_relative(
        squares.sqrt(),
        budget.standard_uncertainty,
        1e-14,
        "components",
    );
    assert!(
        budget
            .ranked()
            .windows(2)
            .all(|w| w[0].share.abs() >= w[1].share.abs())
    );
}

#[test]
fn every_line_of_the_demonstration_says_where_it_comes_from() {
    for line in &demonstration().budget.lines {
        let input = &line.input;
        assert!(!input.evidence().is_empty(), "{}", input.name());
        assert!(!input.component().is_empty(), "{}", input.name());
        assert!(input.estimate().is_finite() && input.standard_uncertainty() >= 0.0);
    }
}

#[test]
fn readings_and_instrument_are_two_inputs_of_one_quantity() {
    let evaluation = demonstration();
    // five readings of the tape in mm
    let tape = [1276.5, 1277.5, 1277.0, 1276.0, 1277.0];
    let mean = tape.iter().sum::<f64>() / 5.0;
    let squares: f64 = tape.iter().map(|x| (x - mean) * (x - mean)).sum();
    let circumference = input(&evaluation, "pipe.outside_circumference");
    assert_relative(circumference.estimate(), mean * 1e-3, 1e-15, "mean");
    let u = circumference.standard_uncertainty();
    assert_relative(u, (squares / 4.0 / 5.0).sqrt() * 1e-3, 1e-12, "s/sqrt(n)");
    assert_eq!(circumference.dof(), 4.0);
    let instrument = input(&evaluation, "pipe.outside_circumference.instrument");
    assert_eq!(instrument.estimate(), 0.0);
    assert_relative(
        instrument.standard_uncertainty(),
        1e-3 / 3.0_f64.sqrt(),
        1e-14,
        "u",
    );
    assert_eq!(instrument.dof(), f64::INFINITY);
    let of = |name: &str| evaluation.budget.lines[row(&evaluation.budget, name)].sensitivity;
    for name in [
        "pipe.outside_circumference",
        "pipe.wall",
        "liquid.temperature",
    ] {
        assert_eq!(of(name), of(&format!("{name}.instrument")), "{name}");
    }
    let thermometer = input(&evaluation, "liquid.temperature.instrument");
    assert_eq!(thermometer.standard_uncertainty(), 0.15);
    assert_eq!(thermometer.unit().symbol, "K");
    let temperature = input(&evaluation, "liquid.temperature");
    // it follows the cycle of the chillers: s / sqrt(360) would be a third of this
    assert_eq!(temperature.dof(), 32.0);
    assert_eq!(
        temperature.evidence(),
        "mean of 360 readings in readings.csv, worth 34 independent ones"
    );
    // a correction that is known shifts the result as the reading would
    let x = evaluation.inputs.estimates();
    let shifted = |name: &str| {
        let mut x = x.clone();
        x[row(&evaluation.budget, name)] += 1e-3;
        evaluation.model.steps(&x).inside_diameter
    };
    assert_eq!(shifted("pipe.wall"), shifted("pipe.wall.instrument"));
}

#[test]
fn uncertainty_stated_in_three_ways_is_the_same_uncertainty() {
    let u = |uncertainty: &str| {
        let old = "half_width = \"12 m/s\", shape = \"rectangular\"";
        let text = with(&plain_demo(), old, uncertainty);
        let evaluation = evaluate(&text, &demo_readings()).expect("evaluation");
        input(&evaluation, "path.wedge_sound_speed").standard_uncertainty()
    };
    let expected = 12.0;
    assert_relative(
        u("standard_uncertainty = \"12 m/s\""),
        expected,
        1e-15,
        "standard",
    );
    let expanded = "expanded_uncertainty = \"24 m/s\", coverage_factor = 2";
    assert_relative(u(expanded), expected, 1e-15, "expanded");
    for (shape, divisor) in [
        ("rectangular", 3.0_f64),
        ("triangular", 6.0),
        ("arcsine", 2.0),
    ] {
        let stated = format!("half_width = \"12 m/s\", shape = \"{shape}\"");
        assert_relative(u(&stated), expected / divisor.sqrt(), 1e-15, shape);
    }
    let relative = u("standard_uncertainty = \"0.5 %\"");
    assert_relative(relative, 0.005 * 2431.0, 1e-15, "per cent of the estimate");
}

#[test]
fn trials_meet_first_order_when_uncertainties_are_tiny() {
    const TRIALS: u64 = 40_000;
    const SCALE: f64 = 1e-6;
    let evaluation = demonstration();
    let tiny = evaluation.inputs.inputs().iter().map(|input| {
        let u = SCALE * input.standard_uncertainty();
        Input::with_standard_uncertainty(input.name(), input.estimate(), u, f64::INFINITY)
    });
    let tiny: Vec<Input> = tiny.collect::<Result<_, _>>().expect("inputs");
    let pair = (
        "meter.cable_delay".to_owned(),
        "meter.electronics_delay".to_owned(),
        0.5,
    );
    let inputs = InputSet::correlated(tiny, &[pair]).expect("set");
    let run = MonteCarlo {
        trials: TRIALS,
        seed: 7,
        ..MonteCarlo::default()
    };
    let summary = &run.run(&evaluation.model, &inputs).expect("trials")[0];
    let u = SCALE * evaluation.standard_uncertainty();
    // five standard errors of a mean and of a standard deviation of normal values
    let standard_error = u / (TRIALS as f64).sqrt();
    let off = (summary.mean - evaluation.estimate()).abs();
    assert!(
        off < 5.0 * standard_error,
        "mean off by {}",
        off / standard_error
    );
    let off = (summary.standard_uncertainty - u).abs();
    assert!(
        off < 5.0 * standard_error / 2.0_f64.sqrt(),
        "u off by {}",
        off / u
    );
}

#[test]
fn trials_confirm_the_budget_of_the_demonstration() {
    let evaluation = demonstration();
    // the ends of the intervals differ by four tenths of the tolerance
    let run = MonteCarlo {
        trials: 10_000_000,
        seed: 1,
        ..MonteCarlo::default()
    };
    let summary = evaluation.monte_carlo(run).expect("trials");
    let p = evaluation.site.coverage_probability;
    // JCGM 101:2008, clause 8: one significant digit of the standard uncertainty is confirmed; the
    // second is not, for roughness, friction and the orientation of the path act in second order as well
    let validation = Validation::of(&evaluation.budget, &summary, p, 1).expect("validation");
    assert!(validation.validated, "{validation:?}");
    let largest = validation.low_difference.max(validation.high_difference);
    assert!(
        largest < 0.2 * evaluation.standard_uncertainty(),
        "{validation:?}"
    );
    // the roughness, known to no better than a third, acts in second order: a shift of the mean
    // by a fiftieth of u
    let shift = (summary.mean - evaluation.estimate()) / evaluation.standard_uncertainty();
    assert!((0.005..0.05).contains(&shift), "{shift}");
    println!(
        "SHIFT {shift} {}",
        largest / evaluation.standard_uncertainty()
    );
}

/// The meter that would indicate what the demonstration's readings lead to.
#[test]
fn a_meter_that_was_told_the_truth_is_believed() {
    let readings = [
        ("time_difference_ns", 800.0),
        ("transit_time_us", 610.7),
        ("temperature_degC", 8.1),
    ];
    let timed = evaluate(&demo("site.toml"), &steady(&readings)).expect("timed");
    let steps = &timed.steps;
    let base = with(&demo("site.toml"), "\"timed\"", "\"indicated\"");
    let indicated = |programmed: String, column: (&str, f64)| {
        let text = format!("{base}\n[meter.programmed]\nprinciple = \"timed\"\n{programmed}");
        let columns = [column, ("temperature_degC", 8.1)];
        evaluate(&text, &steady(&columns)).unwrap_or_else(|e| panic!("{e}"))
    };
    let (d, k) = (steps.inside_diameter, steps.profile_factor);
    let shown = steps.path_velocity * k;
    // a timed meter computes in first order of v/c
    let mach = steps.path_velocity / steps.liquid_sound_speed;
    let square = mach * mach * (1.0 - steps.path.liquid_sine * steps.path.liquid_sine);
    let computed = shown / (1.0 - square).sqrt();
    let truth = format!(
        "inside_diameter = \"{d:e} m\"\nprofile_factor = {k:e}\n\
         wedge_angle = \"39.6 deg\"\nwedge_sound_speed = \"2431 m/s\""
    );
    let flow = indicated(truth.clone(), ("volume_flow_m3_s", computed * steps.area));
    assert_relative(flow.estimate(), timed.estimate(), 1e-13, "told all");
    let velocity = indicated(truth, ("velocity_m_s", computed));
    assert_relative(velocity.estimate(), timed.estimate(), 1e-13, "velocity");
    // told of the sensors as they are
    let sensors = format!("inside_diameter = \"{d:e} m\"\nprofile_factor = {k:e}");
    let flow = indicated(sensors, ("volume_flow_m3_s", shown * steps.area));
    assert_relative(flow.estimate(), timed.estimate(), 1e-13, "told of the pipe");
    // told of a pipe half as wide: it indicates a quarter of the flow
    let narrow = format!("inside_diameter = \"{:e} m\"\nprofile_factor = 1", 0.5 * d);
    let quarter = ("volume_flow_m3_s", 0.25 * steps.path_velocity * steps.area);
    let flow = indicated(narrow, quarter);
    assert_relative(
        flow.estimate(),
        timed.estimate(),
        1e-13,
        "told of another pipe",
    );
}

#[test]
fn indicated_readings_need_their_column_and_diameter() {
    let base = with(&demo("site.toml"), "\"timed\"", "\"indicated\"");
    let base = format!("{base}\n[meter.programmed]\nprofile_factor = 1\n");
    let result = |site: &str, columns: &[(&str, f64)]| {
        let mut columns = columns.to_vec();
        columns.push(("temperature_degC", 8.1));
        evaluate(site, &steady(&columns)).map(|_| ())
    };
    let (flow, velocity) = (("volume_flow_m3_h", 1000.0), ("velocity_m_s", 2.5));
    let parts = [
        "meter.programmed.inside_diameter: missing",
        "for readings of volume flow",
    ];
    assert_refused(result(&base, &[flow]), "missing", &parts);
    assert_eq!(result(&base, &[velocity]), Ok(()));
    let both = [
        "a column of volume flow beside one of velocity",
        "one of the two",
    ];
    assert_refused(result(&base, &[flow, velocity]), "conflict", &both);
    let none = ["readings.volume_flow: missing", "for basis = \"indicated\""];
    assert_refused(result(&base, &[]), "missing", &none);
}

#[test]
fn estimates_outside_the_model_are_refused_in_words() {
    let site = plain_demo();
    let result = |site: &str, dt: f64, t: f64, celsius: f64| {
        let columns = [
            ("time_difference_ns", dt),
            ("transit_time_us", t),
            ("temperature_degC", celsius),
        ];
        evaluate(site, &steady(&columns)).map(|_| ())
    };
    assert_eq!(result(&site, 800.0, 610.7, 8.1), Ok(()));
    let short = [
        "readings.transit_time: found 0.00002 s",
        "above the dead time, 2.7",
    ];
    assert_refused(result(&site, 800.0, 20.0, 8.1), "out-of-range", &short);
    let boiling = ["water pressure: found 720000 Pa", "below which water boils"];
    assert_refused(result(&site, 800.0, 610.7, 170.0), "out-of-range", &boiling);
    let frozen = ["water temperature", "0 to 230 degC"];
    assert_refused(result(&site, 800.0, 610.7, -2.0), "out-of-range", &frozen);
    let fast = ["Reynolds number", "0 to 1e8"];
    assert_refused(result(&site, 4e5, 610.7, 8.1), "out-of-range", &fast);
    let thick = with(
        &site,
        "[path]",
        "liner = \"250 mm\"\nliner_sound_speed = \"2 km/s\"\n[path]",
    );
    let parts = [
        "pipe.inside_diameter: found -0.1",
        "thinner than the radius",
    ];
    assert_refused(result(&thick, 800.0, 610.7, 8.1), "out-of-range", &parts);
    let fast_wall = with(&site, "\"3230 m/s\"", "\"5900 m/s\"");
    let parts = [
        "wedge to wall: no refracted ray",
        "wedge angle below 24.33 deg",
    ];
    assert_refused(
        result(&fast_wall, 800.0, 610.7, 8.1),
        "total-reflection",
        &parts,
    );
}

#[test]
fn a_result_knows_the_name_of_the_file_but_not_where_it_lies() {
    let site = Site::from_toml(&demo("site.toml"), "here/site.toml").expect("here");
    let other = Site::from_toml(&demo("site.toml"), "/there/site.toml").expect("there");
    let text = demo("readings.csv");
    let read = |path: &str| Readings::from_csv_text(&text, path).expect("readings");
    let here = site.evaluate(&read("here/readings.csv")).expect("here");
    let there = other
        .evaluate(&read("/far/away/readings.csv"))
        .expect("there");
    assert_eq!(here.budget, there.budget);
    let renamed = site.evaluate(&read("here/monday.csv")).expect("renamed");
    let evidence = input(&renamed, "readings.transit_time").evidence();
    assert!(
        evidence.starts_with("mean of 360 readings in monday.csv"),
        "{evidence}"
    );
}

#[test]
fn the_verdict_on_the_demonstration_does_not_hang_on_the_seed() {
    let evaluation = demonstration();
    let p = evaluation.site.coverage_probability;
    let verdict = |seed| {
        let run = MonteCarlo {
            trials: 1_000_000,
            seed,
            ..MonteCarlo::default()
        };
        let trials = evaluation.monte_carlo(run).expect("trials");
        let found = evaluation.validation(&trials, p, 2).expect("validation");
        found.verdict
    };
    let found: Vec<Verdict> = (1..=60).map(verdict).collect();
    let of = |verdict| found.iter().filter(|own| **own == verdict).count();
    let most = of(Verdict::Validated).max(of(Verdict::NotValidated));
    assert!(most >= 59, "{found:?}");
}

#[test]
fn points_decide_what_trials_leave_open_and_the_headline_follows() {
    let evaluation = demonstration();
    let p = evaluation.site.coverage_probability;
    let run = MonteCarlo {
        trials: 500,
        seed: 3,
        ..MonteCarlo::default()
    };
    let trials = evaluation.monte_carlo(run).expect("trials");
    let alone = Validation::of(&evaluation.budget, &trials, p, 2).expect("validation");
    assert_eq!(alone.verdict, Verdict::Undecided);
    let decided = evaluation.validation(&trials, p, 2).expect("validation");
    assert!(
        decided.by_points && decided.verdict != Verdict::Undecided,
        "{decided:?}"
    );
    assert_eq!(
        decided,
        evaluation.validation(&trials, p, 2).expect("again")
    );
    let headline = evaluation.headline_with(&trials, 2).expect("headline");
    let text = evaluation.in_words_with(&trials, 2).expect("words");
    let first_order = evaluation.headline().expect("headline");
    if decided.verdict == Verdict::NotValidated {
        assert!(
            headline.contains("by Monte Carlo, since first order is not validated"),
            "{headline}"
        );
        assert!(
            text.contains(&format!("first order: {first_order}")),
            "{text}"
        );
    } else {
        assert_eq!(headline, first_order);
    }
    assert!(
        text.contains("points of low discrepancy differ by"),
        "{text}"
    );
    // one digit is validated, and first order stays the headline
    let one = evaluation.validation(&trials, p, 1).expect("validation");
    assert!(one.validated, "{one:?}");
    assert_eq!(
        evaluation.headline_with(&trials, 1).expect("headline"),
        first_order
    );
}
