//! The inputs of all runs as one set, and both sides of each run as functions of them.

use super::file::MeterPlace;
use super::model::{RunModel, RunsModel};
use super::question::{FixedValue, Indicated, Question, programmed};
use super::reference::{LiquidChange, ReferenceModel};
use super::verification::{Run, Verification};
use crate::error::Result;
use crate::evaluate::Evaluation;
use crate::model::{LiquidModel, Quantity, Renewed};
use crate::site::Site;
use crate::uncertainty::Input;
use crate::uncertainty::union::{Own, Union};

/// Whether an input is drawn anew when the sensors are mounted anew; the instruments with which its
/// quantity was measured stay the same.
fn is_of_placement(quantity: Quantity, input: &Input) -> bool {
    quantity.row().renewed == Renewed::ByPlacement && !input.name().ends_with(".instrument")
}

/// The inputs of the site in a run, under the names they have among those of all runs.
fn site_inputs(site: &Site, evaluation: &Evaluation, run: &Run) -> Vec<Own> {
    let terms = evaluation.model.terms().iter();
    let named = |(quantity, input): (&Quantity, &Input)| {
        let scatters = site.is_read(*quantity, input);
        let name = if scatters {
            format!("run[{}].{}", run.number, input.name())
        } else if is_of_placement(*quantity, input) {
            format!("placement[{}].{}", run.placement, input.name())
        } else {
            input.name().to_owned()
        };
        Own {
            name,
            input: input.clone(),
            scatters,
        }
    };
    terms.zip(evaluation.inputs.inputs()).map(named).collect()
}

/// All that is known before the scatter of the runs is.
pub(super) struct Prepared {
    pub(super) evaluations: Vec<Evaluation>,
    pub(super) union: Union,
    pub(super) runs: RunsModel,
}

pub(super) fn prepare(site: &Site, verification: &Verification) -> Result<Prepared> {
    let mut union = Union::default();
    let mut evaluations = Vec::new();
    let mut owns = Vec::new();
    for run in &verification.runs {
        let evaluation = site.evaluate(&run.readings)?;
        let own = site_inputs(site, &evaluation, run);
        let reference: Vec<Own> = run.stated.iter().map(|(_, own)| own.clone()).collect();
        for input in own.iter().chain(&reference) {
            union.take(input);
        }
        let name_of = |local: &str| {
            let places = evaluation.inputs.inputs().iter().zip(&own);
            let mut same = places.filter(|(input, _)| input.name() == local);
            same.next().map(|(_, own)| own.name.clone())
        };
        for stated in &site.correlations {
            let (a, b, coefficient) = &stated.pair;
            if let (Some(a), Some(b)) = (name_of(a), name_of(b)) {
                union.correlate(&a, &b, *coefficient);
            }
        }
        evaluations.push(evaluation);
        owns.push((own, reference));
    }
    for stated in &verification.correlations {
        let (a, b, coefficient) = &stated.pair;
        for name in [a, b] {
            union
                .check_name(name)
                .map_err(|e| e.in_file(&verification.file, stated.line))?;
        }
        union.correlate(a, b, *coefficient);
    }
    let all = verification.runs.iter().zip(&evaluations).zip(&owns);
    let runs = all.map(|((run, evaluation), (own, reference))| {
        let liquid = match &evaluation.model.choices().liquid {
            LiquidModel::Computed(liquid) => LiquidChange::Computed(liquid.clone()),
            LiquidModel::Stated => LiquidChange::Stated,
        };
        let quantities = run.stated.iter().map(|(q, _)| *q);
        let setting = verification.setting;
        let meter: MeterPlace = verification.meter;
        RunModel {
            question: verification.question,
            indicated: verification.indicated,
            remounted: false,
            frees_mounting: false,
            site: evaluation.model.clone(),
            site_terms: union.terms(own),
            reference: ReferenceModel::new(
                setting.kind,
                meter,
                liquid,
                verification.curves.clone(),
                quantities.clone(),
            ),
            reference_terms: quantities.zip(union.terms(reference)).collect(),
        }
    });
    let runs = RunsModel {
        runs: runs.collect(),
        flow_unit: site.flow_unit.clone(),
    };
    Ok(Prepared {
        evaluations,
        union,
        runs,
    })
}

/// The values on the side of the meter that have no uncertainty here. All runs have the same site.
pub(super) fn fixed_values(
    site: &Site,
    verification: &Verification,
    evaluation: Option<&Evaluation>,
) -> Vec<FixedValue> {
    let Some(evaluation) = evaluation else {
        return Vec::new();
    };
    let model = &evaluation.model;
    let mut fixed = match verification.question {
        Question::ErrorAsInstalled => programmed(model.choices()),
        _ => Vec::new(),
    };
    if verification.indicated == Indicated::Computed {
        let terms = model.terms().iter().zip(evaluation.inputs.inputs());
        let own = terms.filter(|(quantity, input)| {
            verification.question.fixes(**quantity) && !site.is_read(**quantity, input)
        });
        fixed.extend(own.map(|(_, input)| FixedValue::of(input)));
    }
    fixed
}

/// Whether the runs of a point were made with several mountings of the sensors.
pub(super) fn remounted(verification: &Verification, point: &str) -> bool {
    let mut runs = verification.runs.iter().filter(|run| run.point == point);
    let first = runs.next();
    first.is_some_and(|first| runs.any(|run| run.placement != first.placement))
}

/// Whether the site states an uncertainty of mounting the sensors anew.
pub(super) fn remounting_uncertainty(evaluations: &[Evaluation]) -> f64 {
    let uncertainty = |evaluation: &Evaluation| {
        let terms = evaluation
            .model
            .terms()
            .iter()
            .zip(evaluation.inputs.inputs());
        let own = terms.filter(|(q, _)| **q == Quantity::RemountingFactor);
        let squares =
            own.map(|(_, input)| input.standard_uncertainty() * input.standard_uncertainty());
        squares.sum::<f64>().sqrt()
    };
    evaluations.iter().map(uncertainty).fold(0.0, f64::max)
}
