//! Worked examples of the guides, with the values as printed (tests/published/jcgm.json).

use crate::support::{assert_printed, assert_relative, json, number};
use flowdoubt::montecarlo::{
    IntervalKind, LowDiscrepancy, MonteCarlo, Trials, Validation, Verdict,
};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, Shape, propagate};
use flowdoubt::{Result, units::Unit};

const INF: f64 = f64::INFINITY;
const TRIALS: MonteCarlo = MonteCarlo {
    trials: 1_000_000,
    seed: 20_261_125,
    allowed_failures: 0.0,
};

pub fn one_output(name: &str, unit: &'static str) -> Vec<Output> {
    vec![Output {
        name: name.to_owned(),
        unit: Unit::named(unit),
    }]
}

/// JCGM 100:2008, H.1: length of an end gauge, equation (H.3), in nanometres.
pub struct EndGauge;

impl MeasurementModel for EndGauge {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        one_output("length", "nm")
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let [
            standard,
            difference,
            d1,
            d2,
            alpha,
            mean,
            cycle,
            d_alpha,
            d_theta,
        ] = x
        else {
            panic!("nine inputs");
        };
        let theta = *mean + *cycle;
        let expansion = *d_alpha * theta + *alpha * *d_theta;
        Ok([*standard + *difference + *d1 + *d2 - *standard * expansion])
    }
}

/// The inputs of H.1, lengths in nanometres.
pub fn end_gauge_inputs() -> InputSet {
    let given = &json("published/jcgm.json")["JCGM100_H1"]["inputs"];
    let g = |key: &str| number(&given[key]);
    let standard = g("lS_mm") * 1e6;
    let mean_of_five = g("s_pooled_nm") / g("n").sqrt();
    InputSet::independent(
        vec![
            Input::with_expanded_uncertainty("standard", standard, g("U_lS_nm"), g("k_lS"), 18.0),
            Input::with_standard_uncertainty("difference", g("dbar_nm"), mean_of_five, 24.0),
            Input::with_standard_uncertainty("random effects", 0.0, 10.0 / 2.57, 5.0),
            Input::with_expanded_uncertainty("systematic effects", 0.0, 20.0, 3.0, 8.0),
            Input::with_half_width("expansion", 11.5e-6, 2e-6, Shape::Rectangular, INF),
            Input::with_standard_uncertainty("mean temperature", -0.1, 0.2, INF),
            Input::with_half_width("temperature cycle", 0.0, 0.5, Shape::Arcsine, INF),
            Input::with_half_width("expansion difference", 0.0, 1e-6, Shape::Rectangular, 50.0),
            Input::with_half_width("temperature difference", 0.0, 0.05, Shape::Rectangular, 2.0),
        ]
        .into_iter()
        .collect::<Result<Vec<_>>>()
        .expect("inputs"),
    )
    .expect("set")
}

#[test]
fn end_gauge_of_jcgm_100_h1() {
    let published = &json("published/jcgm.json")["JCGM100_H1"]["published"];
    let inputs = end_gauge_inputs();
    let budget = &propagate(&EndGauge, &inputs).expect("budget")[0];

    assert_printed(
        budget.estimate * 1e-6,
        number(&published["l_mm"]),
        1e-6,
        "length in mm",
    );
    assert_printed(
        budget.standard_uncertainty,
        number(&published["uc_nm"]),
        1.0,
        "u_c",
    );
    let contribution = |i: usize| budget.lines[i].contribution.abs();
    let printed = |key: &str| number(&published["contrib_nm"][key]);
    assert_printed(contribution(0), printed("lS"), 1.0, "standard");
    assert_printed(
        contribution(7),
        printed("dalpha"),
        0.1,
        "expansion difference",
    );
    assert_printed(
        contribution(8),
        printed("dtheta"),
        0.1,
        "temperature difference",
    );
    let comparator = libm::hypot(
        libm::hypot(contribution(1), contribution(2)),
        contribution(3),
    );
    assert_printed(comparator, printed("d"), 0.1, "comparator");
    // the expansion coefficient and the temperature do not contribute in first order
    for i in [4, 5, 6] {
        assert_eq!(contribution(i), 0.0, "{}", budget.lines[i].input.name());
    }
    // printed: 16.7, from components merged beforehand, which is the same sum
    assert_printed(
        budget.effective_dof,
        number(&published["nu_eff"]),
        0.1,
        "nu_eff",
    );
    let expanded = budget.expanded(0.99).expect("expanded");
    assert_eq!(expanded.dof, number(&published["nu_eff_truncated"]));
    assert_printed(
        expanded.coverage_factor,
        number(&published["t99_16"]),
        0.01,
        "t_99(16)",
    );
    // The guide prints 93 nm, which is 2.92 times u_c rounded up to 32 nm; unrounded it is 92.5.
    let printed_u99 = number(&published["U99_nm"]);
    assert_printed(
        expanded.coverage_factor * 32.0,
        printed_u99,
        1.0,
        "U_99 from rounded u_c",
    );
    assert_relative(
        expanded.expanded_uncertainty,
        92.4666,
        1e-5,
        "U_99, computed with numpy",
    );
}

