//! The sound path as a drawing needs it.

use super::layers::LayerName;
use super::{Quantity, SiteModel};

/// A layer that the ray crosses on both sides.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct CrossedLayer {
    /// What it is: couplant, wall, liner or the name of a further layer.
    pub name: String,
    /// Its thickness, in m.
    pub thickness: f64,
    /// Sound speed of the wave in it, in m/s.
    pub sound_speed: f64,
    /// Angle of the ray from the normal of the wall, in rad.
    pub angle: f64,
}

/// The sound path in its own plane, to draw it to scale, in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct PathLayout {
    /// Number of traverses.
    pub traverses: u32,
    /// Diameter under the sensors, over layers outside the wall that stay there, in m.
    pub outside_diameter: f64,
    /// Half of the outside circumference, the distance round the pipe of the sensors of a direct
    /// path, in m.
    pub half_circumference: f64,
    /// Inside diameter, in m.
    pub inside_diameter: f64,
    /// Distance of the path from the axis, in m.
    pub chord_offset: f64,
    /// The layers from outside to inside.
    pub layers: Vec<CrossedLayer>,
    /// Sound speed of the liquid, in m/s.
    pub liquid_sound_speed: f64,
    /// Angle of the ray in the liquid from the normal of the wall, in rad.
    pub liquid_angle: f64,
    /// Angle of the ray in the wedge, in rad, where it is stated.
    pub wedge_angle: Option<f64>,
    /// Axial distance of the exit points of the wedges, in m.
    pub spacing: f64,
    /// The corners of the ray from exit point to exit point: axial position from the first, in the
    /// direction of the flow, and height over the axis of the pipe, in m.
    pub ray: Vec<[f64; 2]>,
}

impl PathLayout {
    /// Whether the sensors sit on opposite sides of the pipe.
    pub fn is_direct(&self) -> bool {
        self.traverses % 2 == 1
    }
}

impl SiteModel {
    /// The sound path at the estimates `x`; `None` where no ray passes or it is not known.
    pub fn layout(&self, x: &[f64]) -> Option<PathLayout> {
        let (bore, steps) = self.traced(x, &mut ());
        let path = steps.path;
        if !path.spacing.is_finite() {
            return None;
        }
        let layers: Vec<CrossedLayer> = LayerName::of(&self.choices, &self.terms)
            .zip(&bore.layers)
            .map(|(name, layer)| CrossedLayer {
                name: name.in_words(&self.choices).to_owned(),
                thickness: layer.thickness,
                sound_speed: layer.sound_speed,
                angle: libm::asin(path.sine_in(layer.sound_speed)),
            })
            .collect();
        let liquid_angle = libm::asin(path.liquid_sine);
        let wedge = Quantity::WedgeAngle;
        Some(PathLayout {
            traverses: self.choices.traverses,
            outside_diameter: steps.surface_diameter,
            half_circumference: 0.5 * steps.circumference,
            inside_diameter: steps.inside_diameter,
            chord_offset: steps.chord_offset,
            ray: corners(&layers, steps.chord, liquid_angle, self.choices.traverses),
            layers,
            liquid_sound_speed: steps.liquid_sound_speed,
            liquid_angle,
            wedge_angle: self.has(wedge).then(|| self.sum_of(wedge, x)),
            spacing: path.spacing,
        })
    }
}

/// The corners of a ray that enters on top.
fn corners(
    layers: &[CrossedLayer],
    chord: f64,
    liquid_angle: f64,
    traverses: u32,
) -> Vec<[f64; 2]> {
    let run = |layer: &CrossedLayer| layer.thickness * libm::tan(layer.angle);
    let lined: f64 = layers.iter().map(|layer| layer.thickness).sum();
    let mut at = [0.0, 0.5 * chord + lined];
    let mut ray = vec![at];
    for layer in layers {
        at = [at[0] + run(layer), at[1] - layer.thickness];
        ray.push(at);
    }
    // not where the sum of the layers happens to end
    let mut side = 0.5 * chord;
    for _ in 0..traverses {
        side = -side;
        at = [at[0] + chord * libm::tan(liquid_angle), side];
        ray.push(at);
    }
    for layer in layers.iter().rev() {
        at = [at[0] + run(layer), at[1] + layer.thickness.copysign(side)];
        ray.push(at);
    }
    ray
}
