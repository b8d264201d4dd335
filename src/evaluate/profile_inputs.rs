//! The uncertainty of the velocity profile, as inputs of the budget.

use crate::error::Result;
use crate::message::{Message, Told, message};
use crate::model::{Choices, Intermediates, Quantity};
use crate::profile::{
    Regime, TRANSITION_REYNOLDS, TRANSITION_REYNOLDS_LIMITS, beam_half_width, entrance_half_width,
    factor_uncertainty, friction_uncertainty, intermittency,
};
use crate::scalar::Scalar;
use crate::site::Site;
use crate::uncertainty::{Distribution, Input};
use crate::units::Unit;

/// Straight run in inside diameters that developing laminar flow is taken to have where none is
/// stated. Common practice asks for some tens of diameters; no source.
const UNSTATED_RUN: f64 = 50.0;

/// Width in m up to which the beam of sensors is taken to be where it is not stated. Common practice, no
/// source.
const UNSTATED_BEAM: f64 = 0.02;

/// Standard uncertainties of the profile at an operating point, relative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ProfileUncertainty<S> {
    /// Of the law of the profile, with what is left of the entrance in laminar flow, and with what the
    /// width of the beam may do where it is not stated.
    pub(super) law: S,
    /// Of the friction factor.
    pub(super) friction: S,
}

impl<S: Scalar> ProfileUncertainty<S> {
    /// The uncertainties at an operating point, with so much straight pipe upstream, in inside diameters.
    pub(super) fn at(choices: &Choices, steps: &Intermediates<S>, run: f64) -> Self {
        let (conditions, reynolds) = (&steps.conditions, steps.reynolds);
        let roughness = steps.relative_roughness;
        let (law, friction) = (choices.law, choices.friction);
        let law = factor_uncertainty(conditions, reynolds, roughness, law, friction);
        let entrance = entrance_half_width(conditions, reynolds, run);
        let beam = match conditions.beam {
            Some(_) => S::constant(0.0),
            None => {
                let widest = (steps.inside_diameter.recip() * UNSTATED_BEAM).min(S::constant(0.5));
                beam_half_width(conditions, reynolds, roughness, choices.friction, widest)
            }
        };
        let limits = entrance * entrance + beam * beam;
        ProfileUncertainty {
            law: (law * law + limits / 3.0).sqrt(),
            friction: friction_uncertainty(reynolds, roughness),
        }
    }
}

impl Site {
    /// The uncertainty of the profile law, of the friction factor and, where it matters, of the
    /// Reynolds number of the transition, unless the site file states them.
    pub(super) fn law_inputs(&self, terms: &[(Quantity, Input)]) -> Result<Vec<(Quantity, Input)>> {
        if !self.derive_law_uncertainty {
            return Ok(Vec::new());
        }
        let steps = self.steps_at(terms)?;
        let choices = self.skeleton.choices();
        let uncertainty = ProfileUncertainty::at(choices, &steps, self.developing_run(&steps));
        let reynolds = steps.reynolds;
        let at = Told::Reynolds(reynolds);
        let law = message!(
            "evidence.law",
            "residuals against measured profiles at Re = {reynolds}; {law}",
            reynolds = at.clone(),
            law = choices.law.told()
        );
        let law = match steps.conditions.beam {
            Some(_) => law,
            None => message!(
                "evidence.law_with_beam",
                "{law}, beam up to {width} wide",
                law = law,
                width = "20 mm".to_owned()
            ),
        };
        let friction = message!(
            "evidence.friction",
            "friction laws against measurements at Re = {reynolds}",
            reynolds = at
        );
        let stated = |q: Quantity| terms.iter().any(|(other, _)| *other == q);
        let regime = Regime::within(reynolds, self.transition);
        let mut inputs = vec![self.law_input(uncertainty.law, law)?];
        let friction_acts = regime != Regime::Laminar && choices.law.follows_friction();
        if friction_acts && !stated(Quantity::FrictionRatio) {
            inputs.push(self.friction_input(uncertainty.friction, friction)?);
        }
        if regime == Regime::Transition && !stated(Quantity::TransitionReynolds) {
            let share = 100.0 * intermittency(reynolds, TRANSITION_REYNOLDS);
            let words = message!(
                "evidence.transition",
                "turbulent for {share} of the time by the model",
                share = format!("{share:.0} %")
            );
            inputs.push(self.transition_input(words)?);
        }
        Ok(inputs)
    }

    /// Straight pipe upstream over which laminar flow develops, in inside diameters.
    pub(super) fn developing_run<S: Scalar>(&self, steps: &Intermediates<S>) -> f64 {
        let bore = steps.inside_diameter.value().unwrap_or(f64::NAN);
        self.inlet_run
            .map_or(UNSTATED_RUN, |run| run.diameters(bore))
    }

    /// The profile law with its relative standard uncertainty.
    pub(super) fn law_input(
        &self,
        u: f64,
        evidence: impl Into<Evidence>,
    ) -> Result<(Quantity, Input)> {
        self.relative_input(Quantity::LawFactor, u, evidence)
    }

    /// The friction factor with its relative standard uncertainty.
    pub(super) fn friction_input(
        &self,
        u: f64,
        evidence: impl Into<Evidence>,
    ) -> Result<(Quantity, Input)> {
        self.relative_input(Quantity::FrictionRatio, u, evidence)
    }

    fn relative_input(
        &self,
        quantity: Quantity,
        u: f64,
        evidence: impl Into<Evidence>,
    ) -> Result<(Quantity, Input)> {
        let (estimate, dof) = (quantity.default_value(), f64::INFINITY);
        let input = Input::with_standard_uncertainty(&quantity.path(), estimate, u, dof)?;
        Ok(self.of_profile(quantity, input, evidence.into()))
    }

    /// The Reynolds number of the transition, of which nothing is known but what pipes do.
    pub(super) fn transition_input(
        &self,
        evidence: impl Into<Evidence>,
    ) -> Result<(Quantity, Input)> {
        let quantity = Quantity::TransitionReynolds;
        let [lower, upper] = TRANSITION_REYNOLDS_LIMITS;
        // a density that falls linearly
        let (alpha, beta) = (1.0, 2.0);
        let distribution = Distribution::Beta {
            alpha,
            beta,
            lower,
            upper,
        };
        let input = Input::with_distribution(&quantity.path(), distribution)?;
        Ok(self.of_profile(quantity, input, evidence.into()))
    }

    fn of_profile(
        &self,
        quantity: Quantity,
        input: Input,
        evidence: Evidence,
    ) -> (Quantity, Input) {
        let component = quantity.component(self.skeleton.choices().basis);
        let input = input.shown_in(Unit::named("1"));
        let input = input.in_component(component.in_words());
        let input = match evidence {
            Evidence::Words(words) => input.evidence_in_words(words),
            Evidence::Told(message) => input.evidence_in_message(message),
        };
        (quantity, input)
    }
}

/// Words, or a sentence that can be said in any language.
pub(super) enum Evidence {
    Words(String),
    Told(Message),
}

impl From<String> for Evidence {
    fn from(words: String) -> Evidence {
        Evidence::Words(words)
    }
}

impl From<Message> for Evidence {
    fn from(message: Message) -> Evidence {
        Evidence::Told(message)
    }
}
