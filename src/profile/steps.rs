//! The steps that lead to a profile factor: both sides of the equations that were solved together.

use super::conditions::Conditions;
use super::friction::{FrictionLaw, friction_factor};
use super::law::ProfileLaw;
use super::power::Exponent;
use super::transition::TRANSITION_REYNOLDS;
use super::turbulent::factor_on;
use crate::derivation::{Notes, Step};
use crate::scalar::Scalar;

/// A profile factor that was solved together with the flow.
pub(crate) struct FactorSteps<'a, S> {
    /// Path, transition and friction.
    pub(crate) conditions: &'a Conditions<S>,
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
        // NaN, which is neither, has both
        let gamma = self.conditions.intermittency(self.reynolds);
        let share = gamma.value().unwrap_or(f64::NAN);
        self.path(notes);
        if share == 0.0 {
            let laminar = self.laminar();
            let words = "profile factor, as found above: laminar flow";
            notes.note(|| Step::new("k", words, laminar, self.factor, "1"));
            return;
        }
        if share != 1.0 {
            self.intermittency(notes, gamma);
        }
        self.turbulent(notes);
        let equation = if share == 1.0 {
            "k_t".to_owned()
        } else {
            format!("1/((1 - gamma)/({}) + gamma/k_t)", self.laminar())
        };
        notes.note(|| {
            let words = "profile factor, as found above";
            Step::new("k", words, equation, self.factor, "1")
        });
    }

    /// Offset and width of the beam over the radius.
    fn path<N: Notes<S>>(&self, notes: &mut N) {
        if let Some(h) = self.conditions.offset {
            notes.note(|| {
                let words = "distance of the path from the axis over the radius";
                Step::new("h_r", words, "abs(h)*2/D", h, "1")
            });
        }
        if let Some(b) = self.conditions.beam {
            notes.note(|| {
                let words = "width of the beam over the diameter";
                Step::new("b_r", words, "w_b/D", b, "1")
            });
        }
    }

    /// The factor of laminar flow.
    fn laminar(&self) -> &'static str {
        match (self.conditions.offset, self.conditions.beam) {
            (None, None) => "3/4",
            (Some(_), None) => "3/4/(1 - h_r^2)",
            (None, Some(_)) => "3/4/(1 - b_r^2/3)",
            (Some(_), Some(_)) => "3/4/(1 - h_r^2 - b_r^2/3)",
        }
    }

    /// The share of turbulent time, between its ends.
    fn intermittency<N: Notes<S>>(&self, notes: &mut N, gamma: S) {
        let centre = match self.conditions.transition_reynolds {
            Some(_) => "Re_t".to_owned(),
            None => TRANSITION_REYNOLDS.to_string(),
        };
        notes.note(|| {
            // x = 2 ln(Re/Re_t) + 1/2
            let x = format!("(2*ln(Re/{centre}) + 1/2)");
            let words = "share of time in which the flow is turbulent";
            Step::new(
                "gamma",
                words,
                format!("{x}^3*({x}*({x}*6 - 15) + 10)"),
                gamma,
                "1",
            )
            .from("polynomial of fifth degree over a factor of 1.65, a choice")
        });
    }

    /// The factor of turbulent flow.
    fn turbulent<N: Notes<S>>(&self, notes: &mut N) {
        let (re, roughness) = (self.reynolds, self.relative_roughness);
        let conditions = self.conditions;
        let factor = factor_on(conditions, re, roughness, self.law, self.friction);
        let law_friction = friction_factor(re, roughness, self.friction);
        let f = match conditions.friction_ratio {
            Some(ratio) => law_friction * ratio,
            None => law_friction,
        };
        if self.law.follows_friction() {
            let has_ratio = conditions.friction_ratio.is_some();
            let symbol = if has_ratio { "f_0" } else { "f" };
            notes.note(|| friction_step(self.friction, symbol, law_friction));
            if has_ratio {
                let words = "friction factor (Darcy) with what it is known to differ by";
                notes.note(|| Step::new("f", words, "F_f*f_0", f, "1"));
            }
        }
        let words = "profile factor of turbulent flow";
        if !conditions.is_thin_diameter() {
            let h = if conditions.offset.is_some() {
                "h_r"
            } else {
                "0"
            };
            let b = if conditions.beam.is_some() {
                "b_r"
            } else {
                "0"
            };
            let ratio = if conditions.friction_ratio.is_some() {
                "F_f"
            } else {
                "1"
            };
            let equation = format!("path_factor(Re, r_k, {h}, {b}, {ratio})");
            notes.note(|| Step::new("k_t", words, equation, factor, "1").from(self.law.in_words()));
            return;
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
                let n = exponent.n(re, roughness, self.friction, conditions.friction_ratio);
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
    }
}

/// The friction factor of a law, under that symbol.
fn friction_step<S: Copy>(law: FrictionLaw, symbol: &'static str, f: S) -> Step<S> {
    let words = "friction factor (Darcy) of the law";
    let explicit = |equation: &'static str| Step::new(symbol, words, equation, f, "1");
    let root = |other: String| {
        Step::new(symbol, words, format!("1/sqrt({symbol})"), f, "1").root_of(other)
    };
    let smooth =
        |slope: f64, offset: &str| root(format!("{slope}*log10(Re*sqrt({symbol})) {offset}"));
    let step = match law {
        FrictionLaw::Colebrook => root(format!("-2*log10(r_k/3.7 + 2.51/(Re*sqrt({symbol})))")),
        FrictionLaw::Haaland => explicit("1/(1.8*log10((r_k/3.7)^1.11 + 6.9/Re))^2"),
        FrictionLaw::Prandtl => smooth(2.0, "- 0.8"),
        FrictionLaw::ZagarolaSmits => smooth(1.889, "- 0.3577"),
        FrictionLaw::Mckeon2004 => smooth(1.93, "- 0.537"),
        FrictionLaw::Mckeon => smooth(1.92, "- 0.475"),
        FrictionLaw::Blasius => explicit("0.3164/Re^0.25"),
    };
    step.from(law.name())
}
