//! One model over both sides: errors, signs, correlations and their effect.

use super::{
    WATER, asked_of_the_demonstration, columns, demonstrated, flow_of, site, square, steady,
    verified,
};
use crate::support::{assert_relative, with};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::uncertainty::{JointResult, propagate};
use flowdoubt::verify::{RunResult, Verification, VerificationResult};
use proptest::prelude::*;

fn master(flow_m3_s: f64, more: &str) -> String {
    format!(
        "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"master meter\"\n{more}\n[[run]]\n\
         point = \"p\"\nreadings = \"60\"\nvolume_flow = \"{flow_m3_s:e} m3/s\"\n"
    )
}

const CALIBRATED: &str = "calibration_factor = { value = \"1\", standard_uncertainty = \"0.1 %\" }";

fn uncertain() -> flowdoubt::site::Site {
    let more = "[meter]\ncalibration_factor = { value = \"1\", standard_uncertainty = \"0.5 %\" }";
    site(WATER, more)
}

#[test]
fn equal_flows_have_no_error() {
    let site = uncertain();
    let flow = flow_of(&site, &steady(60.0));
    let run = &verified(&site, &master(flow, CALIBRATED)).runs[0];
    assert!(run.error.value.abs() < 1e-15);
    assert_relative(run.meter_factor.value, 1.0, 1e-15, "meter factor");
    assert!(run.scores.expect("scores").e_n.expect("E_n").abs() < 1e-12);
    // independent sides: squares add; the flow grows by more than its calibration factor, since the
    // profile gets flatter
    let lines = run.error_budget.lines.iter();
    let mut own = lines.filter(|line| line.input.name() == "meter.calibration_factor");
    let slope = own.next().expect("line").sensitivity;
    assert_relative(slope, 1.0, 0.01, "slope");
    let expected = (square(0.005 * slope) + square(0.001)).sqrt();
    assert_relative(run.error.standard_uncertainty, expected, 1e-9, "u");
    assert!(run.correlation.expect("r").abs() < 1e-12);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// A meter that reads too much has a positive error and a meter factor below one.
    #[test]
    fn signs_are_those_of_the_trade(share in -0.2..0.2_f64) {
        let site = uncertain();
        let flow = flow_of(&site, &steady(60.0)) / (1.0 + share);
        let run = verified(&site, &master(flow, CALIBRATED)).runs.remove(0);
        prop_assert!((run.error.value - share).abs() < 1e-12);
        prop_assert!((run.meter_factor.value * (1.0 + run.error.value) - 1.0).abs() < 1e-12);
        prop_assert!(run.scores.expect("scores").zeta.expect("zeta") * share >= 0.0);
        // u(F) = u(e) / (1 + e)^2
        let expected = run.error.standard_uncertainty * square(run.meter_factor.value);
        prop_assert!((run.meter_factor.standard_uncertainty / expected - 1.0).abs() < 1e-9);
    }
}

/// A weighing needs the density at the meter, and so does nothing else; a meter in hot water shares
/// its temperature with it.
fn weighed(temperature: &str) -> String {
    format!(
        "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"weighing\"\nstart = \"flying\"\n\
         air_density = \"1.2 kg/m3\"\ndiverter_error = \"0 s\"\nduration = \"60 s\"\n\
         calibration_factor = {{ value = \"1\", standard_uncertainty = \"0.01 %\" }}\n{temperature}\n\
         [[run]]\npoint = \"p\"\nreadings = \"60\"\nmass = \"1000 kg\"\n"
    )
}

