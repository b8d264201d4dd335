//! The feasible window against what bounds it.

use super::{demo_plan, demo_site};
use crate::site::site;
use crate::support::{assert_relative, with};
use flowdoubt::plan::{PlanRequest, Window};
use flowdoubt::site::Site;
use serde_json::Value;

fn window(text: &str) -> Window {
    let site = Site::from_toml(text, "site.toml").expect("a site");
    let request = PlanRequest {
        flows: vec![0.02],
        ..PlanRequest::default()
    };
    site.plan(&request)
        .expect("a plan")
        .windows()
        .swap_remove(0)
}

#[test]
fn a_fitting_asks_for_turbulent_flow() {
    let fitting = "fitting = \"single_bend\"\nstraight_run = \"8 D\"\norientation = \"90 deg\"";
    let found = window(&site(&[("installation", fitting)]))
        .feasible
        .expect("a range");
    // the factor of the family is within some percent of one
    assert_relative(found.lowest.reynolds, 4045.0, 0.05, "Reynolds number");
    assert!(found.lowest.beyond.contains("installation.fitting"));
    assert_eq!(found.highest.beyond, "");
    assert_relative(found.highest.velocity, 30.0, 1e-9, "end of the search");
}

#[test]
fn the_transition_is_warned_of_and_two_phases_as_well() {
    let delay = "wedge_delay = { value = \"16 us\", standard_uncertainty = \"0.2 us\" }";
    let found = window(&with(&site(&[]), "wedge_delay = \"16 us\"", delay));
    let range = found.feasible.expect("a range");
    assert_relative(range.lowest.velocity, 0.001, 1e-9, "start of the search");
    // 5 bar less the vapour pressure of water at 20 degC, 2.3393 kPa, is two velocity heads;
    // density 998.4 kg/m3 (both IAPWS, from memory)
    let quiet = found.without_warning.expect("a range");
    let velocity = libm::sqrt((5e5 - 2339.3) / 998.4);
    assert_relative(quiet.highest.velocity, velocity, 1e-4, "two velocity heads");
    assert_eq!(quiet.highest.beyond, "two-phase-risk");
    // laminar flow without a stated run, and the transition
    assert_eq!(quiet.between, "developing-flow; transition");
    assert_eq!(range.between, "");
    let area = core::f64::consts::FRAC_PI_4 * 0.15408 * 0.15408;
    let flow = quiet.highest.velocity * area;
    assert_relative(quiet.highest.volume_flow, flow, 1e-12, "flow");
}

#[test]
fn where_no_flow_helps_the_reason_is_that_of_the_path() {
    let steep = with(&site(&[]), "40 deg", "60 deg");
    let why = window(&steep).feasible.expect_err("total reflection");
    assert_eq!(why.code(), "total-reflection");
    let hot = demo_site().plan(&PlanRequest {
        flows: vec![0.1],
        temperatures: vec![281.0, 450.0],
        ..PlanRequest::default()
    });
    let windows = hot.expect("a plan").windows();
    assert!(windows[0].feasible.is_ok());
    let why = windows[1].feasible.as_ref().expect_err("boiling");
    assert!(why.to_string().contains("boil"), "{why}");
}

#[test]
fn the_largest_reynolds_number_bounds_a_large_pipe() {
    let wide = with(&site(&[]), "168.3 mm", "8000 mm");
    let found = window(&wide).feasible.expect("a range");
    assert_relative(found.highest.reynolds, 1e8, 1e-4, "Reynolds number");
    assert!(found.highest.beyond.contains("1e8"));
}

/// A hot pipe is warned of at every flow, which says nothing of the window.
#[test]
fn warnings_of_every_flow_leave_the_window_as_it_is() {
    let plan = demo_site().plan(&PlanRequest {
        flows: vec![0.1],
        temperatures: vec![400.0],
        ..PlanRequest::default()
    });
    let plan = plan.expect("a plan");
    let window = plan.windows().swap_remove(0);
    let hot = ["hot-pipe", "wedge-temperature", "survey-temperature"];
    assert_eq!(window.always_warned, hot);
    let quiet = window.without_warning.expect("a range");
    assert_eq!(quiet.highest.beyond, "two-phase-risk");
    let text = plan.in_words(None).expect("words");
    assert!(
        text.contains("warned of at every flow: hot-pipe, wedge-temperature"),
        "{text}"
    );
}

/// Water boils at 424.981 K at 5 bar (package `iapws`, IAPWS-95) and freezes near 0 degC.
#[test]
fn the_liquid_bounds_the_temperature() {
    let found = window(&site(&[])).temperatures.expect("temperatures");
    assert!((found.highest - 424.981).abs() < 0.05, "{}", found.highest);
    assert!(found.above.contains("boil"), "{}", found.above);
    assert!((found.lowest - 273.15).abs() < 0.2, "{}", found.lowest);
    let stated = "kind = \"stated\"\nsound_speed = \"1480 m/s\"\nkinematic_viscosity = \"1 mm2/s\"";
    let water = "kind = \"water\"\ntemperature = \"20 degC\"\nabsolute_pressure = \"5 bar\"";
    let stated = with(&site(&[]), water, stated);
    assert_eq!(window(&stated).temperatures, None);
}

#[test]
fn words_have_every_point_and_window() {
    let plan = demo_plan(PlanRequest {
        flows: vec![0.3, 200.0],
        ..PlanRequest::default()
    });
    // 7.2 bar: water boils at 439.236 K (package `iapws`)
    let json = plan.to_json(None).expect("JSON");
    let json: Value = serde_json::from_str(&json).expect("JSON");
    let window = &json["windows"][0];
    let highest = window["highest_temperature_K"].as_f64().expect("a number");
    assert!((highest - 439.236).abs() < 0.05, "{highest}");
    assert!(window["hotter"].as_str().expect("words").contains("boil"));
    let text = plan.in_words(None).expect("words");
    for words in [
        "1080",
        "720000",
        "no measurement: Reynolds number",
        "feasible window",
        "sound path and liquid from",
        "between them: developing-flow; transition",
        "8 degC",
    ] {
        assert!(text.contains(words), "no `{words}` in\n{text}");
    }
}
