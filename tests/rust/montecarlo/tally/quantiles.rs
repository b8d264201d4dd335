//! Quantiles within the bound that is stated.

use super::part;
use super::{of_one, run, uniform};
use crate::support::assert_refused;
use flowdoubt::montecarlo::{IntervalKind, MonteCarlo, Tally};
use flowdoubt::scalar::Scalar;
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// As below, anywhere.
    #[test]
    fn quantiles_are_within_their_bound(kind in 0_usize..9, seed in 1_u64..1000, p in 0.002..0.998) {
        check_quantiles(kind, seed, &[p])?;
    }
}

/// At both edges of a gap in the middle, where the values of the pilot end a little before those of the
/// trials.
#[test]
fn quantiles_at_a_gap_are_within_their_bound() {
    for seed in 530..545 {
        // about the share of the trials below the gap, which is not one half
        let p: Vec<f64> = (-1500..1500)
            .map(|k| 0.5 + f64::from(k) / 1.5e5 / 2.0)
            .collect();
        check_quantiles(6, seed, &p).expect("bounds");
    }
}

/// Where the density changes many times over among 64 values of the pilot.
#[test]
fn quantiles_of_a_steep_density_are_within_their_bound() {
    let p: Vec<f64> = (4..60).map(|k| f64::from(k) * 5e-4).collect();
    for seed in 1..40 {
        check_quantiles(8, seed, &p).expect("bounds");
    }
}

/// The order statistic of the same draws, kept, lies within the stated bound, for any distribution,
/// and the bound is below a tenth of the sampling error where the pilot shows the density.
fn check_quantiles(kind: usize, seed: u64, p: &[f64]) -> std::result::Result<(), TestCaseError> {
    let shape = move |u: f64| -> f64 {
        let normal = flowdoubt::scalar::special::normal_quantile(u);
        match kind {
            0 => normal,
            1 => 1e9 + 1e-3 * normal,
            // Cauchy, and a Pareto tail without a mean
            2 => Scalar::tan(std::f64::consts::PI * (u - 0.5)),
            3 => Scalar::powf(u, -1.5),
            4 => {
                if u < 0.3 {
                    -2.0
                } else {
                    5.5
                }
            }
            5 => 4.25,
            // two separate parts, an atom in a continuum, and sizes of every order
            6 => {
                if u < 0.5 {
                    u
                } else {
                    100.0 + u
                }
            }
            7 => {
                if u < 0.2 {
                    0.0
                } else {
                    u
                }
            }
            _ => Scalar::exp(50.0 * normal),
        }
    };
    let (model, set) = (of_one(shape), uniform(&["u"]));
    let run = MonteCarlo {
        trials: 150_000,
        seed,
        ..MonteCarlo::default()
    };
    let kept = run.run(&model, &set).expect("trials").swap_remove(0);
    let tallied = run.tally(&model, &set).expect("tally");
    let summary = tallied.of_output(0);
    for &p in p {
        let number: f64 = p * 150_000.0;
        let rank = (number.ceil() as usize).max(1) - 1;
        let exact = kept.sorted()[rank];
        let quantile = summary.quantile(p).expect("quantile");
        prop_assert!(
            quantile.low <= exact && exact <= quantile.high,
            "{quantile:?} {exact}"
        );
        prop_assert!((quantile.value - exact).abs() <= quantile.error_bound());
        // where numbers are hardly finer than the sampling error, bins are some units in the last place wide
        let unit = quantile.value.abs().next_up() - quantile.value.abs();
        let allowed = (0.1 * quantile.standard_error).max(12.0 * unit);
        prop_assert!(quantile.error_bound() <= allowed, "{quantile:?} {kind}");
    }
    for (p, kind) in [
        (0.95, IntervalKind::Symmetric),
        (0.9, IntervalKind::Shortest),
    ] {
        let (kept, found) = (kept.interval(p, kind), summary.bounded_interval(p, kind));
        let (kept, found) = (kept.expect("interval"), found.expect("interval"));
        let (bound, found) = (found.error_bound, found.interval);
        if kind == IntervalKind::Symmetric {
            prop_assert!((found.low - kept.low).abs() <= bound);
            prop_assert!((found.high - kept.high).abs() <= bound);
        } else {
            let excess = (found.high - found.low) - (kept.high - kept.low);
            let rounding = 1e-12 * (kept.high - kept.low).abs();
            prop_assert!(excess >= -rounding && excess <= bound + rounding);
        }
    }
    Ok(())
}

