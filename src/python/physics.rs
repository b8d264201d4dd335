//! The physics functions on one-dimensional arrays. Broadcasting and shapes are Python's business.

use crate::acoustics::{Aim, Layer, LayeredPipe};
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

/// Traces one path for each row of the columns: outside diameter, sound speed of the liquid, wedge
/// angle and speed or else spacing, and thickness and sound speed of each layer, with those of the
/// couplant first where there is one. Returns axial slowness, spacing, time in the liquid, time in
/// the layers, angle in the liquid and in each layer but the couplant.
#[pyfunction]
fn trace_path<'py>(
    py: Python<'py>,
    pipe: [Argument<'py>; 2],
    aim: Vec<Argument<'py>>,
    layers: Vec<[Argument<'py>; 2]>,
    couplant: bool,
    traverses: u32,
) -> PyResult<Vec<Array<'py>>> {
    let rows = pipe[0].as_array().len();
    let element = |column: &Argument<'py>, row: usize| {
        let column = column.as_array();
        let found = column.get(row).copied();
        found.ok_or_else(|| Error::Length {
            field: "arguments".to_owned(),
            found: column.len(),
            allowed: format!("{rows} elements each"),
        })
    };
    let mut results = vec![Vec::with_capacity(rows); 5 + layers.len() - usize::from(couplant)];
    for row in 0..rows {
        let read = |[thickness, sound_speed]: &[Argument<'py>; 2]| -> Result<Layer<f64>> {
            Ok(Layer {
                thickness: element(thickness, row)?,
                sound_speed: element(sound_speed, row)?,
            })
        };
        let mut crossed = layers.iter().map(read);
        let couplant = if couplant {
            crossed.next().transpose()?
        } else {
            None
        };
        let pipe = LayeredPipe {
            outside_diameter: element(&pipe[0], row)?,
            couplant,
            layers: crossed.collect::<Result<_>>()?,
            liquid_sound_speed: element(&pipe[1], row)?,
            traverses,
        };
        let aim = match aim.as_slice() {
            [angle, sound_speed] => Aim::Wedge {
                angle: element(angle, row)?,
                sound_speed: element(sound_speed, row)?,
            },
            [spacing] => Aim::Spacing(element(spacing, row)?),
            _ => {
                return Err(Error::Length {
                    field: "aim".to_owned(),
                    found: aim.len(),
                    allowed: "1 or 2 columns".to_owned(),
                }
                .into());
            }
        };
        let traced = pipe.trace(aim)?;
        let path = traced.path;
        let whole = [
            path.axial_slowness,
            path.spacing,
            path.time_in_liquid,
            path.time_in_layers,
            traced.liquid_angle,
        ];
        results
            .iter_mut()
            .zip(whole.into_iter().chain(traced.layer_angles))
            .for_each(|(column, value)| column.push(value));
    }
    Ok(results.iter().map(|column| column.to_pyarray(py)).collect())
}
