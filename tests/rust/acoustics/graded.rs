//! Liquids whose sound speed varies across the pipe.

use super::layer;
use flowdoubt::acoustics::{Geometry, Layer, Path, graded_crossing};
use proptest::prelude::*;

/// The circular arc of a ray where the sound speed varies linearly from `c1` to `c2`: centre on
/// the line of no sound speed, so run and time in closed form. Textbook result of underwater
/// acoustics (from memory).
fn arc(thickness: f64, slowness: f64, c1: f64, c2: f64) -> (f64, f64) {
    let gradient = (c2 - c1) / thickness;
    let cosine = |c: f64| (1.0 - slowness * slowness * c * c).sqrt();
    let run = (cosine(c1) - cosine(c2)) / (slowness * gradient);
    let time = libm::log(c2 / c1 * (1.0 + cosine(c1)) / (1.0 + cosine(c2))) / gradient;
    (run, time)
}

proptest! {
    #[test]
    fn a_linear_sound_speed_bends_the_ray_into_an_arc(
        thickness in 0.01..3.0_f64,
        c in 900.0..2000.0_f64,
        change in 0.02..0.2_f64,
        sine in 0.1..0.7_f64,
    ) {
        let (c1, c2) = (c, c * (1.0 + change));
        let slowness = sine / c2;
        let (run, time) = graded_crossing(thickness, slowness, |y| c1 + (c2 - c1) * y);
        let (arc_run, arc_time) = arc(thickness, slowness, c1, c2);
        // the closed form loses digits to the difference of two cosines
        prop_assert!((run / arc_run - 1.0).abs() < 1e-11, "{run} {arc_run}");
        prop_assert!((time / arc_time - 1.0).abs() < 1e-11, "{time} {arc_time}");
    }

    /// Thin layers of constant sound speed approach a continuous variation with the square of
    /// their thickness; here the sound speed varies with the logarithm of the place.
    #[test]
    fn many_layers_approach_a_logarithmic_sound_speed(
        sine in 0.1..0.7_f64,
        change in -0.05..0.05_f64,
    ) {
        let (thickness, c) = (0.3, 1500.0);
        let speed = |y: f64| c * (1.0 + change * libm::log(1.0 + 9.0 * y) / libm::log(10.0));
        let slowness = sine / c;
        let stack = |n: usize| -> (f64, f64) {
            let layers: Vec<Layer<f64>> = (0..n)
                .map(|i| layer(thickness / n as f64, speed((i as f64 + 0.5) / n as f64)))
                .collect();
            let geometry = Geometry {
                layers: &layers,
                chord: 0.0,
                liquid_sound_speed: c,
                traverses: 1,
            };
            let path = Path::trace(&geometry, slowness);
            (0.5 * path.spacing, 0.5 * path.time_in_layers)
        };
        let (run, time) = graded_crossing(thickness, slowness, speed);
        let (coarse, fine) = (stack(200), stack(400));
        // Richardson's extrapolation takes the square away
        let limit = |coarse: f64, fine: f64| fine + (fine - coarse) / 3.0;
        prop_assert!((run / limit(coarse.0, fine.0) - 1.0).abs() < 1e-8);
        prop_assert!((time / limit(coarse.1, fine.1) - 1.0).abs() < 1e-8);
    }
}
