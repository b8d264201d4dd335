//! Meter against reference: one measurement model over the inputs of all runs.

use super::check::check_run;
use super::file::MeterPlace;
use super::model::{
    ERROR, METER_FACTOR, METER_FLOW, OF_POINT, OF_RUN, POINT_FLOW, Placed, PointModel, PointsModel,
    REFERENCE_FLOW, RunModel, RunsModel,
};
use super::quantity::ReferenceQuantity;
use super::reference::{LiquidChange, ReferenceModel};
use super::result::{
    ErrorLine, OfQuantity, PointResult, RunResult, Scores, VerificationResult, step_list,
};
use super::scatter::{Groups, Repeatability, Reproducibility, repeatability};
use super::shared::{Own, Union};
use super::verification::{Run, Verification};
use crate::error::{Error, Result, file_name};
use crate::evaluate::Evaluation;
use crate::model::{LiquidModel, Origin, Quantity, Renewed};
use crate::site::Site;
use crate::uncertainty::{Budget, Input, JointResult, StraightLine, propagate};
use std::sync::Arc;

/// Whether an input of a site is the mean of readings of the meter, and so belongs to its run.
fn is_read(site: &Site, quantity: Quantity, input: &Input) -> bool {
    let origin = quantity.row().origin;
    let read = matches!(origin, Origin::Readings | Origin::ReadingsOrSiteFile);
    read && !site
        .stated
        .iter()
        .any(|(_, stated)| stated.name() == input.name())
}

/// Whether an input is drawn anew when the sensors are mounted anew; the instruments with which its
/// quantity was measured stay the same.
fn is_of_placement(quantity: Quantity, input: &Input) -> bool {
    quantity.row().renewed == Renewed::ByPlacement && !input.name().ends_with(".instrument")
}

