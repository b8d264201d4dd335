//! The measurement models of a verification: run by run, and the mean of each flow point.

use super::quantity::ReferenceQuantity;
use super::reference::{AtMeter, ReferenceModel, ReferenceSteps, Values};
use super::shared::Term;
use crate::error::Result;
use crate::model::{Intermediates, SiteModel};
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output};
use crate::units::{Dimension, Unit};

/// Meter and reference of one run, as functions of the inputs of all runs.
#[derive(Debug, Clone)]
pub(super) struct RunModel {
    pub(super) site: SiteModel,
    pub(super) site_terms: Vec<Term>,
    pub(super) reference: ReferenceModel,
    pub(super) reference_terms: Vec<(ReferenceQuantity, Term)>,
}

/// Both sides of a run.
pub(super) struct Sides<S> {
    pub(super) meter: Intermediates<S>,
    pub(super) at_meter: AtMeter<S>,
    pub(super) values: Values<S>,
    pub(super) reference: ReferenceSteps<S>,
}

impl<S: Scalar> Sides<S> {
    /// The relative error of the meter.
    fn error(&self) -> S {
        self.meter.volume_flow / self.reference.volume_flow - 1.0
    }
}

impl RunModel {
    /// The places of the inputs on which the run depends.
    pub(super) fn inputs(&self, held: bool) -> impl Iterator<Item = usize> {
        let reference = self.reference_terms.iter().map(|(_, term)| term);
        let terms = self.site_terms.iter().chain(reference);
        terms
            .filter(move |term| !(held && term.scatters))
            .map(|term| term.input)
    }

    /// Both sides at the inputs `x`. Means of repeated readings stay at their estimates where
    /// `held`: their scatter is then counted elsewhere.
    pub(super) fn sides<S: Scalar>(&self, x: &[S], held: bool) -> Sides<S> {
        let value = |term: &Term| {
            if held && term.scatters {
                term.at_estimate()
            } else {
                term.value(x)
            }
        };
        let own: Vec<S> = self.site_terms.iter().map(value).collect();
        let meter = self.site.steps(&own);
        let at_meter = AtMeter {
            state: self.site.liquid_state(&own),
            density: meter.liquid_density,
        };
        let terms = self.reference_terms.iter();
        let values = Values::of(terms.map(|(quantity, term)| (*quantity, value(term))));
        let reference = self.reference.steps(&values, &at_meter);
        Sides {
            meter,
            at_meter,
            values,
            reference,
        }
    }
}

/// The runs one by one: relative error, meter factor (true over indicated), flow by the meter and
/// flow by the reference of each.
#[derive(Debug, Clone)]
pub struct RunsModel {
    pub(super) runs: Vec<RunModel>,
    pub(super) flow_unit: Unit,
}

/// The place of an output among the four of a run.
pub(super) const ERROR: usize = 0;
pub(super) const METER_FACTOR: usize = 1;
pub(super) const METER_FLOW: usize = 2;
pub(super) const REFERENCE_FLOW: usize = 3;
/// Outputs of a run.
pub(super) const OF_RUN: usize = 4;

pub(super) fn percent() -> Unit {
    Unit {
        factor: 1e-2,
        symbol: "%".into(),
        ..Dimension::Ratio.si_unit()
    }
}

impl MeasurementModel for RunsModel {
    type Outputs<S: Scalar> = Vec<S>;

    fn outputs(&self) -> Vec<Output> {
        let of_run = |n: usize| {
            let named = |what: &str, unit: Unit| Output {
                name: format!("run[{}] {what}", n + 1),
                unit,
            };
            [
                named("error", percent()),
                named("meter factor", Dimension::Ratio.si_unit()),
                named("flow by the meter", self.flow_unit.clone()),
                named("flow by the reference", self.flow_unit.clone()),
            ]
        };
        (0..self.runs.len()).flat_map(of_run).collect()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<Vec<S>> {
        let of_run = |run: &RunModel| {
            let sides = run.sides(x, false);
            let error = sides.error();
            [
                error,
                (error + 1.0).recip(),
                sides.meter.volume_flow,
                sides.reference.volume_flow,
            ]
        };
        Ok(self.runs.iter().flat_map(of_run).collect())
    }
}

/// How the error of a flow point follows from its runs.
#[derive(Debug, Clone)]
pub(super) struct PointModel {
    pub(super) name: String,
    /// The placements with their runs.
    pub(super) placements: Vec<Placed>,
    /// The input that carries the scatter of the runs, if it is known.
    pub(super) repeatability: Option<usize>,
}

/// The runs of a placement at a flow point.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    pub(super) runs: Vec<usize>,
    /// The input that carries the effect of the placement, where it is judged from the runs.
    pub(super) effect: Option<usize>,
}

/// The flow points: relative error, meter factor (true over indicated) and flow by the reference of
/// each, as means of the means of its placements.
///
/// Where the scatter of the runs is known, it stands for the scatter of readings within a run, which
/// it contains.
#[derive(Debug, Clone)]
pub struct PointsModel {
    pub(super) runs: Vec<RunModel>,
    pub(super) points: Vec<PointModel>,
    pub(super) flow_unit: Unit,
}

impl PointsModel {
    /// The place of the error of a flow point, counted from 0, among the outputs.
    pub fn error_of(point: usize) -> usize {
        OF_POINT * point + ERROR
    }

    /// The places of the inputs on which a point depends, with repetitions.
    pub(super) fn inputs(&self, point: &PointModel) -> Vec<usize> {
        let held = point.repeatability.is_some();
        let placed = point.placements.iter();
        let runs = placed.clone().flat_map(|placed| &placed.runs);
        let inputs = runs.flat_map(|run| self.runs[*run].inputs(held));
        let effects = placed.filter_map(|placed| placed.effect);
        inputs.chain(effects).chain(point.repeatability).collect()
    }
}

/// Outputs of a point.
pub(super) const OF_POINT: usize = 3;
pub(super) const POINT_FLOW: usize = 2;

impl MeasurementModel for PointsModel {
    type Outputs<S: Scalar> = Vec<S>;

    fn outputs(&self) -> Vec<Output> {
        let of_point = |point: &PointModel| {
            let named = |what: &str, unit: Unit| Output {
                name: format!("point[{}] {what}", point.name),
                unit,
            };
            [
                named("error", percent()),
                named("meter factor", Dimension::Ratio.si_unit()),
                named("flow", self.flow_unit.clone()),
            ]
        };
        self.points.iter().flat_map(of_point).collect()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<Vec<S>> {
        let nothing = S::constant(0.0);
        let of_point = |point: &PointModel| {
            let held = point.repeatability.is_some();
            let (mut error, mut flow) = (nothing, nothing);
            for placed in &point.placements {
                let (mut errors, mut flows) = (nothing, nothing);
                for &run in &placed.runs {
                    let sides = self.runs[run].sides(x, held);
                    errors = errors + sides.error();
                    flows = flows + sides.reference.volume_flow;
                }
                let count = placed.runs.len() as f64;
                error = error + errors / count;
                flow = flow + flows / count;
                if let Some(effect) = placed.effect {
                    error = error + x[effect];
                }
            }
            let count = point.placements.len() as f64;
            error = error / count;
            if let Some(repeatability) = point.repeatability {
                error = error + x[repeatability];
            }
            [error, (error + 1.0).recip(), flow / count]
        };
        Ok(self.points.iter().flat_map(of_point).collect())
    }
}
