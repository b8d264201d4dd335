//! Numbers rounded for people, the budget as a table, and what else is said in words.

use crate::published::{Sum, sum_of};
use flowdoubt::montecarlo::{BlockModel, Interval, IntervalKind, MonteCarlo};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{
    Distribution, Input, InputSet, MeasurementModel, Output, Shape, StraightLine, Units, counted,
    dof_in_words, grouped, plain, propagate, rounded, rounded_pair,
};
use flowdoubt::units::Dimension;
use flowdoubt::units::Unit;

const INF: f64 = f64::INFINITY;

#[test]
fn numbers_are_rounded_as_the_guide_asks() {
    // JCGM 100:2008, 7.2.6: the estimate to the place of the uncertainty
    let pair = |x: f64, u: f64| {
        let (x, u) = rounded_pair(x, u);
        format!("{x} +- {u}")
    };
    assert_eq!(pair(10.057_62, 0.027), "10.058 +- 0.027");
    assert_eq!(pair(100.021_47, 0.000_354_9), "100.02147 +- 0.00035");
    assert_eq!(pair(1234.5, 67.8), "1234 +- 68");
    assert_eq!(pair(123_456.0, 1234.0), "123500 +- 1200");
    assert_eq!(pair(0.001, 12.0), "0 +- 12");
    assert_eq!(pair(0.6, 12.0), "1 +- 12");
    assert_eq!(pair(-7.0, 120.0), "-10 +- 120");
    assert_eq!(pair(0.0, 0.5), "0 +- 0.50");
    assert_eq!(pair(2.5, 0.0), "2.5 +- 0");
    assert_eq!(pair(5.0e7, 2.3e5), "5.000\u{a0}×\u{a0}10⁷ +- 230000");
    assert_eq!(pair(6_995_284.0, 130_000.0), "7000000 +- 130000");
    assert_eq!(pair(1_234_567.0, 12.0), "1234567 +- 12");
    // rounding up changes the number of digits
    assert_eq!(rounded(0.0996, 2), "0.10");
    assert_eq!(rounded(-0.001_234, 3), "-0.00123");
    assert_eq!(rounded(0.0, 2), "0");
    assert_eq!(rounded(INF, 2), "infinite");
    for (value, text) in [
        (0.25, "0.25"),
        (1.0 / 3.0, "0.333333"),
        (1e-9, "1\u{a0}×\u{a0}10⁻⁹"),
        (2.5e12, "2.5\u{a0}×\u{a0}10¹²"),
        (-INF, "-infinite"),
        (f64::NAN, "no number"),
        (100.0, "100"),
    ] {
        assert_eq!(plain(value), text);
    }
    assert_eq!(
        [16.79, 2077.84, 2e5].map(dof_in_words),
        ["16.7", "2077", "infinite"]
    );
    // three digits of a Reynolds number, its thousands apart
    let reynolds = [60.64, 4044.7, 17_449.0, -689_800.0, 8.41e6];
    let read = [
        "60.6",
        "4040",
        "17\u{a0}400",
        "-690\u{a0}000",
        "8\u{a0}410\u{a0}000",
    ];
    assert_eq!(reynolds.map(grouped), read);
    assert_eq!(
        [0, 1, 2].map(|n| counted(n, "row")),
        ["0 rows", "1 row", "2 rows"]
    );
}

fn budget_inputs() -> InputSet {
    let millimetre = Unit::parse("mm", Dimension::Length, "x").expect("mm");
    let inputs = vec![
        Input::with_standard_uncertainty("a", 0.020, 3e-5, INF)
            .expect("a")
            .in_component("tape")
            .evidence_in_words("certificate")
            .shown_in(millimetre),
        Input::with_standard_uncertainty("b", 0.5, 4e-5, 7.0).expect("b"),
        Input::exact("c", 1.0).expect("c"),
        Input::with_half_width("x", 0.0, 0.0, Shape::Triangular, INF)
            .expect("d")
            .named("d"),
    ];
    InputSet::independent(inputs).expect("set")
}