/// The inputs of the site in a run, under the names they have among those of all runs.
fn site_inputs(site: &Site, evaluation: &Evaluation, run: &Run) -> Vec<Own> {
    let terms = evaluation.model.terms().iter();
    let named = |(quantity, input): (&Quantity, &Input)| {
        let scatters = is_read(site, *quantity, input);
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
struct Prepared {
    evaluations: Vec<Evaluation>,
    union: Union,
    runs: RunsModel,
}

fn prepare(site: &Site, verification: &Verification) -> Result<Prepared> {
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
            site: evaluation.model.clone(),
            site_terms: union.terms(own),
            reference: ReferenceModel::new(setting.kind, meter, liquid, quantities.clone()),
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

/// Runs by flow point and placement, both in order of appearance.
fn grouped(verification: &Verification) -> Vec<Vec<(String, Vec<usize>)>> {
    let of_point = |point: &String| {
        let mut groups: Vec<(String, Vec<usize>)> = Vec::new();
        for (i, run) in verification.runs.iter().enumerate() {
            if run.point != *point {
                continue;
            }
            match groups.iter_mut().find(|(name, _)| *name == run.placement) {
                Some((_, runs)) => runs.push(i),
                None => groups.push((run.placement.clone(), vec![i])),
            }
        }
        groups
    };
    verification.points.iter().map(of_point).collect()
}

/// A budget without the lines of inputs on which its output does not depend, those of other runs.
fn of_inputs(budget: &Budget, places: &[usize]) -> Budget {
    let lines = budget.lines.iter().enumerate();
    let own = lines.filter(|(place, _)| places.contains(place));
    Budget {
        lines: own.map(|(_, line)| line.clone()).collect(),
        output: budget.output.clone(),
        ..*budget
    }
}

/// What the scatter of the runs tells.
struct Scatter {
    repeatability: Vec<Option<Repeatability>>,
    reproducibility: Vec<Option<Reproducibility>>,
}

fn scatter(
    verification: &Verification,
    groups: &[Vec<(String, Vec<usize>)>],
    errors: &[f64],
) -> Result<Scatter> {
    let points: Vec<Groups<'_>> = verification
        .points
        .iter()
        .zip(groups)
        .map(|(point, groups)| Groups {
            point,
            errors: groups
                .iter()
                .map(|(_, runs)| runs.iter().map(|run| errors[*run]).collect())
                .collect(),
        })
        .collect();
    let reproducibility = points.iter().map(Groups::reproducibility);
    Ok(Scatter {
        repeatability: repeatability(&points, verification.repeatability)?,
        reproducibility: reproducibility.collect::<Result<_>>()?,
    })
}

impl Scatter {
    /// The standard deviation of the effect of a placement over all points, and its degrees of
    /// freedom; `None` where the runs do not tell it.
    fn between_placements(&self) -> Option<(f64, f64)> {
        let found: Vec<&Reproducibility> = self.reproducibility.iter().flatten().collect();
        let dof = |r: &Reproducibility| (r.placements - 1) as f64;
        let weights: f64 = found.iter().map(|r| dof(r)).sum();
        let squares = found
            .iter()
            .map(|r| dof(r) * r.between_placements * r.between_placements);
        let deviation = (squares.sum::<f64>() / weights).sqrt();
        // the placements are the same at all points, which adds no degrees of freedom
        let most = found.iter().map(|r| dof(r)).fold(0.0, f64::max);
        (deviation > 0.0).then_some((deviation, most))
    }
}

/// Whether the site states a doubt of mounting the sensors anew.
fn remounting_doubt(evaluations: &[Evaluation]) -> f64 {
    let doubt = |evaluation: &Evaluation| {
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
    evaluations.iter().map(doubt).fold(0.0, f64::max)
}

/// An input of the scatter of errors.
fn scatter_input(name: String, u: f64, dof: f64, component: &str, why: String) -> Result<Own> {
    let input = Input::with_standard_uncertainty(&name, 0.0, u, dof)?
        .shown_in(super::model::percent())
        .in_component(component)
        .evidence_in_words(why);
    Ok(Own {
        name,
        input,
        scatters: false,
    })
}

impl Site {
    /// Verifies the meter of the site: its error against a reference run by run and flow point by
    /// flow point, with the uncertainty of both sides, and whether it is permissible.
    ///
    /// # Errors
    /// As [`Site::evaluate`] for each run; a reference whose quantities do not fit the liquid of the
    /// site; estimates that no run can have.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{site::Site, verify::Verification};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let verification = Verification::load("notebooks/demo/verification.toml")?;
    /// let result = site.verify(&verification)?;
    /// println!("{}", result.in_words()?);
    /// assert_eq!(result.accepted(), Some(true));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn verify(&self, verification: &Verification) -> Result<VerificationResult> {
        let Prepared {
            evaluations,
            mut union,
            runs,
        } = prepare(self, verification)?;
        let run_inputs = union.clone().into_inputs()?;
        let estimates = run_inputs.estimates();
        for (run, model) in verification.runs.iter().zip(&runs.runs) {
            check_run(run, model, &estimates)
                .map_err(|e| e.in_file(&verification.file, run.line))?;
        }
        let budgets = propagate(&runs, &run_inputs)?;
        let joint = JointResult::of_budgets(&budgets, &run_inputs)?;
        let errors: Vec<f64> = budgets.chunks(OF_RUN).map(|b| b[ERROR].estimate).collect();

        let groups = grouped(verification);
        let scatter = scatter(verification, &groups, &errors)?;
        let stated_remounting = remounting_doubt(&evaluations);
        let between = scatter
            .between_placements()
            .filter(|_| stated_remounting == 0.0);
        let mut points = Vec::with_capacity(groups.len());
        for ((name, groups), found) in verification
            .points
            .iter()
            .zip(&groups)
            .zip(&scatter.repeatability)
        {
            let count: usize = groups.iter().map(|(_, runs)| runs.len()).sum();
            let repeatability = found.as_ref().map(|found| {
                let (u, dof) = (found.standard_uncertainty, found.dof);
                let of = if found.pooled {
                    "all points"
                } else {
                    "this point"
                };
                let why = format!("scatter of the runs of {of}, mean of {count}");
                let name = format!("point[{name}].repeatability");
                let own = scatter_input(name, u, dof, "repeatability", why)?;
                Ok::<usize, Error>(union.take(&own))
            });
            let mut placements = Vec::with_capacity(groups.len());
            for (placement, runs) in groups {
                let effect = between.map(|(u, dof)| {
                    let why = "analysis of variance over placements".to_owned();
                    let name = format!("placement[{placement}].reproducibility");
                    let own = scatter_input(name, u, dof, "reproducibility", why)?;
                    Ok::<usize, Error>(union.take(&own))
                });
                placements.push(Placed {
                    runs: runs.clone(),
                    effect: effect.transpose()?,
                });
            }
            points.push(PointModel {
                name: name.clone(),
                placements,
                repeatability: repeatability.transpose()?,
            });
        }
        let model = PointsModel {
            runs: runs.runs.clone(),
            points,
            flow_unit: self.flow_unit.clone(),
        };
        let inputs = union.into_inputs()?;
        let point_budgets = propagate(&model, &inputs)?;
        let point_joint = JointResult::of_budgets(&point_budgets, &inputs)?;

        let p = self.coverage_probability;
        let run_results = self.run_results(verification, &runs, &estimates, &budgets, &joint)?;
        let point_results = point_results(verification, p, &model, &point_budgets, &scatter)?;
        let (line, line_refused) = match error_line(&point_joint) {
            None => (None, None),
            Some(Ok(line)) => (Some(line), None),
            Some(Err(error)) => (None, Some(error.to_string())),
        };
        let (error_covariance, error_correlation) = of_errors(&point_joint);
        let mut result = VerificationResult {
            name: verification.name.clone(),
            note: verification.note.clone(),
            site: self.name.clone(),
            reference: verification.setting.kind,
            reference_name: verification.reference_name.clone(),
            coverage_probability: p,
            runs: run_results,
            points: point_results,
            error_covariance,
            error_correlation,
            line,
            line_refused,
            decision: None,
            warnings: Vec::new(),
            flow_unit: self.flow_unit.clone(),
            limits: verification.judgement.as_ref().map(|j| j.limits),
            file: (
                file_name(&verification.file),
                Arc::clone(&verification.text),
            ),
            run_model: runs,
            run_inputs,
            model,
            inputs,
            evaluations,
        };
        result.decide();
        result.warn(stated_remounting);
        Ok(result)
    }

    fn run_results(
        &self,
        verification: &Verification,
        model: &RunsModel,
        estimates: &[f64],
        budgets: &[Budget],
        joint: &JointResult,
    ) -> Result<Vec<RunResult>> {
        let p = self.coverage_probability;
        let all = verification.runs.iter().zip(&model.runs);
        let all = all.zip(budgets.chunks(OF_RUN)).enumerate();
        all.map(|(i, ((run, model), budgets))| {
            let of = |output: usize| OfQuantity::of(&budgets[output], p);
            let (meter, reference) = (of(METER_FLOW)?, of(REFERENCE_FLOW)?);
            let at = |output: usize| OF_RUN * i + output;
            let correlation = joint.correlation(at(METER_FLOW), at(REFERENCE_FLOW));
            let correlation = Some(correlation).filter(|r| r.is_finite());
            let sides = model.sides(estimates, false);
            let timed = model.reference.has(ReferenceQuantity::Duration);
            let volume = |flow: f64| timed.then_some(flow * sides.reference.duration);
            Ok(RunResult {
                run: run.number,
                point: run.point.clone(),
                placement: run.placement.clone(),
                note: run.note.clone(),
                readings_file: run.readings_file.clone(),
                meter_volume: volume(meter.value),
                reference_volume: volume(reference.value),
                scores: Scores::of_sides(&meter, &reference, correlation.unwrap_or(0.0)),
                meter_flow: meter,
                reference_flow: reference,
                correlation,
                error: of(ERROR)?,
                meter_factor: of(METER_FACTOR)?,
                steps: step_list(&sides.reference),
                error_budget: of_inputs(
                    &budgets[ERROR],
                    &model.inputs(false).collect::<Vec<usize>>(),
                ),
            })
        })
        .collect()
    }
}

fn point_results(
    verification: &Verification,
    p: f64,
    model: &PointsModel,
    budgets: &[Budget],
    scatter: &Scatter,
) -> Result<Vec<PointResult>> {
    let all = model.points.iter().zip(budgets.chunks(OF_POINT));
    let all = all.zip(scatter.repeatability.iter().zip(&scatter.reproducibility));
    all.map(|((point, budgets), (repeatability, reproducibility))| {
        let judged = verification.judgement.as_ref();
        let error = OfQuantity::of(&budgets[ERROR], p)?;
        let numbers = point.placements.iter().flat_map(|placed| &placed.runs);
        let numbers = numbers.map(|run| verification.runs[*run].number);
        Ok(PointResult {
            point: point.name.clone(),
            runs: numbers.collect(),
            placements: point.placements.len(),
            flow: OfQuantity::of(&budgets[POINT_FLOW], p)?,
            scores: Scores::of_error(&error),
            error,
            meter_factor: OfQuantity::of(&budgets[METER_FACTOR], p)?,
            repeatability: repeatability.clone(),
            reproducibility: reproducibility.clone(),
            conformity: judged.map(|j| j.of(&budgets[ERROR])).transpose()?,
            error_budget: of_inputs(&budgets[ERROR], &model.inputs(point)),
        })
    })
    .collect()
}

/// Covariance and correlation matrix of the errors of the points.
fn of_errors(joint: &JointResult) -> (Vec<Vec<f64>>, Vec<Vec<Option<f64>>>) {
    let points = joint.estimates.len() / OF_POINT;
    let at = |i: usize| OF_POINT * i + ERROR;
    let rows = |row: &dyn Fn(usize, usize) -> f64| -> Vec<Vec<f64>> {
        let row = |i: usize| (0..points).map(|j| row(at(i), at(j))).collect();
        (0..points).map(row).collect()
    };
    let covariance = rows(&|i, j| joint.covariance[(i, j)]);
    let correlation = rows(&|i, j| joint.correlation(i, j));
    let finite = |row: Vec<f64>| row.into_iter().map(|r| Some(r).filter(|r| r.is_finite()));
    let correlation = correlation.into_iter().map(|row| finite(row).collect());
    (covariance, correlation.collect())
}

/// The straight line of error against flow through three points or more.
fn error_line(joint: &JointResult) -> Option<Result<ErrorLine>> {
    let points = joint.estimates.len() / OF_POINT;
    if points < 3 {
        return None;
    }
    // all flows, then all errors
    let at = |k: usize| match k.checked_sub(points) {
        None => OF_POINT * k + POINT_FLOW,
        Some(i) => OF_POINT * i + ERROR,
    };
    let column = |from: usize| -> Vec<f64> {
        (from..from + points)
            .map(|k| joint.estimates[at(k)])
            .collect()
    };
    let row = |k: usize| {
        (0..2 * points)
            .map(|l| joint.covariance[(at(k), at(l))])
            .collect()
    };
    let covariance: Vec<Vec<f64>> = (0..2 * points).map(row).collect();
    let line = StraightLine::generalized(&column(0), &column(points), &covariance);
    Some(line.map(|line| ErrorLine::of(&line)))
}
