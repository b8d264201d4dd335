//! JCGM 100:2008, annexes G and H.

use super::{Values, column, one_output};
use crate::support::{assert_relative, json, number};
use flowdoubt::Result;
use flowdoubt::scalar::Scalar;
use flowdoubt::scalar::special::{StudentT, fisher_quantile};
use flowdoubt::uncertainty::{
    Input, InputSet, JointResult, MeasurementModel, OneWay, Output, SecondOrder, Shape,
    StraightLine, TypeA, propagate, propagate_second_order,
};
use flowdoubt::units::Unit;
use serde_json::Value;

const INF: f64 = f64::INFINITY;

pub fn values() -> Values {
    let mut all = end_gauge();
    all.extend(impedance());
    all.extend(thermometer());
    all.extend(activity());
    all.extend(voltage_standard());
    all.extend(coverage_factors());
    all
}

fn end_gauge() -> Values {
    let inputs = end_gauge_inputs();
    let second = propagate_second_order(&EndGauge, &inputs)
        .expect("second order")
        .remove(0);
    let budget = &second.budget;
    let contribution = |i: usize| budget.lines[i].contribution.abs();
    let expanded = budget.expanded(0.99).expect("expanded");
    // both temperatures, the mean and the cycle, are one quantity in the guide
    let between = |first: &[usize], other: usize| pair_of(&second, first, other);
    let rounded_up = 32.0;
    [
        ("standard", contribution(0)),
        (
            "comparator",
            libm::hypot(
                libm::hypot(contribution(1), contribution(2)),
                contribution(3),
            ),
        ),
        ("dalpha", contribution(7)),
        ("dtheta", contribution(8)),
        ("length", budget.estimate * 1e-6),
        ("u", budget.standard_uncertainty),
        ("dof", budget.effective_dof),
        ("t", expanded.coverage_factor),
        ("U", expanded.coverage_factor * rounded_up),
        ("second_alpha_theta", between(&[5, 6], 7)),
        ("second_alpha_dtheta", between(&[4], 8)),
        ("second_u", second.standard_uncertainty),
    ]
    .map(|(id, value)| (format!("h1.{id}"), value))
    .to_vec()
}

/// The square root of the terms between input `other` and any of `first`, in both orders.
fn pair_of(second: &SecondOrder, first: &[usize], other: usize) -> f64 {
    let terms = second.terms.iter().filter(|t| {
        (first.contains(&t.first) && t.second == other)
            || (first.contains(&t.second) && t.first == other)
    });
    terms.map(|t| t.variance).sum::<f64>().sqrt()
}

/// H.2: resistance, reactance and impedance from voltage, current and phase.
pub struct Impedance;

impl MeasurementModel for Impedance {
    type Outputs<S: Scalar> = [S; 3];
    fn outputs(&self) -> Vec<Output> {
        ["R", "X", "Z"]
            .map(|name| Output {
                name: name.to_owned(),
                unit: Unit::named("ohm"),
            })
            .to_vec()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 3]> {
        let impedance = x[0] / x[1];
        Ok([impedance * x[2].cos(), impedance * x[2].sin(), impedance])
    }
}

/// Volts, amperes and radians read together.
pub fn impedance_inputs(data: &Value, phase: &str, voltage: &str, current: &str) -> InputSet {
    let amperes = column(&data[current]).iter().map(|i| i * 1e-3).collect();
    let readings = [column(&data[voltage]), amperes, column(&data[phase])];
    InputSet::from_joint_readings(&["V", "I", "phi"], &readings).expect("readings")
}