/// JCGM 101:2008, 9.2: a sum of four quantities.
pub struct Sum;

impl MeasurementModel for Sum {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        one_output("sum", "")
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([x[0] + x[1] + x[2] + x[3]])
    }
}

pub fn sum_of(make: impl Fn(usize, &str) -> Result<Input>) -> InputSet {
    let names = ["X1", "X2", "X3", "X4"];
    let inputs = names.iter().enumerate().map(|(i, name)| make(i, name));
    InputSet::independent(inputs.collect::<Result<_>>().expect("inputs")).expect("set")
}

/// Standard error of an endpoint of a symmetric interval from `TRIALS`, for a density of the
/// output at the endpoint of about `density`; five of them are allowed.
fn endpoint_tolerance(coverage: f64, density: f64) -> f64 {
    let tail = 0.5 * (1.0 - coverage);
    5.0 * (tail * (1.0 - tail) / TRIALS.trials as f64).sqrt() / density
}

#[track_caller]
fn check_additive(case: &str, inputs: &InputSet, digits: u32, expect_validated: bool) {
    let example = &json("published/jcgm.json")["JCGM101_9_2"][case];
    let exact_end = number(&example["exact_symmetric_95"]);
    let budget = &propagate(&Sum, inputs).expect("budget")[0];
    let summary = &TRIALS.run(&Sum, inputs).expect("trials")[0];
    let u = budget.standard_uncertainty;
    let published_u = example["published"]
        .get("u")
        .or(example["published"].get("u_GUF"));
    assert_printed(u, number(published_u.expect("published u")), 0.1, case);
    // mean and standard deviation within five of their own standard errors
    let standard_error = u / (TRIALS.trials as f64).sqrt();
    assert!(
        summary.mean.abs() < 5.0 * standard_error,
        "{case}: mean {}",
        summary.mean
    );
    assert!(
        (summary.standard_uncertainty - u).abs() < 5.0 * standard_error,
        "{case}: u"
    );
    let interval = summary
        .interval(0.95, IntervalKind::Symmetric)
        .expect("interval");
    let tolerance = endpoint_tolerance(0.95, 0.1169 / u * 0.5);
    assert!(
        (interval.high - exact_end).abs() < tolerance,
        "{case}: {interval:?}"
    );
    assert!(
        (interval.low + exact_end).abs() < tolerance,
        "{case}: {interval:?}"
    );
    let shortest = summary
        .interval(0.95, IntervalKind::Shortest)
        .expect("interval");
    assert!(shortest.high - shortest.low <= interval.high - interval.low);
    let validation = Validation::of(budget, summary, 0.95, digits).expect("validation");
    assert_eq!(
        validation.within_tolerance(),
        expect_validated,
        "{case}: {validation:?}"
    );
    // a million trials may leave it undecided, as many points do not
    let run = LowDiscrepancy {
        points: 1 << 16,
        ..LowDiscrepancy::default()
    };
    let run = run.run(&Sum, inputs).expect("points");
    let by_points = Validation::of_points(budget, &run, digits).expect("validation");
    let verdict = if expect_validated {
        Verdict::Validated
    } else {
        Verdict::NotValidated
    };
    assert_eq!(by_points.verdict, verdict, "{case}: {by_points:?}");
    assert!([verdict, Verdict::Undecided].contains(&validation.verdict));
}

#[test]
fn additive_model_of_jcgm_101_9_2_2_normal_inputs() {
    let inputs = sum_of(|_, name| Input::with_standard_uncertainty(name, 0.0, 1.0, INF));
    check_additive("normal", &inputs, 2, true);
}

