//! Several inputs known together, several outputs, failing trials, impossible correlations.

use crate::support::{assert_refused, assert_relative};
use flowdoubt::Result;
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{
    Correlations, Input, InputSet, JointResult, MeasurementModel, Output, Shape, propagate,
};
use flowdoubt::units::Unit;
use flowdoubt::{Error, uncertainty::Distribution};

const INF: f64 = f64::INFINITY;
/// numpy 2.4.6, `eigvalsh` of the matrix in the test below.
const EIGENVALUE: f64 = -0.24212636600382545;
/// Higham's algorithm in numpy 2.4.6, 5000 steps.
const NEAREST: [(usize, usize, f64); 3] = [
    (0, 1, 0.751596077997),
    (1, 2, 0.579848072445),
    (0, 2, -0.101600078233),
];

/// The inputs themselves, two of them, or their logarithms.
struct Both {
    logarithm: bool,
}

impl MeasurementModel for Both {
    type Outputs<S: Scalar> = [S; 2];
    fn outputs(&self) -> Vec<Output> {
        ["first", "second"]
            .map(|name| Output {
                name: name.to_owned(),
                unit: Unit::named(""),
            })
            .to_vec()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 2]> {
        Ok(if self.logarithm {
            [x[0].ln(), x[1].ln()]
        } else {
            [x[0], x[1]]
        })
    }
}

const PLAIN: Both = Both { logarithm: false };

fn run(trials: u64) -> MonteCarlo {
    MonteCarlo {
        trials,
        seed: 5,
        ..MonteCarlo::default()
    }
}

fn pair(r: f64) -> [(String, String, f64); 1] {
    [("a".to_owned(), "b".to_owned(), r)]
}

#[test]
fn a_covariance_matrix_comes_back_from_budgets_and_trials() {
    let covariance = [vec![4.0, -1.5], vec![-1.5, 9.0]];
    let set = InputSet::multivariate_normal(&["a", "b"], &[1.0, 2.0], &covariance).expect("set");
    assert_relative(
        set.covariance()[0][1],
        -1.5,
        1e-15,
        "covariance of the inputs",
    );
    let budgets = propagate(&PLAIN, &set).expect("budgets");
    let joint = JointResult::of_budgets(&budgets, &set).expect("joint");
    let sampled = run(200_000)
        .joint(&PLAIN, &set)
        .expect("trials")
        .joint_result();
    for (i, row) in covariance.iter().enumerate() {
        for (j, expected) in row.iter().enumerate() {
            assert_relative(joint.covariance[i][j], *expected, 1e-14, "first order");
            // five standard errors of a covariance: sqrt(c_ii c_jj + c_ij^2) / sqrt(M)
            let scatter = (covariance[i][i] * covariance[j][j] + expected * expected).sqrt();
            let allowed = 5.0 * scatter / 200_000.0_f64.sqrt();
            assert!((sampled.covariance[i][j] - expected).abs() < allowed);
        }
    }
    assert_relative(joint.correlations()[1][0], -0.25, 1e-14, "correlation");
}

#[test]
fn regions_hold_the_share_of_normal_trials_that_they_state() {
    let covariance = [vec![4.0, -1.5], vec![-1.5, 9.0]];
    let set = InputSet::multivariate_normal(&["a", "b"], &[1.0, 2.0], &covariance).expect("set");
    let budgets = propagate(&PLAIN, &set).expect("budgets");
    let joint = JointResult::of_budgets(&budgets, &set).expect("joint");
    let trials = run(200_000).joint(&PLAIN, &set).expect("trials");
    let share = |contains: &dyn Fn(&[f64]) -> bool| {
        let points = trials.values(0).iter().zip(trials.values(1));
        let inside = points.filter(|(a, b)| contains(&[**a, **b])).count();
        inside as f64 / trials.trials() as f64
    };
    // five standard errors of a share of 0.9
    let allowed = 5.0 * (0.9_f64 * 0.1 / 200_000.0).sqrt();
    let ellipse = joint.ellipsoidal_region(0.9).expect("ellipse");
    assert!((share(&|y| ellipse.contains(y)) - 0.9).abs() < allowed);
    let rectangle = joint.rectangular_region(0.9).expect("rectangle");
    // Bonferroni's rectangle holds the stated share or a little more
    assert!((0.9..0.92).contains(&share(&|y| rectangle.contains(y))));
    // regions from the trials hold just that share of them
    let ellipse = trials.ellipsoidal_region(0.9).expect("ellipse");
    let rectangle = trials.rectangular_region(0.9).expect("rectangle");
    assert_eq!(share(&|y| ellipse.contains(y)), 0.9);
    assert_eq!(share(&|y| rectangle.contains(y)), 0.9);
    let u = trials.joint_result().standard_uncertainty(1);
    let factor = rectangle.half_widths[1] / u;
    assert_relative(factor, rectangle.coverage_factor, 1e-14, "half-width");
}

