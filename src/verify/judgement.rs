//! Whether the error of a flow point conforms with what is permissible.

use super::file::Rule;
use crate::error::{Error, Result};
use crate::json::nullable;
use crate::uncertainty::conformity::{
    DecisionRule, Doubt, GlobalRisks, ItemsAndMeasurement, LimitSide, Permissible, SpecificRisks,
    decision_limit,
};
use crate::uncertainty::{Budget, Distribution, Input};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The permissible errors, the decision rule and what was known beforehand.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Judgement {
    pub(super) limits: Permissible,
    pub(super) rule: Rule,
    pub(super) probability: f64,
    /// The distribution of true errors of such meters.
    pub(super) prior: Option<Distribution>,
}

/// Whether the error of a flow point conforms. Errors are ratios.
///
/// # Source
/// JCGM 106:2012.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Conformity {
    /// The decision rule.
    pub rule: Rule,
    /// The permissible errors; `None` where there is no limit on that side.
    pub permissible: [Option<f64>; 2],
    /// The errors that are accepted; `None` on a side without limit.
    pub acceptance: [Option<f64>; 2],
    /// The probability with which a guarded decision is right.
    pub probability: f64,
    /// By how much the acceptance limits lie inside the permissible ones; negative outside.
    pub guard_band: f64,
    /// Whether the error lies within the acceptance limits.
    pub accepted: bool,
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
    /// With a prior: the risks of this rule over all such meters.
    #[serde(deserialize_with = "nullable")]
    pub global_risks: Option<GlobalRisks>,
}

impl Judgement {
    /// Judges the error of a flow point.
    pub(super) fn of(&self, error: &Budget) -> Result<Conformity> {
        let (e, u, dof) = (
            error.estimate,
            error.standard_uncertainty,
            error.effective_dof,
        );
        let finite = |limit: f64| Some(limit).filter(|l| l.is_finite());
        let permissible = [finite(self.limits.lower()), finite(self.limits.upper())];
        let acceptance = self.acceptance(permissible, u, dof)?;
        let [lower, upper] = acceptance;
        let accepted = lower.is_none_or(|l| e >= l) && upper.is_none_or(|l| e <= l);
        let own = Input::with_standard_uncertainty("error", e, u, dof)?;
        let probability = self.limits.probability(own.distribution());
        let guard_band = match (permissible, acceptance) {
            ([_, Some(limit)], [_, Some(accepted)]) => limit - accepted,
            ([Some(limit), _], [Some(accepted), _]) => accepted - limit,
            _ => 0.0,
        };
        let known = u > 0.0;
        let both = permissible.iter().all(Option::is_some);
        let capability = (both && known).then(|| self.limits.capability_index(u));
        let items = match &self.prior {
            Some(prior) if known => Some(ItemsAndMeasurement::new(prior.clone(), u, self.limits)?),
            _ => None,
        };
        let empty = matches!((lower, upper), (Some(l), Some(u)) if l >= u);
        let global = match &items {
            Some(items) if !empty => Some(items.global_risks(&Permissible::new(lower, upper)?)),
            _ => None,
        };
        let with_prior = items.as_ref().map(|items| items.conformity_given(e));
        Ok(Conformity {
            rule: self.rule,
            permissible,
            acceptance,
            probability: self.probability,
            guard_band,
            accepted,
            conformance_probability: probability,
            specific_risks: SpecificRisks::of(probability),
            capability_index: capability.transpose()?,
            conformance_probability_with_prior: with_prior.transpose()?,
            global_risks: global,
        })
    }

    fn acceptance(
        &self,
        permissible: [Option<f64>; 2],
        u: f64,
        dof: f64,
    ) -> Result<[Option<f64>; 2]> {
        let rule = match self.rule {
            Rule::SimpleAcceptance => return Ok(permissible),
            Rule::GuardedAcceptance => DecisionRule::GuardedAcceptance,
            Rule::GuardedRejection => DecisionRule::GuardedRejection,
        };
        if u == 0.0 {
            return Ok(permissible);
        }
        let limit = |limit: Option<f64>, side: LimitSide| {
            let doubt = Doubt::Absolute(u);
            limit
                .map(|l| decision_limit(l, side, rule, doubt, dof, self.probability))
                .transpose()
        };
        let [lower, upper] = permissible;
        Ok([
            limit(lower, LimitSide::Lower)?,
            limit(upper, LimitSide::Upper)?,
        ])
    }
}

impl Conformity {
    /// The decision in words.
    pub fn in_words(&self) -> String {
        let p = 100.0 * self.conformance_probability;
        let side = match self.acceptance {
            [Some(lower), Some(upper)] if lower >= upper => {
                return format!(
                    "does not conform: the verification is too uncertain for any error to be \
                     accepted ({p:.1} % probability of conformity)"
                );
            }
            [Some(lower), Some(upper)] => {
                format!("within {:+.2} % to {:+.2} %", 100.0 * lower, 100.0 * upper)
            }
            [Some(lower), None] => format!("at {:+.2} % or above", 100.0 * lower),
            [None, Some(upper)] => format!("at {:+.2} % or below", 100.0 * upper),
            [None, None] => String::new(),
        };
        let risk = if self.accepted {
            format!(
                "risk of a wrong acceptance {:.2} %",
                100.0 * self.specific_risks.consumers_risk
            )
        } else {
            format!(
                "risk of a wrong rejection {:.2} %",
                100.0 * self.specific_risks.producers_risk
            )
        };
        let verdict = if self.accepted {
            "conforms"
        } else {
            "does not conform"
        };
        let not = if self.accepted { "" } else { "not " };
        format!("{verdict}: the error is {not}{side} ({p:.1} % probability of conformity, {risk})")
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
