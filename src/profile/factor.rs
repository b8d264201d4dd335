//! The profile factor from laminar to turbulent flow, alone and solved together with the flow.

use super::FrictionLaw;
use super::law::{ProfileLaw, turbulent_factor};
use crate::error::{Error, Result};
use crate::scalar::{ImplicitEquation, Scalar, implicit_root};
use serde::Serialize;

/// Profile factor of laminar flow, exactly: area mean 1/2, path mean 2/3 of the axial velocity.
pub const LAMINAR_FACTOR: f64 = 0.75;

/// Reynolds numbers at which the transition from laminar flow begins and ends.
///
/// # Source
/// Common practice without a single source; the limits of V. Gnielinski's interpolation, Int. J.
/// Heat Mass Transfer 63 (2013) 134 (from memory).
pub const TRANSITION: [f64; 2] = [2300.0, 4000.0];

/// Largest Reynolds number and relative roughness of validity.
const MOST_REYNOLDS: f64 = 1e8;
const MOST_ROUGHNESS: f64 = 0.05;

/// The state of the flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Regime {
    /// Below the transition.
    Laminar,
    /// Neither laminar nor turbulent all the time.
    Transition,
    /// Above the transition.
    Turbulent,
}

impl Regime {
    /// The state at a Reynolds number.
    pub fn at(reynolds: f64) -> Regime {
        match reynolds {
            r if r <= TRANSITION[0] => Regime::Laminar,
            r if r < TRANSITION[1] => Regime::Transition,
            _ => Regime::Turbulent,
        }
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

/// Refuses a Reynolds number or relative roughness outside the validity of the laws.
///
/// # Errors
/// Reynolds number outside 0 to 1e8, relative roughness outside 0 to 0.05.
pub fn check(reynolds: f64, relative_roughness: f64) -> Result<()> {
    let inside = (0.0..=MOST_REYNOLDS).contains(&reynolds);
    Error::range(inside, "Reynolds number", reynolds, "", "0 to 1e8")?;
    let inside = (0.0..=MOST_ROUGHNESS).contains(&relative_roughness);
    let field = "relative roughness";
    Error::range(inside, field, relative_roughness, "", "0 to 0.05")
}

/// Refuses a Reynolds number or relative roughness for which there is no turbulent friction.
///
/// # Errors
/// Reynolds number outside 2300 to 1e8, relative roughness outside 0 to 0.05.
pub fn check_turbulent(reynolds: f64, relative_roughness: f64) -> Result<()> {
    check(reynolds, relative_roughness)?;
    let allowed = "2300 to 1e8: a friction law of turbulent flow";
    Error::range(
        reynolds >= TRANSITION[0],
        "Reynolds number",
        reynolds,
        "",
        allowed,
    )
}

/// Share of time in which the flow is turbulent, `gamma`.
///
/// A polynomial of fifth degree in the Reynolds number over the transition, with zero slope and
/// curvature at both ends; the shape between the limits is our own choice, and the doubt of the
/// factor is widened there.
pub fn intermittency<S: Scalar>(reynolds: S) -> S {
    let [begin, end] = TRANSITION;
    let x = (reynolds - begin) / (end - begin);
    let x = x.max(S::constant(0.0)).min(S::constant(1.0));
    x * x * x * (x * (x * 6.0 - 15.0) + 10.0)
}

/// Profile factor `k`: area mean velocity over the mean on a diametral path.
///
/// ```text
/// 1/k = (1 - gamma) / (3/4) + gamma / k_turbulent
/// ```
/// In the transition the flow is laminar and turbulent in turn at the same flow rate, so the path
/// means, and with them the reciprocals of `k`, mix by the share of time.
///
/// `reynolds >= 0`; NaN outside the range that [`check`] states in words.
pub fn correction_factor<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let gamma = intermittency(reynolds);
    let turbulent = reynolds.max(S::constant(TRANSITION[0]));
    let turbulent = turbulent_factor(turbulent, relative_roughness, law, friction);
    ((-gamma + 1.0) / LAMINAR_FACTOR + gamma / turbulent).recip()
}

/// `k = K(k Re_path)`: the factor at the Reynolds number that it leads to.
struct FactorEquation {
    law: ProfileLaw,
    friction: FrictionLaw,
}

impl ImplicitEquation<2> for FactorEquation {
    fn residual<S: Scalar>(&self, k: S, [path_reynolds, roughness]: [S; 2]) -> S {
        k - correction_factor(k * path_reynolds, roughness, self.law, self.friction)
    }
}

/// Steps of Newton's method from [`START`]: three are enough in turbulent flow, eight in the
/// transition.
const STEPS: usize = 8;
const START: f64 = 0.93;

/// The profile factor solved together with the flow.
///
/// `path_reynolds` is the Reynolds number of the path-mean velocity, `Re / k`. The result is the
/// root of `k = K(k Re_path)`, which is single because `K` rises by less than its argument.
///
/// NaN outside the range that [`check`] states in words.
pub fn factor_for_path_velocity<S: Scalar>(
    path_reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let equation = FactorEquation { law, friction };
    let start = S::Real::constant(START);
    implicit_root(&equation, start, STEPS, [path_reynolds, relative_roughness])
}