#[test]
fn summaries_and_joint_trials_are_of_the_same_bits() {
    let set =
        InputSet::multivariate_normal(&["a", "b"], &[1.0, 2.0], &[vec![1.0, 0.5], vec![0.5, 1.0]]);
    let set = set.expect("set");
    let trials = run(5000).joint(&PLAIN, &set).expect("trials");
    let summaries = run(5000).run(&PLAIN, &set).expect("trials");
    assert_eq!(trials.of_output(1), summaries[1]);
    let mut sorted = trials.values(1).to_vec();
    sorted.sort_by(f64::total_cmp);
    assert_eq!(sorted, summaries[1].sorted());
}

#[test]
fn outputs_that_determine_each_other_have_no_ellipsoid() {
    let full = [vec![1.0, 1.0], vec![1.0, 1.0]];
    let set = InputSet::multivariate_normal(&["a", "b"], &[1.0, 2.0], &full).expect("set");
    let budgets = propagate(&PLAIN, &set).expect("budgets");
    let joint = JointResult::of_budgets(&budgets, &set).expect("joint");
    let error = joint.ellipsoidal_region(0.95).expect_err("singular");
    assert!(
        error.to_string().contains("determine each other"),
        "{error}"
    );
    assert!(joint.rectangular_region(0.95).is_ok());
    assert!(joint.rectangular_region(1.0).is_err());
    let trials = run(100).joint(&PLAIN, &set).expect("trials");
    assert!(trials.ellipsoidal_region(0.95).is_err());
    assert!(trials.rectangular_region(0.9999).is_err(), "not resolved");
}

#[test]
fn readings_taken_together_follow_a_multivariate_t() {
    let readings = [
        vec![10.1, 10.4, 9.8, 10.0, 10.3, 9.9, 10.2, 10.1, 9.7, 10.2],
        vec![5.2, 5.5, 4.9, 5.0, 5.4, 5.0, 5.1, 5.3, 4.8, 5.1],
    ];
    let set = InputSet::from_joint_readings(&["a", "b"], &readings).expect("set");
    assert_eq!((set.inputs()[0].dof(), set.joint_t()[0].dof), (9.0, 8.0));
    let trials = run(400_000)
        .joint(&PLAIN, &set)
        .expect("trials")
        .joint_result();
    let Distribution::StudentT { scale, dof, .. } = *set.inputs()[0].distribution() else {
        panic!("t")
    };
    // variance of t; its standard error by the kurtosis 6 / (dof - 4) + 3 of t with 8 dof
    let expected = scale * scale * dof / (dof - 2.0);
    let allowed = 5.0 * expected * (3.5_f64 / 400_000.0).sqrt();
    assert!((trials.covariance[0][0] - expected).abs() < allowed);
    let r = set.correlations().coefficient(0, 1);
    assert!((trials.correlation(0, 1) - r).abs() < 0.005, "{r}");
    let second = set.and(InputSet::from_joint_readings(&["c", "d"], &readings).expect("other"));
    let second = second.expect("union");
    assert_eq!(second.joint_t()[1].members, [2, 3]);
    assert_eq!(second.correlations().coefficient(0, 2), 0.0);
    assert_eq!(second.correlations().coefficient(2, 3), r);
    assert!(second.clone().and(second).is_err(), "names twice");
}

