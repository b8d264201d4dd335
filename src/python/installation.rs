//! Disturbed profiles on one-dimensional arrays.

use crate::error::{Error, Result};
use crate::profile::disturbance::{self, CrossFlow, Fitting, Mounting, Planes};
use numpy::{PyArray1, PyReadonlyArray1, ToPyArray};
use pyo3::prelude::*;

type Array<'py> = Bound<'py, PyArray1<f64>>;
type Argument<'py> = PyReadonlyArray1<'py, f64>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("FITTINGS", Fitting::ALL.map(Fitting::name).to_vec())?;
    module.add_function(wrap_pyfunction!(installation, module)?)?;
    module.add_function(wrap_pyfunction!(cross_flow_half_width, module)?)?;
    module.add_function(wrap_pyfunction!(path_error, module)?)?;
    module.add_function(wrap_pyfunction!(disturbed_velocity, module)?)?;
    module.add_function(wrap_pyfunction!(recommended_orientation, module)?)?;
    module.add_function(wrap_pyfunction!(straight_runs, module)?)?;
    module.add_function(wrap_pyfunction!(straight_run_caution, module)?)
}

fn fitting_of(name: &str) -> Result<Fitting> {
    Fitting::from_name(name, "fitting")
}

/// Applies a function to the mounting of each row.
fn for_mountings<'py>(
    py: Python<'py>,
    straight_run: &Argument<'py>,
    orientation: Option<&Argument<'py>>,
    planes: u32,
    function: impl Fn(&Mounting<f64>) -> f64,
) -> PyResult<Array<'py>> {
    let planes = Planes::from_number(planes, "planes")?;
    let orientations = orientation.map(|o| o.as_array());
    let rows = straight_run.as_array();
    let row = |(i, run): (usize, &f64)| {
        disturbance::check_straight_run(*run, "straight_run")?;
        let orientation = orientations.map(|o| {
            let angle = o.get(i).copied().ok_or(Error::Length {
                field: "orientation".to_owned(),
                found: o.len(),
                allowed: format!("{} elements", rows.len()),
            })?;
            let allowed = "finite numbers";
            Error::range(angle.is_finite(), "orientation", angle, "rad", allowed)?;
            Ok(angle)
        });
        Ok(function(&Mounting {
            straight_run: *run,
            orientation: orientation.transpose()?,
            planes,
        }))
    };
    let values = rows.iter().enumerate().map(row);
    Ok(values.collect::<Result<Vec<f64>>>()?.to_pyarray(py))
}

/// The factor of a fitting, the half-width or the standard uncertainty.
#[pyfunction]
fn installation<'py>(
    py: Python<'py>,
    name: &str,
    fitting: &str,
    straight_run: Argument<'py>,
    orientation: Option<Argument<'py>>,
    planes: u32,
) -> PyResult<Array<'py>> {
    let function = match name {
        "factor" => disturbance::installation_factor::<f64>,
        "half_width" => disturbance::installation_half_width,
        _ => disturbance::installation_uncertainty,
    };
    let fitting = fitting_of(fitting)?;
    for_mountings(py, &straight_run, orientation.as_ref(), planes, |m| {
        function(fitting, m)
    })
}

#[pyfunction]
fn cross_flow_half_width<'py>(
    py: Python<'py>,
    fitting: &str,
    straight_run: Argument<'py>,
    orientation: Option<Argument<'py>>,
    planes: u32,
    traverses: u32,
    angle_in_liquid: Option<f64>,
) -> PyResult<Array<'py>> {
    let fitting = fitting_of(fitting)?;
    crate::acoustics::check_traverses(traverses)?;
    let angle = angle_in_liquid.unwrap_or(disturbance::TYPICAL_ANGLE_IN_LIQUID);
    let degrees = angle.to_degrees();
    let inside = degrees > 0.0 && degrees < 90.0;
    Error::range(
        inside,
        "angle_in_liquid",
        degrees,
        "deg",
        "between 0 and 90",
    )?;
    for_mountings(py, &straight_run, orientation.as_ref(), planes, |m| {
        disturbance::cross_flow_half_width(fitting, m, traverses, angle)
    })
}

#[pyfunction]
fn path_error<'py>(
    py: Python<'py>,
    fitting: &str,
    straight_run: Argument<'py>,
    orientation: Argument<'py>,
    planes: u32,
) -> PyResult<Array<'py>> {
    let fitting = fitting_of(fitting)?;
    for_mountings(py, &straight_run, Some(&orientation), planes, |m| {
        let angle = m.orientation.unwrap_or(f64::NAN);
        disturbance::path_error(fitting, m.straight_run, angle, m.planes)
    })
}

/// Axial velocity and the components of the cross flow at points of one cross-section.
#[pyfunction]
fn disturbed_velocity<'py>(
    py: Python<'py>,
    fitting: &str,
    straight_run: f64,
    radius: Argument<'py>,
    angle: Argument<'py>,
) -> PyResult<[Array<'py>; 3]> {
    let fitting = fitting_of(fitting)?;
    disturbance::check_straight_run(straight_run, "straight_run")?;
    let profile = disturbance::disturbed_profile(fitting, straight_run);
    let flow: CrossFlow<f64> = disturbance::cross_flow(fitting, straight_run);
    let (radius, angle) = (radius.as_array(), angle.as_array());
    let mut columns: [Vec<f64>; 3] = Default::default();
    for (r, t) in radius.iter().zip(angle) {
        let [x, y] = flow.velocity(*r, *t);
        let velocity = [profile.velocity(*r, *t), x, y];
        columns
            .iter_mut()
            .zip(velocity)
            .for_each(|(column, v)| column.push(v));
    }
    Ok(columns.map(|column| column.to_pyarray(py)))
}

/// Orientation in rad or `None`, number of planes, reason in words.
#[pyfunction]
fn recommended_orientation(fitting: &str) -> PyResult<(Option<f64>, u32, &'static str)> {
    let advice = disturbance::recommended_orientation(fitting_of(fitting)?);
    let planes = match advice.planes {
        Planes::One => 1,
        Planes::Two => 2,
    };
    Ok((advice.orientation, planes, advice.reason))
}

/// Least and most upstream, and downstream, in inside diameters.
#[pyfunction]
fn straight_runs(fitting: &str) -> PyResult<(f64, f64, f64)> {
    let runs = disturbance::straight_runs(fitting_of(fitting)?);
    let [least, most] = runs.upstream;
    Ok((least, most, runs.downstream))
}

#[pyfunction]
fn straight_run_caution(fitting: &str, straight_run: f64) -> PyResult<Option<String>> {
    let fitting = fitting_of(fitting)?;
    disturbance::check_straight_run(straight_run, "straight_run")?;
    Ok(disturbance::caution(fitting, straight_run))
}
