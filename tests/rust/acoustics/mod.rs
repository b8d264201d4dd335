//! The sound path against plane geometry and against Fermat's principle, neither of which knows
//! of Snell's law.

mod graded;
mod path;
mod timing;

use flowdoubt::Result;
use flowdoubt::acoustics::{
    Geometry, Layer, NamedLayer, Path, axial_slowness, check_layers, check_refraction,
};
use flowdoubt::scalar::Scalar;
use proptest::prelude::*;

fn layer<S: Scalar>(thickness: f64, sound_speed: f64) -> Layer<S> {
    Layer {
        thickness: S::constant(thickness),
        sound_speed: S::constant(sound_speed),
    }
}

/// A pipe with its wedge.
#[derive(Debug, Clone)]
struct Pipe {
    wedge_angle: f64,
    wedge_sound_speed: f64,
    layers: Vec<Layer<f64>>,
    bore: f64,
    liquid_sound_speed: f64,
    traverses: u32,
}

const WORDS: [(&str, &str); 7] = [
    ("pipe.wall", "wall"),
    ("pipe.liner", "liner"),
    ("pipe.layer[1].thickness", "layer 1"),
    ("pipe.layer[2].thickness", "layer 2"),
    ("pipe.layer[3].thickness", "layer 3"),
    ("pipe.layer[4].thickness", "layer 4"),
    ("pipe.layer[5].thickness", "layer 5"),
];

impl Pipe {
    fn geometry(&self) -> Geometry<'_, f64> {
        Geometry {
            layers: &self.layers,
            chord: self.bore,
            liquid_sound_speed: self.liquid_sound_speed,
            traverses: self.traverses,
        }
    }

    fn slowness(&self) -> f64 {
        axial_slowness(self.wedge_angle, self.wedge_sound_speed)
    }

    fn path(&self) -> Path<f64> {
        Path::trace(&self.geometry(), self.slowness())
    }

    fn check(&self) -> Result<()> {
        let named: Vec<NamedLayer<'_>> = WORDS
            .iter()
            .zip(&self.layers)
            .map(|(&(key, word), &layer)| NamedLayer { key, word, layer })
            .collect();
        check_layers(&named, &self.geometry())?;
        let (angle, speed) = (self.wedge_angle, self.wedge_sound_speed);
        check_refraction(angle, speed, &named, self.liquid_sound_speed)
    }

    /// All sound speeds that the ray enters.
    fn entered(&self) -> Vec<f64> {
        let layers = self.layers.iter().map(|layer| layer.sound_speed);
        layers.chain([self.liquid_sound_speed]).collect()
    }
}

/// A lined steel pipe of 200 mm bore with water.
fn pipe() -> Pipe {
    Pipe {
        wedge_angle: 40.0_f64.to_radians(),
        wedge_sound_speed: 2430.0,
        layers: vec![layer(7.0e-3, 3230.0), layer(4.0e-3, 2600.0)],
        bore: 0.2,
        liquid_sound_speed: 1480.0,
        traverses: 2,
    }
}

prop_compose! {
    /// Any pipe of one to seven layers through which a ray passes: in the fastest layer the sine
    /// of its angle is `sine`.
    fn any_pipe()(
        sine in 0.05..0.95_f64,
        wedge_sound_speed in 1500.0..3000.0_f64,
        layers in prop::collection::vec((0.2e-3..30e-3_f64, 1200.0..6200.0_f64), 1..8),
        bore in 0.01..3.0_f64,
        liquid_sound_speed in 900.0..2000.0_f64,
        traverses in 1..9_u32,
    ) -> Pipe {
        let speeds = layers.iter().map(|(_, speed)| *speed);
        let fastest = speeds.chain([liquid_sound_speed, wedge_sound_speed]).fold(0.0, f64::max);
        Pipe {
            wedge_angle: libm::asin(sine * wedge_sound_speed / fastest),
            wedge_sound_speed,
            layers: layers.iter().map(|(e, c)| layer(*e, *c)).collect(),
            bore,
            liquid_sound_speed,
            traverses,
        }
    }
}