#[test]
fn vectors_and_matrices_that_do_not_fit_are_refused() {
    let mvn = |estimates: &[f64], covariance: &[Vec<f64>]| {
        InputSet::multivariate_normal(&["a", "b"], estimates, covariance)
            .expect_err("refused")
            .to_string()
    };
    let good = [vec![1.0, 0.5], vec![0.5, 1.0]];
    assert!(mvn(&[1.0], &good).contains("estimates"));
    assert!(mvn(&[1.0, 2.0], &good[..1]).contains("covariance"));
    assert!(mvn(&[1.0, 2.0], &[vec![1.0], vec![0.5, 1.0]]).contains("covariance[0]"));
    assert!(mvn(&[1.0, 2.0], &[vec![-1.0, 0.0], vec![0.0, 1.0]]).contains("variance of a"));
    assert!(mvn(&[1.0, 2.0], &[vec![1.0, 0.5], vec![0.4, 1.0]]).contains("symmetric"));
    assert!(mvn(&[1.0, 2.0], &[vec![0.0, 0.5], vec![0.5, 1.0]]).contains("0 where"));
    assert!(mvn(&[1.0, 2.0], &[vec![1.0, 2.0], vec![2.0, 1.0]]).contains("-1 to 1"));
    let few = [vec![1.0, 2.0], vec![1.0, 2.0]];
    let error = InputSet::from_joint_readings(&["a", "b"], &few).expect_err("two readings");
    assert!(error.to_string().contains("at least 3"), "{error}");
    let flat = [vec![1.0, 2.0, 3.0], vec![1.0, 1.0, 1.0]];
    assert!(InputSet::from_joint_readings(&["a", "b"], &flat).is_err());
}

#[test]
fn an_impossible_correlation_says_by_how_much_and_where() {
    let names = ["a", "b", "c"];
    let text = |a: &str, b: &str, r: f64| (a.to_owned(), b.to_owned(), r);
    let pairs = [
        text("a", "b", 0.9),
        text("b", "c", 0.7),
        text("a", "c", -0.2),
    ];
    let error = Correlations::from_pairs(&names, &pairs).expect_err("impossible");
    let Error::NotPositiveSemiDefinite {
        smallest_eigenvalue,
        worst_pair,
        found,
        nearest,
        ..
    } = &error
    else {
        panic!("{error}");
    };
    assert_relative(*smallest_eigenvalue, EIGENVALUE, 1e-12, "eigenvalue");
    assert_eq!((worst_pair.as_str(), *found), ("a and b", 0.9));
    assert!(*nearest < 0.8, "{error}");
    assert!(error.to_string().contains("worst pair a and b"), "{error}");

    let valid = Correlations::nearest(&names, &pairs).expect("nearest");
    for (i, j, expected) in NEAREST {
        assert!(
            (valid.coefficient(i, j) - expected).abs() < 1e-9,
            "{i}, {j}: {}",
            valid.coefficient(i, j)
        );
    }
    // and it can be drawn from
    let inputs = names.map(|n| Input::with_standard_uncertainty(n, 0.0, 1.0, INF).expect("input"));
    let set = InputSet::correlated_nearest(inputs.to_vec(), &pairs).expect("set");
    let trials = run(50_000)
        .joint(&PLAIN, &set)
        .expect("trials")
        .joint_result();
    assert!((trials.correlation(0, 1) - valid.coefficient(0, 1)).abs() < 0.005);
    // a valid matrix is left alone
    let fine = [text("a", "b", 0.5)];
    let same = Correlations::nearest(&names, &fine).expect("nearest");
    assert_eq!(
        same,
        Correlations::from_pairs(&names, &fine).expect("valid")
    );
    assert!(Correlations::nearest(&names, &[text("a", "b", 1.5)]).is_err());
}

