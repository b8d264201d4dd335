//! The transition from laminar to turbulent flow.

use crate::error::{Error, Result};
use crate::scalar::Scalar;
use serde::Serialize;

/// Reynolds number at which the flow is turbulent half of the time, where nothing is known of the
/// inlet.
///
/// # Source
/// Friction of drawn brass pipes (T. E. Stanton and J. R. Pannell, Phil. Trans. R. Soc. A 214 (1914)
/// 199) and of smooth tubes (V. E. Senecal, thesis 1951), whose inlets were not especially quiet:
/// single pipes are half turbulent at 2190 to 2500, all together at 2350.
pub const TRANSITION_REYNOLDS: f64 = 2350.0;

/// Limits of that Reynolds number, for a distribution whose density falls linearly from the lower
/// to the upper one, so that its mean is [`TRANSITION_REYNOLDS`].
///
/// Half of the time may be at 1970 to 2960 with a probability of 95 %. The side of quiet inlets is
/// long: two of eight measured pipes were laminar up to 2870 and half turbulent near 2820 to 3000.
/// An inlet as quiet as those of laboratories delays the transition farther yet; then it is to be
/// stated.
pub const TRANSITION_REYNOLDS_LIMITS: [f64; 2] = [1950.0, 3150.0];

/// Range of a stated [`TRANSITION_REYNOLDS`]: turbulence below 1900 dies out, and 20 000 needs the
/// inlet of a laboratory.
const STATED: [f64; 2] = [1900.0, 20_000.0];

/// Width of the transition in the logarithm of the Reynolds number: from its beginning to its end the
/// Reynolds number rises by a factor of 1.65.
const WIDTH: f64 = 0.5;
/// Half of that as a factor on the Reynolds number.
const HALF_WIDTH_FACTOR: f64 = 1.284_025_416_687_741_5; // exp(1/4)

/// Reynolds numbers between which the flow may be laminar or turbulent, by the limits of
/// [`TRANSITION_REYNOLDS_LIMITS`].
pub const TRANSITION: [f64; 2] = [
    TRANSITION_REYNOLDS_LIMITS[0] / HALF_WIDTH_FACTOR,
    TRANSITION_REYNOLDS_LIMITS[1] * HALF_WIDTH_FACTOR,
];

/// Least Reynolds number at which the laws of turbulent flow are evaluated; no transition begins
/// below.
pub(super) const LEAST_TURBULENT: f64 = 1400.0;

/// The state of the flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Regime {
    /// Below the transition.
    Laminar,
    /// Neither surely laminar nor surely turbulent.
    Transition,
    /// Above the transition.
    Turbulent,
}

impl Regime {
    /// The state at a Reynolds number where nothing is known of the inlet.
    pub fn at(reynolds: f64) -> Regime {
        Regime::within(reynolds, TRANSITION_REYNOLDS_LIMITS)
    }

    /// The state at a Reynolds number where the flow is turbulent half of the time at one between
    /// these.
    pub fn within(reynolds: f64, [lowest, highest]: [f64; 2]) -> Regime {
        if reynolds <= lowest / HALF_WIDTH_FACTOR {
            Regime::Laminar
        } else if reynolds < highest * HALF_WIDTH_FACTOR {
            Regime::Transition
        } else {
            Regime::Turbulent
        }
    }

    /// The Reynolds number above which the flow is turbulent by [`Regime::within`].
    pub fn turbulent_above([_, highest]: [f64; 2]) -> f64 {
        highest * HALF_WIDTH_FACTOR
    }

    /// The state in one word.
    pub fn in_words(self) -> &'static str {
        match self {
            Regime::Laminar => "laminar",
            Regime::Transition => "transition",
            Regime::Turbulent => "turbulent",
        }
    }
}

/// Refuses a stated Reynolds number of the transition outside 1900 to 20 000.
///
/// # Errors
/// Outside that range; the error names `field`.
pub fn check_transition(transition_reynolds: f64, field: &str) -> Result<()> {
    let inside = (STATED[0]..=STATED[1]).contains(&transition_reynolds);
    Error::range(inside, field, transition_reynolds, "", "1900 to 20 000")
}

/// Share of time in which the flow is turbulent, `gamma`.
///
/// ```text
/// gamma = x^3 (10 - 15 x + 6 x^2),   x = 2 ln(Re/Re_t) + 1/2,   held between 0 and 1
/// ```
/// `transition_reynolds`, `Re_t`, is where it is one half; see [`TRANSITION_REYNOLDS`]. Another one
/// moves the curve along the logarithm of the Reynolds number and does not make it steeper. Slope and
/// curvature are zero at both ends.
///
/// # Source
/// The polynomial is our choice. With each of eight measured pipes at its own `Re_t`, what is left
/// of their shares is 0.10 (root of the mean square), for widths of 0.4 to 0.55 alike; that friction
/// is measured to some 3 % explains half of it.
pub fn intermittency<S: Scalar>(reynolds: S, transition_reynolds: S) -> S {
    let x = (reynolds / transition_reynolds).ln() / WIDTH + 0.5;
    let x = x.max(S::constant(0.0)).min(S::constant(1.0));
    x * x * x * (x * (x * 6.0 - 15.0) + 10.0)
}

/// Reynolds number above which the flow is turbulent all the time.
pub(super) fn end_of_transition<S: Scalar>(transition_reynolds: S) -> S {
    // a little beyond, so that rounding makes no difference
    transition_reynolds * (HALF_WIDTH_FACTOR * (1.0 + 1e-9))
}
