//! Whether the error of a flow point conforms with what is permissible.

use super::file::{Rule, UncertaintyLimit};
use crate::error::{Error, Result};
use crate::json::nullable;
use crate::message::{Message, Told, message};
use crate::uncertainty::conformity::{
    DecisionRule, GlobalRisks, ItemsAndMeasurement, LimitSide, Permissible, SpecificRisks,
    StandardUncertainty, decision_limit,
};
use crate::uncertainty::{Budget, Distribution, Expanded, Input};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The permissible errors, the decision rule and what was known beforehand.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Judgement {
    pub(super) limits: Permissible,
    pub(super) rule: Rule,
    /// The largest uncertainty for simple acceptance.
    pub(super) uncertainty_at_most: UncertaintyLimit,
    pub(super) probability: f64,
    /// The distribution of true errors of such meters.
    pub(super) prior: Option<Distribution>,
}

/// The answer for a flow point or for all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Verdict {
    /// The error is accepted.
    #[serde(rename = "conforms")]
    Conforms,
    /// The error is not accepted.
    #[serde(rename = "does not conform")]
    DoesNotConform,
    /// The verification is too uncertain for any error to be accepted, and for this one to be
    /// rejected with the chosen probability.
    #[serde(rename = "cannot be decided")]
    CannotBeDecided,
    /// Two results agree.
    #[serde(rename = "agrees")]
    Agrees,
    /// Two results do not agree.
    #[serde(rename = "does not agree")]
    DoesNotAgree,
}

impl Verdict {
    /// The verdict in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Verdict::Conforms => "conforms",
            Verdict::DoesNotConform => "does not conform",
            Verdict::CannotBeDecided => "cannot be decided",
            Verdict::Agrees => "agrees",
            Verdict::DoesNotAgree => "does not agree",
        }
    }

    /// Whether the answer is yes; `None` where there is none.
    pub fn accepted(self) -> Option<bool> {
        match self {
            Verdict::Conforms | Verdict::Agrees => Some(true),
            Verdict::DoesNotConform | Verdict::DoesNotAgree => Some(false),
            Verdict::CannotBeDecided => None,
        }
    }
}

/// Whether the error of a flow point conforms. Errors are ratios.
///
/// # Source
/// JCGM 106:2012.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Conformity {
    /// The decision rule.
    pub rule: Rule,
    /// The permissible errors; `None` where there is no limit on that side.
    pub permissible: [Option<f64>; 2],
    /// The errors that are accepted; `None` on a side without limit, and on both sides where no
    /// error is.
    pub acceptance: [Option<f64>; 2],
    /// Where no error is accepted: the largest expanded uncertainty with which one could be, for
    /// the same degrees of freedom.
    #[serde(deserialize_with = "nullable")]
    pub expanded_uncertainty_needed: Option<f64>,
    /// The probability with which a guarded decision is right.
    pub probability: f64,
    /// By how much the acceptance limits lie inside the permissible ones; negative outside.
    pub guard_band: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// The probability that the true error is permissible, from this verification alone.
    pub conformance_probability: f64,
    /// The risks of this decision.
    pub specific_risks: SpecificRisks,
    /// Width of the permissible interval over four standard uncertainties, for two limits.
    #[serde(deserialize_with = "nullable")]
    pub capability_index: Option<f64>,
    /// With a prior: the conformance probability given it and this verification.
    #[serde(deserialize_with = "nullable")]
    pub conformance_probability_with_prior: Option<f64>,
    /// With a prior: the risks of this rule over all such meters; `None` where no error is accepted.
    #[serde(deserialize_with = "nullable")]
    pub global_risks: Option<GlobalRisks>,
}

/// Which errors are accepted.
enum Acceptance {
    /// Those between the limits.
    Within([Option<f64>; 2]),
    /// None, unless the expanded uncertainty is this or less.
    Nothing { needed: f64 },
}

