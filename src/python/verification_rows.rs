//! Runs and flow points of a verification as dictionaries.

use crate::units::Unit;
use crate::verify as core;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// The figures of a quantity, with its unit, where it has one, as the last part of their names.
fn put(
    dict: &Bound<'_, PyDict>,
    name: &str,
    of: &core::OfQuantity,
    unit: Option<&Unit>,
) -> PyResult<()> {
    let end = unit.map_or(String::new(), |unit| format!("_{}", unit.suffix()));
    let ratio = Unit::named("1");
    let unit = unit.unwrap_or(&ratio);
    let u = unit.difference_from_si(of.standard_uncertainty);
    let expanded = unit.difference_from_si(of.expanded_uncertainty);
    dict.set_item(format!("{name}{end}"), unit.from_si(of.value))?;
    dict.set_item(format!("{name}_uncertainty{end}"), u)?;
    dict.set_item(format!("{name}_expanded{end}"), expanded)?;
    let dof = of.effective_dof.unwrap_or(f64::INFINITY);
    dict.set_item(format!("{name}_dof"), dof)
}

fn put_scores(dict: &Bound<'_, PyDict>, scores: Option<core::Scores>) -> PyResult<()> {
    dict.set_item("e_n", scores.and_then(|scores| scores.e_n))?;
    dict.set_item("zeta", scores.and_then(|scores| scores.zeta))
}

pub(super) fn run_entry<'py>(
    py: Python<'py>,
    run: &core::RunResult,
    unit: &Unit,
) -> PyResult<Bound<'py, PyDict>> {
    let entry = PyDict::new(py);
    entry.set_item("run", run.run)?;
    entry.set_item("point", &run.point)?;
    entry.set_item("placement", &run.placement)?;
    entry.set_item("readings", &run.readings_file)?;
    put(&entry, "meter_flow", &run.meter_flow, Some(unit))?;
    put(&entry, "reference_flow", &run.reference_flow, Some(unit))?;
    entry.set_item("correlation", run.correlation)?;
    entry.set_item("meter_volume_m3", run.meter_volume)?;
    entry.set_item("reference_volume_m3", run.reference_volume)?;
    put(&entry, "error", &run.error, None)?;
    put(&entry, "meter_factor", &run.meter_factor, None)?;
    put_scores(&entry, run.scores)?;
    Ok(entry)
}

pub(super) fn point_entry<'py>(
    py: Python<'py>,
    point: &core::PointResult,
    unit: &Unit,
) -> PyResult<Bound<'py, PyDict>> {
    let entry = PyDict::new(py);
    entry.set_item("point", &point.point)?;
    entry.set_item("runs", point.runs.len())?;
    entry.set_item("placements", point.placements)?;
    put(&entry, "flow", &point.flow, Some(unit))?;
    put(&entry, "error", &point.error, None)?;
    put(&entry, "meter_factor", &point.meter_factor, None)?;
    put_scores(&entry, point.scores)?;
    let repeatability = point.repeatability.as_ref();
    entry.set_item("repeatability", repeatability.map(|r| r.standard_deviation))?;
    let reproducibility = point.reproducibility.as_ref();
    entry.set_item(
        "reproducibility",
        reproducibility.map(|r| r.standard_deviation),
    )?;
    entry.set_item("placements_p_value", reproducibility.map(|r| r.p_value))?;
    let conformity = point.conformity.as_ref();
    let verdict = point.verdict();
    entry.set_item("verdict", verdict.map(core::Verdict::in_words))?;
    entry.set_item("accepted", verdict.and_then(core::Verdict::accepted))?;
    let probability = conformity.map(|c| c.conformance_probability);
    entry.set_item("conformance_probability", probability)?;
    let [lower, upper] = conformity.map_or([None, None], |c| c.acceptance);
    entry.set_item("acceptance_lower", lower)?;
    entry.set_item("acceptance_upper", upper)?;
    let [lower, upper] = conformity.map_or([None, None], |c| c.permissible);
    entry.set_item("permissible_lower", lower)?;
    entry.set_item("permissible_upper", upper)?;
    let needed = conformity.and_then(|c| c.expanded_uncertainty_needed);
    entry.set_item("expanded_uncertainty_needed", needed)?;
    let needed = conformity.and_then(core::Conformity::needed_in_words);
    entry.set_item("needed", needed)?;
    let with_prior = conformity.and_then(|c| c.conformance_probability_with_prior);
    entry.set_item("conformance_probability_with_prior", with_prior)?;
    let global = conformity.and_then(|c| c.global_risks);
    entry.set_item("global_consumers_risk", global.map(|g| g.consumers_risk))?;
    entry.set_item("global_producers_risk", global.map(|g| g.producers_risk))?;
    entry.set_item("decision", conformity.map(|c| c.in_words()))?;
    Ok(entry)
}
