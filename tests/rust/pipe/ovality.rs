//! Oval pipes, eccentric bores and grids of wall readings against integrals and plane geometry.

use crate::support::{assert_refused, assert_relative, slope};
use flowdoubt::pipe::{
    EccentricPath, WallGrid, area_error_of_circumference, area_error_of_mean_diameter,
    check_ellipse, ellipse_area, ellipse_diameter, ellipse_perimeter, ellipse_width, ovality,
};
use flowdoubt::scalar::Dual;
use proptest::prelude::*;
use std::f64::consts::PI;

proptest! {
    #[test]
    fn perimeter_is_the_integral(smallest in 0.01..3.0_f64, ratio in 1.0..3.0_f64) {
        let largest = smallest * ratio;
        // the trapezium rule on a period converges faster than any power
        let steps = 400;
        let sum: f64 = (0..steps)
            .map(|i| {
                let t = 2.0 * PI * f64::from(i) / f64::from(steps);
                libm::hypot(largest * libm::sin(t), smallest * libm::cos(t))
            })
            .sum();
        let integral = sum * PI / f64::from(steps);
        prop_assert!((ellipse_perimeter(largest, smallest) / integral - 1.0).abs() < 1e-14);
    }

    /// Of ellipses with one circumference the rounder has the larger area.
    #[test]
    fn area_falls_with_ovality_at_one_circumference(
        ratio in 1.0..2.9_f64,
        more in 1.001..1.03_f64,
    ) {
        let area = |ratio: f64| {
            let perimeter = ellipse_perimeter(ratio, 1.0);
            ellipse_area(ratio, 1.0) / (perimeter * perimeter)
        };
        prop_assert!(area(ratio * more) < area(ratio));
        let circle = 1.0 / (4.0 * PI);
        let error = area_error_of_circumference(ratio, 1.0);
        prop_assert!((circle / area(ratio) - 1.0 - error).abs() < 1e-14);
        prop_assert!(error >= area_error_of_mean_diameter(ratio, 1.0));
    }

    #[test]
    fn errors_of_area_are_what_they_say(smallest in 0.05..1.0_f64, o in 0.001..0.1_f64) {
        let largest = smallest * (1.0 + 0.5 * o) / (1.0 - 0.5 * o);
        prop_assert!((ovality(largest, smallest) / o - 1.0).abs() < 1e-9);
        let mean = 0.5 * (largest + smallest);
        let exact = ellipse_area(mean, mean) / ellipse_area(largest, smallest) - 1.0;
        let found = area_error_of_mean_diameter(largest, smallest);
        prop_assert!((found - exact).abs() < 1e-14);
        prop_assert!((found / (0.25 * o * o) - 1.0).abs() < o * o);
        let found = area_error_of_circumference(largest, smallest);
        prop_assert!((found / (0.375 * o * o) - 1.0).abs() < o * o + 1e-9);
    }

    #[test]
    fn widths_and_diameters_lie_between_the_axes(
        smallest in 0.1..1.0_f64,
        ratio in 1.001..3.0_f64,
        angle in -4.0..4.0_f64,
    ) {
        let largest = smallest * ratio;
        let width = ellipse_width(largest, smallest, angle);
        let diameter = ellipse_diameter(largest, smallest, angle);
        let within = smallest * (1.0 - 1e-14)..=largest * (1.0 + 1e-14);
        prop_assert!(within.contains(&width) && within.contains(&diameter));
        prop_assert!(diameter <= width * (1.0 + 1e-14));
        // the end of the diameter is on the ellipse
        let (x, y) = (diameter * libm::cos(angle), diameter * libm::sin(angle));
        let on = (x / largest) * (x / largest) + (y / smallest) * (y / smallest);
        prop_assert!((on - 1.0).abs() < 1e-13);
        // the jaws touch the ellipse at its farthest point in their direction
        let farthest = (0..20_000).map(|i| {
            let t = PI * f64::from(i) / 10_000.0;
            let along = largest * libm::cos(t) * libm::cos(angle);
            along + smallest * libm::sin(t) * libm::sin(angle)
        });
        let farthest = farthest.fold(0.0, f64::max);
        prop_assert!((width / farthest - 1.0).abs() < 1e-6);
    }

    #[test]
    fn derivatives_of_the_ellipse_meet_differences(smallest in 0.1..1.0_f64, ratio in 1.0..2.5_f64) {
        let largest = smallest * ratio;
        let at = |a, b| [Dual::<f64, 2>::variable(a, 0), Dual::variable(b, 1)];
        let [a, b] = at(largest, smallest);
        let close = |dual: Dual<f64, 2>, f: fn(f64, f64) -> f64| {
            let by_a = slope(|a| f(a, smallest), largest, 1e-3 * smallest);
            let by_b = slope(|b| f(largest, b), smallest, 1e-3 * smallest);
            dual.value.to_bits() == f(largest, smallest).to_bits()
                && (dual.gradient[0] - by_a).abs() < 1e-8 / smallest
                && (dual.gradient[1] - by_b).abs() < 1e-8 / smallest
        };
        prop_assert!(close(ellipse_perimeter(a, b), ellipse_perimeter));
        prop_assert!(close(area_error_of_circumference(a, b), area_error_of_circumference));
        prop_assert!(close(area_error_of_mean_diameter(a, b), area_error_of_mean_diameter));
    }

    #[test]
    fn a_path_through_an_eccentric_bore(
        bore in 0.05..1.0_f64,
        wall in 0.02..0.2_f64, // of the bore
        share in 0.0..0.9_f64,
        angle in -3.2..3.2_f64,
    ) {
        let (outside, wall) = (bore * (1.0 + 2.0 * wall), bore * wall);
        let delta = share * wall;
        let path = EccentricPath::new(outside, bore, delta, angle);
        // where the wall is thickest the bore's centre is on the other side
        let (x, y) = (-delta * libm::cos(angle), delta * libm::sin(angle));
        for (end, side) in [(path.near_wall, 1.0), (path.far_wall, -1.0)] {
            prop_assert!(end > 0.0);
            let along = side * (0.5 * outside - end);
            let from_centre = libm::hypot(along - x, y);
            prop_assert!((from_centre / (0.5 * bore) - 1.0).abs() < 1e-13);
        }
        let total = path.near_wall + path.chord + path.far_wall;
        prop_assert!((total / outside - 1.0).abs() < 1e-14);
        // opposite readings leave an error of second order in the bore
        let error = outside - path.near_wall - path.far_wall - bore;
        prop_assert!(error.abs() <= 2.1 * delta * delta / bore + 1e-15);
    }

    /// A grid made from mean, eccentricity and direction gives them back.
    #[test]
    fn a_grid_of_readings(
        mean in 3e-3..30e-3_f64,
        share in 0.001..0.2_f64,
        direction in -3.1..3.1_f64,
        rings in 1..5_usize,
        positions in 3..9_usize,
    ) {
        let delta = share * mean;
        let angle = |j: usize| 2.0 * PI * j as f64 / positions as f64;
        let ring: Vec<f64> =
            (0..positions).map(|j| mean + delta * libm::cos(angle(j) - direction)).collect();
        let grid = WallGrid::new(&vec![ring; rings]).expect("grid");
        prop_assert!((grid.mean / mean - 1.0).abs() < 1e-14);
        let found = grid.eccentric.expect("three positions or more");
        prop_assert!((found.eccentricity / delta - 1.0).abs() < 1e-10);
        prop_assert!((found.direction - direction).abs() < 1e-10);
        prop_assert_eq!(found.residual.is_some(), rings * positions > 3);
        prop_assert!(found.residual.unwrap_or(0.0) < 1e-12 * mean);
        prop_assert!(grid.smallest < grid.mean && grid.mean < grid.largest);
        // a cosine has the mean square 1/2
        let count = (rings * positions) as f64;
        let spread = delta * (0.5 * count / (count - 1.0)).sqrt();
        let found = grid.standard_deviation.expect("several");
        prop_assert!((found / spread - 1.0).abs() < 1e-10);
    }
}

