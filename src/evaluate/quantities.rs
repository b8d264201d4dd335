//! What an evaluation knows of one quantity, whose terms may be several inputs.

use super::Evaluation;
use crate::model::{Origin, Quantity, SiteModel};
use crate::scalar::Dual;
use crate::site::Site;
use crate::uncertainty::{Input, InputSet, effective_dof};

impl Evaluation {
    /// The estimate of a quantity in SI units: the sum of its terms; `None` without any.
    pub(crate) fn estimate_of(&self, q: Quantity) -> Option<f64> {
        let known = self.model.has(q);
        let estimates = self.inputs.estimates();
        known.then(|| self.model.value_of(q, &estimates, &self.steps))
    }

    /// The temperature of the liquid in K, where it is known.
    pub(crate) fn liquid_temperature(&self) -> Option<f64> {
        self.estimate_of(Quantity::Temperature)
    }

    /// The volume flow in m3/s by `model` with one more term of a quantity, and its slope along
    /// that term.
    pub(crate) fn flow_with_term(&self, model: SiteModel, q: Quantity, term: f64) -> Dual<f64, 1> {
        let mut terms = model.terms().to_vec();
        terms.push(q);
        let model = model.with_terms(terms, self.site.flow_unit.clone());
        let fixed = self.inputs.inputs().iter();
        let fixed = fixed.map(|input| Dual::fixed(input.estimate()));
        let x: Vec<Dual<f64, 1>> = fixed.chain([Dual::variable(term, 0)]).collect();
        model.steps(&x).volume_flow
    }
}

impl Site {
    /// Whether an input is the mean of readings of the meter, and so belongs to them alone.
    pub(crate) fn is_read(&self, quantity: Quantity, input: &Input) -> bool {
        let origin = quantity.row().origin;
        let read = matches!(origin, Origin::Readings | Origin::ReadingsOrSiteFile);
        let mut stated = self.stated.iter();
        read && !stated.any(|(_, stated)| stated.name() == input.name())
    }
}

/// Standard uncertainty in SI units of a quantity, the sum of its terms with their correlation.
pub(super) fn standard_uncertainty_of(model: &SiteModel, inputs: &InputSet, q: Quantity) -> f64 {
    let terms = model.terms();
    let own = || (0..terms.len()).filter(|i| terms[*i] == q);
    let covariance = inputs.covariance();
    let pairs = own().flat_map(|i| own().map(move |j| (i, j)));
    pairs.map(|(i, j)| covariance[i][j]).sum::<f64>().sqrt()
}

/// Effective degrees of freedom of the standard uncertainty of a quantity.
pub(super) fn dof_of(model: &SiteModel, inputs: &InputSet, q: Quantity) -> f64 {
    let combined = standard_uncertainty_of(model, inputs, q);
    let terms = model.terms().iter().zip(inputs.inputs());
    let own = terms.filter(|(other, input)| **other == q && input.standard_uncertainty() > 0.0);
    let parts = own.map(|(_, input)| (input.standard_uncertainty(), input.dof()));
    effective_dof(combined, parts)
}
