//! Darcy's friction factor of turbulent flow in a round pipe.

use crate::error::{Error, Result};
use crate::scalar::{ImplicitEquation, Scalar, implicit_root};
use serde::{Deserialize, Serialize};
use std::f64::consts::LN_10;

/// A friction law.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum FrictionLaw {
    /// Colebrook-White: smooth to fully rough; the Prandtl-Karman law at zero roughness.
    #[default]
    Colebrook,
    /// Haaland: smooth to fully rough, explicit, within 2 % of Colebrook-White.
    Haaland,
    /// Prandtl and von Karman: smooth pipes only.
    Prandtl,
    /// Zagarola and Smits 1998: smooth pipes only, up to very high Reynolds numbers.
    ZagarolaSmits,
    /// McKeon and others 2004: smooth pipes only, up to very high Reynolds numbers.
    #[serde(rename = "mckeon_2004")]
    Mckeon2004,
    /// McKeon, Zagarola and Smits 2005: smooth pipes only, up to very high Reynolds numbers.
    Mckeon,
    /// Blasius: smooth pipes only, up to a Reynolds number of 1e5.
    Blasius,
}

/// Largest Reynolds number of Blasius's law.
const MOST_REYNOLDS_BLASIUS: f64 = 1e5;

impl FrictionLaw {
    /// The laws by the names under which they are chosen.
    pub const NAMED: [(&'static str, FrictionLaw); 7] = [
        ("colebrook", FrictionLaw::Colebrook),
        ("haaland", FrictionLaw::Haaland),
        ("prandtl", FrictionLaw::Prandtl),
        ("zagarola_smits", FrictionLaw::ZagarolaSmits),
        ("mckeon_2004", FrictionLaw::Mckeon2004),
        ("mckeon", FrictionLaw::Mckeon),
        ("blasius", FrictionLaw::Blasius),
    ];

    /// The law of that name.
    ///
    /// # Errors
    /// A name that is not in [`Self::NAMED`]; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<FrictionLaw> {
        let found = Self::NAMED.iter().find(|(own, _)| *own == name);
        let names = Self::NAMED.map(|(own, _)| own);
        found.map_or_else(
            || Err(Error::unknown_name(field, name, &names)),
            |(_, law)| Ok(*law),
        )
    }

    /// The name under which the law is chosen.
    pub fn name(self) -> &'static str {
        let found = Self::NAMED.iter().find(|(_, law)| *law == self);
        found.map_or("", |(name, _)| name)
    }

    /// Whether the law knows smooth pipes only.
    pub fn is_smooth(self) -> bool {
        !matches!(self, FrictionLaw::Colebrook | FrictionLaw::Haaland)
    }

    /// Refuses what lies outside the law, within the range common to all laws.
    ///
    /// # Errors
    /// Roughness with a law for smooth pipes, which would leave it out without a word; a Reynolds
    /// number above 1e5 with Blasius's law.
    pub fn check(self, reynolds: f64, relative_roughness: f64) -> Result<()> {
        if self.is_smooth() && relative_roughness > 0.0 {
            return Err(Error::Conflict {
                field: "relative roughness".to_owned(),
                found: format!(
                    "{relative_roughness} with friction = \"{}\", a law for smooth pipes",
                    self.name()
                ),
                allowed: "0, or friction = \"colebrook\" or \"haaland\"".to_owned(),
            });
        }
        let inside = self != FrictionLaw::Blasius || reynolds <= MOST_REYNOLDS_BLASIUS;
        let allowed = "up to 1e5: Blasius's law of friction";
        Error::range(inside, "Reynolds number", reynolds, "", allowed)
    }
}

/// A law that is implicit in the friction factor, but explicit in `z = Re sqrt(f)`, which is 4 sqrt(2)
/// times the friction Reynolds number.
#[derive(Debug, Clone, Copy)]
pub(super) enum ExplicitFriction {
    /// `1/sqrt(f) = -2 log10(e/3.7 + 2.51/z)`.
    Colebrook,
    /// `1/sqrt(f) = slope log10(z) + offset`, in a smooth pipe.
    Smooth { slope: f64, offset: f64 },
}

impl ExplicitFriction {
    /// The law in this form, if it has one.
    pub fn of(law: FrictionLaw) -> Option<ExplicitFriction> {
        let smooth = |slope, offset| Some(ExplicitFriction::Smooth { slope, offset });
        match law {
            FrictionLaw::Colebrook => Some(ExplicitFriction::Colebrook),
            FrictionLaw::Prandtl => smooth(2.0, -0.8),
            FrictionLaw::ZagarolaSmits => smooth(1.889, -0.3577),
            FrictionLaw::Mckeon2004 => smooth(1.930, -0.537),
            FrictionLaw::Mckeon => smooth(1.920, -0.475),
            FrictionLaw::Haaland | FrictionLaw::Blasius => None,
        }
    }

