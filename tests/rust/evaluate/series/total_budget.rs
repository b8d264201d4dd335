//! The budget of a total: correlation of all rows, rules of integration, trials.

use super::{Row, USUAL, alone, day, evaluated, log, row, site, stated, without_scatter};
use crate::support::assert_relative;
use flowdoubt::Result;
use flowdoubt::evaluate::{Gaps, Rule, Series, SeriesOptions, Times};
use flowdoubt::uncertainty::{Input, InputSet};

#[test]
fn one_row_for_a_time_has_its_budget_times_the_time() {
    let options = SeriesOptions {
        rule: Rule::Hold,
        ..without_scatter()
    };
    let series = evaluated(&[USUAL], options);
    let evaluation = alone(&site(), USUAL).expect("evaluation");
    assert_eq!(series.duration, 60.0);
    assert_eq!(series.total.output.unit.symbol, "m3");
    assert_relative(
        series.total.estimate,
        60.0 * evaluation.estimate(),
        1e-15,
        "V",
    );
    let u = 60.0 * evaluation.standard_uncertainty();
    assert_relative(series.total.standard_uncertainty, u, 1e-12, "u");
    assert_eq!(series.total.lines.len(), evaluation.budget.lines.len());
    for (line, own) in series.total.lines.iter().zip(&evaluation.budget.lines) {
        assert_eq!(line.input.name(), own.input.name());
        assert!(
            (line.share - own.share).abs() < 1e-12,
            "{}",
            own.input.name()
        );
        let contribution = 60.0 * own.contribution;
        assert!((line.contribution - contribution).abs() <= 1e-12 * u);
    }
    let dof = (series.total.effective_dof, evaluation.budget.effective_dof);
    assert_relative(dof.0, dof.1, 1e-10, "effective degrees of freedom");
}

/// The total from sensitivities of single evaluations and an explicit covariance matrix of all
/// inputs of all rows.
#[test]
fn the_total_is_the_explicit_matrix_product() {
    let site = site();
    let rows = day(40);
    let s = [0.9e-9, 2.5e-9, 0.04];
    let options = SeriesOptions {
        repeatability: stated(s),
        ..SeriesOptions::default()
    };
    let series = evaluated(&rows, options);
    let (mut volume, mut variance) = (0.0, 0.0);
    let evaluations: Vec<_> = rows
        .iter()
        .map(|row| alone(&site, *row).expect("row"))
        .collect();
    let weight = |i: usize| {
        if i == 0 || i == rows.len() - 1 {
            30.0
        } else {
            60.0
        }
    };
    let scatter = |name: &str| match name {
        "readings.time_difference" => Some(s[0]),
        "readings.transit_time" => Some(s[1]),
        "liquid.temperature" => Some(s[2]),
        _ => None,
    };
    let correlated = ["meter.cable_delay", "meter.electronics_delay"];
    for (i, a) in evaluations.iter().enumerate() {
        volume += weight(i) * a.estimate();
        for (j, b) in evaluations.iter().enumerate() {
            for p in &a.budget.lines {
                for q in &b.budget.lines {
                    let (p_name, q_name) = (p.input.name(), q.input.name());
                    let covariance = match (scatter(p_name), p_name == q_name) {
                        (Some(s), true) if i == j => s * s * p.sensitivity * q.sensitivity,
                        (Some(_), _) => 0.0,
                        (None, true) => p.contribution * q.contribution,
                        (None, false)
                            if correlated.contains(&p_name) && correlated.contains(&q_name) =>
                        {
                            0.5 * p.contribution * q.contribution
                        }
                        _ => 0.0,
                    };
                    variance += weight(i) * weight(j) * covariance;
                }
            }
        }
    }
    assert_relative(series.total.estimate, volume, 1e-14, "V");
    assert_relative(
        series.total.standard_uncertainty,
        variance.sqrt(),
        1e-11,
        "u",
    );
}

#[test]
fn systematic_parts_stay_and_random_parts_average_out() {
    let relative = |rows: usize, s: [f64; 3]| {
        let options = SeriesOptions {
            repeatability: stated(s),
            rule: Rule::Hold,
            ..SeriesOptions::default()
        };
        let total = evaluated(&vec![USUAL; rows], options).total;
        total.relative_standard_uncertainty()
    };
    let systematic = relative(1, [0.0; 3]);
    assert_relative(
        relative(5000, [0.0; 3]),
        systematic,
        1e-12,
        "no random part",
    );
    let random = |rows: usize| {
        let both = relative(rows, [20e-9, 0.0, 0.0]);
        (both * both - systematic * systematic).sqrt()
    };
    assert_relative(random(400) / random(100), 0.5, 1e-6, "1/sqrt(n)");
}

