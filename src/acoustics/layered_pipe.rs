//! A path through a pipe, checked and traced in one call.

use super::check::{NamedLayer, check_layers, check_refraction};
use super::path::{Geometry, Layer, Path};
use super::refraction::axial_slowness;
use super::spacing::slowness_of_spacing;
use crate::error::{Error, Result};
use crate::pipe;

/// What determines the ray.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// The wedge: angle in rad and sound speed in m/s.
    Wedge {
        /// Angle of the ray in the wedge, in rad.
        angle: f64,
        /// Sound speed of the wedge, in m/s.
        sound_speed: f64,
    },
    /// The axial distance of the exit points, in m.
    Spacing(f64),
}

/// A round pipe with everything that a path crosses, for a diametral path.
#[derive(Debug, Clone, PartialEq)]
pub struct LayeredPipe {
    /// Outside diameter, in m.
    pub outside_diameter: f64,
    /// Couplant under each sensor, where it is to be counted.
    pub couplant: Option<Layer<f64>>,
    /// Wall, then what lines it, from outside to inside.
    pub layers: Vec<Layer<f64>>,
    /// Sound speed of the liquid, in m/s.
    pub liquid_sound_speed: f64,
    /// Number of traverses.
    pub traverses: u32,
}

/// A traced path with its angles.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct TracedPath {
    /// The path.
    pub path: Path<f64>,
    /// Inside diameter, in m.
    pub inside_diameter: f64,
    /// Angles in wall and lining from the normal of the wall, in rad, in the order of the layers.
    pub layer_angles: Vec<f64>,
    /// Angle in the liquid, in rad.
    pub liquid_angle: f64,
}

impl LayeredPipe {
    /// Traces the path.
    ///
    /// # Errors
    /// No wall; a length, speed or angle outside its range; layers as thick as the radius; total
    /// reflection, naming the interface and the largest wedge angle that would do.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::acoustics::{Aim, Layer, LayeredPipe};
    /// let pipe = LayeredPipe {
    ///     outside_diameter: 0.1683,
    ///     couplant: None,
    ///     layers: vec![Layer { thickness: 7.1e-3, sound_speed: 3230.0 }],
    ///     liquid_sound_speed: 1482.3,
    ///     traverses: 2,
    /// };
    /// let angle = 40.0_f64.to_radians();
    /// let from_wedge = pipe.trace(Aim::Wedge { angle, sound_speed: 2430.0 })?;
    /// assert!((from_wedge.path.spacing - 0.1547).abs() < 5e-5);
    /// let from_spacing = pipe.trace(Aim::Spacing(from_wedge.path.spacing))?;
    /// assert!((from_spacing.liquid_angle - from_wedge.liquid_angle).abs() < 1e-14);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn trace(&self, aim: Aim) -> Result<TracedPath> {
        let Some((wall, lining)) = self.layers.split_first() else {
            return Err(Error::Missing {
                field: "pipe.wall".to_owned(),
                needed: "the wall as the first layer".to_owned(),
            });
        };
        let words: Vec<(String, String)> = (0..self.layers.len())
            .map(|n| match n {
                0 => ("pipe.wall".to_owned(), "wall".to_owned()),
                1 => ("pipe.liner".to_owned(), "liner".to_owned()),
                _ => (
                    format!("pipe.layer[{}].thickness", n - 1),
                    format!("layer {}", n - 1),
                ),
            })
            .collect();
        let couplant = self.couplant.map(|layer| NamedLayer {
            key: "path.couplant",
            word: "couplant",
            layer,
        });
        let of_pipe = words.iter().zip(&self.layers);
        let named: Vec<NamedLayer<'_>> = couplant
            .into_iter()
            .chain(of_pipe.map(|((key, word), layer)| NamedLayer {
                key,
                word,
                layer: *layer,
            }))
            .collect();
        let lined: f64 = lining.iter().map(|layer| layer.thickness).sum();
        let inside_diameter = pipe::inside_diameter(self.outside_diameter, wall.thickness, lined);
        let allowed = "above 0: wall and lining must be thinner than the radius";
        let usable = inside_diameter > 0.0;
        Error::range(
            usable,
            "pipe.inside_diameter",
            inside_diameter,
            "m",
            allowed,
        )?;
        let crossed: Vec<Layer<f64>> = named.iter().map(|named| named.layer).collect();
        let geometry = Geometry {
            layers: &crossed,
            chord: inside_diameter,
            liquid_sound_speed: self.liquid_sound_speed,
            traverses: self.traverses,
        };
        check_layers(&named, &geometry)?;
        let slowness = match aim {
            Aim::Wedge { angle, sound_speed } => {
                check_refraction(angle, sound_speed, &named, self.liquid_sound_speed)?;
                axial_slowness(angle, sound_speed)
            }
            Aim::Spacing(spacing) => {
                let usable = spacing > 0.0 && spacing.is_finite();
                Error::range(usable, "path.spacing", spacing, "m", "above 0")?;
                slowness_of_spacing(&geometry, spacing)
            }
        };
        let path = Path::trace(&geometry, slowness);
        let angle = |speed: f64| libm::asin(path.sine_in(speed));
        Ok(TracedPath {
            inside_diameter,
            layer_angles: self
                .layers
                .iter()
                .map(|layer| angle(layer.sound_speed))
                .collect(),
            liquid_angle: angle(self.liquid_sound_speed),
            path,
        })
    }
}