#[test]
fn what_enters_both_sides_is_one_input() {
    let liquid = format!("{WATER}\nthermometer = {{ standard_uncertainty = \"3 K\" }}");
    let site = site(&liquid, "");
    let result = verified(&site, &weighed(""));
    let run = &result.runs[0];
    let names: Vec<&str> = result
        .run_inputs
        .inputs()
        .iter()
        .map(|i| i.name())
        .collect();
    let shared = names
        .iter()
        .filter(|n| n.contains("liquid.temperature.instrument"));
    assert_eq!(shared.count(), 1, "{names:?}");
    // the covariance is that of the law of propagation: by differences of both flows along the
    // temperature, since nothing else is shared
    let warmer = |t: f64| {
        let readings = columns(&[60.0, 60.0], &[t, t]);
        let evaluation = site.evaluate(&readings).expect("evaluation");
        (evaluation.estimate(), 1.0 / evaluation.steps.liquid_density)
    };
    let (low, high, here) = (warmer(17.9), warmer(18.1), warmer(18.0));
    let along_meter = (high.0 - low.0) / 0.2;
    let along_reference = (high.1 - low.1) / 0.2 / here.1 * run.reference_flow.value;
    let covariance = along_meter * along_reference * 9.0;
    let u = run.meter_flow.standard_uncertainty * run.reference_flow.standard_uncertainty;
    let r = run.correlation.expect("r");
    // the buoyancy depends on the density as well, by a thousandth
    assert_relative(r, covariance / u, 2e-3, "correlation");
    assert!(r.abs() > 0.05, "{r}");
}

#[test]
fn shared_inputs_with_the_same_effect_take_uncertainty_away() {
    // both sides rise with the temperature of the liquid: independent thermometers are worse
    let liquid = format!("{WATER}\nthermometer = {{ standard_uncertainty = \"3 K\" }}");
    let site = site(&liquid, "");
    let run = |text: &str| verified(&site, text).runs.remove(0);
    let shared = run(&weighed(""));
    let r = shared.correlation.expect("r");
    assert!(r > 0.0, "{r}");
    let squares = |run: &RunResult| {
        let (m, f) = (run.meter_flow, run.reference_flow);
        let relative = |q: flowdoubt::verify::OfQuantity| q.standard_uncertainty / q.value;
        square(relative(m)) + square(relative(f))
    };
    let apart = squares(&shared).sqrt() * (1.0 + shared.error.value);
    assert!(shared.error.standard_uncertainty < apart);
}

#[test]
fn runs_and_points_share_what_is_systematic() {
    let (site, verification) = asked_of_the_demonstration("agreement");
    let result = site.verify(&verification).expect("result");
    assert_eq!(result.runs.len(), 12);
    assert_eq!(result.points.len(), 3);
    for (i, row) in result.error_correlation.iter().enumerate() {
        for (j, r) in row.iter().enumerate() {
            let r = r.expect("r");
            assert_relative(
                r,
                result.error_correlation[j][i].expect("r"),
                1e-15,
                "symmetric",
            );
            assert!(i == j || (0.9..1.0).contains(&r), "{r}");
            let u = result.error_covariance[i][i] * result.error_covariance[j][j];
            assert_relative(
                result.error_covariance[i][j],
                r * u.sqrt(),
                1e-12,
                "covariance",
            );
        }
    }
    // a budget shows what its own output depends on, and loses nothing by it
    for point in &result.points {
        let lines = &point.error_budget.lines;
        let name = |i: usize| lines[i].input.name();
        assert!(
            (0..lines.len())
                .all(|i| !name(i).ends_with("time_difference") || name(i).starts_with("meter."))
        );
        let shares: f64 = lines.iter().map(|line| line.share).sum();
        assert_relative(shares, 1.0, 1e-12, "shares");
    }
    // the mean over two placements halves the variance of mounting
    let line = |budget: &flowdoubt::uncertainty::Budget, name: &str| {
        let mut own = budget.lines.iter().filter(|line| line.input.name() == name);
        own.next()
            .unwrap_or_else(|| panic!("no {name}"))
            .contribution
    };
    let of_run = line(
        &result.runs[0].error_budget,
        "placement[A].installation.remounting",
    );
    let of_point = line(
        &result.points[0].error_budget,
        "placement[A].installation.remounting",
    );
    assert_relative(of_point, 0.5 * of_run, 0.01, "half");
}

