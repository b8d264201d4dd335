//! The unit in which a number is handed over: that beside it, unless another is asked for.

use crate::montecarlo::Interval;
use crate::units::Unit;
use pyo3::prelude::*;

/// The unit that is asked for: the own one if none is.
pub(super) fn asked(own: &Unit, unit: Option<&str>) -> PyResult<Unit> {
    Ok(match unit {
        Some(symbol) => own.asked(symbol, "unit")?,
        None => own.clone(),
    })
}

/// The ends of an interval in the unit asked for.
pub(super) fn ends(interval: Interval, own: &Unit, unit: Option<&str>) -> PyResult<(f64, f64)> {
    let shown = interval.shown_in(&asked(own, unit)?);
    Ok((shown.low, shown.high))
}
