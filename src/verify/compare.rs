//! Meter against reference: one measurement model over the inputs of all runs.

use super::check::{check_indicated, check_run};
use super::decision::decision;
use super::inputs_and_sides::{Prepared, fixed_values, prepare, remounted, remounting_uncertainty};
use super::model::{
    ERROR, METER_FACTOR, METER_FLOW, OF_POINT, OF_RUN, POINT_FLOW, PointModel, PointsModel,
    REFERENCE_FLOW, RunsModel,
};
use super::quantity::ReferenceQuantity;
use super::question::{Indicated, Question};
use super::result::{
    ErrorLine, OfQuantity, PointResult, RunResult, Scores, VerificationResult, step_list,
};
use super::scatter_inputs::{Scatter, repeatability_input, reproducibility_input, scatter};
use super::verification::Verification;
use crate::error::{Error, Result, file_name};
use crate::site::Site;
use crate::uncertainty::{Budget, JointResult, StraightLine, propagate};
use std::sync::Arc;

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

impl Site {
    /// Verifies the meter of the site: its error against a reference run by run and flow point by
    /// flow point, with the uncertainty that belongs to the question asked, and whether it is
    /// permissible.
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
            check_indicated(model)
                .map_err(|e| e.in_file(&verification.file, verification.question_line))?;
            check_run(run, model, &estimates)
                .and_then(|()| model.check_curves(&estimates, &self.flow_unit))
                .map_err(|e| e.in_file(&verification.file, run.line))?;
        }
        let fixed = fixed_values(self, verification, evaluations.first());
        let budgets = propagate(&runs, &run_inputs)?;
        let joint = JointResult::of_budgets(&budgets, &run_inputs)?;
        let errors: Vec<f64> = budgets.chunks(OF_RUN).map(|b| b[ERROR].estimate).collect();

        let groups = grouped(verification);
        let scatter = scatter(verification, &groups, &errors)?;
        let stated_remounting = match verification.indicated {
            // the flow that the meter showed does not depend on it
            Indicated::Shown => 0.0,
            Indicated::Computed => remounting_uncertainty(&evaluations),
        };
        let between = scatter
            .between_placements()
            .filter(|_| stated_remounting == 0.0);
        let mut points = Vec::with_capacity(groups.len());
        for ((name, groups), (repeatability, reproducibility)) in verification
            .points
            .iter()
            .zip(&groups)
            .zip(scatter.repeatability.iter().zip(&scatter.reproducibility))
        {
            let judged = stated_remounting == 0.0 && reproducibility.is_some();
            let least_dof = if judged {
                (groups.len() - 1) as f64
            } else {
                f64::INFINITY
            };
            let repeatability = repeatability.as_ref().map(|found| {
                let own = repeatability_input(name, groups, found, least_dof)?;
                Ok::<usize, Error>(union.take(&own))
            });
            let reproducibility = between.filter(|_| groups.len() > 1).map(|deviation| {
                let own = reproducibility_input(groups, deviation)?;
                Ok::<usize, Error>(union.take(&own))
            });
            points.push(PointModel {
                name: name.clone(),
                placements: groups.iter().map(|(_, runs)| runs.clone()).collect(),
                reproducibility: reproducibility.transpose()?,
                repeatability: repeatability.transpose()?,
            });
        }
        // a run alone is of one mounting; a point is the mean over those of its runs
        let mut of_points = runs.runs.clone();
        for (model, run) in of_points.iter_mut().zip(&verification.runs) {
            model.remounted = remounted(verification, &run.point);
        }
        let model = PointsModel {
            runs: of_points,
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
        let decision = decision(verification.question, &point_results);
        let mut result = VerificationResult {
            name: verification.name.clone(),
            note: verification.note.clone(),
            site: self.name.clone(),
            question: verification.question,
            indicated: verification.indicated,
            fixed,
            reference: verification.setting.kind,
            reference_name: verification.reference_name.clone(),
            coverage_probability: p,
            runs: run_results,
            points: point_results,
            error_covariance,
            error_correlation,
            line,
            line_refused,
            decision,
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
        let agreement = verification.question == Question::Agreement;
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
                scores: agreement
                    .then(|| Scores::of_sides(&meter, &reference, correlation.unwrap_or(0.0))),
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
    let agreement = verification.question == Question::Agreement;
    let all = model.points.iter().zip(budgets.chunks(OF_POINT));
    let all = all.zip(scatter.repeatability.iter().zip(&scatter.reproducibility));
    all.map(|((point, budgets), (repeatability, reproducibility))| {
        let judged = verification.judgement.as_ref();
        let error = OfQuantity::of(&budgets[ERROR], p)?;
        let numbers = point.placements.iter().flatten();
        let numbers = numbers.map(|run| verification.runs[*run].number);
        Ok(PointResult {
            point: point.name.clone(),
            runs: numbers.collect(),
            placements: point.placements.len(),
            flow: OfQuantity::of(&budgets[POINT_FLOW], p)?,
            scores: agreement.then(|| Scores::of_error(&error)),
            error,
            meter_factor: OfQuantity::of(&budgets[METER_FACTOR], p)?,
            repeatability: repeatability.clone(),
            reproducibility: reproducibility.clone(),
            conformity: judged.map(|j| j.of(&budgets[ERROR], p)).transpose()?,
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
    let covariance = rows(&|i, j| joint.covariance[i][j]);
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
            .map(|l| joint.covariance[at(k)][at(l)])
            .collect()
    };
    let covariance: Vec<Vec<f64>> = (0..2 * points).map(row).collect();
    let line = StraightLine::generalized(&column(0), &column(points), &covariance);
    Some(line.map(|line| ErrorLine::of(&line)))
}