/// No finite value is lost, however far it lies from the others.
#[test]
fn values_beyond_the_pilot_are_counted() {
    let far = |u: f64| match u {
        u if u < 1e-5 => -1.7e308,
        u if u < 2e-5 => 1.7e308,
        u if u < 3e-5 => 5e-324,
        u => 1.0 + u,
    };
    let (model, set) = (of_one(far), uniform(&["u"]));
    let run = run(400_000);
    let tallied = run.tally(&model, &set).expect("tally");
    let summary = tallied.of_output(0);
    assert_eq!(summary.smallest(), -1.7e308);
    assert_eq!(summary.largest(), 1.7e308);
    let kept = run.run(&model, &set).expect("trials").swap_remove(0);
    for (rank, exact) in kept.sorted().iter().enumerate().step_by(1999) {
        let p = (rank as f64 + 0.5) / 400_000.0;
        let found = summary.quantile(p).expect("quantile");
        assert!(found.low <= *exact && *exact <= found.high, "{rank}");
    }
}

/// An output that does not vary is exact in every respect.
#[test]
fn constant_outputs_are_exact() {
    let (model, set) = (of_one(|_| 0.1), uniform(&["u"]));
    let tallied = run(100_000).tally(&model, &set).expect("tally");
    let summary = tallied.of_output(0);
    assert_eq!((summary.mean, summary.standard_uncertainty), (0.1, 0.0));
    assert_eq!((summary.skewness(), summary.kurtosis()), (None, None));
    assert_eq!(summary.input_correlations(), [None]);
    let quantile = summary.quantile(0.5).expect("quantile");
    assert_eq!((quantile.value, quantile.error_bound()), (0.1, 0.0));
    for kind in [IntervalKind::Symmetric, IntervalKind::Shortest] {
        let interval = summary.interval(0.95, kind).expect("interval");
        assert_eq!((interval.low, interval.high), (0.1, 0.1));
    }
}

/// The size depends on the fineness that is asked for and not on the trials tallied.
#[test]
fn the_size_does_not_grow_with_the_trials() {
    let (model, set) = (of_one(|u| u), uniform(&["u"]));
    let plan = run(10_000_000).plan(&model, &set).expect("plan");
    let small = part(&plan, &model, &set, 0, 8);
    let large = part(&plan, &model, &set, 0, 512);
    assert_eq!(large.trials(), 64 * small.trials());
    // one node more or less, and the few values beyond the pilot
    assert!(
        large.size() <= small.size() + 100,
        "{} {}",
        large.size(),
        small.size()
    );
    // 20 pi sqrt(M) bins of 8 bytes: 16 MiB for 1e9 trials
    let billion = run(1_000_000_000).plan(&model, &set).expect("plan");
    let size = Tally::new(&billion).size();
    assert!(size < 3_000_000, "{size}");
}

#[test]
fn histograms_count_every_trial_inside() {
    let (model, set) = (of_one(|u| u), uniform(&["u"]));
    let tallied = run(200_000).tally(&model, &set).expect("tally");
    let summary = tallied.of_output(0);
    let histogram = summary.histogram(10, 0.0, 1.0).expect("histogram");
    assert_eq!(histogram.edges.len(), 11);
    assert_eq!(histogram.counts.iter().sum::<u64>(), 200_000);
    // six standard deviations of a binomial count
    let near = |c: &u64| (*c as f64 - 20_000.0).abs() < 6.0 * 134.2;
    assert!(histogram.counts.iter().all(near), "{:?}", histogram.counts);
    assert_refused(summary.histogram(0, 0.0, 1.0), "out-of-range", &["classes"]);
    assert_refused(
        summary.histogram(3, 1.0, 1.0),
        "out-of-range",
        &["above the lower"],
    );
}
