//! Profile laws of fully developed turbulent flow, by name.

use super::power::{Exponent, MOST_REYNOLDS_NIKURADSE};
use super::wake::WakeProfile;
use crate::error::{Error, Result};
use crate::message::{Message, message};
use serde::{Deserialize, Serialize};

/// The shape assumed for a turbulent velocity profile.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ProfileLaw {
    /// A profile with viscous layer and wake; the default is [`WakeProfile::Fitted`].
    Wake(WakeProfile),
    /// The logarithmic law carried to wall and axis, with von Karman's constant.
    Logarithmic {
        /// Von Karman's constant.
        kappa: f64,
    },
    /// The power law.
    Power(Exponent),
}

impl Default for ProfileLaw {
    fn default() -> Self {
        ProfileLaw::Wake(WakeProfile::default())
    }
}

/// A published pair of constants of the logarithmic law `u+ = ln(y+)/kappa + B`.
///
/// The profile factor needs kappa alone; the additive constant acts through friction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogarithmicConstants {
    /// The name under which the law with these constants is chosen.
    pub name: &'static str,
    /// Von Karman's constant.
    pub kappa: f64,
    /// The additive constant `B` in a smooth pipe; NaN where the source gives none.
    pub additive: f64,
    /// Where they were published.
    pub source: &'static str,
}

/// Published constants of the logarithmic law.
pub const LOGARITHMIC_CONSTANTS: [LogarithmicConstants; 8] = [
    LogarithmicConstants {
        name: "logarithmic_bailey",
        kappa: 0.40,
        additive: f64::NAN,
        source: "S. C. C. Bailey et al., J. Fluid Mech. 749 (2014) 79: 0.40 with an uncertainty of 0.02 \
                 (seen, abstract)",
    },
    LogarithmicConstants {
        name: "logarithmic_nikuradse",
        kappa: 0.40,
        additive: 5.5,
        source: "J. Nikuradse, VDI-Forschungsheft 356 (1932), after L. Prandtl (from memory)",
    },
    LogarithmicConstants {
        name: "logarithmic_coles",
        kappa: 0.41,
        additive: 5.0,
        source: "D. E. Coles and E. A. Hirst, Stanford conference (1968) (from memory)",
    },
    LogarithmicConstants {
        name: "logarithmic_zagarola_smits",
        kappa: 0.436,
        additive: 6.15,
        source: "M. V. Zagarola and A. J. Smits, J. Fluid Mech. 373 (1998) 33 (from memory)",
    },
    LogarithmicConstants {
        name: "logarithmic_mckeon",
        kappa: 0.421,
        additive: 5.60,
        source: "B. J. McKeon et al., J. Fluid Mech. 501 (2004) 135 (from memory)",
    },
    LogarithmicConstants {
        name: "logarithmic_marusic",
        kappa: 0.39,
        additive: 4.3,
        source: "I. Marusic et al., J. Fluid Mech. 716 (2013) R3 (from memory)",
    },
    LogarithmicConstants {
        name: "logarithmic_monkewitz",
        kappa: 0.420,
        additive: 5.60,
        source: "P. A. Monkewitz, arXiv 1702.03661, outer layer of pipes (seen, table)",
    },
    LogarithmicConstants {
        name: "logarithmic_pirozzoli",
        kappa: 0.387,
        additive: 4.53,
        source: "S. Pirozzoli et al., J. Fluid Mech. 926 (2021) A28 (kappa seen, abstract; the \
                 additive constant from memory)",
    },
];

/// The laws with names of their own besides [`LOGARITHMIC_CONSTANTS`].
const NAMED: [(&str, ProfileLaw); 10] = [
    ("fitted", ProfileLaw::Wake(WakeProfile::Fitted)),
    ("wake", ProfileLaw::Wake(WakeProfile::Cess)),
    ("wake_cess_040", ProfileLaw::Wake(WakeProfile::Cess040)),
    ("wake_reichardt", ProfileLaw::Wake(WakeProfile::Reichardt)),
    ("wake_cantwell", ProfileLaw::Wake(WakeProfile::Cantwell)),
    (
        "logarithmic",
        ProfileLaw::Logarithmic {
            kappa: ProfileLaw::KAPPA,
        },
    ),
    ("power", ProfileLaw::Power(Exponent::Friction)),
    ("power_miller", ProfileLaw::Power(Exponent::Miller)),
    ("power_barenblatt", ProfileLaw::Power(Exponent::Barenblatt)),
    ("power_nikuradse", ProfileLaw::Power(Exponent::Nikuradse)),
];

impl ProfileLaw {
    /// Von Karman's constant where none is given.
    ///
    /// # Source
    /// S. C. C. Bailey et al., J. Fluid Mech. 749 (2014) 79: 0.40 with an uncertainty of 0.02.
    pub const KAPPA: f64 = 0.40;