impl Judgement {
    /// Judges the error of a flow point, whose expanded uncertainty is for the probability
    /// `coverage_probability`.
    pub(super) fn of(&self, error: &Budget, coverage_probability: f64) -> Result<Conformity> {
        let (e, u, dof) = (
            error.estimate,
            error.standard_uncertainty,
            error.effective_dof,
        );
        let expanded = error.expanded(coverage_probability)?;
        let finite = |limit: f64| Some(limit).filter(|l| l.is_finite());
        let permissible = [finite(self.limits.lower()), finite(self.limits.upper())];
        let guard_band = self.guard_band(u, dof)?;
        let found = self.acceptance(permissible, guard_band, u, expanded)?;
        let own = Input::with_standard_uncertainty("error", e, u, dof)?;
        let probability = self.limits.probability(own.distribution());
        let verdict = match &found {
            Acceptance::Within([lower, upper]) => {
                if lower.is_none_or(|l| e >= l) && upper.is_none_or(|l| e <= l) {
                    Verdict::Conforms
                } else {
                    Verdict::DoesNotConform
                }
            }
            // far outside the limits, whatever the uncertainty
            Acceptance::Nothing { .. } if probability <= 1.0 - self.probability => {
                Verdict::DoesNotConform
            }
            Acceptance::Nothing { .. } => Verdict::CannotBeDecided,
        };
        let known = u > 0.0;
        let both = permissible.iter().all(Option::is_some);
        let capability = (both && known).then(|| self.limits.capability_index(u));
        let items = match &self.prior {
            Some(prior) if known => Some(ItemsAndMeasurement::new(prior.clone(), u, self.limits)?),
            _ => None,
        };
        let with_prior = items.as_ref().map(|items| items.conformity_given(e));
        let (acceptance, needed) = match found {
            Acceptance::Within(limits) => (limits, None),
            Acceptance::Nothing { needed } => ([None, None], Some(needed)),
        };
        let [lower, upper] = acceptance;
        let global = match &items {
            Some(items) if needed.is_none() => {
                Some(items.global_risks(&Permissible::new(lower, upper)?))
            }
            _ => None,
        };
        Ok(Conformity {
            rule: self.rule,
            permissible,
            acceptance,
            expanded_uncertainty_needed: needed,
            probability: self.probability,
            guard_band,
            verdict,
            conformance_probability: probability,
            specific_risks: SpecificRisks::of(probability),
            capability_index: capability.transpose()?,
            conformance_probability_with_prior: with_prior.transpose()?,
            global_risks: global,
        })
    }

    /// By how much acceptance limits lie inside the permissible ones.
    fn guard_band(&self, u: f64, dof: f64) -> Result<f64> {
        let rule = match self.rule {
            Rule::SimpleAcceptance => return Ok(0.0),
            Rule::GuardedAcceptance => DecisionRule::GuardedAcceptance,
            Rule::GuardedRejection => DecisionRule::GuardedRejection,
        };
        if u == 0.0 {
            return Ok(0.0);
        }
        let uncertainty = StandardUncertainty::Absolute(u);
        let limit = decision_limit(
            0.0,
            LimitSide::Lower,
            rule,
            uncertainty,
            dof,
            self.probability,
        )?;
        Ok(limit)
    }

    fn acceptance(
        &self,
        permissible: [Option<f64>; 2],
        guard_band: f64,
        u: f64,
        expanded: Expanded,
    ) -> Result<Acceptance> {
        let [lower, upper] = permissible;
        let half = match permissible {
            [Some(lower), Some(upper)] => Some(0.5 * (upper - lower)),
            _ => None,
        };
        if self.rule == Rule::SimpleAcceptance {
            let alone = lower.or(upper).map_or(0.0, f64::abs);
            let most = self.uncertainty_at_most.share() * half.unwrap_or(alone);
            return Ok(if expanded.expanded_uncertainty <= most {
                Acceptance::Within(permissible)
            } else {
                Acceptance::Nothing { needed: most }
            });
        }
        if let Some(half) = half.filter(|half| guard_band >= *half) {
            // the guard band is a multiple of u, and it may be half of the interval at most
            let needed = half / guard_band * u * expanded.coverage_factor;
            return Ok(Acceptance::Nothing { needed });
        }
        Ok(Acceptance::Within([
            lower.map(|limit| limit + guard_band),
            upper.map(|limit| limit - guard_band),
        ]))
    }
}

