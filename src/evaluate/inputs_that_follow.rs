//! Inputs that nobody stated and that follow from what is stated: the uncertainties of formulations, and
//! the direction of an oval pipe.

use crate::error::Result;
use crate::liquid::State;
use crate::message::{Told, message};
use crate::model::{Intermediates, LiquidModel, Quantity};
use crate::site::Site;
use crate::uncertainty::{Input, Shape};
use crate::units::Unit;

impl Site {
    /// The formulations' own uncertainties, unless the site file states others.
    pub(super) fn formulation_inputs(&self, terms: &[(Quantity, Input)]) -> Vec<(Quantity, Input)> {
        let LiquidModel::Computed(liquid) = &self.skeleton.choices().liquid else {
            return Vec::new();
        };
        let uncertainties = liquid.uncertainties(&self.liquid_state(terms));
        let formulations = [
            (Quantity::DensityFactor, Some(uncertainties.density)),
            (Quantity::ViscosityFactor, Some(uncertainties.viscosity)),
            (Quantity::SoundSpeedFactor, uncertainties.sound_speed),
        ];
        let basis = self.skeleton.choices().basis;
        formulations
            .into_iter()
            .filter_map(|(quantity, uncertainty)| {
                Some((quantity, uncertainty.filter(|d| d.relative > 0.0)?))
            })
            .filter(|(quantity, _)| terms.iter().all(|(stated, _)| stated != quantity))
            .filter_map(|(quantity, uncertainty)| {
                let (path, dof) = (quantity.path(), f64::INFINITY);
                let u = uncertainty.relative;
                let input = Input::with_standard_uncertainty(&path, 1.0, u, dof).ok()?;
                let component = quantity.component(basis).in_words();
                let evidence = match self.liquid_evidence.as_str() {
                    "" => message!(
                        "evidence.formulation",
                        "{source}",
                        source = uncertainty.source
                    ),
                    own => message!(
                        "evidence.formulation_of",
                        "{source}: {evidence}",
                        source = uncertainty.source,
                        evidence = Told::Theirs(own.to_owned())
                    ),
                };
                Some((
                    quantity,
                    input
                        .shown_in(Unit::named("1"))
                        .in_component(component)
                        .evidence_in_message(evidence),
                ))
            })
            .collect()
    }

    /// The state of the liquid at the estimates.
    fn liquid_state(&self, terms: &[(Quantity, Input)]) -> State<f64> {
        self.model_of(terms).liquid_state(&estimates_of(terms))
    }

    /// Where an oval pipe is not known to lie with its largest diameter: any way round, so that
    /// the cosine of twice the angle to the path follows an arcsine distribution.
    pub(super) fn ovality_input(
        &self,
        terms: &[(Quantity, Input)],
    ) -> Result<Option<(Quantity, Input)>> {
        let has = |q: Quantity| terms.iter().any(|(other, _)| *other == q);
        let quantity = Quantity::OvalityAlongPath;
        if !has(Quantity::Ovality) || has(quantity) {
            return Ok(None);
        }
        let dof = f64::INFINITY;
        let component = quantity.component(self.skeleton.choices().basis);
        let input = Input::with_half_width(&quantity.path(), 0.0, 1.0, Shape::Arcsine, dof)?
            .shown_in(Unit::named("1"))
            .in_component(component.in_words())
            .evidence_in_message(message!(
                "evidence.ovality",
                "direction of the largest diameter unknown"
            ));
        Ok(Some((quantity, input)))
    }

    /// The steps at the estimates of the terms so far, from which further inputs are derived.
    pub(crate) fn steps_at(&self, terms: &[(Quantity, Input)]) -> Result<Intermediates<f64>> {
        self.model_of(terms).checked_steps(&estimates_of(terms))
    }
}

/// The estimates of terms, in SI units.
pub(crate) fn estimates_of(terms: &[(Quantity, Input)]) -> Vec<f64> {
    terms.iter().map(|(_, input)| input.estimate()).collect()
}
