//! The steps that lead to a profile factor: both sides of the equations that were solved together.

use super::factor::{Regime, SoundPath, intermittency, shifted};
use super::friction::{FrictionLaw, friction_factor};
use super::law::ProfileLaw;
use super::power::Exponent;
use super::turbulent::factor_on;
use crate::derivation::{Notes, Step};
use crate::scalar::Scalar;

/// A profile factor that was solved together with the flow.
pub(crate) struct FactorSteps<'a, S> {
    /// The path.
    pub(crate) path: &'a SoundPath<S>,
    /// The factor.
    pub(crate) factor: S,
    /// The Reynolds number that it leads to.
    pub(crate) reynolds: S,
    /// The relative roughness.
    pub(crate) relative_roughness: S,
    /// The profile law.
    pub(crate) law: ProfileLaw,
    /// The friction law.
    pub(crate) friction: FrictionLaw,
}

impl<S: Scalar> FactorSteps<'_, S> {
    /// Takes the steps down. The factor comes first, as found by iteration; the last step confirms
    /// it.
    pub(crate) fn note<N: Notes<S>>(&self, notes: &mut N) {
        if !N::TAKEN {
            return;
        }
        notes.note(|| {
            Step::new("k", "profile factor", "", self.factor, "1").found(
                "root of the equations from here on, by Newton's method; the last of them gives it \
                 again",
            )
        });
        notes.note(|| Step::new("Re", "Reynolds number", "k*Re_p", self.reynolds, "1"));
        let regime = Regime::at(self.reynolds.value().unwrap_or(f64::NAN));
        let laminar = self.laminar(notes, regime);
        let turbulent = self.turbulent(notes, regime);
        let equation = match (laminar, turbulent) {
            (Some(laminar), None) => laminar.to_owned(),
            (None, _) => "k_t".to_owned(),
            (Some(laminar), Some(())) => format!("1/((1 - gamma)/({laminar}) + gamma/k_t)"),
        };
        notes.note(|| {
            let words = "profile factor, as found above";
            Step::new("k", words, equation, self.factor, "1")
        });
    }

    /// The factor of laminar flow, where it has a share.
    fn laminar<N: Notes<S>>(&self, notes: &mut N, regime: Regime) -> Option<&'static str> {
        if regime == Regime::Turbulent {
            return None;
        }
        let equation = match self.path.offset {
            Some(h) => {
                notes.note(|| {
                    let words = "distance of the path from the axis over the radius";
                    Step::new("h_r", words, "abs(h)*2/D", h, "1")
                });
                "3/4/(1 - h_r^2)"
            }
            None => "3/4",
        };
        if regime == Regime::Transition {
            let words = "share of time in which the flow is turbulent";
            let gamma = intermittency(self.reynolds);
            let shift = self.path.intermittency_shift;
            let symbol = if shift.is_some() { "gamma_0" } else { "gamma" };
            notes.note(|| {
                // x = (Re - 2300)/1700
                let x = "((Re - 2300)/1700)";
                let equation = format!("{x}^3*({x}*({x}*6 - 15) + 10)");
                Step::new(symbol, words, equation, gamma, "1")
                    .from("polynomial of fifth degree from 2300 to 4000, a choice")
            });
            if let Some(shift) = shift {
                notes.note(|| {
                    let equation = "gamma_0*exp(b)/(gamma_0*exp(b) - gamma_0 + 1)";
                    let value = shifted(gamma, shift);
                    Step::new("gamma", words, equation, value, "1").from("odds times exp(b)")
                });
            }
        }
        Some(equation)
    }

    /// The factor of turbulent flow, where it has a share.
    fn turbulent<N: Notes<S>>(&self, notes: &mut N, regime: Regime) -> Option<()> {
        if regime == Regime::Laminar {
            return None;
        }
        let (re, roughness) = (self.reynolds, self.relative_roughness);
        let factor = factor_on(self.path.offset, re, roughness, self.law, self.friction);
        let f = friction_factor(re, roughness, self.friction);
        let follows_friction = !matches!(
            self.law,
            ProfileLaw::Power(
                Exponent::Miller
                    | Exponent::Barenblatt
                    | Exponent::Nikuradse
                    | Exponent::Fixed { .. }
            )
        );
        if follows_friction {
            notes.note(|| friction_step(self.friction, f));
        }
        let words = "profile factor of turbulent flow";
        if self.path.offset.is_some() {
            let equation = "chord_factor(Re, r_k, abs(h)*2/D)";
            notes.note(|| Step::new("k_t", words, equation, factor, "1").from(self.law.in_words()));
            return Some(());
        }
        let equation = match self.law {
            ProfileLaw::Wake(profile) => {
                let u = (f / 8.0).sqrt();
                let friction_reynolds = re * u * 0.5;
                let excess = profile.path_excess(friction_reynolds);
                notes.note(|| {
                    let words = "friction velocity over mean velocity";
                    Step::new("u_f", words, "sqrt(f/8)", u, "1")
                });
                notes.note(|| {
                    let words = "friction Reynolds number, of the radius";
                    Step::new("R_f", words, "Re*u_f/2", friction_reynolds, "1")
                });
                notes.note(|| {
                    let words =
                        "mean on a diameter less mean over the area, in friction velocities";
                    Step::new("Delta", words, "path_excess(R_f)", excess, "1").from(format!(
                        "integral of the profile with wake and viscous layer, {}",
                        profile.in_words()
                    ))
                });
                "1/(1 + u_f*Delta)".to_owned()
            }
            ProfileLaw::Logarithmic { kappa } => format!("1/(1 + sqrt(f/8)/(2*{kappa}))"),
            ProfileLaw::Power(exponent) => {
                let n = exponent.n(re, roughness, self.friction);
                let equation = match exponent {
                    Exponent::Friction => "1/sqrt(f)".to_owned(),
                    Exponent::Miller => "1.66*log10(Re)".to_owned(),
                    Exponent::Barenblatt => "2/3*ln(Re)".to_owned(),
                    Exponent::Nikuradse => "exponent_of_nikuradse(Re)".to_owned(),
                    Exponent::Fixed { n } => n.to_string(),
                };
                notes.note(|| {
                    Step::new(
                        "n",
                        "reciprocal exponent of the power law",
                        equation,
                        n,
                        "1",
                    )
                });
                "2*n/(2*n + 1)".to_owned()
            }
        };
        notes.note(|| Step::new("k_t", words, equation, factor, "1").from(self.law.in_words()));
        Some(())
    }
}

/// The friction factor with its law.
fn friction_step<S: Copy>(law: FrictionLaw, f: S) -> Step<S> {
    let words = "friction factor (Darcy)";
    let explicit = |equation: &'static str| Step::new("f", words, equation, f, "1");
    let root = |other: &'static str| Step::new("f", words, "1/sqrt(f)", f, "1").root_of(other);
    let step = match law {
        FrictionLaw::Colebrook => root("-2*log10(r_k/3.7 + 2.51/(Re*sqrt(f)))"),
        FrictionLaw::Haaland => explicit("1/(1.8*log10((r_k/3.7)^1.11 + 6.9/Re))^2"),
        FrictionLaw::Prandtl => root("2*log10(Re*sqrt(f)) - 0.8"),
        FrictionLaw::ZagarolaSmits => root("1.889*log10(Re*sqrt(f)) - 0.3577"),
        FrictionLaw::Mckeon2004 => root("1.93*log10(Re*sqrt(f)) - 0.537"),
        FrictionLaw::Mckeon => root("1.92*log10(Re*sqrt(f)) - 0.475"),
        FrictionLaw::Blasius => explicit("0.3164/Re^0.25"),
    };
    step.from(law.name())
}
