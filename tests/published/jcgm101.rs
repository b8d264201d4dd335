//! JCGM 101:2008, clause 9.

use super::jcgm100::{EndGauge, end_gauge_inputs};
use super::{Values, one_output};
use crate::support::{assert_printed, json, number};
use flowdoubt::Result;
use flowdoubt::montecarlo::{
    IntervalKind, LowDiscrepancy, MonteCarlo, Trials, Validation, Verdict,
};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{
    Distribution, Input, InputSet, MeasurementModel, Output, Shape, propagate,
    propagate_second_order,
};

const INF: f64 = f64::INFINITY;

pub fn values() -> Values {
    let mut all = additive();
    all.extend(mass());
    all.extend(comparison_loss());
    all.extend(end_gauge());
    all
}

pub fn trials<M: MeasurementModel>(model: &M, inputs: &InputSet) -> Vec<Trials> {
    let run = MonteCarlo {
        seed: 20_261_125,
        ..MonteCarlo::default()
    };
    run.run(model, inputs).expect("trials")
}

fn additive() -> Values {
    let half_width = 3.0_f64.sqrt();
    let rectangular = |name: &str, scale: f64| {
        Input::with_half_width(name, 0.0, scale * half_width, Shape::Rectangular, INF)
    };
    let cases = [
        (
            "normal",
            sum_of(|_, name| Input::with_standard_uncertainty(name, 0.0, 1.0, INF)),
        ),
        ("rectangular", sum_of(|_, name| rectangular(name, 1.0))),
        (
            "mixed",
            sum_of(|i, name| rectangular(name, if i == 3 { 10.0 } else { 1.0 })),
        ),
    ];
    let mut all = Vec::new();
    for (case, inputs) in cases {
        let u = propagate(&Sum, &inputs).expect("budget")[0].standard_uncertainty;
        let interval = trials(&Sum, &inputs)[0].interval(0.95, IntervalKind::Symmetric);
        all.push((format!("9_2.{case}.u"), u));
        all.push((format!("9_2.{case}.end"), interval.expect("interval").high));
    }
    all
}

/// 9.3: mass of a weight against a reference weight in air, in milligrams from nominal.
struct Mass;

impl MeasurementModel for Mass {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        one_output("deviation from nominal", "mg")
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let [reference, added, air, weight_density, reference_density] = x else {
            panic!("five inputs");
        };
        let buoyancy = (*air - 1.2) * (weight_density.recip() - reference_density.recip());
        Ok([(*reference + *added) * (buoyancy + 1.0) - 100_000.0])
    }
}

fn mass() -> Values {
    let rectangular =
        |name: &str, x, h| Input::with_half_width(name, x, h, Shape::Rectangular, INF);
    let inputs = vec![
        Input::with_standard_uncertainty("reference", 100_000.0, 0.050, INF),
        Input::with_standard_uncertainty("added", 1.234, 0.020, INF),
        rectangular("density of air", 1.2, 0.1),
        rectangular("density of the weight", 8000.0, 1000.0),
        rectangular("density of the reference", 8000.0, 50.0),
    ];
    let inputs = inputs.into_iter().collect::<Result<_>>().expect("inputs");
    let inputs = InputSet::independent(inputs).expect("set");
    let second = &propagate_second_order(&Mass, &inputs).expect("second order")[0];
    assert!(second.matters, "0.054 against 0.075");
    let summary = &trials(&Mass, &inputs)[0];
    let shortest = summary
        .interval(0.95, IntervalKind::Shortest)
        .expect("interval");
    [
        ("u1", second.budget.standard_uncertainty),
        ("u2", second.standard_uncertainty),
        ("mean", summary.mean),
        ("u", summary.standard_uncertainty),
        ("low", shortest.low),
        ("high", shortest.high),
    ]
    .map(|(id, value)| (format!("9_3.{id}"), value))
    .to_vec()
}