#[test]
fn a_budget_is_a_table_in_either_unit() {
    let budget = propagate(&Sum, &budget_inputs()).expect("budget").remove(0);
    let shown = budget.rows(Units::Shown);
    assert_eq!((shown[0].estimate, shown[0].unit.as_str()), (20.0, "mm"));
    assert_eq!((shown[0].sensitivity, shown[0].contribution), (1e-3, 3e-5));
    assert_eq!((shown[0].dof, shown[1].dof), (None, Some(7.0)));
    let si = budget.rows(Units::Si);
    assert_eq!((si[0].estimate, si[0].unit.as_str()), (0.020, "m"));
    assert_eq!(si[0].sensitivity, 1.0);
    let lines = budget.rounded_lines();
    assert_eq!(lines[0][0], "tape");
    assert_eq!(lines[0][1..5], ["a", "20.000", "0.030", "mm"]);
    assert_eq!(lines[0][10], "certificate");
    // 3-4-5: u is 5e-5, the shares 9 and 16 of 25
    assert_eq!(budget.result_shown().1, budget.standard_uncertainty);
    let text = budget.to_string();
    for part in [
        "tape",
        "36.0 %",
        "64.0 %",
        "sum: 1.520000",
        "uncertainty 0.000050",
        "exact",
    ] {
        assert!(text.contains(part), "{part} in\n{text}");
    }
    let widths: Vec<usize> = text.lines().take(6).map(|l| l.trim_end().len()).collect();
    assert!(widths.iter().all(|w| *w == widths[0]), "aligned:\n{text}");
    // nu_eff = 7 (25 / 16)^2
    assert!(text.contains("degrees of freedom 17"), "{text}");
}

#[test]
fn what_is_rounding_alone_is_none() {
    let of = |name: &str, estimate: f64, u: f64| {
        Input::with_standard_uncertainty(name, estimate, u, INF).expect(name)
    };
    let inputs = InputSet::independent(vec![
        of("a", 5.0, 0.1),
        of("b", 0.0, 3.4e-22),
        of("c", 0.0, 0.0),
        of("d", 0.0, 0.0),
    ]);
    let budget = propagate(&Sum, &inputs.expect("inputs"))
        .expect("budget")
        .remove(0);
    let lines = budget.rounded_lines();
    assert_eq!((lines[1][3].as_str(), lines[1][8].as_str()), ("0", "0"));
    // a charge is small, and is no rounding
    let inputs = InputSet::independent(vec![
        of("a", 1.6e-19, 1e-22),
        of("b", 0.0, 3.4e-22),
        of("c", 0.0, 0.0),
        of("d", 0.0, 0.0),
    ]);
    let budget = propagate(&Sum, &inputs.expect("inputs"))
        .expect("budget")
        .remove(0);
    assert_ne!(budget.rounded_lines()[1][3], "0");
}

#[test]
fn names_are_read_and_refused() {
    assert_eq!(Shape::from_name("arcsine", "x"), Ok(Shape::Arcsine));
    assert_eq!(Shape::from_name("rectangular", "x"), Ok(Shape::Rectangular));
    assert_eq!(Shape::from_name("triangular", "x"), Ok(Shape::Triangular));
    let error = Shape::from_name("triangle", "pipe.wall").expect_err("misspelt");
    assert!(
        error.to_string().contains("did you mean `triangular`"),
        "{error}"
    );
    assert_eq!(
        IntervalKind::from_name("shortest", "x"),
        Ok(IntervalKind::Shortest)
    );
    assert_eq!(
        IntervalKind::from_name("symmetric", "x"),
        Ok(IntervalKind::Symmetric)
    );
    assert!(IntervalKind::from_name("longest", "x").is_err());
    let twice = ["a", "a"].map(|name| Input::exact(name, 1.0).expect("input"));
    let error = InputSet::independent(twice.to_vec()).expect_err("two of a name");
    assert!(
        error.to_string().contains("a name for each input"),
        "{error}"
    );
}

#[test]
fn tables_become_distributions_and_bad_ones_do_not() {
    let density = Distribution::of_density_table(&[0.0, 2.0], &[0.0, 3.0]).expect("density");
    // the density rises to one: mean 4/3, variance 2/9
    assert!((density.mean() - 4.0 / 3.0).abs() < 1e-15);
    assert!((density.variance() - 2.0 / 9.0).abs() < 1e-15);
    let steps = Distribution::of_probability_table(&[0.0, 1.0, 3.0], &[0.0, 0.5, 1.0]);
    assert_eq!(steps.expect("probability").quantile(0.75), 2.0);
    assert!(Distribution::of_probability_table(&[0.0, 1.0], &[0.1, 1.0]).is_err());
    assert!(Distribution::of_density_table(&[0.0], &[1.0]).is_err());
}