fn impedance() -> Values {
    let data = &json("published/jcgm.json")["JCGM100_H2"]["data"];
    let inputs = impedance_inputs(data, "phi_rad", "V_V", "I_mA");
    let budgets = propagate(&Impedance, &inputs).expect("budgets");
    let joint = JointResult::of_budgets(&budgets, &inputs).expect("joint");
    let r = |i, j| inputs.correlations().coefficient(i, j);
    let mut all = vec![
        ("h2.rx".to_owned(), joint.correlation(0, 1)),
        ("h2.rz".to_owned(), joint.correlation(0, 2)),
        ("h2.xz".to_owned(), joint.correlation(1, 2)),
        ("h2.in_vi".to_owned(), r(0, 1)),
        ("h2.in_vp".to_owned(), r(0, 2)),
        ("h2.in_ip".to_owned(), r(1, 2)),
    ];
    for (i, budget) in budgets.iter().enumerate() {
        all.push((format!("h2.y{i}"), budget.estimate));
        all.push((format!("h2.u{i}"), joint.standard_uncertainty(i)));
    }
    all
}

/// H.3: calibration of a thermometer, correction over temperature above 20 degC.
fn thermometer() -> Values {
    let data = &json("published/jcgm.json")["JCGM100_H3"]["data"];
    let origin = number(&data["t0_degC"]);
    let x: Vec<f64> = column(&data["t_degC"]).iter().map(|t| t - origin).collect();
    let line = StraightLine::ordinary(&x, &column(&data["b_degC"])).expect("line");
    let at_30 = line.predict(30.0 - origin);
    [
        ("y1", line.intercept()),
        ("s1", line.intercept_uncertainty()),
        ("y2", line.slope()),
        ("s2", line.slope_uncertainty()),
        ("r", line.parameter_correlation()),
        ("s", line.residual_deviation()),
        ("b30", at_30.value),
        ("u30", at_30.standard_uncertainty),
        ("dof", line.dof),
    ]
    .map(|(id, value)| (format!("h3.{id}"), value))
    .to_vec()
}

/// H.4: activity concentration from two counting rates, in units of the data.
struct Activity;

impl MeasurementModel for Activity {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        one_output("activity concentration", "Bq/g")
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let [standard, standard_mass, sample_mass, rates @ ..] = x else {
            panic!("three inputs and the rates");
        };
        let ratio = match rates {
            [sample, standard] => *sample / *standard,
            _ => rates[0],
        };
        Ok([*standard * *standard_mass / *sample_mass * ratio])
    }
}

fn activity() -> Values {
    let data = &json("published/jcgm.json")["JCGM100_H4"]["data"];
    let (decay, duration) = (
        number(&data["decay_constant_per_min"]),
        number(&data["T_0_min"]),
    );
    // background-corrected and decay-corrected counting rates, (H.21)
    let rates = |counts: &str, times: &str| -> Vec<f64> {
        let background = column(&data["C_B"]);
        let counts = column(&data[counts]).into_iter().zip(background);
        counts
            .zip(column(&data[times]))
            .map(|((c, b), t)| (c - b) / duration * Scalar::exp(decay * t))
            .collect()
    };
    let (sample, standard) = (rates("C_x", "t_x_min"), rates("C_S", "t_S_min"));
    let ratios: Vec<f64> = sample.iter().zip(&standard).map(|(x, s)| x / s).collect();
    let known = || {
        let inputs = ["A_S_Bq_g", "m_S_g", "m_x_g"].map(|name| {
            let [estimate, u] = [0, 1].map(|i| number(&data[name][i]));
            Input::with_standard_uncertainty(name, estimate, u, f64::INFINITY).expect("input")
        });
        InputSet::independent(inputs.to_vec()).expect("set")
    };
    let joint = InputSet::from_joint_readings(&["R_x", "R_S"], &[sample, standard]);
    let joint = joint.expect("rates");
    let ratio = Input::from_readings("R", &ratios).expect("ratio");
    let r = joint.correlations().coefficient(0, 1);
    let mean = |i: usize| joint.inputs()[i].estimate();
    let deviation = |i: usize| joint.inputs()[i].standard_uncertainty();
    let mut all = vec![
        ("rx", mean(0)),
        ("s_rx", deviation(0)),
        ("rs", mean(1)),
        ("s_rs", deviation(1)),
        ("r", r),
        ("ratio", ratio.estimate()),
        ("s_ratio", ratio.standard_uncertainty()),
    ];
    let budget = |rates: InputSet| {
        let inputs = known().and(rates).expect("set");
        propagate(&Activity, &inputs).expect("budget").remove(0)
    };
    let first = budget(joint.clone());
    let second = budget(InputSet::independent(vec![ratio]).expect("set"));
    all.extend([
        ("a1", first.estimate),
        ("u1", first.standard_uncertainty),
        ("w1", first.relative_standard_uncertainty()),
        ("a2", second.estimate),
        ("u2", second.standard_uncertainty),
        ("w2", second.relative_standard_uncertainty()),
    ]);
    let named = all
        .into_iter()
        .map(|(id, value)| (format!("h4.{id}"), value));
    named.collect()
}

