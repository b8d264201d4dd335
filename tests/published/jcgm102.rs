//! JCGM 102:2011, clause 9.

use super::Values;
use super::column;
use super::jcgm100::{Impedance, impedance_inputs};
use crate::support::{json, number};
use flowdoubt::Result;
use flowdoubt::montecarlo::{JointTrials, MonteCarlo};
use flowdoubt::scalar::{ImplicitEquation, Scalar, implicit_root};
use flowdoubt::uncertainty::{
    Distribution, Input, InputSet, JointResult, MeasurementModel, Output, Shape, propagate,
};
use flowdoubt::units::Unit;
use std::f64::consts::PI;

const INF: f64 = f64::INFINITY;

pub fn values() -> Values {
    let mut all = additive();
    all.extend(polar());
    all.extend(impedance());
    all.extend(temperatures());
    all
}

fn trials<M: MeasurementModel>(model: &M, inputs: &InputSet) -> JointTrials {
    let run = MonteCarlo {
        seed: 20_261_125,
        ..MonteCarlo::default()
    };
    run.joint(model, inputs).expect("trials")
}

fn two_outputs(names: [&str; 2]) -> Vec<Output> {
    names
        .map(|name| Output {
            name: name.to_owned(),
            unit: Unit::named(""),
        })
        .to_vec()
}

/// 9.2: `Y1 = X1 + X3`, `Y2 = X2 + X3`.
struct SharedTerm;

impl MeasurementModel for SharedTerm {
    type Outputs<S: Scalar> = [S; 2];
    fn outputs(&self) -> Vec<Output> {
        two_outputs(["Y1", "Y2"])
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 2]> {
        Ok([x[0] + x[2], x[1] + x[2]])
    }
}

fn additive() -> Values {
    let normal = |name: &str| Input::with_standard_uncertainty(name, 0.0, 1.0, INF);
    let rectangular =
        |h: f64| Input::with_half_width("x3", 0.0, h * 3.0_f64.sqrt(), Shape::Rectangular, INF);
    let cases = [
        ("normal", normal("x3")),
        ("rect", rectangular(1.0)),
        ("rect3", rectangular(3.0)),
    ];
    let mut all = Vec::new();
    for (case, third) in cases {
        let inputs = [normal("x1"), normal("x2"), third];
        let inputs = inputs.into_iter().collect::<Result<_>>().expect("inputs");
        let inputs = InputSet::independent(inputs).expect("set");
        let budgets = propagate(&SharedTerm, &inputs).expect("budgets");
        let joint = JointResult::of_budgets(&budgets, &inputs).expect("joint");
        let trials = trials(&SharedTerm, &inputs);
        let sampled = trials.joint_result();
        // standard error of the coefficient of correlation is (1 - r^2) / 1000 here
        assert!((sampled.correlation(0, 1) - joint.correlation(0, 1)).abs() < 0.004);
        let ellipse = trials.ellipsoidal_region(0.95).expect("ellipse");
        let rectangle = trials.rectangular_region(0.95).expect("rectangle");
        if case != "rect" {
            all.push((format!("102_9_2.{case}.u"), joint.standard_uncertainty(1)));
            all.push((format!("102_9_2.{case}.r"), joint.correlation(0, 1)));
        }
        all.push((format!("102_9_2.{case}.kp"), ellipse.coverage_factor));
        all.push((format!("102_9_2.{case}.kq"), rectangle.coverage_factor));
        if case == "normal" {
            let ellipse = joint.ellipsoidal_region(0.95).expect("ellipse");
            let rectangle = joint.rectangular_region(0.95).expect("rectangle");
            all.push(("102_9_2.kp".to_owned(), ellipse.coverage_factor));
            all.push(("102_9_2.kq".to_owned(), rectangle.coverage_factor));
        }
    }
    all
}

/// 9.3: Cartesian to polar coordinates.
struct Polar;

impl MeasurementModel for Polar {
    type Outputs<S: Scalar> = [S; 2];
    fn outputs(&self) -> Vec<Output> {
        two_outputs(["radius", "angle"])
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 2]> {
        let zero = S::constant(0.0);
        let half_turn = S::select(x[1].less_than(zero), S::constant(-PI), S::constant(PI));
        let behind = S::select(x[0].less_than(zero), half_turn, zero);
        let radius = (x[0] * x[0] + x[1] * x[1]).sqrt();
        Ok([radius, (x[1] / x[0]).atan() + behind])
    }
}

fn polar() -> Values {
    let mut all = Vec::new();
    for (r_key, r) in [("r=0", 0.0), ("r=0.9", 0.9)] {
        for (x_key, x1) in [("0.001", 0.001), ("0.010", 0.010), ("0.100", 0.100)] {
            let u = 0.010 * 0.010;
            let covariance = [vec![u, r * u], vec![r * u, u]];
            let set = InputSet::multivariate_normal(&["x1", "x2"], &[x1, 0.0], &covariance);
            let joint = trials(&Polar, &set.expect("set")).joint_result();
            let row = [
                joint.estimates[0],
                joint.estimates[1],
                joint.standard_uncertainty(0),
                joint.standard_uncertainty(1),
                joint.correlation(0, 1),
            ];
            for (k, value) in row.into_iter().enumerate() {
                all.push((format!("102_9_3.{r_key}.{x_key}.{k}"), value));
            }
        }
    }
    all
}

