//! Functions of few numbers as polynomials: as good as they say, and only where they say.

use crate::support::{demo, evaluate, plain_demo, with};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::montecarlo::{BlockModel, Stream};
use flowdoubt::scalar::{FittedProgram, InstructionSet, Scalar, SmoothFunction};
use flowdoubt::uncertainty::Input;
use proptest::prelude::*;

const BASELINE: InstructionSet = InstructionSet::Baseline;

/// A smooth function of two numbers that costs more than a polynomial of few terms.
struct Smooth;

impl SmoothFunction<2> for Smooth {
    fn at<S: Scalar>(&self, [x, y]: [S; 2]) -> S {
        (x * y).sin() / (x + y).exp() + (x + 2.0).ln()
    }
}

fn smooth<S: Scalar>(x: S, y: S) -> S {
    S::function_of([x, y], &Smooth)
}

proptest! {
    /// In the box the fit is good to nine digits of the largest value; outside nothing is claimed.
    #[test]
    fn a_fit_is_good_to_nine_digits(
        middle in (0.5..2.0_f64, 0.5..2.0_f64),
        half in (0.01..0.3_f64, 0.01..0.3_f64),
        at in proptest::collection::vec((-3.0..3.0_f64, -3.0..3.0_f64), 200),
    ) {
        let seen = [
            vec![middle.0 - half.0, middle.0 + half.0],
            vec![middle.1 - half.1, middle.1 + half.1],
        ];
        let program = FittedProgram::record(&[None, None], &[&seen[0], &seen[1]], |v| {
            Some([smooth(v[0], v[1])])
        });
        let program = program.expect("a recording");
        let x: Vec<f64> = at.iter().map(|(u, _)| middle.0 + half.0 * u).collect();
        let y: Vec<f64> = at.iter().map(|(_, v)| middle.1 + half.1 * v).collect();
        let (values, unusual) = program.evaluate(BASELINE, &[&x, &y], x.len());
        let mut inside = 0;
        for (i, (u, v)) in at.iter().enumerate() {
            if unusual.contains(&i) {
                // what was seen is usual
                prop_assert!(u.abs().max(v.abs()) > 1.0);
                continue;
            }
            inside += 1;
            prop_assert!(u.abs().max(v.abs()) < 2.0);
            prop_assert!((values[0][i] - smooth(x[i], y[i])).abs() < 3e-9);
        }
        prop_assert!(inside > 0);
    }
}

/// What is no smooth function over the box is left as it is, with the bits of the model; so is what
/// has a choice in it, and what leaves the domain.
#[test]
fn what_is_not_smooth_is_left_alone() {
    struct Kink;
    impl SmoothFunction<1> for Kink {
        fn at<S: Scalar>(&self, [x]: [S; 1]) -> S {
            (x - 1.0).abs() + x.exp()
        }
    }
    struct Choice;
    impl SmoothFunction<1> for Choice {
        fn at<S: Scalar>(&self, [x]: [S; 1]) -> S {
            S::choose(x.less_than(S::constant(1.0)), || x.exp(), || x.ln())
        }
    }
    struct Root;
    impl SmoothFunction<1> for Root {
        fn at<S: Scalar>(&self, [x]: [S; 1]) -> S {
            (x - 0.9).sqrt()
        }
    }
    fn kink<S: Scalar>(x: S) -> S {
        S::function_of([x], &Kink)
    }
    fn choice<S: Scalar>(x: S) -> S {
        S::function_of([x], &Choice)
    }
    fn root<S: Scalar>(x: S) -> S {
        S::function_of([x], &Root)
    }
    let seen: Vec<f64> = (0..100).map(|i| 0.9 + 0.002 * f64::from(i)).collect();
    let checked = |name: &str, model: &dyn Fn(f64) -> f64, program: Option<FittedProgram>| {
        let program = program.expect("a recording");
        let (values, unusual) = program.evaluate(BASELINE, &[&seen], seen.len());
        let usual = (0..seen.len()).filter(|i| !unusual.contains(i));
        let count = usual
            .map(|i| assert_eq!(values[0][i].to_bits(), model(seen[i]).to_bits(), "{name}"))
            .count();
        assert!(count >= 50, "{name}");
    };
    let x = &[seen.as_slice()];
    let record = |model: fn(f64) -> f64, program| checked("", &model, program);
    record(
        kink::<f64>,
        FittedProgram::record(&[None], x, |v| Some([kink(v[0])])),
    );
    record(
        choice::<f64>,
        FittedProgram::record(&[None], x, |v| Some([choice(v[0])])),
    );
    record(
        root::<f64>,
        FittedProgram::record(&[None], x, |v| Some([root(v[0])])),
    );
}

