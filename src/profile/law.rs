//! Profile laws of fully developed turbulent flow.

use super::friction::{FrictionLaw, friction_factor};
use super::wake_fit::{FRICTION_REYNOLDS, PATH_EXCESS};
use crate::error::{Error, Result};
use crate::scalar::{Scalar, chebyshev};
use serde::{Deserialize, Serialize};

/// The shape assumed for a turbulent velocity profile.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ProfileLaw {
    /// A profile with viscous layer and wake, from an eddy viscosity; the default.
    #[default]
    Wake,
    /// The logarithmic law carried to wall and axis, with von Karman's constant.
    Logarithmic {
        /// Von Karman's constant.
        kappa: f64,
    },
    /// The power law with exponent `1/n`, `n = 1/sqrt(f)`.
    Power,
    /// The power law with a fixed `n`.
    PowerOf {
        /// The reciprocal `n` of the exponent.
        n: f64,
    },
}

impl ProfileLaw {
    /// The names under which the laws are chosen.
    pub const NAMES: [&'static str; 3] = ["wake", "logarithmic", "power"];
    /// Von Karman's constant where none is given.
    ///
    /// # Source
    /// S. C. C. Bailey et al., J. Fluid Mech. 749 (2014) 79: 0.40 with a doubt of 0.02.
    pub const KAPPA: f64 = 0.40;

    /// The law of that name with its default constants.
    ///
    /// # Errors
    /// A name that is not among [`Self::NAMES`]; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<ProfileLaw> {
        match name {
            "wake" => Ok(ProfileLaw::Wake),
            "logarithmic" => Ok(ProfileLaw::Logarithmic { kappa: Self::KAPPA }),
            "power" => Ok(ProfileLaw::Power),
            _ => Err(Error::unknown_name(field, name, &Self::NAMES)),
        }
    }

    /// The law with another constant of von Karman.
    ///
    /// # Errors
    /// A constant outside 0.35 to 0.45, or one for a law that has none; the error names `field`.
    pub fn with_kappa(self, kappa: Option<f64>, field: &str) -> Result<ProfileLaw> {
        let Some(kappa) = kappa else { return Ok(self) };
        let inside = (0.35..=0.45).contains(&kappa);
        Error::range(inside, field, kappa, "", "0.35 to 0.45")?;
        match self {
            ProfileLaw::Logarithmic { .. } => Ok(ProfileLaw::Logarithmic { kappa }),
            _ => Err(Error::Conflict {
                field: field.to_owned(),
                found: format!("kappa with the {}", self.in_words()),
                allowed: "kappa with law = \"logarithmic\" only".to_owned(),
            }),
        }
    }

    /// The law in words.
    pub fn in_words(&self) -> String {
        match self {
            ProfileLaw::Wake => "profile with wake and viscous layer".to_owned(),
            ProfileLaw::Logarithmic { kappa } => format!("logarithmic law, kappa = {kappa}"),
            ProfileLaw::Power => "power law, n = 1/sqrt(f)".to_owned(),
            ProfileLaw::PowerOf { n } => format!("power law, n = {n}"),
        }
    }
}

/// Profile factor `k` of turbulent flow: area mean velocity over the mean on a diametral path.
///
/// ```text
/// wake:         k = 1 / (1 + sqrt(f/8) Delta(R+)),   R+ = Re sqrt(f/8) / 2
/// logarithmic:  k = 1 / (1 + sqrt(f/8) / (2 kappa))
/// power:        k = 2 n / (2 n + 1)
/// ```
/// `Delta` is the excess of the path mean over the area mean in units of the friction velocity.
/// Roughness acts through the friction factor alone, as outer-layer similarity has it (A. A.
/// Townsend, *The Structure of Turbulent Shear Flow*, 2nd ed. 1976; from memory).
///
/// # Source
/// Wake: eddy viscosity of R. D. Cess 1958, see `wake_fit.rs`. Logarithmic and power law: by
/// integration of the profile; `n = 1/sqrt(f)`: W. Nunner 1956 after J. Nikuradse (from memory).
pub fn turbulent_factor<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let f = || friction_factor(reynolds, relative_roughness, friction);
    // friction velocity over area mean velocity
    let friction_velocity = || (f() / 8.0).sqrt();
    let power = |n: S| n * 2.0 / (n * 2.0 + 1.0);
    match law {
        ProfileLaw::Wake => {
            let u = friction_velocity();
            let excess = path_excess(reynolds * u * 0.5);
            (u * excess + 1.0).recip()
        }
        ProfileLaw::Logarithmic { kappa } => (friction_velocity() / (2.0 * kappa) + 1.0).recip(),
        ProfileLaw::Power => power(f().sqrt().recip()),
        ProfileLaw::PowerOf { n } => power(S::constant(n)),
    }
}

/// Path excess `Delta` of a profile with wake: the mean velocity on a diametral path less the mean
/// over the area, in units of the friction velocity.
///
/// `friction_reynolds` is `R+ = R u*/nu`, from radius and friction velocity, 50 to 5e6.
///
/// # Source
/// See `wake_fit.rs`, whose series this evaluates.
pub fn path_excess<S: Scalar>(friction_reynolds: S) -> S {
    let range = FRICTION_REYNOLDS.map(Scalar::ln);
    chebyshev(&PATH_EXCESS, range, friction_reynolds.ln())
}
