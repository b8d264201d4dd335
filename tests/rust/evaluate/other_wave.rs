//! Another wave in the wall than the one that the site is set up for, by rays of the test's own.

use crate::support::{assert_relative, evaluate};
use flowdoubt::evaluate::{Evaluation, Readings};

/// A plastic pipe of 63 mm with a wall of 4.7 mm, set up for the shear wave.
fn small_plastic_pipe(basis: &str, angle: f64) -> Evaluation {
    let site = format!(
        "[site]\nname = \"small\"\n[liquid]\nkind = \"stated\"\nsound_speed = \"1480 m/s\"\n\
         kinematic_viscosity = \"1 mm2/s\"\n[pipe]\nmaterial = \"PVC-U\"\nwave = \"shear\"\n\
         outside_diameter = \"63 mm\"\nwall = \"4.7 mm\"\n[path]\nbasis = \"{basis}\"\ntraverses = 2\n\
         wedge_angle = \"{angle} deg\"\nwedge_sound_speed = \"2430 m/s\"\n\
         [meter]\nwedge_delay = \"10 us\"\n"
    );
    let readings = Readings::from_columns([
        ("transit_time_us", &[105.0, 105.0][..]),
        ("time_difference_ns", &[80.0, 81.0][..]),
    ]);
    evaluate(&site, &readings.expect("readings")).expect("an evaluation")
}

fn warned(evaluation: &Evaluation) -> Option<String> {
    let warnings = evaluation.warnings();
    let own = warnings.into_iter().find(|w| w.code == "other-wave");
    own.map(|warning| warning.words)
}

/// Spacing, dead time, run and time in the liquid of a ray of axial slowness `a` through a wall of
/// sound speed `c`, twice across.
fn ray(a: f64, c: f64) -> [f64; 4] {
    let (wall, bore, liquid, delay) = (4.7e-3, 0.063 - 2.0 * 4.7e-3, 1480.0, 10e-6);
    let of = |c: f64| {
        (
            (a * c) / (1.0 - a * a * c * c).sqrt(),
            1.0 / (1.0 - a * a * c * c).sqrt(),
        )
    };
    let ((tan_w, sec_w), (tan_f, sec_f)) = (of(c), of(liquid));
    [
        2.0 * wall * tan_w + 2.0 * bore * tan_f,
        delay + 2.0 * wall * sec_w / c,
        2.0 * bore * tan_f,
        2.0 * bore * sec_f / liquid,
    ]
}

#[test]
fn the_longitudinal_wave_in_plastic_is_warned_of_with_its_error() {
    let (shear, longitudinal) = (1093.0, 2395.0);
    for basis in ["timed", "geometric"] {
        let found = small_plastic_pipe(basis, 40.0);
        let a = libm::sin(40f64.to_radians()) / 2430.0;
        let [spacing, dead, run, time] = ray(a, shear);
        assert_relative(found.steps.path.spacing, spacing, 1e-12, "spacing");
        // the ray of the other wave between the same points, by bisection
        let (mut low, mut high) = (0.0, 0.999 / longitudinal);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if ray(middle, longitudinal)[0] < spacing {
                low = middle;
            } else {
                high = middle;
            }
        }
        let [_, other_dead, other_run, other_time] = ray(low, longitudinal);
        // what the meter makes of the times that it brings
        let difference = 2.0 * other_run / (1480.0 * 1480.0);
        let velocity = if basis == "timed" {
            difference / (2.0 * a * (other_dead + other_time - dead))
        } else {
            difference * 1480.0 * 1480.0 / (2.0 * run)
        };
        let words = warned(&found).expect("a warning");
        let error = format!("{:+.1} % wrong", 100.0 * (velocity - 1.0));
        assert!(words.contains(&error), "{basis}: {error}: {words}");
        let later = 1e6 * (other_dead + other_time - dead - time);
        assert!(
            words.contains(&format!("{:.1} us earlier", later.abs())),
            "{later}: {words}"
        );
        assert!(later < 0.0);
        assert!((-0.2..-0.01).contains(&(velocity - 1.0)), "{velocity}");
    }
}

#[test]
fn steel_set_up_for_the_shear_wave_has_no_rival() {
    let site = crate::support::demo("site.toml");
    let steel = crate::support::with(&site, "[pipe]", "[pipe]\nmaterial = \"carbon steel\"");
    let found = evaluate(&steel, &crate::support::demo_readings()).expect("an evaluation");
    assert_eq!(warned(&found), None);
}

#[test]
fn a_plan_says_which_wedge_angle_avoids_the_other_wave() {
    use flowdoubt::plan::{Conditions, Repeatability};
    let angles = [40.0, 30.0, 50.0];
    let mut named = 0;
    for angle in angles {
        let found = small_plastic_pipe("timed", angle);
        let at = Conditions {
            volume_flow: 1e-3,
            temperature: None,
        };
        let expected = found
            .site
            .expected(&at, &Repeatability::default())
            .expect("a plan");
        let warned = expected.warnings().iter().any(|w| w.code == "other-wave");
        let words: Vec<String> = expected.warnings().into_iter().map(|w| w.words).collect();
        let avoiding = words.iter().find_map(|words| {
            let (_, rest) = words.split_once("a wedge angle of ")?;
            rest.split_once(" deg avoids it")?.0.parse::<f64>().ok()
        });
        if let Some(other) = avoiding {
            named += 1;
            assert!(warned);
            // a site with that wedge is not warned of, and one a degree nearer is
            let there = small_plastic_pipe("timed", other);
            assert_eq!(self::warned(&there), None, "{other}");
            let nearer = other - (other - angle).signum();
            let there = small_plastic_pipe("timed", nearer);
            assert!(self::warned(&there).is_some(), "{nearer}");
        }
    }
    assert!(named > 0);
}

/// A meter of diameter and sound speed is misled most: a tenth of the flow on this pipe.
#[test]
fn a_geometric_meter_takes_the_other_wave_for_a_tenth_less() {
    let found = small_plastic_pipe("geometric", 45.0);
    let words = warned(&found).expect("a warning");
    let (_, error) = words.split_once("makes the flow ").expect("an error");
    let percent: f64 = error
        .split_once(' ')
        .expect("a number")
        .0
        .parse()
        .expect("a number");
    assert!((-10.5..-8.5).contains(&percent), "{percent}");
}