fn comparison_loss() -> Values {
    let mut all = Vec::new();
    for (r_key, r) in [("r=0", 0.0), ("r=0.9", 0.9)] {
        for (x_key, x1) in [("x1=0", 0.0), ("x1=0.010", 0.010), ("x1=0.050", 0.050)] {
            let u = 0.005 * 0.005;
            let covariance = [vec![u, r * u], vec![r * u, u]];
            let set = InputSet::multivariate_normal(&["x1", "x2"], &[x1, 0.0], &covariance);
            let inputs = set.expect("set");
            let second = &propagate_second_order(&ComparisonLoss, &inputs).expect("budget")[0];
            let estimate = second.budget.estimate;
            let summary = &trials(&ComparisonLoss, &inputs)[0];
            let interval = summary
                .interval(0.95, IntervalKind::Shortest)
                .expect("interval");
            let mut push = |id: &str, value| all.push((format!("9_4.{r_key}.{x_key}.{id}"), value));
            push("G1.y", estimate);
            push("G1.u", second.budget.standard_uncertainty);
            let first = second.budget.expanded(0.95).expect("expanded");
            push("G1.low", estimate - first.expanded_uncertainty);
            push("G1.high", estimate + first.expanded_uncertainty);
            if r == 0.0 {
                push("G2.y", estimate);
                push("G2.u", second.standard_uncertainty);
                let expanded = second.expanded(0.95).expect("expanded");
                push("G2.low", estimate - expanded.expanded_uncertainty);
                push("G2.high", estimate + expanded.expanded_uncertainty);
            }
            // second order is exact for a polynomial of second degree in normal inputs
            push("A.y", estimate + second.bias);
            push("A.u", second.standard_uncertainty);
            push("M.u", summary.standard_uncertainty);
            push("M.length", interval.high - interval.low);
        }
    }
    all
}

fn end_gauge() -> Values {
    let t = |name: &str, estimate, u, dof| Input::with_standard_uncertainty(name, estimate, u, dof);
    let uncertain_limits = |name: &str, half_width: f64, uncertainty: f64| {
        let limits = Distribution::inexactly_known_limits(-half_width, half_width, uncertainty);
        limits.and_then(|distribution| Input::with_distribution(name, distribution))
    };
    let inputs = vec![
        t("standard", 50_000_623.0, 25.0, 18.0),
        t("difference", 215.0, 6.0, 24.0),
        t("random effects", 0.0, 4.0, 5.0),
        t("systematic effects", 0.0, 7.0, 8.0),
        Input::with_half_width("expansion", 11.5e-6, 2e-6, Shape::Rectangular, INF),
        t("mean temperature", -0.1, 0.2, INF),
        Input::with_half_width("temperature cycle", 0.0, 0.5, Shape::Arcsine, INF),
        uncertain_limits("expansion difference", 1e-6, 0.1e-6),
        uncertain_limits("temperature difference", 0.050, 0.025),
    ];
    let inputs = inputs.into_iter().collect::<Result<_>>().expect("inputs");
    let inputs = InputSet::independent(inputs).expect("set");
    let summary = &trials(&EndGauge, &inputs)[0];
    let shortest = summary
        .interval(0.99, IntervalKind::Shortest)
        .expect("interval");
    // first order as the guide has it: from the inputs of JCGM 100, H.1
    let budget = &propagate(&EndGauge, &end_gauge_inputs()).expect("budget")[0];
    let expanded = budget
        .expanded(0.99)
        .expect("expanded")
        .expanded_uncertainty;
    let nominal = 50_000_000.0;
    [
        ("y", summary.mean - nominal),
        ("u1", budget.standard_uncertainty),
        ("low1", budget.estimate - nominal - expanded),
        ("high1", budget.estimate - nominal + expanded),
        ("u", summary.standard_uncertainty),
        ("low", shortest.low - nominal),
        ("high", shortest.high - nominal),
    ]
    .map(|(id, value)| (format!("9_5.{id}"), value))
    .to_vec()
}

const TRIALS: MonteCarlo = MonteCarlo {
    trials: 1_000_000,
    seed: 20_261_125,
    allowed_failures: 0.0,
};

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

fn comparison(x1: f64, r: f64) -> Trials {
    let inputs = InputSet::correlated(
        vec![
            Input::with_standard_uncertainty("x1", x1, 0.005, INF).expect("x1"),
            Input::with_standard_uncertainty("x2", 0.0, 0.005, INF).expect("x2"),
        ],
        &[("x1".to_owned(), "x2".to_owned(), r)],
    )
    .expect("set");
    TRIALS
        .run(&ComparisonLoss, &inputs)
        .expect("trials")
        .remove(0)
}

#[test]
fn comparison_loss_of_jcgm_101_9_4() {
    let example = &json("published/jcgm.json")["JCGM101_9_4"]["published"];
    for (r_key, r) in [("r=0", 0.0), ("r=0.9", 0.9)] {
        for (x_key, x1) in [("x1=0", 0.0), ("x1=0.010", 0.010), ("x1=0.050", 0.050)] {
            let case = &example[r_key][x_key];
            let what = format!("{r_key}, {x_key}");
            let summary = comparison(x1, r);
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
