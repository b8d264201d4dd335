//! Kinds of noise that readings of a meter may have in time, with the exact variance of their mean.

use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::Scalar;
use flowdoubt::scalar::special::normal_quantile;
use flowdoubt::uncertainty::{Autocorrelated, variance_inflation};

/// A kind of noise with unit variance.
#[derive(Debug, Clone, Copy)]
pub enum Noise {
    /// Autoregressive of first order with a coefficient, with this share of the variance white.
    Autoregressive { phi: f64, white: f64 },
    /// The mean of so many independent numbers, which moves from reading to reading.
    MovingMean(usize),
    /// Autoregressive, then rounded to one standard deviation.
    Rounded { phi: f64 },
}

impl Noise {
    /// The kinds that the rule for the number of terms must serve.
    pub fn kinds() -> Vec<Noise> {
        let mut kinds = Vec::new();
        for phi in [0.0, 0.3, 0.6, 0.8, 0.9, 0.95, 0.967] {
            kinds.push(Noise::Autoregressive { phi, white: 0.0 });
        }
        for phi in [0.6, 0.9, 0.967] {
            for white in [0.2, 0.5] {
                kinds.push(Noise::Autoregressive { phi, white });
            }
        }
        kinds.extend([10, 30].map(Noise::MovingMean));
        kinds.extend([0.0, 0.6, 0.9].map(|phi| Noise::Rounded { phi }));
        kinds
    }

    pub fn in_words(self) -> String {
        match self {
            Noise::Autoregressive { phi, white: 0.0 } => format!("AR(1), {phi}"),
            Noise::Autoregressive { phi, white } => {
                format!("AR(1), {phi}, {} % white", 100.0 * white)
            }
            Noise::MovingMean(length) => format!("moving mean of {length}"),
            Noise::Rounded { phi } => format!("AR(1), {phi}, rounded to 1 sigma"),
        }
    }

    /// The largest lag-one coefficient that the noise has on its way into the readings.
    pub fn strength(self) -> f64 {
        match self {
            Noise::Autoregressive { phi, .. } | Noise::Rounded { phi } => phi,
            Noise::MovingMean(length) => 1.0 - 1.0 / length as f64,
        }
    }

    /// The variance of the mean of `n` readings; rounding to one standard deviation adds nothing
    /// that is seen.
    pub fn variance_of_mean(self, n: usize) -> f64 {
        let of = |rho: &dyn Fn(usize) -> f64| variance_inflation(n, n, rho) / n as f64;
        match self {
            Noise::Autoregressive { phi, white } => {
                (1.0 - white) * of(&|k| Scalar::powi(phi, k as i32)) + white / n as f64
            }
            Noise::MovingMean(length) => of(&|k| (1.0 - k as f64 / length as f64).max(0.0)),
            Noise::Rounded { phi } => of(&|k| Scalar::powi(phi, k as i32)),
        }
    }

    /// `n` readings, of which the mean in the long run is zero.
    pub fn readings(self, n: usize, name: &str) -> Vec<f64> {
        let mut stream = Stream::new(19, name);
        let mut uniform = || stream.next_uniform();
        match self {
            Noise::Autoregressive { phi, white } => {
                let (own, other) = ((1.0 - white).sqrt(), white.sqrt());
                let damped = autoregressive(n, phi, &mut uniform);
                let add = |x| own * x + other * normal_quantile(uniform());
                damped.into_iter().map(add).collect()
            }
            Noise::MovingMean(length) => {
                let independent: Vec<f64> = (0..n + length - 1)
                    .map(|_| normal_quantile(uniform()))
                    .collect();
                let scale = 1.0 / (length as f64).sqrt();
                let windows = independent.windows(length);
                windows.map(|w| scale * w.iter().sum::<f64>()).collect()
            }
            Noise::Rounded { phi } => {
                let offset = uniform();
                let damped = autoregressive(n, phi, &mut uniform);
                let rounded = damped.into_iter().map(|x| (x + offset).round() - offset);
                rounded.collect()
            }
        }
    }
}

/// `n` readings of unit variance after a lag of first order.
pub fn damped(n: usize, phi: f64, name: &str) -> Vec<f64> {
    let mut stream = Stream::new(20, name);
    autoregressive(n, phi, &mut || stream.next_uniform())
}

fn autoregressive(n: usize, phi: f64, uniform: &mut impl FnMut() -> f64) -> Vec<f64> {
    let mut x = normal_quantile(uniform());
    let innovation = (1.0 - phi * phi).sqrt();
    (0..n)
        .map(|_| {
            let now = x;
            x = phi * x + innovation * normal_quantile(uniform());
            now
        })
        .collect()
}

/// What the intervals of a number of series are worth.
#[derive(Debug, Clone, Copy)]
pub struct Found {
    /// Share of the 95 % intervals that hold the mean in the long run.
    pub coverage: f64,
    /// Median of their width over that of the interval with the exact standard uncertainty.
    pub width: f64,
    /// Median effective number of readings.
    pub effective: f64,
    /// The effective number of readings by the exact variance.
    pub exact: f64,
    /// Coverage of the interval with `s / sqrt(n)`.
    pub naive: f64,
}

/// The intervals of `series` series of `n` readings.
pub fn intervals(noise: Noise, n: usize, series: usize) -> Found {
    let exact = noise.variance_of_mean(n);
    let (mut covered, mut naive) = (0, 0);
    let (mut widths, mut effective) = (Vec::new(), Vec::new());
    for i in 0..series {
        let readings = noise.readings(n, &format!("{} {i}", noise.in_words()));
        let a = Autocorrelated::of(&readings, "x").expect("series");
        let interval = flowdoubt::uncertainty::expanded(a.standard_uncertainty, a.dof, 0.95);
        let half = interval.expect("interval").expanded_uncertainty;
        covered += usize::from(a.mean.abs() <= half);
        naive += usize::from(a.mean.abs() <= 1.966 * a.standard_deviation / (n as f64).sqrt());
        widths.push(half / (1.959_964 * exact.sqrt()));
        effective.push(a.effective_count());
    }
    let median = |values: &mut Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values[series / 2]
    };
    Found {
        coverage: covered as f64 / series as f64,
        width: median(&mut widths),
        effective: median(&mut effective),
        exact: 1.0 / exact,
        naive: naive as f64 / series as f64,
    }
}
