//! The steps between readings and flow, by name.

use crate::acoustics::Path;
use crate::profile::Conditions;
use crate::scalar::Scalar;
use serde::Serialize;

/// The flow that a meter tells without its calibration factors, which is the place on their curves.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Uncalibrated<S> {
    /// Volume flow, taken as positive, in m3/s.
    pub volume_flow: S,
    /// Its Reynolds number.
    pub reynolds: S,
}

impl<S: Scalar> Uncalibrated<S> {
    pub(super) fn unknown() -> Self {
        let unknown = S::constant(f64::NAN);
        Uncalibrated {
            volume_flow: unknown,
            reynolds: unknown,
        }
    }
}

/// Every intermediate result of an evaluation, in SI units. What a basis does not use is NaN.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Intermediates<S> {
    /// Outside diameter of the wall, without layers on it, in m.
    pub outside_diameter: S,
    /// Wall at the survey, without layers on it, in m.
    pub surveyed_wall: S,
    /// Diameter on which the sensors sit, over layers that stay under them, in m.
    pub surface_diameter: S,
    /// Outside circumference, in m.
    pub circumference: S,
    /// Inside diameter `D`, in m.
    pub inside_diameter: S,
    /// Area of the bore, in m2.
    pub area: S,
    /// Distance of the path from the axis, in m.
    pub chord_offset: S,
    /// Length across the bore of one traverse, in m.
    pub chord: S,
    /// Density of the liquid, in kg/m3; NaN where its properties are stated.
    pub liquid_density: S,
    /// Sound speed of the liquid, in m/s.
    pub liquid_sound_speed: S,
    /// Kinematic viscosity of the liquid, in m2/s.
    pub kinematic_viscosity: S,
    /// Sine of the angle in the wall.
    pub wall_sine: S,
    /// The sound path.
    pub path: Path<S>,
    /// Time outside the liquid `t_0`, in s.
    pub dead_time: S,
    /// Measured time in the liquid, in s.
    pub time_in_liquid: S,
    /// Time difference free of its zero, in s.
    pub time_difference: S,
    /// Mean axial velocity on the path `v`, in m/s.
    pub path_velocity: S,
    /// What the meter tells without calibration factors that depend on the flow; NaN where none does.
    pub uncalibrated: Uncalibrated<S>,
    /// Relative roughness.
    pub relative_roughness: S,
    /// Path, transition and friction, as the profile factor needs them.
    pub conditions: Conditions<S>,
    /// Reynolds number of the area mean velocity.
    pub reynolds: S,
    /// Profile factor `k`.
    pub profile_factor: S,
    /// Mean velocity over the area, in m/s.
    pub mean_velocity: S,
    /// Volume flow `Q`, in m3/s.
    pub volume_flow: S,
}

/// A named number with its unit, for tables and records.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Named {
    /// The name, with the unit as its last part where it has one.
    pub name: &'static str,
    /// The value.
    pub value: f64,
}

impl Intermediates<f64> {
    /// Angles in wall and liquid from the normal of the wall, in rad.
    pub fn angles(&self) -> [f64; 2] {
        [self.wall_sine, self.path.liquid_sine].map(libm::asin)
    }

    /// How far the flow carries the sound along the pipe while it crosses the liquid, in m. The
    /// beam must be wider than that, or it misses the sensor.
    pub fn beam_drift(&self) -> f64 {
        self.path_velocity * self.path.time_in_liquid
    }

    /// The steps as a list of names with units and values, without those that are NaN.
    pub fn named(&self) -> Vec<Named> {
        let [in_wall, in_liquid] = self.angles().map(f64::to_degrees);
        [
            ("outside_diameter_m", self.outside_diameter),
            ("inside_diameter_m", self.inside_diameter),
            ("area_m2", self.area),
            ("chord_offset_m", self.chord_offset),
            ("liquid_density_kg_m3", self.liquid_density),
            ("liquid_sound_speed_m_s", self.liquid_sound_speed),
            ("kinematic_viscosity_m2_s", self.kinematic_viscosity),
            ("axial_slowness_s_m", self.path.axial_slowness),
            ("angle_in_wall_deg", in_wall),
            ("angle_in_liquid_deg", in_liquid),
            ("spacing_m", self.path.spacing),
            ("expected_time_in_liquid_s", self.path.time_in_liquid),
            ("dead_time_s", self.dead_time),
            ("time_in_liquid_s", self.time_in_liquid),
            ("time_difference_s", self.time_difference),
            ("path_velocity_m_s", self.path_velocity),
            ("beam_drift_m", self.beam_drift()),
            ("relative_roughness", self.relative_roughness),
            (
                "uncalibrated_volume_flow_m3_s",
                self.uncalibrated.volume_flow,
            ),
            ("reynolds_number", self.reynolds),
            ("profile_factor", self.profile_factor),
            ("mean_velocity_m_s", self.mean_velocity),
            ("volume_flow_m3_s", self.volume_flow),
        ]
        .into_iter()
        .filter(|(_, value)| value.is_finite())
        .map(|(name, value)| Named { name, value })
        .collect()
    }
}
