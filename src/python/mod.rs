//! Python bindings: conversion of arguments and results, and nothing else.

mod budget;
mod checks;
mod combined_means;
mod conformity;
mod elementwise;
mod error;
mod evaluation;
mod inputs;
mod installation;
mod joint;
mod layout;
mod liquids;
mod low_discrepancy;
mod mark_out;
mod models;
mod physics;
mod pickled;
mod pipes;
mod plan;
mod readings;
mod reconciliation;
mod record;
mod regression;
mod scores;
mod series;
mod series_settings;
mod shown;
mod site;
mod sites;
mod statistics;
mod stress_test;
mod tally;
mod text;
mod trials;
mod user_class;
mod verification;
mod verification_rows;
mod watched;
mod worksheet;

use pyo3::prelude::*;

/// The extension module `flowdoubt._core`.
#[pymodule]
fn _core(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("__version__", env!("CARGO_PKG_VERSION"))?;
    module.add("CAUTIONS", crate::evaluate::CAUTIONS)?;
    error::register(module)?;
    user_class::register(module)?;
    physics::register(module)?;
    liquids::register(module)?;
    pipes::register(module)?;
    installation::register(module)?;
    statistics::register(module)?;
    combined_means::register(module)?;
    regression::register(module)?;
    conformity::register(module)?;
    verification::register(module)?;
    scores::register(module)?;
    module.add_function(wrap_pyfunction!(record::write_whole, module)?)?;
    module.add_function(wrap_pyfunction!(text::shown, module)?)?;
    mark_out::register(module)?;
    plan::register(module)?;
    series::register(module)?;
    sites::register(module)?;
    module.add_function(wrap_pyfunction!(budget::rounded, module)?)?;
    module.add_function(wrap_pyfunction!(budget::rounded_pair, module)?)?;
    site::register(module)?;
    module.add_class::<evaluation::Evaluation>()?;
    module.add_class::<stress_test::StressTest>()?;
    module.add_class::<record::Record>()?;
    module.add_class::<record::Reproduction>()?;
    module.add_class::<worksheet::Worksheet>()?;
    module.add_class::<checks::SoundSpeedCheck>()?;
    module.add_class::<checks::ZeroCheck>()?;
    module.add_class::<checks::InterchangedZero>()?;
    reconciliation::register(module)?;
    module.add_class::<budget::Budget>()?;
    module.add_class::<budget::Expanded>()?;
    module.add_class::<trials::Trials>()?;
    module.add_class::<tally::TallyPlan>()?;
    module.add_class::<tally::Tally>()?;
    module.add_class::<tally::Tallied>()?;
    module.add_class::<tally::TalliedTrials>()?;
    module.add_class::<trials::Validation>()?;
    module.add_class::<inputs::Input>()?;
    module.add_class::<models::InputSet>()?;
    module.add_class::<joint::JointResult>()?;
    module.add_class::<joint::JointTrials>()?;
    module.add_class::<joint::EllipsoidalRegion>()?;
    module.add_class::<joint::RectangularRegion>()?;
    module.add_class::<joint::SecondOrder>()?;
    module.add_class::<joint::AdaptiveRun>()?;
    module.add_class::<joint::Sensitivity>()?;
    module.add_class::<low_discrepancy::LowDiscrepancyRun>()?;
    Ok(())
}