#[test]
fn a_true_eccentric_bore_shows_in_the_grid() {
    let (outside, bore, delta) = (0.2191, 0.20274, 0.5e-3);
    let ring: Vec<f64> = (0..8)
        .map(|j| EccentricPath::new(outside, bore, delta, f64::from(j) * PI / 4.0 - 1.0).near_wall)
        .collect();
    let grid = WallGrid::new(&[ring]).expect("grid");
    let found = grid.eccentric.expect("eccentric");
    assert_relative(found.eccentricity, delta, 1e-4, "eccentricity");
    assert_relative(found.direction, 1.0, 1e-4, "direction");
    assert!(found.residual.expect("eight readings") < 1e-6);
    // the mean wall is that of the centred bore but for second order
    assert_relative(grid.mean, 0.5 * (outside - bore), 1e-4, "mean");
}

#[test]
fn residual_of_readings_that_scatter() {
    // by hand: mean 7.0, alternating +-0.1 is no first harmonic; 0.08 / (8 - 1), 0.08 / (8 - 3)
    let ring = [7.1e-3, 6.9e-3, 7.1e-3, 6.9e-3];
    let grid = WallGrid::new(&[ring, ring]).expect("grid");
    let spread = grid.standard_deviation.expect("eight");
    assert_relative(spread, (0.08e-6_f64 / 7.0).sqrt(), 1e-10, "spread");
    let found = grid.eccentric.expect("four positions");
    assert!(found.eccentricity < 1e-15);
    let residual = found.residual.expect("eight");
    assert_relative(residual, (0.08e-6_f64 / 5.0).sqrt(), 1e-10, "residual");
    // the harmonic of several rings is that of their mean; opposite ones cancel
    let rings = [
        [7.2e-3, 7.0e-3, 6.8e-3, 7.0e-3],
        [6.8e-3, 7.0e-3, 7.2e-3, 7.0e-3],
    ];
    let turning = WallGrid::new(&rings)
        .expect("grid")
        .eccentric
        .expect("four positions");
    assert!(turning.eccentricity < 1e-15);
    assert_relative(
        turning.residual.expect("eight"),
        (0.16e-6_f64 / 5.0).sqrt(),
        1e-10,
        "turn",
    );
    let single = WallGrid::new(&[[7.0e-3]]).expect("one reading");
    assert_eq!((single.standard_deviation, single.eccentric), (None, None));
    assert_eq!(
        (single.mean, single.smallest, single.largest),
        (7.0e-3, 7.0e-3, 7.0e-3)
    );
    let pair = WallGrid::new(&[[7.0e-3, 7.2e-3]]).expect("two readings");
    assert_eq!(pair.eccentric, None);
}