#[test]
fn rules_of_integration() {
    let rows: Vec<Row> = [1.0, 0.5, 0.8].map(|share| row(share, 8.0)).to_vec();
    let at = |times: &[f64], options: SeriesOptions| {
        let log = log(&rows, Times::Seconds(times.to_vec()));
        site().evaluate_series(&log, options).expect("series")
    };
    let series = at(&[5.0, 15.0, 25.0], without_scatter());
    let q = series.flow.clone();
    let close = |series: &Series, volume: f64, duration: f64| {
        assert_relative(series.total.estimate, volume, 1e-14, "V");
        assert_relative(series.duration, duration, 1e-15, "duration");
    };
    close(&series, 5.0 * q[0] + 10.0 * q[1] + 5.0 * q[2], 20.0);
    let hold = |gaps| SeriesOptions {
        rule: Rule::Hold,
        gaps,
        ..without_scatter()
    };
    let trapezoid = |gaps| SeriesOptions {
        gaps,
        ..without_scatter()
    };
    close(
        &at(&[5.0, 15.0, 25.0], hold(Gaps::LeaveOut)),
        10.0 * (q[0] + q[1] + q[2]),
        30.0,
    );
    // the usual step is 10 s, the lower of the two
    let gap = [0.0, 10.0, 100.0];
    close(
        &at(&gap, trapezoid(Gaps::LeaveOut)),
        5.0 * (q[0] + q[1]),
        10.0,
    );
    let filled = at(&gap, trapezoid(Gaps::Interpolate));
    close(&filled, 5.0 * (q[0] + q[1]) + 45.0 * (q[1] + q[2]), 100.0);
    assert_relative(
        filled.filled_volume(),
        45.0 * (q[1] + q[2]),
        1e-14,
        "filled",
    );
    let filled = at(&gap, trapezoid(Gaps::Hold));
    close(&filled, 5.0 * (q[0] + q[1]) + 90.0 * q[1], 100.0);
    assert_eq!((filled.counts.gaps, filled.gap_duration()), (1, 90.0));
    close(
        &at(&gap, hold(Gaps::LeaveOut)),
        10.0 * (q[0] + q[1] + q[2]),
        30.0,
    );
    close(
        &at(&gap, hold(Gaps::Hold)),
        10.0 * q[0] + 90.0 * q[1] + 10.0 * q[2],
        110.0,
    );
    // whether a step is a gap is for the user to say
    let wide = SeriesOptions {
        gap_factor: 9.5,
        ..without_scatter()
    };
    assert_eq!(at(&gap, wide).counts.gaps, 0);
}

/// Monte Carlo of a short series: all systematic inputs drawn once for all rows, the readings of each
/// row on their own.
#[test]
fn trials_of_a_total_meet_its_budget() {
    use flowdoubt::montecarlo::MonteCarlo;
    use flowdoubt::scalar::Scalar;
    use flowdoubt::uncertainty::{MeasurementModel, Output};

    struct Total {
        model: flowdoubt::model::SiteModel,
        shared: usize,
        places: [usize; 3],
        rows: usize,
    }
    impl MeasurementModel for Total {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            vec![Output {
                name: "total".to_owned(),
                unit: flowdoubt::units::Unit::named("m3"),
            }]
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            let mut total = S::constant(0.0);
            for row in 0..self.rows {
                let mut own = x[..self.shared].to_vec();
                for (i, place) in self.places.iter().enumerate() {
                    own[*place] = x[self.shared + 3 * row + i];
                }
                let end = row == 0 || row == self.rows - 1;
                total += self.model.steps(&own).volume_flow * if end { 30.0 } else { 60.0 };
            }
            Ok([total])
        }
    }
    let site = site();
    let rows = [row(0.9, 8.0), row(1.0, 8.2), row(1.1, 8.1), row(1.05, 7.9)];
    let s = [4e-9, 0.05e-6, 0.2];
    let series = evaluated(
        &rows,
        SeriesOptions {
            repeatability: stated(s),
            ..SeriesOptions::default()
        },
    );
    let evaluation = alone(&site, row(1.0, 8.1)).expect("evaluation");
    let mut inputs = evaluation.inputs.inputs().to_vec();
    let names = [
        "readings.time_difference",
        "readings.transit_time",
        "liquid.temperature",
    ];
    let place = |name: &&str| {
        inputs
            .iter()
            .position(|i| i.name() == *name)
            .expect("input")
    };
    let places = [place(&names[0]), place(&names[1]), place(&names[2])];
    let shared = inputs.len();
    for (i, row) in rows.iter().enumerate() {
        let si = [row[0] * 1e-9, row[1] * 1e-6, row[2] + 273.15];
        for ((name, value), s) in names.iter().zip(si).zip(s) {
            let name = format!("{name}[{i}]");
            let input = Input::with_standard_uncertainty(&name, value, s, f64::INFINITY);
            inputs.push(input.expect("input"));
        }
    }
    let pair = |i: usize| ["meter.cable_delay", "meter.electronics_delay"][i].to_owned();
    let inputs = InputSet::correlated(inputs, &[(pair(0), pair(1), 0.5)]).expect("inputs");
    let model = Total {
        model: evaluation.model.clone(),
        shared,
        places,
        rows: rows.len(),
    };
    const TRIALS: u64 = 40_000;
    let run = MonteCarlo {
        trials: TRIALS,
        ..MonteCarlo::default()
    };
    let found = run.run(&model, &inputs).expect("trials").swap_remove(0);
    let u = series.total.standard_uncertainty;
    // six standard errors of mean and standard deviation, and what t distributions are wider
    let error = u / (TRIALS as f64).sqrt();
    // and the roughness acts in second order
    assert!((found.mean - series.total.estimate).abs() < 6.0 * error + 0.03 * u);
    assert_relative(
        found.standard_uncertainty,
        u,
        6.0 / (2.0 * TRIALS as f64).sqrt() + 0.02,
        "u",
    );
    // taking everything as independent from row to row would be far off
    let rows_alone = series
        .standard_uncertainty
        .iter()
        .zip([30.0, 60.0, 60.0, 30.0]);
    let independent: f64 = rows_alone.map(|(u, w)| (u * w) * (u * w)).sum::<f64>();
    assert!(independent.sqrt() < 0.8 * u);
}
