//! The sound path to be drawn.

use crate::model::PathLayout;
use numpy::PyArray2;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// A layout as a dictionary in SI units.
pub(super) fn layout_entry<'py>(
    py: Python<'py>,
    layout: &PathLayout,
) -> PyResult<Bound<'py, PyDict>> {
    let found = PyDict::new(py);
    found.set_item("traverses", layout.traverses)?;
    found.set_item("is_direct", layout.is_direct())?;
    found.set_item("outside_diameter_m", layout.outside_diameter)?;
    found.set_item("half_circumference_m", layout.half_circumference)?;
    found.set_item("inside_diameter_m", layout.inside_diameter)?;
    found.set_item("chord_offset_m", layout.chord_offset)?;
    found.set_item("liquid_sound_speed_m_s", layout.liquid_sound_speed)?;
    found.set_item("liquid_angle_rad", layout.liquid_angle)?;
    found.set_item("wedge_angle_rad", layout.wedge_angle)?;
    found.set_item("spacing_m", layout.spacing)?;
    let layers = layout.layers.iter().map(|layer| {
        let found = PyDict::new(py);
        found.set_item("name", &layer.name)?;
        found.set_item("thickness_m", layer.thickness)?;
        found.set_item("sound_speed_m_s", layer.sound_speed)?;
        found.set_item("angle_rad", layer.angle)?;
        Ok(found)
    });
    found.set_item("layers", layers.collect::<PyResult<Vec<_>>>()?)?;
    let ray: Vec<Vec<f64>> = layout.ray.iter().map(|corner| corner.to_vec()).collect();
    found.set_item("ray_m", PyArray2::from_vec2(py, &ray)?)?;
    Ok(found)
}
