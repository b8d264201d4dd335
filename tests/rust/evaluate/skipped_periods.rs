//! Whole periods of the carrier that the meter skipped.

use crate::support::evaluate;
use flowdoubt::evaluate::Readings;

/// A site so well known that its transit time is expected to a small part of a period.
const SITE: &str = "[site]\nname = \"known\"\n[liquid]\nkind = \"stated\"\nsound_speed = \"1480 m/s\"\n\
                    kinematic_viscosity = \"1 mm2/s\"\n[pipe]\noutside_diameter = \"168.3 mm\"\n\
                    wall = \"7.1 mm\"\nwall_sound_speed = \"3230 m/s\"\n[path]\nbasis = \"timed\"\n\
                    traverses = 2\nwedge_angle = \"40 deg\"\nwedge_sound_speed = \"2430 m/s\"\n\
                    frequency = \"1 MHz\"\n[meter]\nwedge_delay = { value = \"16 us\", \
                    standard_uncertainty = \"0.03 us\" }\n";

/// The words of the warnings of skipped periods, for a transit time that is `late` in s.
fn warned(site: &str, late: f64, differences: &[f64]) -> Vec<String> {
    // layers of the wall and two traverses at 40 degrees in the wedge, by hand
    let a = libm::sin(40f64.to_radians()) / 2430.0;
    let secant = |c: f64| 1.0 / (1.0 - a * a * c * c).sqrt();
    let expected = 16e-6
        + 2.0 * 7.1e-3 / 3230.0 * secant(3230.0)
        + 2.0 * (0.1683 - 14.2e-3) / 1480.0 * secant(1480.0);
    let times = vec![expected + late; differences.len()];
    let columns = [
        ("transit_time_s", times.as_slice()),
        ("time_difference_ns", differences),
    ];
    let readings = Readings::from_columns(columns).expect("readings");
    let warnings = evaluate(site, &readings).expect("an evaluation").warnings();
    let own = warnings.into_iter().filter(|w| w.code == "skipped-period");
    own.map(|warning| warning.words).collect()
}

const STEADY: [f64; 6] = [80.0, 81.0, 79.5, 80.5, 80.2, 79.8];

#[test]
fn a_transit_time_off_by_whole_periods_is_recognised() {
    assert_eq!(warned(SITE, 0.0, &STEADY), [""; 0]);
    let [one] = &warned(SITE, 2e-6, &STEADY)[..] else {
        panic!("one warning")
    };
    assert!(
        one.contains("+2.000 us") && one.contains("+2 periods"),
        "{one}"
    );
    assert!(warned(SITE, -1e-6, &STEADY)[0].contains("-1 periods"));
    // between periods it is something else, which the sound speed tells
    assert_eq!(warned(SITE, 0.5e-6, &STEADY), [""; 0]);
    // where nothing is said of the carrier, or the time is not known to a part of a period
    let silent = SITE.replace("frequency = \"1 MHz\"\n", "");
    assert_eq!(warned(&silent, 2e-6, &STEADY), [""; 0]);
    let vague = SITE.replace("0.03 us", "0.3 us");
    assert_eq!(warned(&vague, 2e-6, &STEADY), [""; 0]);
}

#[test]
fn readings_that_jump_by_periods_are_counted() {
    let jumped = [80.0, 81.0, 1080.2, 80.5, -919.8, 79.8];
    let found = warned(SITE, 0.0, &jumped);
    assert!(found[0].contains("2 of 6 readings"), "{found:?}");
    // scatter is not a jump
    assert_eq!(
        warned(SITE, 0.0, &[80.0, 300.0, -100.0, 90.0, 500.0, 80.0]),
        [""; 0]
    );
}
