//! Darcy's friction factor of turbulent flow in a round pipe.

use crate::error::{Error, Result};
use crate::scalar::{ImplicitEquation, Scalar, implicit_root};
use serde::{Deserialize, Serialize};
use std::f64::consts::LN_10;

/// A friction law.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FrictionLaw {
    /// Colebrook-White: smooth to fully rough; the Prandtl-Karman law at zero roughness.
    #[default]
    Colebrook,
    /// McKeon, Zagarola and Smits: smooth pipes only, up to very high Reynolds numbers.
    Mckeon,
}

impl FrictionLaw {
    /// The names under which the laws are chosen.
    pub const NAMES: [&'static str; 2] = ["colebrook", "mckeon"];

    /// The law of that name.
    ///
    /// # Errors
    /// A name that is not among [`Self::NAMES`]; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<FrictionLaw> {
        match name {
            "colebrook" => Ok(FrictionLaw::Colebrook),
            "mckeon" => Ok(FrictionLaw::Mckeon),
            _ => Err(Error::unknown_name(field, name, &Self::NAMES)),
        }
    }
}

/// `x = 1/sqrt(f)` as a function of Reynolds number and relative roughness.
struct Colebrook;

impl ImplicitEquation<2> for Colebrook {
    fn residual<S: Scalar>(&self, x: S, [reynolds, roughness]: [S; 2]) -> S {
        x + (roughness / 3.7 + x * 2.51 / reynolds).ln() * (2.0 / LN_10)
    }
}

/// `x = 1/sqrt(f)` of a smooth pipe as a function of the Reynolds number.
struct Mckeon;

impl ImplicitEquation<1> for Mckeon {
    fn residual<S: Scalar>(&self, x: S, [reynolds]: [S; 1]) -> S {
        x - (reynolds / x).ln() * (1.920 / LN_10) + 0.475
    }
}

/// Both laws are concave in x, so Newton's method from here converges for every Reynolds number
/// of turbulent flow; the friction factor is then 0.02.
const START: f64 = 7.0;
/// From 7, six steps reach the last digit over Reynolds numbers of 2300 to 1e8.
const STEPS: usize = 6;

/// Darcy's friction factor `f` of turbulent flow.
///
/// ```text
/// Colebrook-White: 1/sqrt(f) = -2 log10(e/3.7 + 2.51/(Re sqrt(f)))
/// McKeon:          1/sqrt(f) = 1.920 log10(Re sqrt(f)) - 0.475
/// ```
/// `relative_roughness` is ignored by the smooth law.
///
/// # Source
/// C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133; B. J. McKeon, M. V. Zagarola and
/// A. J. Smits, J. Fluid Mech. 538 (2005) 429 (constants from memory).
pub fn friction_factor<S: Scalar>(reynolds: S, relative_roughness: S, law: FrictionLaw) -> S {
    let start = S::Real::constant(START);
    let x = match law {
        FrictionLaw::Colebrook => {
            implicit_root(&Colebrook, start, STEPS, [reynolds, relative_roughness])
        }
        FrictionLaw::Mckeon => implicit_root(&Mckeon, start, STEPS, [reynolds]),
    };
    (x * x).recip()
}
