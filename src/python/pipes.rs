//! Dimensions, materials and expansion of pipes.

use crate::error::{Error, Result};
use crate::pipe::{self, Dimensions, Ends, Figure, Material, Pressurised, Range, Standard, Status};
use numpy::{PyReadonlyArray2, PyUntypedArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(pipe_dimensions, module)?)?;
    module.add_function(wrap_pyfunction!(pipe_sizes, module)?)?;
    module.add_function(wrap_pyfunction!(pipe_schedules, module)?)?;
    module.add_function(wrap_pyfunction!(material_names, module)?)?;
    module.add_function(wrap_pyfunction!(material, module)?)?;
    module.add_function(wrap_pyfunction!(wall_grid, module)?)?;
    module.add_function(wrap_pyfunction!(pressure_strain, module)?)
}

type Pair = (f64, f64);

fn pair(range: Range) -> Pair {
    (range.estimate, range.half_width)
}

/// Estimate and half-width of outside diameter and wall, in m.
#[pyfunction]
fn pipe_dimensions(standard: &str, size: &str, schedule: Option<&str>) -> PyResult<(Pair, Pair)> {
    let found = Dimensions::of(standard, size, schedule)?;
    Ok((pair(found.outside_diameter), pair(found.wall)))
}

#[pyfunction]
fn pipe_sizes(standard: &str) -> PyResult<Vec<&'static str>> {
    Ok(Standard::from_name(standard)?.sizes()?)
}

#[pyfunction]
fn pipe_schedules(standard: &str, size: &str) -> PyResult<Vec<&'static str>> {
    Ok(Standard::from_name(standard)?.schedules(size)?)
}

#[pyfunction]
fn material_names() -> PyResult<Vec<&'static str>> {
    Ok(Material::all()?.iter().map(|m| m.name.as_str()).collect())
}

/// Name and figures: estimate, half-width, source and status, or `None`.
#[pyfunction]
fn material<'py>(py: Python<'py>, name: &str) -> PyResult<(&'static str, Bound<'py, PyDict>)> {
    let found = Material::named(name)?;
    let modulus = found.youngs_modulus();
    let figures = [
        ("longitudinal_speed", Some(&found.longitudinal_speed)),
        ("shear_speed", found.shear_speed.as_ref()),
        (
            "longitudinal_speed_per_kelvin",
            found.longitudinal_speed_per_kelvin.as_ref(),
        ),
        (
            "shear_speed_per_kelvin",
            found.shear_speed_per_kelvin.as_ref(),
        ),
        ("density", Some(&found.density)),
        ("expansion", found.expansion.as_ref()),
        ("youngs_modulus", modulus.as_ref()),
        ("poisson_ratio", Some(&found.poisson_ratio)),
        ("roughness", Some(&found.roughness)),
    ];
    let status = |figure: &Figure| match figure.status {
        Status::Seen => "seen",
        Status::Judged => "judged",
        Status::Memory => "memory",
    };
    let entry = |figure: &Figure| {
        let Range {
            estimate,
            half_width,
        } = figure.range;
        (estimate, half_width, figure.source.clone(), status(figure))
    };
    let all = PyDict::new(py);
    for (key, figure) in figures {
        all.set_item(key, figure.map(entry))?;
    }
    Ok((&found.name, all))
}

/// Mean, smallest, largest; standard deviation, eccentricity, direction and residual.
#[pyfunction]
fn wall_grid(readings: PyReadonlyArray2<'_, f64>) -> PyResult<([f64; 3], [Option<f64>; 4])> {
    let rings: Vec<Vec<f64>> = (0..readings.shape()[0])
        .map(|i| readings.as_array().row(i).to_vec())
        .collect();
    let grid = pipe::WallGrid::new(&rings)?;
    let eccentric = grid.eccentric;
    Ok((
        [grid.mean, grid.smallest, grid.largest],
        [
            grid.standard_deviation,
            eccentric.map(|e| e.eccentricity),
            eccentric.map(|e| e.direction),
            eccentric.and_then(|e| e.residual),
        ],
    ))
}

/// Relative growth of bore and outside diameter.
#[pyfunction]
fn pressure_strain(
    outside_diameter: f64,
    inside_diameter: f64,
    pressure: f64,
    youngs_modulus: f64,
    poisson_ratio: f64,
    ends: &str,
) -> PyResult<Pair> {
    let pipe = Pressurised {
        outside_diameter,
        inside_diameter,
        pressure,
        youngs_modulus,
        poisson_ratio,
        ends: ends_of(ends)?,
    };
    pipe.check()?;
    let strain = pipe.strain();
    Ok((strain.bore, strain.outside))
}

fn ends_of(name: &str) -> Result<Ends> {
    match name {
        "open" => Ok(Ends::Open),
        "closed" => Ok(Ends::Closed),
        "anchored" => Ok(Ends::Anchored),
        _ => Err(Error::unknown_name(
            "ends",
            name,
            &["open", "closed", "anchored"],
        )),
    }
}