    /// All named laws: the name under which each is chosen, and the law.
    pub fn named() -> impl Iterator<Item = (&'static str, ProfileLaw)> {
        let sets = LOGARITHMIC_CONSTANTS.into_iter().map(|set| {
            let kappa = set.kappa;
            (set.name, ProfileLaw::Logarithmic { kappa })
        });
        NAMED.into_iter().chain(sets)
    }

    /// The law of that name.
    ///
    /// # Errors
    /// A name that is not in [`Self::named`]; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<ProfileLaw> {
        let found = Self::named().find(|(own, _)| *own == name);
        found.map(|(_, law)| law).ok_or_else(|| {
            let names: Vec<_> = Self::named().map(|(own, _)| own).collect();
            Error::unknown_name(field, name, &names)
        })
    }

    /// The logarithmic law with another constant of von Karman.
    ///
    /// # Errors
    /// A constant outside 0.35 to 0.45, or one for another law; the error names `field`.
    pub fn with_kappa(self, kappa: Option<f64>, field: &str) -> Result<ProfileLaw> {
        let Some(kappa) = kappa else { return Ok(self) };
        let inside = (0.35..=0.45).contains(&kappa);
        Error::range(inside, field, kappa, "", "0.35 to 0.45")?;
        match self {
            ProfileLaw::Logarithmic { .. } => Ok(ProfileLaw::Logarithmic { kappa }),
            _ => Err(self.knows_no("kappa", "logarithmic", field)),
        }
    }

    /// The power law with a fixed `n`.
    ///
    /// # Errors
    /// A number outside 4 to 15, or one for another law; the error names `field`.
    pub fn with_n(self, n: Option<f64>, field: &str) -> Result<ProfileLaw> {
        let Some(n) = n else { return Ok(self) };
        let inside = (4.0..=15.0).contains(&n);
        Error::range(inside, field, n, "", "4 to 15")?;
        match self {
            ProfileLaw::Power(_) => Ok(ProfileLaw::Power(Exponent::Fixed { n })),
            _ => Err(self.knows_no("n", "power", field)),
        }
    }

    fn knows_no(self, constant: &str, law: &str, field: &str) -> Error {
        Error::Conflict {
            field: field.to_owned(),
            found: format!("{constant} with the {}", self.in_words()),
            allowed: format!("{constant} with law = \"{law}\" only"),
        }
    }

    /// Whether the law depends on the friction factor.
    pub fn follows_friction(self) -> bool {
        match self {
            ProfileLaw::Wake(_) | ProfileLaw::Logarithmic { .. } => true,
            ProfileLaw::Power(exponent) => exponent == Exponent::Friction,
        }
    }

    /// Refuses a Reynolds number above the range of the law, within that common to all laws.
    ///
    /// # Errors
    /// Above 3.24e6 with Nikuradse's exponents.
    pub fn check(self, reynolds: f64) -> Result<()> {
        let nikuradse = self == ProfileLaw::Power(Exponent::Nikuradse);
        let inside = !nikuradse || reynolds <= MOST_REYNOLDS_NIKURADSE;
        let allowed = "up to 3.24e6: Nikuradse's exponents of the power law";
        Error::range(inside, "Reynolds number", reynolds, "", allowed)
    }

    /// The law in words.
    pub fn in_words(&self) -> String {
        self.told().words()
    }

    /// As [`ProfileLaw::in_words`], to be said in any language.
    pub fn told(&self) -> Message {
        let power =
            |exponent: String| message!("laws.power", "power law, {exponent}", exponent = exponent);
        match self {
            ProfileLaw::Wake(WakeProfile::Fitted) => message!(
                "laws.fitted",
                "profile fitted to measurements and simulations"
            ),
            ProfileLaw::Wake(profile) => message!(
                "laws.wake",
                "profile with wake and viscous layer, {profile}",
                profile = profile.in_words()
            ),
            ProfileLaw::Logarithmic { kappa } => message!(
                "laws.logarithmic",
                "logarithmic law, {kappa}",
                kappa = format!("kappa = {kappa}")
            ),
            ProfileLaw::Power(exponent) => match exponent {
                Exponent::Friction => power("n = 1/sqrt(f)".to_owned()),
                Exponent::Miller => power("n = 1.66 log10(Re)".to_owned()),
                Exponent::Barenblatt => power("n = (2/3) ln(Re)".to_owned()),
                Exponent::Nikuradse => message!("laws.nikuradse", "power law, n of Nikuradse"),
                Exponent::Fixed { n } => power(format!("n = {n}")),
            },
        }
    }
}