#[test]
fn grids_and_ellipses_that_are_none() {
    let none: [&[f64]; 0] = [];
    assert_refused(WallGrid::new(&none), "missing", &["pipe.wall_grid"]);
    assert_refused(WallGrid::new(&[[]]), "missing", &["pipe.wall_grid"]);
    let ragged: [&[f64]; 2] = [&[7e-3, 7e-3], &[7e-3]];
    let parts = ["pipe.wall_grid[1]: found 1 values; allowed: 2, as in the first ring"];
    assert_refused(WallGrid::new(&ragged), "length", &parts);
    for bad in [0.0, -7e-3, f64::NAN, f64::INFINITY] {
        let grid = WallGrid::new(&[[7e-3, 7e-3], [7e-3, bad]]);
        assert_refused(grid, "out-of-range", &["pipe.wall_grid[1][1]: found"]);
    }
    assert_eq!(check_ellipse(0.2, 0.2), Ok(()));
    assert_eq!(check_ellipse(0.6, 0.2), Ok(()));
    for (largest, smallest, field) in [
        (0.2, 0.0, "pipe.smallest_diameter"),
        (0.2, f64::NAN, "pipe.smallest_diameter"),
        (0.19, 0.2, "pipe.largest_diameter"),
        (0.61, 0.2, "pipe.largest_diameter"),
        (f64::NAN, 0.2, "pipe.largest_diameter"),
    ] {
        assert_refused(
            check_ellipse(largest, smallest),
            "out-of-range",
            &[field, "allowed"],
        );
    }
}