/// What is not a number is never usual.
#[test]
fn nan_is_unusual() {
    let seen = [0.9, 1.1];
    let program = FittedProgram::record(&[None], &[&seen], |v| Some([smooth(v[0], v[0])]));
    let x = [1.0, f64::NAN, f64::INFINITY, 1e300];
    let (_, unusual) = program.expect("a recording").evaluate(BASELINE, &[&x], 4);
    assert_eq!(unusual, [1, 2, 3]);
}

/// Draws of all inputs of an evaluation; every tenth trial is far out in one of them.
fn columns(evaluation: &Evaluation, size: usize) -> Vec<Vec<f64>> {
    let inputs = evaluation.inputs.inputs();
    let column = |(i, input): (usize, &Input)| {
        let mut column = vec![0.0; size];
        Stream::new(3, input.name()).fill(BASELINE, 0, &mut column);
        input
            .distribution()
            .sampler()
            .quantiles(BASELINE, &mut column);
        for (trial, x) in column.iter_mut().enumerate() {
            if input.standard_uncertainty() > 0.0
                && trial % 10 == 0
                && trial / 10 % inputs.len() == i
            {
                *x += 0.02 * *x;
            }
        }
        column
    };
    inputs.iter().enumerate().map(column).collect()
}

/// A site made ready for many trials agrees with the model in each, the unusual ones included, and
/// has the same bits on every instruction set and in blocks of any size.
fn agrees(evaluation: &Evaluation) {
    let size = 2000;
    let columns = columns(evaluation, size);
    let x: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
    let exact = evaluation.model.evaluate_block(&x, size).expect("values");
    let mut first: Option<Vec<f64>> = None;
    for set in InstructionSet::available() {
        let ready = evaluation
            .model
            .prepared(&evaluation.inputs, set)
            .expect("ready");
        let values = ready.evaluate_block(&x, size).expect("values").remove(0);
        for (trial, (found, expected)) in values.iter().zip(&exact[0]).enumerate() {
            let both_missing = !found.is_finite() && !expected.is_finite();
            let near = (found - expected).abs() <= 1e-8 * expected.abs();
            assert!(near || both_missing, "{set:?} {trial}: {found} {expected}");
        }
        let mut in_parts = Vec::new();
        for start in (0..size).step_by(300) {
            let end = size.min(start + 300);
            let part: Vec<&[f64]> = columns.iter().map(|c| &c[start..end]).collect();
            in_parts.extend(
                ready
                    .evaluate_block(&part, end - start)
                    .expect("values")
                    .remove(0),
            );
        }
        let bits = |values: &[f64]| values.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
        assert_eq!(bits(&in_parts), bits(&values));
        match &first {
            Some(first) => assert_eq!(bits(first), bits(&values), "{set:?}"),
            None => first = Some(values),
        }
    }
}

/// The demonstration with the readings of a flow of so many times its own.
fn at_flow(text: &str, times: f64) -> Evaluation {
    let row = |i: u32| {
        let wave = Scalar::sin(f64::from(i));
        let (time, difference) = (610.74 + 0.06 * wave, times * (801.3 + 5.0 * wave));
        format!("{time},{difference},{}\n", 8.1 + 0.02 * wave)
    };
    let rows: String = (0..31).map(row).collect();
    let csv = format!("transit_time_us,time_difference_ns,temperature_degC\n{rows}");
    let readings = Readings::from_csv_text(&csv, "readings.csv").expect("readings");
    evaluate(text, &readings).expect("evaluation")
}

#[test]
fn a_site_made_ready_is_the_site() {
    agrees(&at_flow(&demo("site.toml"), 1.0));
}

/// About the transition all states of flow occur among the trials, and most are not usual.
#[test]
fn a_site_in_the_transition_is_the_site() {
    agrees(&at_flow(&plain_demo(), 0.005));
}

/// Other laws of the profile and of friction.
#[test]
fn sites_with_other_laws_are_the_sites() {
    for law in [
        "wake",
        "wake_cantwell",
        "logarithmic",
        "power",
        "power_miller",
    ] {
        let text = with(
            &demo("site.toml"),
            "law = \"fitted\"",
            &format!("law = \"{law}\""),
        );
        agrees(&at_flow(&text, 1.0));
    }
}
