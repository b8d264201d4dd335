//! The ray that joins two sensors of known spacing.

use super::path::{Geometry, Layer, Path};
use crate::scalar::{Dual, Scalar, root_with_derivatives};
use smallvec::SmallVec;

/// Steps of Newton's method. From the start, where the run is not yet bent, they climb to the root
/// from one side; a test finds no pipe that needs more.
const STEPS: usize = 24;

/// Axial slowness in s/m of the ray whose exit points are `spacing` apart along the axis, in m.
///
/// ```text
/// 2 sum_i e_i tan(theta_i) + N D tan(theta_f) = s,    sin(theta_i) = a c_i
/// ```
/// Sound between two small sensors travels the path of least time, and this is it; in a wide beam
/// the wedge determines the angle, wherever in the beam the sensors sit. For any `spacing > 0`
/// there is one such ray; NaN for others.
///
/// # Source
/// Fermat's principle with Snell's law. The unknown is the tangent of the angle in the fastest
/// layer, in which the spacing is concave, so that Newton's method converges from zero.
pub fn slowness_of_spacing<S: Scalar>(geometry: &Geometry<'_, S>, spacing: S) -> S {
    let layers = geometry.layers.iter().map(|layer| layer.sound_speed);
    let fastest = layers.fold(geometry.liquid_sound_speed, S::max);
    let real = real_layers(geometry.layers);
    let fixed: SmallVec<[Layer<Dual<S::Real, 1>>; 4]> = real
        .iter()
        .map(|layer| Layer {
            thickness: Dual::fixed(layer.thickness),
            sound_speed: Dual::fixed(layer.sound_speed),
        })
        .collect();
    let fixed = Geometry {
        layers: &fixed,
        chord: Dual::fixed(geometry.chord.real()),
        liquid_sound_speed: Dual::fixed(geometry.liquid_sound_speed.real()),
        traverses: geometry.traverses,
    };
    let (real_fastest, real_spacing) = (fastest.real(), spacing.real());
    let start = S::Real::constant(0.0);
    let tangent: S = root_with_derivatives(
        |tangent| {
            excess(
                &fixed,
                tangent,
                Dual::fixed(real_fastest),
                Dual::fixed(real_spacing),
            )
        },
        |tangent| excess(geometry, tangent, fastest, spacing),
        start,
        STEPS,
    );
    let positive = S::constant(0.0).less_than(spacing);
    S::select(positive, slowness(tangent, fastest), S::constant(f64::NAN))
}

fn real_layers<S: Scalar>(layers: &[Layer<S>]) -> SmallVec<[Layer<S::Real>; 4]> {
    let real = |layer: &Layer<S>| Layer {
        thickness: layer.thickness.real(),
        sound_speed: layer.sound_speed.real(),
    };
    layers.iter().map(real).collect()
}

/// Axial slowness from the tangent of the angle in the fastest layer.
fn slowness<S: Scalar>(tangent: S, fastest: S) -> S {
    tangent / ((tangent * tangent + 1.0).sqrt() * fastest)
}

/// Spacing that a ray needs beyond the one there is.
fn excess<S: Scalar>(geometry: &Geometry<'_, S>, tangent: S, fastest: S, spacing: S) -> S {
    Path::trace(geometry, slowness(tangent, fastest)).spacing - spacing
}
