//! Scores, and the corrections of weighing.

use crate::error::Result;
use crate::verify as core;
use numpy::{PyArray1, PyReadonlyArray1, ToPyArray};
use pyo3::prelude::*;

type Array<'py> = Bound<'py, PyArray1<f64>>;
type Argument<'py> = PyReadonlyArray1<'py, f64>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(scores, module)?)?;
    module.add_function(wrap_pyfunction!(air_density, module)?)?;
    module.add_function(wrap_pyfunction!(buoyancy_factor, module)?)?;
    module.add_function(wrap_pyfunction!(diverter_error, module)?)
}

/// `E_n`, or zeta for standard uncertainties, all of shape `(n,)`.
#[pyfunction]
fn scores<'py>(
    py: Python<'py>,
    x: Argument<'py>,
    u_x: Argument<'py>,
    reference: Argument<'py>,
    u_reference: Argument<'py>,
    correlation: Argument<'py>,
) -> PyResult<Array<'py>> {
    let (x, u_x) = (x.as_array(), u_x.as_array());
    let (reference, u_reference) = (reference.as_array(), u_reference.as_array());
    let correlation = correlation.as_array();
    let one = |i: usize| core::e_n(x[i], u_x[i], reference[i], u_reference[i], correlation[i]);
    let all = (0..x.len()).map(one).collect::<Result<Vec<f64>>>()?;
    Ok(all.to_pyarray(py))
}

/// Density of moist air, arguments of shape `(n,)` in SI units.
#[pyfunction]
fn air_density<'py>(
    py: Python<'py>,
    temperature: Argument<'py>,
    pressure: Argument<'py>,
    humidity: Argument<'py>,
) -> PyResult<Array<'py>> {
    let (t, p) = (temperature.as_array(), pressure.as_array());
    let h = humidity.as_array();
    let one = |i: usize| {
        core::check_air(t[i], p[i], h[i])?;
        Ok(core::air_density(t[i], p[i], h[i]))
    };
    let all = (0..t.len()).map(one).collect::<Result<Vec<f64>>>()?;
    Ok(all.to_pyarray(py))
}

/// Mass over indication, densities of shape `(n,)` in kg/m3.
#[pyfunction]
fn buoyancy_factor<'py>(
    py: Python<'py>,
    air: Argument<'py>,
    weights: Argument<'py>,
    liquid: Argument<'py>,
) -> PyResult<Array<'py>> {
    let all = air.as_array();
    let all = all.iter().zip(weights.as_array()).zip(liquid.as_array());
    let factors = all.map(|((air, weights), liquid)| {
        core::check_densities(*air, *weights, *liquid)?;
        Ok(core::buoyancy_factor(*air, *weights, *liquid))
    });
    Ok(factors.collect::<Result<Vec<f64>>>()?.to_pyarray(py))
}

/// Error of a diverter in s from one long run and many short ones.
#[pyfunction]
fn diverter_error(
    duration: f64,
    mass: f64,
    burst_duration: f64,
    burst_mass: f64,
    bursts: u32,
    flow_ratio: f64,
) -> PyResult<f64> {
    core::check_bursts(
        [duration, mass, burst_duration, burst_mass, flow_ratio],
        bursts,
    )?;
    Ok(core::diverter_error(
        duration,
        mass,
        burst_duration,
        burst_mass,
        bursts,
        flow_ratio,
    ))
}
