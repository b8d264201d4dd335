//! Damping: how a meter smooths its readings.

use crate::error::{Error, Result};
use crate::scalar::Scalar;

/// Autocorrelation below which readings are taken as independent.
const NOTHING: f64 = 1e-6;

/// How readings are smoothed in time before they are shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Damping {
    /// A lag of first order with this time constant, in s: after it a step is shown to 63 %.
    TimeConstant(f64),
    /// The mean over a window of this length, in s.
    Window(f64),
}

impl Damping {
    /// The autocorrelation coefficients of independent noise that is damped so, of readings taken
    /// at an `interval` in seconds, from lag one to lag `lags` or to where nothing is left:
    ///
    /// ```text
    /// rho_k = exp(-k interval / time constant),   rho_k = 1 - k interval / window
    /// ```
    ///
    /// # Errors
    /// A time or an interval that is not above zero and finite; the error names `field`.
    pub fn autocorrelation(self, interval: f64, lags: usize, field: &str) -> Result<Vec<f64>> {
        let (Damping::TimeConstant(time) | Damping::Window(time)) = self;
        for (name, value) in [("damping", time), ("interval", interval)] {
            let usable = value > 0.0 && value.is_finite();
            Error::range(usable, format!("{field}.{name}"), value, "s", "above 0")?;
        }
        let coefficient = |k: usize| {
            let lag = k as f64 * interval / time;
            match self {
                Damping::TimeConstant(_) => Scalar::exp(-lag),
                Damping::Window(_) => 1.0 - lag,
            }
        };
        let fades = |rho: &f64| *rho > NOTHING;
        Ok((1..=lags).map(coefficient).take_while(fades).collect())
    }

    /// The time during which readings depend on each other, in s: the sum of the coefficients on
    /// both sides, twice the time constant or the window.
    pub fn correlation_time(self) -> f64 {
        match self {
            Damping::TimeConstant(time) => 2.0 * time,
            Damping::Window(time) => time,
        }
    }
}
