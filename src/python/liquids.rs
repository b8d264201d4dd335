//! Liquids other than water on one-dimensional arrays.

use crate::error::{Error, Result};
use crate::liquid::glycol::Glycol;
use crate::liquid::{FormulationUncertainty, Liquid, State};
use numpy::{PyArray1, PyReadonlyArray1, ToPyArray};
use pyo3::prelude::*;

type Array<'py> = Bound<'py, PyArray1<f64>>;
type Argument<'py> = PyReadonlyArray1<'py, f64>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(liquid_property, module)?)?;
    module.add_function(wrap_pyfunction!(liquid_uncertainty, module)?)?;
    module.add_function(wrap_pyfunction!(glycol_freezing_temperature, module)?)
}

fn liquid_of(name: &str) -> Result<Liquid> {
    Liquid::named(name).ok_or_else(|| Error::unknown_name("liquid", name, &Liquid::NAMES))
}

/// Applies a function to the checked state of each row.
fn for_states<'py>(
    py: Python<'py>,
    liquid: &Liquid,
    [temperature, pressure, content]: &[Argument<'py>; 3],
    function: impl Fn(&State<f64>) -> f64,
) -> PyResult<Array<'py>> {
    let (t, p, x) = (
        temperature.as_array(),
        pressure.as_array(),
        content.as_array(),
    );
    let rows = t.iter().zip(p).zip(x);
    let values = rows.map(|((&temperature, &pressure), &content)| {
        let state = State {
            temperature,
            pressure,
            content,
        };
        liquid.check(&state)?;
        Ok(function(&state))
    });
    Ok(values.collect::<Result<Vec<f64>>>()?.to_pyarray(py))
}

#[pyfunction]
fn liquid_property<'py>(
    py: Python<'py>,
    liquid: &str,
    property: &str,
    state: [Argument<'py>; 3],
) -> PyResult<Array<'py>> {
    let liquid = liquid_of(liquid)?;
    let density = |at: &State<f64>| liquid.density(at);
    let kinematic = |at: &State<f64>| liquid.kinematic_viscosity(at, liquid.density(at));
    match property {
        "density" => for_states(py, &liquid, &state, density),
        "kinematic_viscosity" => for_states(py, &liquid, &state, kinematic),
        "dynamic_viscosity" => for_states(py, &liquid, &state, |at| liquid.dynamic_viscosity(at)),
        _ => for_states(py, &liquid, &state, |at| liquid.sound_speed(at)),
    }
}

/// The relative standard uncertainty of a property, row by row.
#[pyfunction]
fn liquid_uncertainty<'py>(
    py: Python<'py>,
    liquid: &str,
    property: &str,
    state: [Argument<'py>; 3],
) -> PyResult<Array<'py>> {
    let liquid = liquid_of(liquid)?;
    let relative = |uncertainty: FormulationUncertainty| uncertainty.relative;
    for_states(py, &liquid, &state, |at| {
        let uncertainties = liquid.uncertainties(at);
        match property {
            "density" => relative(uncertainties.density),
            "viscosity" => relative(uncertainties.viscosity),
            _ => uncertainties.sound_speed.map_or(f64::NAN, relative),
        }
    })
}

#[pyfunction]
fn glycol_freezing_temperature<'py>(
    py: Python<'py>,
    propylene: bool,
    mass_fraction: Argument<'py>,
) -> PyResult<Array<'py>> {
    let glycol = if propylene {
        Glycol::Propylene
    } else {
        Glycol::Ethylene
    };
    let freezing = |x: &f64| {
        let temperature = glycol.freezing_temperature(*x);
        // a content out of range is refused in words before its temperature is
        glycol.check(temperature, *x)?;
        Ok(temperature)
    };
    let values = mass_fraction.as_array();
    let values = values.iter().map(freezing).collect::<Result<Vec<f64>>>()?;
    Ok(values.to_pyarray(py))
}
