//! Readings that depend on each other in time: the uncertainty of their mean.

use crate::support::assert_relative;
use crate::support::noise::{Noise, intervals};
use flowdoubt::uncertainty::{Autocorrelated, Damping, TypeA, autocorrelation, variance_inflation};

#[test]
fn intervals_of_every_kind_of_noise_cover_as_often_as_they_say() {
    for noise in Noise::kinds() {
        let found = intervals(noise, 360, 1000);
        let words = format!("{}: {found:?}", noise.in_words());
        let least = if noise.strength() <= 0.9 { 0.93 } else { 0.90 };
        assert!(found.coverage >= least, "{words}");
        assert!(found.width <= 1.5, "{words}");
        let worth = found.effective / found.exact;
        assert!((0.55..1.3).contains(&worth), "{words}");
        if noise.strength() >= 0.6 {
            assert!(found.naive < 0.85, "{words}");
        }
    }
}

#[test]
fn damped_readings_are_worth_few_independent_ones() {
    // 30 s of damping in rows of 1 s: by s / sqrt(n) the interval held the mean in 17 % of cases
    let phi = flowdoubt::scalar::Scalar::exp(-1.0 / 30.0);
    let noise = Noise::Autoregressive { phi, white: 0.0 };
    let found = intervals(noise, 360, 1000);
    assert!(found.naive < 0.25, "{found:?}");
    assert!(found.coverage >= 0.90, "{found:?}");
    assert!((4.0..10.0).contains(&found.effective), "{found:?}");
}

#[test]
fn independent_readings_keep_their_usual_uncertainty() {
    let white = Noise::Autoregressive {
        phi: 0.0,
        white: 0.0,
    };
    let mut usual = 0;
    for i in 0..100 {
        let readings = white.readings(200, &format!("usual {i}"));
        let a = Autocorrelated::of(&readings, "x").expect("series");
        let plain = TypeA::of(&readings, "x").expect("plain");
        assert_eq!(a.mean, plain.mean);
        assert!(a.standard_uncertainty >= plain.standard_uncertainty());
        if a.effective_count() == 200.0 {
            usual += 1;
            assert_eq!(a.standard_uncertainty, plain.standard_uncertainty());
            assert_eq!(a.dof, 199.0);
        }
    }
    // each of six steps stops one in ten, and half of those that stop are below s / sqrt(n)
    assert!(usual > 40, "{usual}");
    // few readings are as independent as their statistics say
    let few = [7.1, 7.3, 7.2, 7.2];
    let a = Autocorrelated::of(&few, "x").expect("few");
    let plain = TypeA::of(&few, "x").expect("plain");
    assert_eq!(
        (a.standard_uncertainty, a.dof),
        (plain.standard_uncertainty(), 3.0)
    );
    // a series that alternates is not claimed to be better than independent
    let alternating: Vec<f64> = (0..40).map(|i| f64::from(i % 2)).collect();
    let a = Autocorrelated::of(&alternating, "x").expect("series");
    assert_eq!(a.effective_count(), 40.0);
    let constant = Autocorrelated::of(&[3.0; 10], "x").expect("constant");
    assert_eq!((constant.mean, constant.standard_uncertainty), (3.0, 0.0));
    assert_eq!(constant.effective_count(), 10.0);
    assert!(Autocorrelated::of(&[1.0], "x").is_err());
}

#[test]
fn a_drift_is_one_slow_movement() {
    for n in [8_u16, 40, 1000] {
        let drift: Vec<f64> = (0..n).map(f64::from).collect();
        let drift = Autocorrelated::of(&drift, "flow").expect("drift");
        let worth = drift.effective_count();
        // the first term holds 96/pi^4 of a long ramp, so that u^2 = 0.49 s^2 (n - 1)/n
        assert!((2.9..3.7).contains(&worth), "{n}: {worth}");
    }
}

#[test]
fn stated_damping_is_a_lower_bound() {
    let white = Noise::Autoregressive {
        phi: 0.0,
        white: 0.0,
    };
    let readings = white.readings(300, "not damped");
    let plain = Autocorrelated::of(&readings, "x").expect("series");
    for damping in [Damping::TimeConstant(5.0), Damping::Window(20.0)] {
        let damped = plain.damped(damping, 2.0, "x").expect("damped");
        let rho = damping
            .autocorrelation(2.0, 300, "x")
            .expect("coefficients");
        let inflation = variance_inflation(300, rho.len(), |k| rho[k - 1]);
        assert_relative(damped.effective_count(), 300.0 / inflation, 1e-9, "n_eff");
        assert!(damped.from_damping && damped.dof < 299.0);
    }
    // by hand: windows of 3 rows share 2/3 and 1/3 of what they are made of
    let rho = Damping::Window(3.0)
        .autocorrelation(1.0, 10, "x")
        .expect("window");
    assert_relative(rho[0], 2.0 / 3.0, 1e-15, "one row apart");
    assert_relative(rho[1], 1.0 / 3.0, 1e-15, "two rows apart");
    assert_eq!(rho.len(), 2);
    // what the readings show counts where it is more
    let slow = Noise::Autoregressive {
        phi: 0.95,
        white: 0.0,
    };
    let slow = Autocorrelated::of(&slow.readings(300, "slow"), "x").expect("series");
    let damped = slow.damped(Damping::TimeConstant(0.5), 1.0, "x");
    assert_eq!(damped.expect("damped"), slow);
    for (damping, interval) in [
        (Damping::TimeConstant(0.0), 1.0),
        (Damping::Window(f64::NAN), 1.0),
        (Damping::Window(1.0), f64::NAN),
    ] {
        assert!(plain.damped(damping, interval, "x").is_err());
    }
}

#[test]
fn stated_damping_is_right_on_average() {
    // the mean of u^2 over the variance of the mean; its standard error is about 3 %
    let noise = Noise::MovingMean(10);
    let exact = noise.variance_of_mean(200);
    let mut squares = 0.0;
    for i in 0..400 {
        let readings = noise.readings(200, &format!("window {i}"));
        let plain = Autocorrelated {
            standard_uncertainty: 0.0,
            ..Autocorrelated::of(&readings, "x").expect("series")
        };
        let damped = plain
            .damped(Damping::Window(10.0), 1.0, "x")
            .expect("damped");
        squares += damped.standard_uncertainty * damped.standard_uncertainty / 400.0;
    }
    assert!((squares / exact - 1.0).abs() < 0.12, "{}", squares / exact);
}

#[test]
fn coefficients_of_a_short_series_by_hand() {
    // deviations -1, 0, 1, 0 of 1, 2, 3, 2: squares 2; products of neighbours 0, of the next -1
    let found = autocorrelation(&[1.0, 2.0, 3.0, 2.0], 9, "x").expect("coefficients");
    assert_eq!(found, [0.0, -0.5, 0.0]);
    assert_eq!(autocorrelation(&[1.0; 3], 1, "x").expect("constant"), [0.0]);
    assert!(autocorrelation(&[1.0], 1, "x").is_err());
}