fn impedance() -> Values {
    let data = &json("published/jcgm.json")["JCGM102_9_4"]["data"];
    let inputs = impedance_inputs(data, "phi", "V", "I_mA");
    let budgets = propagate(&Impedance, &inputs).expect("budgets");
    let joint = JointResult::of_budgets(&budgets, &inputs).expect("joint");
    let sampled = trials(&Impedance, &inputs).joint_result();
    // the same covariance as the t distribution has, as a normal one
    let Distribution::StudentT { dof, scale, .. } = *inputs.inputs()[0].distribution() else {
        panic!("t");
    };
    let own = inputs.inputs()[0].standard_uncertainty();
    let widened = (scale / own) * (scale / own) * dof / (dof - 2.0);
    let mut rows = inputs.covariance();
    rows.iter_mut().flatten().for_each(|v| *v *= widened);
    let wide = InputSet::multivariate_normal(&["V", "I", "phi"], &inputs.estimates(), &rows);
    let wide = propagate(&Impedance, &wide.expect("set")).expect("budgets");
    let mut all = vec![
        ("102_9_4.rx".to_owned(), joint.correlation(0, 1)),
        ("102_9_4.rz".to_owned(), joint.correlation(0, 2)),
        ("102_9_4.xz".to_owned(), 1.0 - joint.correlation(1, 2)),
    ];
    for (i, wide) in wide.iter().enumerate() {
        all.push((format!("102_9_4.y{i}"), joint.estimates[i]));
        all.push((format!("102_9_4.u{i}"), joint.standard_uncertainty(i)));
        all.push((format!("102_9_4.mu{i}"), sampled.standard_uncertainty(i)));
        all.push((format!("102_9_4.au{i}"), wide.standard_uncertainty));
    }
    all
}

/// 9.5: `(1 + A theta + B theta^2) R_0 - r R_S = 0`, solved as the guide states it.
struct Thermometer;

impl ImplicitEquation<5> for Thermometer {
    fn residual<S: Scalar>(&self, theta: S, [r0, a, b, rs, r]: [S; 5]) -> S {
        (theta * (theta * b + a) + 1.0) * r0 - r * rs
    }
}

/// Ten temperatures from ten resistance ratios with the same thermometer and standard resistor.
struct Temperatures;

impl MeasurementModel for Temperatures {
    type Outputs<S: Scalar> = [S; 10];
    fn outputs(&self) -> Vec<Output> {
        let output = |j: usize| Output {
            name: format!("theta{}", j + 1),
            unit: Unit::named("degC"),
        };
        (0..10).map(output).collect()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 10]> {
        let start = S::Real::constant(10.0);
        Ok(std::array::from_fn(|j| {
            implicit_root(&Thermometer, start, 8, [x[0], x[1], x[2], x[3], x[4 + j]])
        }))
    }
}

fn temperatures() -> Values {
    let given = &json("published/jcgm.json")["JCGM102_9_5"];
    let names = ["R0", "A", "B", "RS"];
    let mut inputs: Vec<Input> = names
        .iter()
        .map(|name| {
            let pair = column(&given["inputs"][name]);
            Input::with_standard_uncertainty(name, pair[0], pair[1], INF).expect("input")
        })
        .collect();
    let u_ratio = number(&given["ratio_uncertainty_1e-7"]) * 1e-7;
    for (j, ratio) in column(&given["ratios_less_one_1e-7"]).iter().enumerate() {
        let (name, r) = (format!("r{}", j + 1), 1.0 + ratio * 1e-7);
        inputs.push(Input::with_standard_uncertainty(&name, r, u_ratio, INF).expect("ratio"));
    }
    let pairs = [("R0", "A"), ("R0", "B"), ("A", "B")].map(|(a, b)| {
        let r = number(&given["correlations"][a][b]);
        (a.to_owned(), b.to_owned(), r)
    });
    let inputs = InputSet::correlated(inputs, &pairs).expect("set");
    let budgets = propagate(&Temperatures, &inputs).expect("budgets");
    let joint = JointResult::of_budgets(&budgets, &inputs).expect("joint");
    let mut all = Values::new();
    for i in 0..10 {
        all.push((format!("102_9_5.theta{}", i + 1), joint.estimates[i]));
        let u = joint.standard_uncertainty(i);
        all.push((format!("102_9_5.u{}", i + 1), u));
        for k in i + 1..10 {
            let id = format!("102_9_5.r{}_{}", i + 1, k + 1);
            all.push((id, joint.correlation(i, k)));
        }
    }
    all
}