#[test]
fn additive_model_of_jcgm_101_9_2_3_rectangular_inputs() {
    let half_width = 3.0_f64.sqrt();
    let inputs =
        sum_of(|_, name| Input::with_half_width(name, 0.0, half_width, Shape::Rectangular, INF));
    // 9.2.3.4: the GUM interval is not validated to two digits and is to one
    check_additive("rectangular", &inputs, 2, true);
}

#[test]
fn additive_model_of_jcgm_101_9_2_4_one_wide_input() {
    let inputs = sum_of(|i, name| {
        let scale = if i == 3 { 10.0 } else { 1.0 };
        Input::with_half_width(name, 0.0, scale * 3.0_f64.sqrt(), Shape::Rectangular, INF)
    });
    check_additive("mixed_width", &inputs, 2, false);
}

/// JCGM 101:2008, 9.4: loss in a comparison of power meters, `X1^2 + X2^2`, in 1e-6.
pub struct ComparisonLoss;

impl MeasurementModel for ComparisonLoss {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        one_output("loss", "1e-6")
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([(x[0] * x[0] + x[1] * x[1]) * 1e6])
    }
}

fn comparison(x1: f64, r: f64) -> (f64, f64, Trials) {
    let inputs = InputSet::correlated(
        vec![
            Input::with_standard_uncertainty("x1", x1, 0.005, INF).expect("x1"),
            Input::with_standard_uncertainty("x2", 0.0, 0.005, INF).expect("x2"),
        ],
        &[("x1".to_owned(), "x2".to_owned(), r)],
    )
    .expect("set");
    let budget = &propagate(&ComparisonLoss, &inputs).expect("budget")[0];
    let summary = TRIALS
        .run(&ComparisonLoss, &inputs)
        .expect("trials")
        .remove(0);
    (budget.estimate, budget.standard_uncertainty, summary)
}

#[test]
fn comparison_loss_of_jcgm_101_9_4() {
    let example = &json("published/jcgm.json")["JCGM101_9_4"]["published"];
    for (r_key, r) in [("r=0", 0.0), ("r=0.9", 0.9)] {
        for (x_key, x1) in [("x1=0", 0.0), ("x1=0.010", 0.010), ("x1=0.050", 0.050)] {
            let case = &example[r_key][x_key];
            let what = format!("{r_key}, {x_key}");
            let (estimate, u, summary) = comparison(x1, r);
            assert_printed(estimate, number(&case["G1"][0]), 1.0, &what);
            assert_printed(u, number(&case["G1"][1]), 1.0, &what);
            // analytical mean and standard deviation, table 6: printed to the unit, with five
            // standard errors of the trials on either side
            let standard_error = summary.standard_uncertainty / (TRIALS.trials as f64).sqrt();
            let place = |errors: f64| 1.0 + 2.0 * 5.0 * errors;
            let (mean, deviation) = (number(&case["A"][0]), number(&case["A"][1]));
            assert_printed(summary.mean, mean, place(standard_error), &what);
            // of a normal distribution; one of a square has a kurtosis up to 15 and so sqrt(7) more
            let tails = if x1 > 0.03 { 1.0 } else { 7.0_f64.sqrt() };
            let scatter = tails * standard_error / 2.0_f64.sqrt();
            assert_printed(
                summary.standard_uncertainty,
                deviation,
                place(scatter),
                &what,
            );
            let shortest = summary
                .interval(0.95, IntervalKind::Shortest)
                .expect("interval");
            // The minimum of the length is flat: printed ends scatter by several units where the
            // density is nearly symmetric, the length does not.
            let (low, high) = (number(&case["M"][2][0]), number(&case["M"][2][1]));
            let length = shortest.high - shortest.low;
            assert!(
                (length - (high - low)).abs() < 0.008 * (high - low),
                "{what}: {shortest:?}"
            );
            let scatter = if x1 > 0.03 { 16.0 } else { 3.0 };
            assert!((shortest.low - low).abs() < scatter, "{what}: {shortest:?}");
            assert!(
                (shortest.high - high).abs() < scatter,
                "{what}: {shortest:?}"
            );
        }
    }
}

#[test]
fn comparison_loss_without_sensitivity_is_not_validated() {
    let (_, u, _) = comparison(0.0, 0.0);
    assert_eq!(u, 0.0);
}