#[test]
fn the_uncertainty_of_a_law_is_one_deviation_scaled() {
    // a law's half-width depends on the Reynolds number, so it differs between the points
    let (site, verification) = asked_of_the_demonstration("agreement");
    let result = site.verify(&verification).expect("result");
    let own = |run: usize| result.evaluations[run].inputs.inputs();
    for run in [0, 5] {
        let law = own(run)
            .iter()
            .find(|i| i.name() == "profile.law_factor")
            .expect("law");
        let budget = &result.runs[run].error_budget;
        let line = budget
            .lines
            .iter()
            .find(|l| l.input.name() == "profile.law_factor");
        let contribution = line.expect("line").contribution;
        let expected = (1.0 + result.runs[run].error.value) * law.standard_uncertainty();
        assert_relative(contribution, expected, 0.01, "law");
    }
}

#[test]
fn a_point_of_single_runs_is_a_run() {
    let (site, _) = demonstrated();
    let text = crate::support::demo("verification.toml");
    let head = text
        .split("\n[[point]]\nname = \"middle\"")
        .next()
        .expect("head");
    let run = text.split("[[run]]").nth(1).expect("run");
    let first = format!("{head}\n[[run]]{run}");
    let directory = format!("{}/notebooks/demo/", env!("CARGO_MANIFEST_DIR"));
    let verification = Verification::from_toml(&first, directory + "v.toml");
    let verification = verification.unwrap_or_else(|e| panic!("{e}"));
    let result = site.verify(&verification).unwrap_or_else(|e| panic!("{e}"));
    let (run, point) = (&result.runs[0], &result.points[0]);
    assert_relative(point.error.value, run.error.value, 1e-15, "error");
    let (own, of_run) = (
        point.error.standard_uncertainty,
        run.error.standard_uncertainty,
    );
    assert_relative(own, of_run, 1e-14, "u");
    assert!(
        result
            .warnings
            .iter()
            .any(|w| w.code == "repeatability-unknown")
    );
}

fn close(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found}, first order {expected}"
    );
}

#[test]
fn monte_carlo_agrees_with_first_order() {
    let (site, verification) = demonstrated();
    let result: VerificationResult = site.verify(&verification).expect("result");
    let run = MonteCarlo {
        trials: 10_000,
        seed: 7,
        ..MonteCarlo::default()
    };
    let trials = result.monte_carlo(run).expect("trials");
    let joint = trials.joint_result();
    let budgets = propagate(&result.model, &result.inputs).expect("budgets");
    let first = JointResult::of_budgets(&budgets, &result.inputs).expect("joint");
    let n = 10_000_f64;
    for (i, output) in joint.outputs.iter().enumerate() {
        let u = first.standard_uncertainty(i);
        // five standard errors; the mean differs by second order as well (wedge angle), the spread
        // by the wider Student's t of short series
        close(
            joint.estimates[i],
            first.estimates[i],
            0.06 * u + 5.0 * u / n.sqrt(),
            &output.name,
        );
        close(joint.standard_uncertainty(i), u, 0.05 * u, &output.name);
        for j in 0..i {
            close(
                joint.correlation(i, j),
                first.correlation(i, j),
                0.05,
                &output.name,
            );
        }
    }
    let share = result.conforming_share(&trials).expect("share");
    let bound = 1.0
        - result
            .decision
            .as_ref()
            .expect("decision")
            .largest_consumers_risk
            .expect("risk");
    assert!(share > bound - 0.003, "{share} {bound}");
}

#[test]
fn correlations_of_the_file_are_between_its_inputs() {
    let site = uncertain();
    let flow = flow_of(&site, &steady(60.0));
    let text = master(flow, CALIBRATED);
    let correlated = format!(
        "{text}[[correlation]]\nbetween = [\"meter.calibration_factor\", \
         \"reference.calibration_factor\"]\ncoefficient = 1.0\n"
    );
    let run = verified(&site, &correlated).runs.remove(0);
    // calibrated against the same standard: uncertainties subtract
    assert_relative(run.error.standard_uncertainty, 0.004, 0.01, "u");
    assert_relative(run.correlation.expect("r"), 1.0, 1e-12, "r");
    let misspelt = with(
        &correlated,
        "\"meter.calibration_factor\"",
        "\"meter.calibration_facto\"",
    );
    let verification = super::verification(&misspelt).expect("file");
    crate::support::assert_refused(
        site.verify(&verification),
        "unknown-name",
        &[
            "verification.toml:12",
            "did you mean `meter.calibration_factor`?",
        ],
    );
}