/// Two significant digits of a number above zero, rounded down, so that what is asked for is enough.
fn rounded_down(value: f64) -> String {
    let exponent = libm::floor(libm::log10(value));
    let place = libm::pow(10.0, exponent - 1.0);
    // a number that is a multiple of its place but for rounding keeps it
    let down = libm::floor(value / place * (1.0 + 1e-12)) * place;
    let digits = (1.0 - exponent).max(0.0) as usize;
    format!("{down:.digits$}")
}

impl Conformity {
    /// What is needed for a decision, where there is none.
    pub fn needed_in_words(&self) -> Option<String> {
        self.needed_told().map(|message| message.words())
    }

    /// As [`Conformity::needed_in_words`], to be said in any language.
    pub fn needed_told(&self) -> Option<Message> {
        let needed = self.expanded_uncertainty_needed?;
        Some(message!(
            "decision.needed",
            "U of at most {needed} is needed",
            needed = format!("{} %", rounded_down(100.0 * needed))
        ))
    }

    /// The decision in words.
    pub fn in_words(&self) -> String {
        self.told().words()
    }

    /// As [`Conformity::in_words`], to be said in any language.
    pub fn told(&self) -> Message {
        let p = format!("{:.1} %", 100.0 * self.conformance_probability);
        let risk = |risk: f64| format!("{:.2} %", 100.0 * risk);
        let wrong_rejection = message!(
            "decision.wrong_rejection",
            "risk of a wrong rejection {risk}",
            risk = risk(self.specific_risks.producers_risk)
        );
        if let Some(needed) = self.needed_told() {
            return match self.verdict {
                Verdict::DoesNotConform => message!(
                    "decision.far_outside",
                    "does not conform: the error lies so far outside that it is rejected with a \
                     probability of conformity of {p}, although no error could be accepted with \
                     this reference, for which {needed} ({risk})",
                    p = p,
                    needed = needed,
                    risk = wrong_rejection
                ),
                _ => message!(
                    "decision.cannot_be_decided",
                    "cannot be decided with this reference; {needed} ({p} probability of \
                     conformity)",
                    needed = needed,
                    p = p
                ),
            };
        }
        let percent = |limit: f64| format!("{:+.2} %", 100.0 * limit);
        let side: Told = match self.acceptance {
            [Some(lower), Some(upper)] => message!(
                "decision.within",
                "within {lower} to {upper}",
                lower = percent(lower),
                upper = percent(upper)
            )
            .into(),
            [Some(lower), None] => message!(
                "decision.at_or_above",
                "at {limit} or above",
                limit = percent(lower)
            )
            .into(),
            [None, Some(upper)] => message!(
                "decision.at_or_below",
                "at {limit} or below",
                limit = percent(upper)
            )
            .into(),
            [None, None] => String::new().into(),
        };
        if self.verdict == Verdict::Conforms {
            message!(
                "decision.accepted",
                "conforms: the error is {side} ({p} probability of conformity, risk of a wrong \
                 acceptance {risk})",
                side = side,
                p = p,
                risk = risk(self.specific_risks.consumers_risk)
            )
        } else {
            message!(
                "decision.rejected",
                "does not conform: the error is not {side} ({p} probability of conformity, {risk})",
                side = side,
                p = p,
                risk = wrong_rejection
            )
        }
    }
}

/// Limits of the error from a symmetric one or from two.
pub(super) fn limits(
    both: Option<f64>,
    lower: Option<f64>,
    upper: Option<f64>,
) -> Result<Option<Permissible>> {
    match (both, lower, upper) {
        (None, None, None) => Ok(None),
        (Some(largest), None, None) => Permissible::about(0.0, largest).map(Some),
        (None, lower, upper) => Permissible::new(lower, upper).map(Some),
        _ => Err(Error::Conflict {
            field: "verification.permissible_error".to_owned(),
            found: "permissible_error beside lower_limit or upper_limit".to_owned(),
            allowed: "one of the two ways".to_owned(),
        }),
    }
}
