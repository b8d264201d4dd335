//! Velocity and flow as the meter indicates them, taken back by hand.

use crate::site::site;
use crate::support::{assert_relative, evaluate, with};
use flowdoubt::evaluate::Readings;
use std::f64::consts::FRAC_PI_4;

/// `v = (v_indicated - v_zero) / k_programmed`, of a timed meter that was told of its sensors.
#[test]
fn an_indicated_velocity_is_taken_back_by_hand() {
    let meter = "zero_velocity = \"12 mm/s\"";
    let text = with(&site(&[("meter", meter)]), "\"timed\"", "\"indicated\"")
        + "[meter.programmed]\nprinciple = \"timed\"\nprofile_factor = 0.95\n\
           inside_diameter = \"150 mm\"\n";
    let velocity = |columns: [(&str, &[f64]); 1]| {
        let readings = Readings::from_columns(columns).expect("readings");
        evaluate(&text, &readings).unwrap_or_else(|e| panic!("{e}"))
    };
    let by_velocity = velocity([("velocity_m_s", &[1.5, 1.6])]);
    let expected = (1.55 - 0.012) / 0.95;
    assert_relative(by_velocity.steps.path_velocity, expected, 1e-14, "velocity");
    let by_flow = velocity([("volume_flow_m3_h", &[100.0, 102.0])]);
    let indicated = 101.0 / 3600.0 / (FRAC_PI_4 * 0.150 * 0.150);
    let expected = (indicated - 0.012) / 0.95;
    assert_relative(by_flow.steps.path_velocity, expected, 1e-14, "flow");
    // a zero that is 10 mm/s too small: the flow falls in the ratio of the velocities
    let at_no_flow = Readings::from_columns([("velocity_m_s", &[0.021, 0.023][..])]);
    let at_no_flow = at_no_flow.expect("readings");
    for found in [by_velocity, by_flow] {
        let check = found.zero_check(&at_no_flow).expect("check");
        let share = 0.010 / 0.95 / found.steps.path_velocity;
        assert_relative(check.flow, -share * found.estimate(), 0.02, "zero");
    }
}
