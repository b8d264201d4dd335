//! One diametral path through a layered pipe.

use super::refraction::{axial_slowness, refracted_sine};
use crate::error::{Error, Result};
use crate::scalar::Scalar;

/// What a ray meets in one layer, crossed once in the direction of the wall's normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer<S> {
    /// Thickness across the ray's crossing, in m.
    pub thickness: S,
    /// Sound speed of the wave that travels there, in m/s.
    pub sound_speed: S,
}

/// Everything that determines the sound path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry<S> {
    /// Angle of the ray in the wedge, in rad.
    pub wedge_angle: S,
    /// Sound speed of the wedge, in m/s.
    pub wedge_sound_speed: S,
    /// The pipe wall.
    pub wall: Layer<S>,
    /// The liner; thickness zero where there is none.
    pub liner: Layer<S>,
    /// Inside diameter, in m.
    pub inside_diameter: S,
    /// Sound speed of the liquid, in m/s.
    pub liquid_sound_speed: S,
    /// Number of crossings of the liquid, `N`: odd on a direct path, even on a reflected one.
    pub traverses: u32,
}

/// The sound path that follows from a [`Geometry`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Path<S> {
    /// Axial slowness `a`, in s/m.
    pub axial_slowness: S,
    /// Sine of the angle in the wall.
    pub wall_sine: S,
    /// Sine of the angle in the liner.
    pub liner_sine: S,
    /// Sine of the angle in the liquid.
    pub liquid_sine: S,
    /// Axial distance of the exit points of the two wedges, in m.
    pub spacing: S,
    /// Time in the liquid at rest, `N D / (c_f cos(theta_f))`, in s.
    pub time_in_liquid: S,
    /// Time in wall and liner, both sides together, in s.
    pub time_in_wall: S,
}

/// Axial run and travel time of a ray that crosses a layer once, in m and s.
fn crossing<S: Scalar>(layer: Layer<S>, sine: S) -> (S, S) {
    let cosine = (-(sine * sine) + 1.0).sqrt();
    (
        layer.thickness * sine / cosine,
        layer.thickness / (layer.sound_speed * cosine),
    )
}

impl<S: Scalar> Path<S> {
    /// Traces the ray: angles from Snell's law, spacing and times from plane trigonometry.
    ///
    /// ```text
    /// s   = 2 e tan(theta_p) + 2 e_l tan(theta_l) + N D tan(theta_f)
    /// t_f = N D / (c_f cos(theta_f))
    /// ```
    /// NaN where a layer reflects the ray totally; [`check`] says so in words.
    pub fn trace(geometry: &Geometry<S>) -> Path<S> {
        let a = axial_slowness(geometry.wedge_angle, geometry.wedge_sound_speed);
        let liquid = Layer {
            thickness: geometry.inside_diameter * f64::from(geometry.traverses),
            sound_speed: geometry.liquid_sound_speed,
        };
        let sine_in = |layer: &Layer<S>| refracted_sine(a, layer.sound_speed);
        let (wall_sine, liner_sine) = (sine_in(&geometry.wall), sine_in(&geometry.liner));
        let liquid_sine = sine_in(&liquid);
        let (wall_run, wall_time) = crossing(geometry.wall, wall_sine);
        let (liner_run, liner_time) = crossing(geometry.liner, liner_sine);
        let (liquid_run, time_in_liquid) = crossing(liquid, liquid_sine);
        Path {
            axial_slowness: a,
            wall_sine,
            liner_sine,
            liquid_sine,
            spacing: (wall_run + liner_run) * 2.0 + liquid_run,
            time_in_liquid,
            time_in_wall: (wall_time + liner_time) * 2.0,
        }
    }
}

impl Path<f64> {
    /// Angles in wall, liner and liquid, in rad.
    pub fn angles(&self) -> [f64; 3] {
        [self.wall_sine, self.liner_sine, self.liquid_sine].map(libm::asin)
    }
}

/// Refuses a geometry through which no ray passes. Field names are those of a site file.
///
/// # Errors
/// A length, speed or angle outside its range; total reflection, naming the interface.
pub fn check(geometry: &Geometry<f64>) -> Result<()> {
    let positive = |field: &str, value: f64, unit: &str| {
        let usable = value > 0.0 && value.is_finite();
        Error::range(usable, field, value, unit, "above 0")
    };
    positive("path.wedge_sound_speed", geometry.wedge_sound_speed, "m/s")?;
    positive("pipe.wall", geometry.wall.thickness, "m")?;
    positive("pipe.wall_sound_speed", geometry.wall.sound_speed, "m/s")?;
    positive("pipe.inside_diameter", geometry.inside_diameter, "m")?;
    positive("liquid sound speed", geometry.liquid_sound_speed, "m/s")?;
    let liner = geometry.liner;
    let usable = liner.thickness >= 0.0 && liner.thickness.is_finite();
    Error::range(usable, "pipe.liner", liner.thickness, "m", "0 or above")?;
    if liner.thickness > 0.0 {
        positive("pipe.liner_sound_speed", liner.sound_speed, "m/s")?;
    }
    let angle_deg = geometry.wedge_angle.to_degrees();
    let usable = angle_deg > 0.0 && angle_deg < 90.0;
    Error::range(
        usable,
        "path.wedge_angle",
        angle_deg,
        "deg",
        "between 0 and 90",
    )?;
    check_traverses(geometry.traverses)?;

    let path = Path::trace(geometry);
    let mut entered = vec![("wedge to wall", geometry.wall.sound_speed, path.wall_sine)];
    let mut to_liquid = "wall to liquid";
    if liner.thickness > 0.0 {
        entered.push(("wall to liner", liner.sound_speed, path.liner_sine));
        to_liquid = "liner to liquid";
    }
    entered.push((to_liquid, geometry.liquid_sound_speed, path.liquid_sine));
    let Some((field, _, sine)) = entered.iter().find(|(.., sine)| *sine >= 1.0) else {
        return Ok(());
    };
    // below this angle the ray passes the fastest layer, and so all of them
    let fastest = entered.iter().map(|(_, speed, _)| *speed);
    let fastest = fastest.fold(geometry.wedge_sound_speed, f64::max);
    Err(Error::TotalReflection {
        field: (*field).to_owned(),
        sine: *sine,
        largest_angle_deg: libm::asin(geometry.wedge_sound_speed / fastest).to_degrees(),
    })
}

/// Refuses a number of traverses that no clamp-on meter has.
///
/// # Errors
/// A number outside 1 to 8.
pub fn check_traverses(traverses: u32) -> Result<()> {
    let usable = (1..=8).contains(&traverses);
    Error::range(usable, "path.traverses", f64::from(traverses), "", "1 to 8")
}
