//! How often right readings lie within their limits: sites whose truth is drawn, readings made by
//! plane trigonometry.

use super::limits::{NOMINAL, Truth};
use super::{entry, listed, uncertain};
use crate::support::with;
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::special::normal_quantile;

/// Asserts that 95 % of so many lie inside, within three standard deviations of a binomial count.
#[track_caller]
fn assert_covered(what: &str, inside: usize, of: usize) {
    let share = inside as f64 / of as f64;
    println!("{what}: {inside} of {of}");
    let chance = 3.0 * (0.95 * 0.05 / of as f64).sqrt();
    assert!((share - 0.95).abs() < chance, "{what}: {share}");
}

#[test]
fn right_readings_lie_within_their_limits_in_95_of_100() {
    const METERS: usize = 20_000;
    let list = listed(&uncertain());
    let paths = [
        "times.transit_time",
        "times.sound_speed",
        "zero.time_difference",
        "placement.ratio",
        "dimensions.wall",
    ];
    let limits = paths.map(|path| entry(&list, path).limits.expect("limits"));
    let mut stream = Stream::new(31, "meters");
    let mut deviate = || normal_quantile(stream.next_uniform());
    let mut inside = [0_usize; 5];
    let mean_of_30 = 1.0 / 30_f64.sqrt();
    for _ in 0..METERS {
        let truth = Truth {
            diameter: NOMINAL.diameter + 0.15e-3 * deviate(),
            wall: NOMINAL.wall + 0.08e-3 * deviate(),
            angle: NOMINAL.angle + 0.15_f64.to_radians() * deviate(),
            temperature: NOMINAL.temperature + 0.3 * deviate(),
            formulation: 1.0 + 2e-4 * deviate(),
            wedge_delay: NOMINAL.wedge_delay + 0.1e-6 * deviate(),
        };
        let time = truth.transit_time() + 10e-9 * mean_of_30 * deviate();
        let placements = [1.0 + 0.004 * deviate(), 1.0 + 0.004 * deviate()];
        let readings = [
            time,
            // the meter is set to what the site file says
            NOMINAL.measured_speed(time),
            1e-9 * (0.2 + 0.3 * deviate() + mean_of_30 * deviate()),
            placements[1] / placements[0],
            truth.wall,
        ];
        for ((reading, [low, high]), inside) in readings.iter().zip(limits).zip(&mut inside) {
            *inside += usize::from((low..=high).contains(reading));
        }
    }
    for (path, inside) in paths.iter().zip(inside) {
        assert_covered(path, inside, METERS);
    }
}

/// A wall that was surveyed by a few readings is read once more: limits from few degrees of freedom.
#[test]
fn one_more_reading_of_a_surveyed_wall_lies_within_its_limits() {
    const PIPES: usize = 1500;
    let mut stream = Stream::new(32, "walls");
    let mut deviate = || normal_quantile(stream.next_uniform());
    for survey in [3, 8] {
        let mut inside = 0;
        for _ in 0..PIPES {
            let mut reading = || 7.11 + 0.05 * deviate();
            let readings: Vec<String> = (0..survey)
                .map(|_| format!("\"{} mm\"", reading()))
                .collect();
            let text = with(
                &uncertain(),
                "{ value = \"7.11 mm\", standard_uncertainty = \"0.08 mm\" }",
                &format!("{{ readings = [{}] }}", readings.join(", ")),
            );
            let list = listed(&text);
            let [low, high] = entry(&list, "dimensions.wall").limits.expect("limits");
            inside += usize::from((low..=high).contains(&(1e-3 * reading())));
        }
        assert_covered(&format!("wall after {survey} readings"), inside, PIPES);
    }
}
