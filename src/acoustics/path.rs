//! One path through a layered pipe.

use super::refraction::refracted_sine;
use crate::scalar::Scalar;

/// What a ray meets in one layer, crossed once in the direction of the wall's normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer<S> {
    /// Thickness across the ray's crossing, in m.
    pub thickness: S,
    /// Sound speed of the wave that travels there, in m/s: shear or longitudinal.
    pub sound_speed: S,
}

/// Everything between the wedges that determines the sound path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry<'a, S> {
    /// The layers between wedge and liquid, from outside to inside and the same on both sides:
    /// couplant, wall, liners, scale.
    pub layers: &'a [Layer<S>],
    /// Length across the bore of one traverse, seen along the axis, in m: the inside diameter of
    /// a diametral path, less off the centre.
    pub chord: S,
    /// Sound speed of the liquid, in m/s.
    pub liquid_sound_speed: S,
    /// Number of crossings of the liquid, `N`: odd on a direct path, even on a reflected one.
    pub traverses: u32,
}

/// The sound path that follows from a [`Geometry`] and the axial slowness of its ray.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Path<S> {
    /// Axial slowness `a`, in s/m.
    pub axial_slowness: S,
    /// Sine of the angle in the liquid.
    pub liquid_sine: S,
    /// Axial run of the ray in the liquid, `N D tan(theta_f)`, in m.
    pub run_in_liquid: S,
    /// Time in the liquid at rest, `N D / (c_f cos(theta_f))`, in s.
    pub time_in_liquid: S,
    /// Axial distance of the exit points of the two wedges, in m.
    pub spacing: S,
    /// Time in the layers, both sides together, in s.
    pub time_in_layers: S,
}

/// Axial run and travel time of a ray that crosses a layer once, in m and s.
fn crossing<S: Scalar>(layer: Layer<S>, axial_slowness: S) -> (S, S) {
    let sine = refracted_sine(axial_slowness, layer.sound_speed);
    let cosine = (-(sine * sine) + 1.0).sqrt();
    (
        layer.thickness * sine / cosine,
        layer.thickness / (layer.sound_speed * cosine),
    )
}

impl<S: Scalar> Path<S> {
    /// Traces the ray of axial slowness `a` in s/m: angles from Snell's law, spacing and times
    /// from plane trigonometry.
    ///
    /// ```text
    /// s   = 2 sum_i e_i tan(theta_i) + N D tan(theta_f)
    /// t_f = N D / (c_f cos(theta_f))
    /// ```
    /// NaN where a layer reflects the ray totally; [`check_refraction`](super::check_refraction)
    /// says so in words.
    ///
    /// Off the centre the layers are still taken as crossed along their normal, which is right in
    /// lowest order of the offset over the diameter.
    pub fn trace(geometry: &Geometry<'_, S>, axial_slowness: S) -> Path<S> {
        let liquid = Layer {
            thickness: geometry.chord * f64::from(geometry.traverses),
            sound_speed: geometry.liquid_sound_speed,
        };
        let (run_in_liquid, time_in_liquid) = crossing(liquid, axial_slowness);
        let zero = S::constant(0.0);
        let (run, time) = geometry
            .layers
            .iter()
            .map(|layer| crossing(*layer, axial_slowness))
            .fold((zero, zero), |sum, one| (sum.0 + one.0, sum.1 + one.1));
        Path {
            axial_slowness,
            liquid_sine: refracted_sine(axial_slowness, liquid.sound_speed),
            run_in_liquid,
            time_in_liquid,
            spacing: run * 2.0 + run_in_liquid,
            time_in_layers: time * 2.0,
        }
    }

    /// Sine of the angle in a layer of `sound_speed` in m/s.
    pub fn sine_in(&self, sound_speed: S) -> S {
        refracted_sine(self.axial_slowness, sound_speed)
    }
}
