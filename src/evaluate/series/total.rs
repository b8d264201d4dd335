//! The total volume of a series and its budget.

use super::Repeatability;
use super::rows::Rows;
use super::sums::{Reading, Sums};
use crate::error::{Error, Result};
use crate::evaluate::Channel;
use crate::model::Quantity;
use crate::site::Site;
use crate::uncertainty::{Budget, Input, Output, Shape, rounded};
use crate::units::{Dimension, Unit};

impl Sums {
    /// The budget of the total. What is the same in all rows has the sum of its sensitivities times
    /// weights as sensitivity; the scatter of single readings, which averages out, the root of the sum
    /// of their squares, times the root of the rows that count as one independent row.
    ///
    /// Counts have an error at the ends of so many `stretches` without a gap.
    pub(super) fn budget(
        &self,
        rows: &Rows<'_>,
        scatter: &[Scatter],
        stretches: usize,
    ) -> Result<Budget> {
        let mut inputs = Vec::new();
        let mut gradient = Vec::new();
        for (place, sum) in self.sensitivities.iter().enumerate() {
            let input = rows.input(place);
            if let Some(reading) = rows.reading_at(place) {
                inputs.push(scatter[reading].input(input, &rows.readings[reading])?);
                let rows_for_one = scatter[reading].repeatability.rows_for_one;
                gradient.push((rows_for_one * self.squares[reading]).sqrt());
                continue;
            }
            let transition = Quantity::TransitionReynolds;
            let derived =
                rows.site.derive_law_uncertainty && rows.model.terms()[place] == transition;
            if derived && self.transition == 0 {
                continue; // where no row is in the transition its uncertainty would be a line of nothing
            }
            let varying = rows.varying.iter().position(|v| v.place == place);
            let Some(varying) = varying else {
                inputs.push(self.evidence(rows, place, input.clone()));
                gradient.push(*sum);
                continue;
            };
            let (input, sensitivity) = self.varying(rows, varying, input, *sum)?;
            inputs.push(input);
            gradient.push(sensitivity);
        }
        if let (Some(counted), Some(reading)) = (&rows.counted, rows.flow_of_counts()) {
            let input = counted.input(stretches)?;
            inputs.push(input.shown_in(volume_unit(&rows.site.flow_unit)));
            // the mean sensitivity of the flow to the flow that was counted
            let mean = self.sensitivities[reading] / self.time;
            let known = Some(mean).filter(|mean| mean.is_finite()).unwrap_or(0.0);
            gradient.push(known * (stretches as f64).sqrt());
        }
        if rows.cut_off > 0.0 {
            let unit = rows.site.flow_unit.clone();
            let (name, shape) = ("series.low_flow_cut_off", Shape::Rectangular);
            let input = Input::with_half_width(name, 0.0, rows.cut_off, shape, f64::INFINITY)?;
            let evidence = format!("flow that the meter does not show, in {} rows", self.idle);
            inputs.push(
                input
                    .shown_in(unit)
                    .in_component("meter")
                    .evidence_in_words(evidence),
            );
            gradient.push(self.idle_time);
        }
        let inputs = rows.site.correlated(inputs)?;
        let output = Output {
            name: "total volume".to_owned(),
            unit: volume_unit(&rows.site.flow_unit),
        };
        Budget::from_gradient(output, self.volume, &inputs, &gradient)
    }

    /// The transition says in how many rows it counts.
    fn evidence(&self, rows: &Rows<'_>, place: usize, input: Input) -> Input {
        let transition = Quantity::TransitionReynolds;
        if !rows.site.derive_law_uncertainty || rows.model.terms()[place] != transition {
            return input;
        }
        let words = format!(
            "{} of {} rows between laminar and turbulent flow",
            self.transition, self.rows
        );
        input.evidence_in_words(words)
    }

