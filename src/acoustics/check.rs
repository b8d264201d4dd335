//! Whether a sound path exists, in words.

use super::path::{Geometry, Layer};
use super::refraction::{axial_slowness, refracted_sine};
use crate::error::{Error, Result};

/// A layer with the name of its key in a site file, such as `pipe.wall`, and the word for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NamedLayer<'a> {
    /// Path of the thickness in a site file.
    pub key: &'a str,
    /// The layer in a word: `wall`.
    pub word: &'a str,
    /// Thickness and sound speed.
    pub layer: Layer<f64>,
}

fn positive(field: &str, value: f64, unit: &str) -> Result<()> {
    let usable = value > 0.0 && value.is_finite();
    Error::range(usable, field, value, unit, "above 0")
}

/// Refuses layers, bore, liquid and traverses that no path can have.
///
/// # Errors
/// A length or speed outside its range.
pub fn check_layers(layers: &[NamedLayer<'_>], geometry: &Geometry<'_, f64>) -> Result<()> {
    for NamedLayer { key, layer, .. } in layers {
        let usable = layer.thickness >= 0.0 && layer.thickness.is_finite();
        Error::range(usable, *key, layer.thickness, "m", "0 or above")?;
        let speed = match key.strip_suffix("thickness") {
            Some(above) => format!("{above}sound_speed"),
            None => format!("{key}_sound_speed"),
        };
        positive(&speed, layer.sound_speed, "m/s")?;
    }
    positive("chord of the path", geometry.chord, "m")?;
    positive("liquid sound speed", geometry.liquid_sound_speed, "m/s")?;
    check_traverses(geometry.traverses)
}

/// Refuses a wedge from which no ray passes to the liquid. Field names are those of a site file.
///
/// # Errors
/// A speed or angle outside its range; total reflection, naming the interface and the largest
/// angle that would do.
pub fn check_refraction(
    wedge_angle: f64,
    wedge_sound_speed: f64,
    layers: &[NamedLayer<'_>],
    liquid_sound_speed: f64,
) -> Result<()> {
    positive("path.wedge_sound_speed", wedge_sound_speed, "m/s")?;
    let angle_deg = wedge_angle.to_degrees();
    let usable = angle_deg > 0.0 && angle_deg < 90.0;
    Error::range(
        usable,
        "path.wedge_angle",
        angle_deg,
        "deg",
        "between 0 and 90",
    )?;
    let slowness = axial_slowness(wedge_angle, wedge_sound_speed);
    let entered: Vec<(&str, f64)> = layers
        .iter()
        .map(|named| (named.word, named.layer.sound_speed))
        .chain([("liquid", liquid_sound_speed)])
        .collect();
    let reflects = |speed: f64| refracted_sine(slowness, speed) >= 1.0;
    let Some(first) = entered.iter().position(|(_, speed)| reflects(*speed)) else {
        return Ok(());
    };
    // below this angle the ray passes the fastest layer, and so all of them
    let fastest = entered.iter().map(|(_, speed)| *speed);
    let fastest = fastest.fold(wedge_sound_speed, f64::max);
    let before = first.checked_sub(1).map_or("wedge", |i| entered[i].0);
    let (word, speed) = entered[first];
    Err(Error::TotalReflection {
        field: format!("{before} to {word}"),
        sine: refracted_sine(slowness, speed),
        largest_angle_deg: libm::asin(wedge_sound_speed / fastest).to_degrees(),
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