#[test]
fn failing_trials_are_counted_and_refused_unless_allowed() {
    let model = Both { logarithm: true };
    let inputs = vec![
        Input::with_half_width("a", 0.9, 1.0, Shape::Rectangular, INF).expect("a"),
        Input::exact("b", 1.0).expect("b"),
    ];
    let set = InputSet::independent(inputs).expect("set");
    let error = run(100_000)
        .run(&model, &set)
        .expect_err("logarithm of less than zero");
    let Error::FailedTrials {
        failed,
        trials,
        inputs,
        ..
    } = &error
    else {
        panic!("{error}");
    };
    assert_eq!(*trials, 100_000);
    // 5 % of the width lies below zero; five standard errors
    assert!((*failed as f64 - 5000.0).abs() < 5.0 * 69.0, "{failed}");
    assert_eq!(inputs.matches("a = -").count(), 3, "{inputs}");
    assert!(error.to_string().contains("allowed: none"), "{error}");

    let allow = |share| MonteCarlo {
        allowed_failures: share,
        ..run(100_000)
    };
    let summary = allow(0.06).run(&model, &set).expect("allowed").remove(0);
    assert_eq!(summary.failed, *failed);
    assert_eq!(summary.trials() as u64, 100_000 - failed);
    let error = allow(0.01)
        .run(&model, &set)
        .expect_err("more than allowed");
    assert!(error.to_string().contains("allowed: 1 %"), "{error}");
    assert!(allow(1.0).run(&model, &set).is_err(), "a share of one");
    assert!(allow(f64::NAN).run(&model, &set).is_err());
}

#[test]
fn correlated_rectangular_inputs_have_the_correlation_of_a_gaussian_copula() {
    let inputs = ["a", "b"]
        .map(|n| Input::with_half_width(n, 0.0, 1.0, Shape::Rectangular, INF).expect("input"));
    let set = InputSet::correlated(inputs.to_vec(), &pair(0.7)).expect("set");
    let trials = run(400_000)
        .joint(&PLAIN, &set)
        .expect("trials")
        .joint_result();
    let expected = 6.0 / std::f64::consts::PI * Scalar::asin(0.35_f64);
    assert!((trials.correlation(0, 1) - expected).abs() < 0.004);
}

/// What a model that nests another one does: it takes over the inputs with their correlations.
#[test]
fn more_inputs_are_correlated_with_those_before() {
    let of =
        |name: &str| Input::with_standard_uncertainty(name, 1.0, 0.1, f64::INFINITY).expect(name);
    let pair = |a: &str, b: &str, r: f64| (a.to_owned(), b.to_owned(), r);
    let before = InputSet::correlated(vec![of("a"), of("b")], &[pair("a", "b", 0.5)]);
    let before = before.expect("a set");
    let own = || vec![of("c"), of("d")];
    let pairs = [pair("a", "c", 0.3), pair("d", "c", -0.2)];
    let together = before
        .clone()
        .and_correlated(own(), &pairs)
        .expect("together");
    let all = [
        pair("a", "b", 0.5),
        pair("a", "c", 0.3),
        pair("d", "c", -0.2),
    ];
    let at_once = InputSet::correlated(vec![of("a"), of("b"), of("c"), of("d")], &all);
    assert_eq!(together, at_once.expect("at once"));

    let refused = |pairs: &[(String, String, f64)], code: &str, parts: &[&str]| {
        assert_refused(before.clone().and_correlated(own(), pairs), code, parts);
    };
    refused(&[pair("a", "e", 0.1)], "unknown-name", &["`e`"]);
    refused(&[pair("b", "a", 0.1)], "conflict", &["twice"]);
    let contradiction = [pair("a", "c", 0.9), pair("b", "c", -0.9)];
    refused(&contradiction, "not-positive-semi-definite", &["c"]);
    let again = before.clone().and_correlated(vec![of("a")], &[]);
    assert_refused(again, "conflict", &["two inputs of this name"]);

    let readings = [vec![1.0, 2.0, 4.0, 3.0], vec![2.0, 1.0, 1.5, 3.0]];
    let means = InputSet::from_joint_readings(&["x", "y"], &readings).expect("means");
    let divisor = means.and_correlated(own(), &[pair("c", "y", 0.1)]);
    assert_refused(divisor, "conflict", &["multivariate t"]);
}