    /// `1/sqrt(f)`, where `1/z` is `viscous`.
    pub fn root<S: Scalar>(self, viscous: S, relative_roughness: S) -> S {
        match self {
            ExplicitFriction::Colebrook => {
                (relative_roughness / 3.7 + viscous * 2.51).ln() * (-2.0 / LN_10)
            }
            ExplicitFriction::Smooth { slope, offset } => {
                smooth_only(relative_roughness, viscous.ln() * (-slope / LN_10) + offset)
            }
        }
    }
}

/// `x = 1/sqrt(f)` as a function of Reynolds number and relative roughness.
struct FrictionEquation(ExplicitFriction);

impl ImplicitEquation<2> for FrictionEquation {
    fn residual<S: Scalar>(&self, x: S, [reynolds, roughness]: [S; 2]) -> S {
        x - self.0.root(x / reynolds, roughness)
    }
}

/// What a law for smooth pipes says: NaN where the pipe is rough.
fn smooth_only<S: Scalar>(relative_roughness: S, x: S) -> S {
    let rough = S::constant(0.0).less_than(relative_roughness);
    S::select(rough, S::constant(f64::NAN), x)
}

/// All implicit laws are concave in x, so Newton's method from here converges for every Reynolds
/// number of turbulent flow; the friction factor is then 0.02.
const START: f64 = 7.0;
/// From 7, six steps reach the last digit over Reynolds numbers of 2300 to 1e8.
const STEPS: usize = 6;

/// Darcy's friction factor `f` of turbulent flow.
///
/// ```text
/// Colebrook-White:        1/sqrt(f) = -2 log10(e/3.7 + 2.51/(Re sqrt(f)))
/// Haaland:                1/sqrt(f) = -1.8 log10((e/3.7)^1.11 + 6.9/Re)
/// Prandtl, von Karman:    1/sqrt(f) = 2.0   log10(Re sqrt(f)) - 0.8
/// Zagarola, Smits 1998:   1/sqrt(f) = 1.889 log10(Re sqrt(f)) - 0.3577
/// McKeon and others 2004: 1/sqrt(f) = 1.930 log10(Re sqrt(f)) - 0.537
/// McKeon and others 2005: 1/sqrt(f) = 1.920 log10(Re sqrt(f)) - 0.475
/// Blasius:                f = 0.3164 Re^(-1/4)
/// ```
/// NaN where the relative roughness `e` is above zero and the law is for smooth pipes only, as
/// [`FrictionLaw::check`] says in words.
///
/// # Source
/// C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133; S. E. Haaland, J. Fluids Eng. 105 (1983) 89;
/// L. Prandtl 1935 and H. Blasius 1913 after H. Schlichting, *Boundary-Layer Theory*;
/// M. V. Zagarola and A. J. Smits, J. Fluid Mech. 373 (1998) 33; B. J. McKeon and others, J. Fluid
/// Mech. 511 (2004) 41; B. J. McKeon, M. V. Zagarola and A. J. Smits, J. Fluid Mech. 538 (2005) 429
/// (all constants but Colebrook's and Haaland's, which package `fluids` confirms, from memory).
pub fn friction_factor<S: Scalar>(reynolds: S, relative_roughness: S, law: FrictionLaw) -> S {
    let from_root = |x: S| (x * x).recip();
    match ExplicitFriction::of(law) {
        Some(explicit) => {
            let start = S::Real::constant(START);
            let parameters = [reynolds, relative_roughness];
            from_root(implicit_root(
                &FrictionEquation(explicit),
                start,
                STEPS,
                parameters,
            ))
        }
        None if law == FrictionLaw::Haaland => from_root(haaland(reynolds, relative_roughness)),
        None => smooth_only(relative_roughness, reynolds.sqrt().sqrt().recip() * 0.3164),
    }
}

/// `1/sqrt(f)` after Haaland.
fn haaland<S: Scalar>(reynolds: S, relative_roughness: S) -> S {
    // keeps the logarithm of a smooth pipe's roughness finite; its power is then nothing
    let roughness = (relative_roughness / 3.7).max(S::constant(1e-200));
    let rough = roughness.powf(S::constant(1.11));
    (rough + reynolds.recip() * 6.9).ln() * (-1.8 / LN_10)
}
