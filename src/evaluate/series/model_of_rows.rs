//! The model that all rows share, with its inputs as they are in the first valid row.

use super::rejected_rows::no_row;
use super::rows::Rows;
use super::sums::{Reading, Varying};
use super::total::Scatter;
use super::{Log, SeriesOptions};
use crate::error::Result;
use crate::evaluate::Channel;
use crate::model::Quantity;
use crate::site::Site;
use crate::uncertainty::{Input, InputSet};

impl Site {
    /// The model with its inputs as they are in the first of the rows `used` that is valid.
    pub(super) fn rows_of(
        &self,
        log: &Log,
        channels: &[Channel],
        used: &[usize],
        scatter: &[Scatter],
        options: &SeriesOptions,
    ) -> Result<Rows<'_>> {
        let terms_of = |row: usize| -> Result<Vec<(Quantity, Input)>> {
            let mut read = Vec::new();
            for channel in channels {
                let quantity = channel.quantity();
                let Some(column) = log.column(*channel) else {
                    continue; // not reached: the log has the channels wanted
                };
                let component = quantity.component(self.skeleton.choices().basis);
                let input = Input::exact(&quantity.path(), column.values[row])?
                    .shown_in(column.unit.clone())
                    .in_component(component.in_words());
                read.push((quantity, input));
            }
            let mut terms = self.stated_with(read);
            self.steps_at(&terms)?;
            terms.extend(self.formulation_inputs(&terms));
            terms.extend(self.installation_inputs(&terms)?);
            terms.extend(self.ovality_input(&terms)?);
            Ok(terms)
        };
        let mut first_error = None;
        let mut found = None;
        for row in used {
            match terms_of(*row) {
                Ok(terms) => {
                    found = Some(terms);
                    break;
                }
                Err(error) => {
                    first_error.get_or_insert(error);
                }
            }
        }
        let mut terms = match (found, first_error) {
            (Some(terms), _) => terms,
            (None, Some(error)) => return Err(error),
            (None, None) => return Err(no_row(log.rows, None)),
        };
        let stated = |q: Quantity| self.stated.iter().any(|(other, _)| *other == q);
        let mut varying_quantities = vec![
            Quantity::DensityFactor,
            Quantity::ViscosityFactor,
            Quantity::SoundSpeedFactor,
        ];
        varying_quantities.retain(|q| !stated(*q));
        if self.derive_law_uncertainty {
            terms.push(self.law_input(0.0, String::new())?);
            varying_quantities.push(Quantity::LawFactor);
            let friction_acts = self.skeleton.choices().law.follows_friction();
            if friction_acts && !stated(Quantity::FrictionRatio) {
                terms.push(self.friction_input(0.0, String::new())?);
                varying_quantities.push(Quantity::FrictionRatio);
            }
            if !stated(Quantity::TransitionReynolds) {
                terms.push(self.transition_input(String::new())?);
            }
        }
        terms.sort_by_key(|(quantity, _)| quantity.index());
        let place = |q: Quantity, name: &str| {
            let own = |(other, input): &(Quantity, Input)| *other == q && input.name() == name;
            terms.iter().position(own)
        };
        let readings = channels
            .iter()
            .zip(scatter)
            .filter_map(|(channel, scatter)| {
                let quantity = channel.quantity();
                Some(Reading {
                    channel: *channel,
                    place: place(quantity, &quantity.path())?,
                    scatter: scatter.repeatability.standard_deviation,
                })
            });
        let readings = readings.collect();
        let varying = varying_quantities.into_iter().filter_map(|quantity| {
            let place = place(quantity, &quantity.path())?;
            Some(Varying {
                place,
                quantity,
                uncovered: None,
            })
        });
        let mut varying: Vec<Varying> = varying.collect();
        varying.extend(self.covered_by_row(&mut terms, &varying)?);
        let (quantities, inputs): (Vec<_>, Vec<_>) = terms.into_iter().unzip();
        let model = self.skeleton.clone();
        let model = model.with_terms(quantities, self.flow_unit.clone());
        Rows::new(
            self,
            model,
            self.correlated_where_known(inputs)?,
            readings,
            varying,
            options,
        )
    }

    /// Leaves no uncertainty to the terms that an in-situ calibration covers in all rows; gives those
    /// that it covers in the rows among whose Reynolds numbers it was made.
    fn covered_by_row(
        &self,
        terms: &mut [(Quantity, Input)],
        varying: &[Varying],
    ) -> Result<Vec<Varying>> {
        let Some(in_situ) = &self.in_situ else {
            return Ok(Vec::new());
        };
        let mut by_row = Vec::new();
        for (place, (quantity, input)) in terms.iter_mut().enumerate() {
            let u = input.standard_uncertainty();
            let varies = varying.iter().any(|own| own.place == place);
            if varies || u == 0.0 {
                continue;
            }
            if in_situ.covers(*quantity, false) {
                *input = in_situ.covered(input)?;
            } else if in_situ.covers(*quantity, true) {
                by_row.push(Varying {
                    place,
                    quantity: *quantity,
                    uncovered: Some(u),
                });
            }
        }
        Ok(by_row)
    }

    /// The inputs with those of the stated correlations whose inputs there are. Whether the others
    /// name what does not exist comes to light with the budget of the total.
    fn correlated_where_known(&self, inputs: Vec<Input>) -> Result<InputSet> {
        let known = |name: &String| inputs.iter().any(|input| input.name() == name);
        let pairs = self.correlations.iter().map(|stated| &stated.pair);
        let pairs: Vec<_> = pairs
            .filter(|(a, b, _)| known(a) && known(b))
            .cloned()
            .collect();
        InputSet::correlated(inputs, &pairs)
    }
}