#[test]
fn intervals_are_shown_in_the_unit_of_the_output() {
    let celsius = Unit::parse("degC", Dimension::Temperature, "x").expect("degC");
    let interval = Interval {
        low: 273.15,
        high: 293.15,
    };
    let shown = interval.shown_in(&celsius);
    assert_eq!((shown.low, shown.high), (0.0, 20.0));
}

/// The sum again, evaluated over whole columns as a model in another language would be.
struct SumOfColumns {
    block_size: u64,
    failing: Option<usize>,
}

impl BlockModel for SumOfColumns {
    fn output_quantities(&self) -> Vec<Output> {
        Sum.outputs()
    }
    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> flowdoubt::Result<Vec<Vec<f64>>> {
        let mut sums: Vec<f64> = (0..size)
            .map(|t| x[0][t] + x[1][t] + x[2][t] + x[3][t])
            .collect();
        if let Some(place) = self.failing {
            sums[place] = f64::NAN;
        }
        Ok(vec![sums])
    }
    fn block_size(&self) -> u64 {
        self.block_size
    }
    fn sequential(&self) -> bool {
        true
    }
}

#[test]
fn a_model_evaluated_by_blocks_has_the_same_trials() {
    let inputs = sum_of(|_, name| Input::with_standard_uncertainty(name, 1.0, 0.5, INF));
    let run = MonteCarlo {
        trials: 5000,
        seed: 2,
        ..MonteCarlo::default()
    };
    let here = run.joint(&Sum, &inputs).expect("trials");
    for block_size in [1, 777, 5000, 1_000_000] {
        let model = SumOfColumns {
            block_size,
            failing: None,
        };
        let there = run.joint(&model, &inputs).expect("trials");
        assert_eq!(there, here, "blocks of {block_size}");
        assert_eq!(
            there.of_output(0).sorted_in(&there.outputs()[0].unit),
            here.of_output(0).sorted()
        );
    }
    let failing = SumOfColumns {
        block_size: 5000,
        failing: Some(7),
    };
    let error = run.joint(&failing, &inputs).expect_err("one failed");
    assert!(
        error.to_string().contains("the first at trial 7"),
        "{error}"
    );
}

#[test]
fn relative_form_of_a_product_of_powers() {
    // JCGM 100:2008, 5.1.6: y = x1^2 / x2 has the exponents 2 and -1
    struct Powers;
    impl MeasurementModel for Powers {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            Sum.outputs()
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> flowdoubt::Result<[S; 1]> {
            Ok([x[0] * x[0] / x[1] + x[2]])
        }
    }
    let inputs = InputSet::independent(vec![
        Input::with_standard_uncertainty("x1", 3.0, 0.03, INF).expect("x1"),
        Input::with_standard_uncertainty("x2", 2.0, 0.04, INF).expect("x2"),
        Input::with_standard_uncertainty("x3", 0.0, 0.01, INF).expect("x3"),
    ])
    .expect("set");
    let budget = &propagate(&Powers, &inputs).expect("budget")[0];
    let rows = budget.rows(Units::Si);
    let exponents: Vec<_> = rows.iter().map(|r| r.relative_sensitivity).collect();
    assert_eq!(exponents, [Some(2.0), Some(-1.0), Some(0.0)]);
    let squares = rows
        .iter()
        .map(|r| r.relative_contribution.expect("y"))
        .map(|c| c * c);
    let relative = squares.sum::<f64>().sqrt();
    assert!((relative - budget.relative_standard_uncertainty()).abs() < 1e-15);
    assert!((rows[0].relative_contribution.expect("y") - 0.02).abs() < 1e-15);
}

#[test]
fn a_line_that_does_not_fit_says_so() {
    // far apart for their uncertainties, and symmetric: no direction fits better than another
    let (x, y) = ([-1.0, 1.0, -1.0, 1.0], [-1.0, -1.0, 1.0, 1.0]);
    let line = StraightLine::with_uncertainties(&x, &[1e-9; 4], &y, &[1e-9; 4]);
    let line = line.expect("a stationary line");
    assert!(
        line.p_value().expect("p") < 1e-6,
        "and its chi-squared says so"
    );
}