    /// The input of a varying uncertainty in its mean size, weighted by what the rows add to the total, and
    /// the sensitivity that goes with it.
    fn varying(
        &self,
        rows: &Rows<'_>,
        varying: usize,
        input: &Input,
        sum: f64,
    ) -> Result<(Input, f64)> {
        let scaled = self.scaled[varying];
        let quantity = rows.varying[varying].quantity;
        let size = if scaled.weight > 0.0 {
            scaled.weighted / scaled.weight
        } else {
            0.0
        };
        let sensitivity = if size > 0.0 {
            scaled.contribution / size
        } else {
            sum
        };
        let per_cent = |size: f64| rounded(100.0 * size, 2);
        let (smallest, largest) = (per_cent(scaled.smallest), per_cent(scaled.largest));
        let range = if smallest == largest || size == 0.0 {
            String::new()
        } else {
            format!("; {smallest} % to {largest} % by row, mean weighted by volume")
        };
        let outside = rows.varying[varying].uncovered.is_some();
        let evidence = match quantity {
            _ if outside => {
                let words = "covered by in_situ_calibration in rows among its Reynolds numbers";
                format!("{}; {words}", input.evidence())
                    .trim_start_matches("; ")
                    .to_owned()
            }
            Quantity::LawFactor => {
                let law = rows.model.choices().law.in_words();
                format!("residuals against measured profiles; {law}{range}")
            }
            Quantity::FrictionRatio => {
                format!("friction laws against measurements{range}")
            }
            _ => format!("{}{range}", input.evidence()),
        };
        let (name, estimate) = (input.name(), input.estimate());
        let new = Input::with_standard_uncertainty(name, estimate, size, input.dof())?
            .shown_in(input.unit().clone())
            .in_component(input.component())
            .evidence_in_words(evidence);
        Ok((new, sensitivity))
    }
}

/// The scatter of the single readings of a channel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scatter {
    pub(super) repeatability: Repeatability,
    /// Whether it was stated rather than estimated.
    pub(super) stated: bool,
    /// The mean of the readings that are used.
    pub(super) mean: f64,
}

impl Scatter {
    fn input(&self, like: &Input, reading: &Reading) -> Result<Input> {
        let Repeatability {
            standard_deviation,
            dof,
            rows_for_one,
            ..
        } = self.repeatability;
        let source = if self.stated {
            "as stated"
        } else {
            "about the course of the flow"
        };
        let lasting = if rows_for_one < 1.05 {
            "independent from row to row".to_owned()
        } else {
            format!(
                "{} rows count as one independent row",
                rounded(rows_for_one, 2)
            )
        };
        let evidence = format!("scatter of single readings {source}; {lasting}");
        let path = reading.channel.quantity().path();
        let input = Input::with_standard_uncertainty(&path, self.mean, standard_deviation, dof)?;
        Ok(input
            .shown_in(like.unit().clone())
            .in_component(like.component())
            .evidence_in_words(evidence))
    }
}

/// The unit of volume that goes with a unit of flow: `m3` with `m3/h`.
fn volume_unit(flow: &Unit) -> Unit {
    let symbol = flow.symbol.split('/').next().unwrap_or_default();
    let unit = Unit::parse(symbol, Dimension::Volume, "site.flow_unit");
    unit.unwrap_or_else(|_| Dimension::Volume.si_unit())
}

/// Refuses a stated correlation of the readings themselves: their scatter is independent from row to
/// row, so a coefficient of means has no place in a series.
pub(super) fn check_correlations(site: &Site, channels: &[Channel]) -> Result<()> {
    let read = |name: &&String| channels.iter().any(|c| c.quantity().path() == **name);
    for stated in &site.correlations {
        let (a, b, _) = &stated.pair;
        if let Some(name) = [a, b].into_iter().find(read) {
            let conflict = Error::Conflict {
                field: "correlation.between".to_owned(),
                found: format!("{name}, whose scatter a series takes as independent"),
                allowed: "inputs that are the same in all rows".to_owned(),
            };
            return Err(conflict.in_file(&site.file, stated.line));
        }
    }
    Ok(())
}
