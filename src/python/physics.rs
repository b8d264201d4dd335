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
    module.add_function(wrap_pyfunction!(chord_factor, module)?)?;
    module.add_function(wrap_pyfunction!(velocity_shape, module)?)?;
    module.add_function(wrap_pyfunction!(intermittency, module)?)?;
    module.add_function(wrap_pyfunction!(friction_law_names, module)?)?;
    module.add_function(wrap_pyfunction!(profile_law_names, module)?)?;
    module.add_function(wrap_pyfunction!(logarithmic_constants, module)?)?;
    module.add_function(wrap_pyfunction!(law_uncertainty, module)?)?;
    module.add_function(wrap_pyfunction!(friction_uncertainty, module)?)?;
    module.add_function(wrap_pyfunction!(path_factor, module)?)?;
    module.add("TRANSITION_REYNOLDS", profile::TRANSITION_REYNOLDS)?;
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

/// The names of all friction laws.
#[pyfunction]
fn friction_law_names() -> Vec<&'static str> {
    FrictionLaw::NAMED.map(|(name, _)| name).to_vec()
}

/// The names of all profile laws, each with its words.
#[pyfunction]
fn profile_law_names() -> Vec<(&'static str, String)> {
    let named = ProfileLaw::named();
    named.map(|(name, law)| (name, law.in_words())).collect()
}

/// Name, kappa, additive constant and source of the published logarithmic laws.
#[pyfunction]
fn logarithmic_constants() -> Vec<(&'static str, f64, f64, &'static str)> {
    profile::LOGARITHMIC_CONSTANTS
        .map(|c| (c.name, c.kappa, c.additive, c.source))
        .to_vec()
}

/// Name of a profile law, kappa and n where they are chosen apart, name of a friction law.
#[derive(FromPyObject)]
struct Laws(String, Option<f64>, Option<f64>, String);

impl Laws {
    fn read(&self) -> Result<(ProfileLaw, FrictionLaw)> {
        let Laws(law, kappa, n, friction) = self;
        let law = ProfileLaw::from_name(law, "law")?
            .with_kappa(*kappa, "kappa")?
            .with_n(*n, "n")?;
        Ok((law, FrictionLaw::from_name(friction, "friction")?))
    }
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
        law.check(re, rr)?;
        Ok(profile::friction_factor(re, rr, law))
    })
}

#[pyfunction]
fn intermittency<'py>(
    py: Python<'py>,
    reynolds: Argument<'py>,
    transition_reynolds: Argument<'py>,
) -> PyResult<Array<'py>> {
    map2(py, &reynolds, &transition_reynolds, |re, transition| {
        profile::check(re, 0.0)?;
        profile::check_transition(transition, "transition_reynolds")?;
        Ok(profile::intermittency(re, transition))
    })
}

#[pyfunction]
fn friction_uncertainty<'py>(
    py: Python<'py>,
    reynolds: Argument<'py>,
    relative_roughness: Argument<'py>,
) -> PyResult<Array<'py>> {
    map2(py, &reynolds, &relative_roughness, |re, rr| {
        profile::check(re, rr)?;
        Ok(profile::friction_uncertainty(re, rr))
    })
}

/// Profile factor at Reynolds number, relative roughness, offset, beam width, friction ratio and
/// Reynolds number of the transition.
#[pyfunction]
fn path_factor<'py>(
    py: Python<'py>,
    columns: [Argument<'py>; 6],
    laws: Laws,
) -> PyResult<Array<'py>> {
    let (law, friction) = laws.read()?;
    let columns = columns.each_ref().map(|column| column.as_array());
    let rows = 0..columns[0].len();
    let values = rows.map(|row| {
        let [re, rr, offset, beam, ratio, transition] = columns.each_ref().map(|c| c[row]);
        profile::check_laws(re, rr, law, friction)?;
        profile::check_offset(offset, "offset")?;
        profile::check_beam(offset, beam, "beam")?;
        profile::check_friction_ratio(ratio, "friction_ratio")?;
        profile::check_transition(transition, "transition_reynolds")?;
        let conditions = profile::Conditions {
            offset: (offset > 0.0).then_some(offset),
            beam: (beam > 0.0).then_some(beam),
            transition_reynolds: Some(transition),
            friction_ratio: Some(ratio),
        };
        Ok(profile::factor_of(&conditions, re, rr, law, friction))
    });
    Ok(values.collect::<Result<Vec<f64>>>()?.to_pyarray(py))
}

#[pyfunction]
fn correction_factor<'py>(
    py: Python<'py>,
    reynolds: Argument<'py>,
    relative_roughness: Argument<'py>,
    laws: Laws,
) -> PyResult<Array<'py>> {
    let (law, friction) = laws.read()?;
    map2(py, &reynolds, &relative_roughness, |re, rr| {
        profile::check_laws(re, rr, law, friction)?;
        Ok(profile::correction_factor(re, rr, law, friction))
    })
}

#[pyfunction]
fn law_uncertainty<'py>(
    py: Python<'py>,
    reynolds: Argument<'py>,
    relative_roughness: Argument<'py>,
    laws: Laws,
) -> PyResult<Array<'py>> {
    let (law, friction) = laws.read()?;
    map2(py, &reynolds, &relative_roughness, |re, rr| {
        profile::check_laws(re, rr, law, friction)?;
        let thin = profile::Conditions::diameter();
        Ok(profile::factor_uncertainty(&thin, re, rr, law, friction))
    })
}

/// Applies a function of radius, Reynolds number and relative roughness to rows of columns.
fn over_radii<'py>(
    py: Python<'py>,
    [radius, reynolds, roughness]: [Argument<'py>; 3],
    name: &str,
    laws: &Laws,
    function: impl Fn(f64, f64, f64, ProfileLaw, FrictionLaw) -> f64,
) -> PyResult<Array<'py>> {
    let (law, friction) = laws.read()?;
    let radius = radius.as_array();
    let rest = reynolds
        .as_array()
        .into_iter()
        .zip(roughness.as_array().to_owned());
    let values = radius.iter().zip(rest).map(|(r, (re, rr))| {
        profile::check_radius(*r, name)?;
        profile::check_laws(*re, rr, law, friction)?;
        Ok(function(*r, *re, rr, law, friction))
    });
    Ok(values.collect::<Result<Vec<f64>>>()?.to_pyarray(py))
}

#[pyfunction]
fn chord_factor<'py>(
    py: Python<'py>,
    columns: [Argument<'py>; 3],
    laws: Laws,
) -> PyResult<Array<'py>> {
    over_radii(
        py,
        columns,
        "offset",
        &laws,
        |offset, re, rr, law, friction| profile::chord_factor(re, rr, offset, law, friction),
    )
}

#[pyfunction]
fn velocity_shape<'py>(
    py: Python<'py>,
    columns: [Argument<'py>; 3],
    laws: Laws,
) -> PyResult<Array<'py>> {
    over_radii(py, columns, "radius", &laws, profile::velocity_shape)
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
