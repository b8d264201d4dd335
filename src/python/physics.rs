//! The physics functions on one-dimensional arrays. Broadcasting and shapes are Python's business.

use crate::acoustics::{self, Geometry, Layer};
use crate::error::{Error, Result};
use crate::liquid::water;
use crate::profile::{self, FrictionLaw, ProfileLaw};
use numpy::{PyArray1, PyReadonlyArray1, ToPyArray};
use pyo3::prelude::*;

type Array<'py> = Bound<'py, PyArray1<f64>>;
type Argument<'py> = PyReadonlyArray1<'py, f64>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(water_property, module)?)?;
    module.add_function(wrap_pyfunction!(saturation_pressure, module)?)?;
    module.add_function(wrap_pyfunction!(friction_factor, module)?)?;
    module.add_function(wrap_pyfunction!(correction_factor, module)?)?;
    module.add_function(wrap_pyfunction!(law_half_width, module)?)?;
    module.add_function(wrap_pyfunction!(trace_path, module)?)
}

/// Applies a checked function of two numbers to pairs of elements.
fn map2<'py>(
    py: Python<'py>,
    a: &Argument<'py>,
    b: &Argument<'py>,
    function: impl Fn(f64, f64) -> Result<f64>,
) -> PyResult<Array<'py>> {
    let (a, b) = (a.as_array(), b.as_array());
    let values = a.iter().zip(b).map(|(a, b)| function(*a, *b));
    let values = values.collect::<Result<Vec<f64>>>()?;
    Ok(values.to_pyarray(py))
}

#[pyfunction]
fn water_property<'py>(
    py: Python<'py>,
    name: &str,
    temperature: Argument<'py>,
    pressure: Argument<'py>,
) -> PyResult<Array<'py>> {
    let property = match name {
        "density" => water::density::<f64>,
        "sound_speed" => water::sound_speed::<f64>,
        "dynamic_viscosity" => water::dynamic_viscosity::<f64>,
        _ => water::kinematic_viscosity::<f64>,
    };
    map2(py, &temperature, &pressure, |t, p| {
        water::check(t, p)?;
        Ok(property(t, p))
    })
}

#[pyfunction]
fn saturation_pressure<'py>(py: Python<'py>, temperature: Argument<'py>) -> PyResult<Array<'py>> {
    map2(py, &temperature, &temperature, |t, _| {
        water::check_temperature(t)?;
        Ok(water::saturation_pressure(t))
    })
}

#[pyfunction]
fn friction_factor<'py>(
    py: Python<'py>,
    reynolds: Argument<'py>,
    relative_roughness: Argument<'py>,
    law: &str,
) -> PyResult<Array<'py>> {
    let law = FrictionLaw::from_name(law, "law")?;
    map2(py, &reynolds, &relative_roughness, |re, rr| {
        profile::check_turbulent(re, rr)?;
        Ok(profile::friction_factor(re, rr, law))
    })
}

#[pyfunction]
fn correction_factor<'py>(
    py: Python<'py>,
    reynolds: Argument<'py>,
    relative_roughness: Argument<'py>,
    law: &str,
    kappa: Option<f64>,
    friction: &str,
) -> PyResult<Array<'py>> {
    let law = ProfileLaw::from_name(law, "law")?.with_kappa(kappa, "kappa")?;
    let friction = FrictionLaw::from_name(friction, "friction")?;
    map2(py, &reynolds, &relative_roughness, |re, rr| {
        profile::check(re, rr)?;
        Ok(profile::correction_factor(re, rr, law, friction))
    })
}

#[pyfunction]
fn law_half_width<'py>(
    py: Python<'py>,
    reynolds: Argument<'py>,
    relative_roughness: Argument<'py>,
    law: &str,
    friction: &str,
) -> PyResult<Array<'py>> {
    let law = ProfileLaw::from_name(law, "law")?;
    let friction = FrictionLaw::from_name(friction, "friction")?;
    map2(py, &reynolds, &relative_roughness, |re, rr| {
        profile::check(re, rr)?;
        Ok(profile::law_half_width(re, rr, law, friction))
    })
}

/// Traces one path for each row of the columns: outside diameter, wall, liner, wedge angle, and the
/// sound speeds of wedge, wall, liner and liquid. Returns axial slowness, the angles in wall, liner
/// and liquid, spacing, time in the liquid and time in wall and liner.
#[pyfunction]
fn trace_path<'py>(
    py: Python<'py>,
    columns: [Argument<'py>; 8],
    traverses: u32,
) -> PyResult<Vec<Array<'py>>> {
    let rows = columns[0].as_array().len();
    let mut results: [Vec<f64>; 7] = Default::default();
    for row in 0..rows {
        let element = |c: usize| {
            columns[c]
                .as_array()
                .get(row)
                .copied()
                .ok_or(Error::Length {
                    field: "arguments".to_owned(),
                    found: row,
                    allowed: format!("{rows} elements each"),
                })
        };
        let (wall, liner) = (element(1)?, element(2)?);
        let geometry = Geometry {
            wedge_angle: element(3)?,
            wedge_sound_speed: element(4)?,
            wall: Layer {
                thickness: wall,
                sound_speed: element(5)?,
            },
            liner: Layer {
                thickness: liner,
                sound_speed: element(6)?,
            },
            inside_diameter: crate::pipe::inside_diameter(element(0)?, wall, liner),
            liquid_sound_speed: element(7)?,
            traverses,
        };
        acoustics::check(&geometry)?;
        let path = acoustics::Path::trace(&geometry);
        let [in_wall, in_liner, in_liquid] = path.angles();
        let values = [
            path.axial_slowness,
            in_wall,
            in_liner,
            in_liquid,
            path.spacing,
            path.time_in_liquid,
            path.time_in_wall,
        ];
        results
            .iter_mut()
            .zip(values)
            .for_each(|(column, value)| column.push(value));
    }
    Ok(results.iter().map(|column| column.to_pyarray(py)).collect())
}
