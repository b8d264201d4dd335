//! How often intervals cover after a verification in place, by simulated meters.

use super::reread;
use crate::support::with;
use crate::verify::{WATER, flow_of, site, square, steady, verified};
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::special::normal_quantile;

/// A verification of the error as installed: runs as pairs of what the meter shows and what a reference
/// with a standard uncertainty of 0.1 % tells, in m3/h, by flow point.
fn verification_of(points: &[Vec<(f64, f64)>]) -> String {
    let mut text = "[verification]\nname = \"v\"\nquestion = \"error as installed\"\n\
                    indicated = \"computed from its readings\"\nrepeatability = \"pooled\"\n\
                    [reference]\nkind = \"master meter\"\n\
                    calibration_factor = { value = \"1\", standard_uncertainty = \"0.1 %\" }\n"
        .to_owned();
    for (n, runs) in points.iter().enumerate() {
        for (shown, told) in runs {
            text += &format!(
                "[[run]]\npoint = \"{n}\"\nreadings = \"{shown}\"\nvolume_flow = \"{told} m3/h\"\n"
            );
        }
    }
    text
}

/// Asserts that as many intervals for 95 % hold the true flow, of so many meters.
#[track_caller]
fn assert_covered(covered: &[usize], meters: usize) {
    println!("intervals that hold the true flow: {covered:?} of {meters}");
    // three standard deviations of a binomial count
    let chance = 3.0 * (0.95 * 0.05 / meters as f64).sqrt();
    for count in covered {
        let share = *count as f64 / meters as f64;
        assert!((share - 0.95).abs() < chance, "{covered:?} of {meters}");
    }
}

/// Meters with curves of their own, verified against a reference with an error of its own, put back,
/// and used at other flows.
#[test]
fn intervals_at_other_flows_cover() {
    const METERS: usize = 800;
    let bare = site(WATER, "");
    let (flows, later) = ([60.0, 110.0, 180.0], [72.0, 150.0, 178.0]);
    let computed = |shown: f64| 3600.0 * flow_of(&bare, &steady(shown));
    let places = flows.map(computed);
    let mut stream = Stream::new(21, "meters");
    let mut deviate = || normal_quantile(stream.next_uniform());
    let mut covered = [0_usize; 3];
    for _ in 0..METERS {
        let factors: [f64; 3] = std::array::from_fn(|_| 1.0 + 0.01 * deviate());
        let true_flow = |flow: f64| {
            let n = usize::from(flow > places[1]);
            let share = (flow - places[n]) / (places[n + 1] - places[n]);
            flow * (factors[n] + share * (factors[n + 1] - factors[n]))
        };
        let of_reference = 1.0 + 0.001 * deviate();
        let mut runs = |n: usize| {
            let told = true_flow(places[n]) / of_reference;
            // what the meter shows scatters by 0.15 %
            let run = |_| (flows[n] * (1.0 + 0.0015 * deviate()), told);
            (0..4).map(run).collect()
        };
        let points: [Vec<(f64, f64)>; 3] = std::array::from_fn(&mut runs);
        let found = verified(&bare, &verification_of(&points));
        let calibrated = bare.calibrated_by(&found).expect("calibrated");
        for (shown, covered) in later.iter().zip(&mut covered) {
            let evaluation = calibrated.evaluate(&steady(*shown)).expect("an evaluation");
            let expanded = evaluation.expanded().expect("U").expanded_uncertainty;
            let error = 3600.0 * evaluation.estimate() - true_flow(computed(*shown));
            *covered += usize::from(error.abs() <= 3600.0 * expanded);
        }
    }
    assert_covered(&covered, METERS);
}

/// The same with sensors that have been off since: mounting and zero are others than in the
/// verification.
#[test]
fn intervals_after_another_mounting_cover() {
    const METERS: usize = 800;
    let more = "[meter]\nzero_velocity = { value = \"0 mm/s\", standard_uncertainty = \"4 mm/s\" }\n\
                [installation]\nremounting = { value = \"1\", standard_uncertainty = \"0.3 %\" }\n";
    let site = site(WATER, more);
    let (flows, later) = ([60.0, 180.0], [66.0, 170.0]);
    let computed = |shown: f64| 3600.0 * flow_of(&site, &steady(shown));
    // 1 mm/s in the bore that was programmed, in m3/h
    let step = 3.6 * std::f64::consts::FRAC_PI_4 * square(0.1541);
    let mut stream = Stream::new(22, "meters");
    let mut deviate = || normal_quantile(stream.next_uniform());
    let mut covered = [0_usize; 2];
    for _ in 0..METERS {
        let mut mounted = || {
            let (zero, factor) = (4.0 * step * deviate(), 1.0 + 0.003 * deviate());
            move |shown: f64| factor * computed(shown - zero)
        };
        let (then, now) = (mounted(), mounted());
        let of_reference = 1.0 + 0.001 * deviate();
        let runs = flows.map(|shown| vec![(shown, then(shown) / of_reference); 2]);
        let found = verified(&site, &verification_of(&runs));
        let calibrated = site.calibrated_by(&found).expect("calibrated");
        let (from, to) = ("\"as verified\"\n", "\"mounted anew\"\n");
        let calibrated = reread(&with(calibrated.text(), from, to));
        for (shown, covered) in later.iter().zip(&mut covered) {
            let evaluation = calibrated.evaluate(&steady(*shown)).expect("an evaluation");
            let expanded = evaluation.expanded().expect("U").expanded_uncertainty;
            let error = 3600.0 * evaluation.estimate() - now(*shown);
            *covered += usize::from(error.abs() <= 3600.0 * expanded);
        }
    }
    assert_covered(&covered, METERS);
}
