//! Functions of few numbers as polynomials: as good as they say, and only where they say.

use super::{made_ready, model, within};
use crate::support::{demo, evaluate, plain_demo, with};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::montecarlo::{BlockModel, Stream};
use flowdoubt::scalar::{InstructionSet, Scalar, SmoothFunction};
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

model!(SmoothModel, 1, |x: &[S]| vec![S::function_of(
    [x[0], x[1]],
    &Smooth
)]);

proptest! {
    /// Near the inputs the fit is good to nine digits of the largest value; farther out the values are
    /// those of the model.
    #[test]
    fn a_fit_is_good_to_nine_digits(
        middle in (0.5..2.0_f64, 0.5..2.0_f64),
        half in (0.01..0.3_f64, 0.01..0.3_f64),
        at in proptest::collection::vec((-3.0..3.0_f64, -3.0..3.0_f64), 200),
    ) {
        let limits = [(middle.0, half.0), (middle.1, half.1)].map(|(m, h)| (m - h, m + h));
        let x: Vec<f64> = at.iter().map(|(u, _)| middle.0 + half.0 * u).collect();
        let y: Vec<f64> = at.iter().map(|(_, v)| middle.1 + half.1 * v).collect();
        let values = made_ready(&SmoothModel, &within(&limits), BASELINE, &[&x, &y]);
        let values = values.expect("ready").remove(0);
        let (mut inside, mut fitted) = (0, 0);
        for (i, (u, v)) in at.iter().enumerate() {
            let exact = Smooth.at([x[i], y[i]]);
            if u.abs().max(v.abs()) > 2.0 {
                prop_assert_eq!(values[i].to_bits(), exact.to_bits());
            }
            if u.abs().max(v.abs()) < 0.9 {
                inside += 1;
                fitted += usize::from(values[i] != exact);
            }
            prop_assert!((values[i] - exact).abs() < 3e-9);
        }
        // and it is a fit: few values have the bits of the model by chance
        prop_assert!(2 * fitted > inside);
    }
}

/// What is no smooth function near the inputs is left as it is, with the bits of the model; so is what
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
    model!(KinkModel, 1, |x: &[S]| vec![S::function_of([x[0]], &Kink)]);
    model!(ChoiceModel, 1, |x: &[S]| vec![S::function_of(
        [x[0]],
        &Choice
    )]);
    model!(RootModel, 1, |x: &[S]| vec![S::function_of([x[0]], &Root)]);
    let inputs = within(&[(0.9, 1.1)]);
    let x: Vec<f64> = (0..100).map(|i| 0.9 + 0.002 * f64::from(i)).collect();
    let bits = |values: &[f64]| values.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
    let found = |values: Option<Vec<Vec<f64>>>| bits(&values.expect("ready")[0]);
    let exact = |model: &dyn Fn(f64) -> f64| bits(&x.iter().map(|x| model(*x)).collect::<Vec<_>>());
    let kink = made_ready(&KinkModel, &inputs, BASELINE, &[&x]);
    assert_eq!(found(kink), exact(&|x| Kink.at([x])));
    let choice = made_ready(&ChoiceModel, &inputs, BASELINE, &[&x]);
    assert_eq!(found(choice), exact(&|x| Choice.at([x])));
    let root = made_ready(&RootModel, &inputs, BASELINE, &[&x]);
    assert_eq!(found(root), exact(&|x| Root.at([x])));
}

/// No fit takes what is not a number, or is far away.
#[test]
fn nan_is_unusual() {
    let x = [1.0, f64::NAN, f64::INFINITY, 1e300];
    let inputs = within(&[(0.9, 1.1), (0.9, 1.1)]);
    let values = made_ready(&SmoothModel, &inputs, BASELINE, &[&x, &x]).expect("ready");
    for (x, found) in x.iter().zip(&values[0]).skip(1) {
        let exact = Smooth.at([*x, *x]);
        assert!(
            *found == exact || found.is_nan() && exact.is_nan(),
            "{x}: {found}"
        );
    }
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
