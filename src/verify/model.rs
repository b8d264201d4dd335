//! The measurement models of a verification: run by run, and the mean of each flow point.

use super::quantity::ReferenceQuantity;
use super::question::{Indicated, Question, enters_reference};
use super::reference::{AtMeter, ReferenceModel, ReferenceSteps, Values};
use crate::error::Result;
use crate::model::{Belonging, Quantity, SiteModel};
use crate::scalar::Scalar;
use crate::uncertainty::union::Term;
use crate::uncertainty::{MeasurementModel, Output};
use crate::units::{Dimension, Unit};

/// Meter and reference of one run, as functions of the inputs of all runs.
#[derive(Debug, Clone)]
pub(super) struct RunModel {
    pub(super) question: Question,
    pub(super) indicated: Indicated,
    /// Whether it enters a mean over several mountings of the sensors.
    pub(super) remounted: bool,
    /// Whether what belongs to the mounting has its uncertainty whatever is asked: for a result that is
    /// used after the sensors have been off.
    pub(super) frees_mounting: bool,
    pub(super) site: SiteModel,
    pub(super) site_terms: Vec<Term>,
    pub(super) reference: ReferenceModel,
    pub(super) reference_terms: Vec<(ReferenceQuantity, Term)>,
}

/// Both sides of a run.
pub(super) struct Sides<S> {
    /// The flow that is compared with the reference value.
    pub(super) indicated: S,
    pub(super) at_meter: AtMeter<S>,
    pub(super) values: Values<S>,
    pub(super) reference: ReferenceSteps<S>,
}

impl<S: Scalar> Sides<S> {
    /// The relative error of the meter.
    fn error(&self) -> S {
        self.indicated / self.reference.volume_flow - 1.0
    }
}

impl RunModel {
    /// The places of the inputs on which the run depends.
    pub(super) fn inputs(&self, held: bool) -> impl Iterator<Item = usize> {
        let own = self.site.terms().iter().zip(&self.site_terms);
        let own =
            own.filter(|(quantity, _)| !self.fixes(**quantity) || enters_reference(**quantity));
        let reference = self.reference_terms.iter().map(|(_, term)| term);
        let terms = own.map(|(_, term)| term).chain(reference);
        terms
            .filter(move |term| !(held && term.scatters))
            .map(|term| term.input)
    }

    /// Whether a quantity of the site has no uncertainty on the side of the meter. What mounting the
    /// sensors anew changes does, where a mean over mountings is taken.
    pub(super) fn fixes(&self, quantity: Quantity) -> bool {
        let of_mean = self.remounted && quantity == Quantity::RemountingFactor;
        let freed = self.frees_mounting && quantity.belongs_to() == Belonging::Mounting;
        self.question.fixes(quantity) && !of_mean && !freed
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
        let steps = self.site.steps(&own);
        let at_meter = AtMeter {
            state: self.site.liquid_state(&own),
            density: steps.liquid_density,
        };
        let terms = self.reference_terms.iter();
        let values = Values::of(
            &self.reference.curves,
            terms.map(|(quantity, term)| (*quantity, value(term))),
        );
        let reference = self.reference.steps(&values, &at_meter);
        let quantities = self.site.terms().iter().zip(&self.site_terms).zip(&own);
        let of_meter = quantities.map(|((quantity, term), own)| {
            if self.fixes(*quantity) {
                term.at_estimate()
            } else {
                *own
            }
        });
        let of_meter: Vec<S> = of_meter.collect();
        let indicated = match self.indicated {
            Indicated::Shown => self.shown(&of_meter),
            Indicated::Computed if self.question == Question::Agreement => steps.volume_flow,
            Indicated::Computed => self.site.steps(&of_meter).volume_flow,
        };
        Sides {
            indicated,
            at_meter,
            values,
            reference,
        }
    }

    /// Refuses a flow of the reference beyond the points of its certificate.
    pub(super) fn check_curves(&self, x: &[f64], flow_unit: &Unit) -> Result<()> {
        let sides = self.sides(x, false);
        let duration = sides.reference.duration;
        let flow = self.reference.indicated_flow(&sides.values, duration);
        self.reference.curves.check(flow, flow_unit)
    }

    /// The flow that the meter showed: as such, or as a velocity in the bore that was programmed.
    fn shown<S: Scalar>(&self, x: &[S]) -> S {
        if let Some(flow) = self.site.shown_flow(x) {
            return flow;
        }
        let programmed = self.site.choices().programmed;
        let diameter = programmed.and_then(|programmed| programmed.inside_diameter);
        let area = diameter.map_or(f64::NAN, crate::pipe::area);
        self.site.sum_of(Quantity::IndicatedVelocity, x) * area
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

impl MeasurementModel for RunsModel {
    type Outputs<S: Scalar> = Vec<S>;

    fn outputs(&self) -> Vec<Output> {
        let of_run = |n: usize| {
            let named = |what: &str, unit: Unit| Output {
                name: format!("run[{}] {what}", n + 1),
                unit,
            };
            [
                named("error", Unit::percent()),
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
                sides.indicated,
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
    /// The runs of each placement.
    pub(super) placements: Vec<Vec<usize>>,
    /// The input that carries the mean effect of the placements, where it is judged from the runs.
    pub(super) reproducibility: Option<usize>,
    /// The input that carries the scatter of the runs, if it is known.
    pub(super) repeatability: Option<usize>,
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
        let runs = point.placements.iter().flatten();
        let inputs = runs.flat_map(|run| self.runs[*run].inputs(held));
        let scatter = point.reproducibility.into_iter().chain(point.repeatability);
        inputs.chain(scatter).collect()
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
                named("error", Unit::percent()),
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
                for &run in placed {
                    let sides = self.runs[run].sides(x, held);
                    errors += sides.error();
                    flows += sides.reference.volume_flow;
                }
                let count = placed.len() as f64;
                error += errors / count;
                flow += flows / count;
            }
            let count = point.placements.len() as f64;
            error /= count;
            let scatter = [point.reproducibility, point.repeatability];
            for place in scatter.into_iter().flatten() {
                error += x[place];
            }
            [error, (error + 1.0).recip(), flow / count]
        };
        Ok(self.points.iter().flat_map(of_point).collect())
    }
}