/// H.5: a voltage standard on ten days, in volts; deviations in microvolts.
fn voltage_standard() -> Values {
    let data = &json("published/jcgm.json")["JCGM100_H5"]["data"];
    let days = column(&data["daily_mean_V"])
        .into_iter()
        .zip(column(&data["daily_s_uV"]));
    let days: Vec<TypeA> = days
        .map(|(mean, s)| TypeA {
            count: 5,
            mean,
            standard_deviation: s * 1e-6,
        })
        .collect();
    let found = OneWay::of_statistics(&days, "days").expect("analysis");
    let (between, within) = (found.between_dof(), found.within_dof());
    [
        ("mean", found.mean),
        ("sa", found.between_deviation * 1e6),
        ("sb", found.within_deviation * 1e6),
        ("f", found.f),
        ("f95", fisher_quantile(0.95, between, within)),
        ("f975", fisher_quantile(0.975, between, within)),
        (
            "s0",
            found.standard_uncertainty_without_between_effect().0 * 1e6,
        ),
        ("sW", found.within_deviation * 1e6),
        ("sB", found.between_component * 1e6),
        ("u", found.standard_uncertainty().0 * 1e6),
    ]
    .map(|(id, value)| (format!("h5.{id}"), value))
    .to_vec()
}

/// Table G.2, whose columns are probabilities in per cent.
fn coverage_factors() -> Values {
    let degrees = (1..=20).chain([25, 30, 35, 40, 45, 50, 100]).map(f64::from);
    let mut all = Vec::new();
    for dof in degrees.chain([f64::INFINITY]) {
        let t = StudentT::new(dof);
        // 68.27 stands for one standard deviation, 95.45 for two, 99.73 for three
        let sigma = |k: f64| flowdoubt::scalar::special::normal_cdf(k);
        let upper = [
            ("68.27", sigma(1.0)),
            ("90", 0.95),
            ("95", 0.975),
            ("95.45", sigma(2.0)),
            ("99", 0.995),
            ("99.73", sigma(3.0)),
        ];
        for (percent, p) in upper {
            all.push((format!("g2.{dof}.{percent}"), t.quantile(p)));
        }
    }
    all
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

/// What H.1 says in words, and what it prints from rounded numbers.
#[test]
fn end_gauge_beyond_the_printed_numbers() {
    let budget = &propagate(&EndGauge, &end_gauge_inputs()).expect("budget")[0];
    // the expansion coefficient and the temperature do not contribute in first order
    for line in &budget.lines[4..7] {
        assert_eq!(line.contribution, 0.0, "{}", line.input.name());
    }
    let expanded = budget.expanded(0.99).expect("expanded");
    assert_eq!(expanded.dof, 16.0);
    // the guide prints 93 nm, which is 2.92 times u_c rounded up to 32 nm
    assert_relative(
        expanded.expanded_uncertainty,
        92.4666,
        1e-5,
        "U_99, computed with numpy",
    );
}
