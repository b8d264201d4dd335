//! The readings that a flow would give, and what evaluating them comes to.

use super::{at, demo_site, expected, mean};
use crate::site::site;
use crate::support::{assert_refused, assert_relative, demo_readings, with};
use flowdoubt::evaluate::{Channel, Readings};
use flowdoubt::plan::{Conditions, Expected, Repeatability, Scatter};
use flowdoubt::profile::Regime;
use flowdoubt::site::Site;
use proptest::prelude::*;
use std::f64::consts::{FRAC_PI_4, PI};

const STATED: &str = "kind = \"stated\"\nsound_speed = \"1480 m/s\"\n\
                      kinematic_viscosity = \"150 mm2/s\"";

/// A site of exact numbers with a liquid so viscous that the flow is laminar and `k` is 3/4.
fn viscous(basis: &str) -> String {
    let text = site(&[("liquid", STATED)]);
    let text = with(
        &text,
        "kind = \"water\"\ntemperature = \"20 degC\"\nabsolute_pressure = \"5 bar\"\n",
        "",
    );
    with(&text, "timed", basis)
}

/// Time for a ray of run `s` and height `h` that a liquid of sound speed `c` carries along by `v`:
/// the root of `|(s - v t, h)| = c t` by halving.
fn travel_time(s: f64, h: f64, c: f64, v: f64) -> f64 {
    let early = |t: f64| c * t < libm::hypot(s - v * t, h);
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if early(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

#[test]
fn times_are_those_of_rays_carried_along() {
    let (c, d, flow) = (1480.0, 0.1683 - 2.0 * 0.00711, 0.02);
    let sine = libm::sin(40.0_f64.to_radians()) / 2430.0 * c;
    let height = 2.0 * d;
    let run = height * sine / libm::sqrt(1.0 - sine * sine);
    // laminar: the mean on the path is 4/3 of the mean over the area
    let v = flow / (FRAC_PI_4 * d * d) / 0.75;
    let times = [v, -v].map(|v| travel_time(run, height, c, v));
    let difference = times[1] - times[0];
    let wall = 0.00711;
    let wall_sine = sine / c * 3230.0;
    let dead = 16e-6 + 2.0 * wall / (3230.0 * libm::sqrt(1.0 - wall_sine * wall_sine));
    for basis in ["timed", "geometric"] {
        let found = expected(&viscous(basis), at(flow, None));
        assert_eq!(Regime::at(found.steps().reynolds), Regime::Laminar);
        let dt = mean(&found, Channel::TimeDifference);
        assert_relative(dt, difference, 1e-9, basis);
        if basis == "timed" {
            let transit = mean(&found, Channel::TransitTime);
            let mean = 0.5 * (times[0] + times[1]) + dead;
            assert_relative(transit, mean, 1e-12, "transit time");
            // the flow makes a difference that is larger than the tolerance
            let slow =
                mean - 0.5 * (times[0] + times[1]) + height / (c * libm::sqrt(1.0 - sine * sine));
            assert!((slow / mean - 1.0).abs() > 1e-8);
        }
    }
}

fn rehearsed(expected: &Expected) -> Readings {
    let columns = expected.rehearsal();
    let columns = columns
        .iter()
        .map(|(name, v)| (name.as_str(), v.as_slice()));
    Readings::from_columns(columns).expect("readings")
}

/// Evaluating the rehearsal must lead back to the flow and to the same budget.
#[track_caller]
fn leads_back(site: &Site, conditions: &Conditions, repeatability: &Repeatability) -> Expected {
    let expected = site.expected(conditions, repeatability);
    let expected = expected.unwrap_or_else(|e| panic!("{e}"));
    let flow = conditions.volume_flow;
    assert_relative(expected.budget().estimate, flow, 1e-12, "the flow");
    let readings = rehearsed(&expected);
    assert_eq!(readings.rows(), repeatability.readings());
    let again = site.evaluate(&readings).unwrap_or_else(|e| panic!("{e}"));
    assert_relative(again.estimate(), flow, 1e-11, "the flow of the rehearsal");
    assert_eq!(again.budget.lines.len(), expected.budget().lines.len());
    for (a, b) in again.budget.lines.iter().zip(&expected.budget().lines) {
        assert_eq!(a.input.name(), b.input.name());
        let scale = 1e-9 * expected.budget().standard_uncertainty;
        assert!(
            (a.contribution - b.contribution).abs() <= scale,
            "{:?} {:?}",
            a,
            b
        );
        assert_eq!(a.input.dof(), b.input.dof(), "{}", a.input.name());
    }
    let dof = expected.budget().effective_dof;
    assert_relative(
        again.budget.effective_dof,
        dof,
        1e-7,
        "effective degrees of freedom",
    );
    expected
}

const PROGRAMMED: &str = "[meter.programmed]\nprinciple = \"timed\"\nprofile_factor = 0.94\n";

const TOLD: &str =
    "inside_diameter = \"154 mm\"\nliquid_sound_speed = \"1500 m/s\"\nwall = \"4 mm\"\n";

#[test]
fn every_basis_leads_back_to_the_flow() {
    let base = site(&[]);
    let indicated = format!("{}{PROGRAMMED}", with(&base, "timed", "indicated"));
    let zero = with(
        &base,
        "[meter]",
        "[meter]\nzero_time_difference = \"-3 ns\"",
    );
    let zero_velocity = with(&indicated, "[meter]", "[meter]\nzero_velocity = \"2 cm/s\"")
        .replace("2 cm/s", "20 mm/s");
    let small = "angle_from = \"spacing\"\nspacing = \"180 mm\"";
    for text in [
        base.clone(),
        zero,
        with(&base, "timed", "geometric"),
        with(&base, "wedge_angle", &format!("{small}\nwedge_angle")),
        format!("{indicated}inside_diameter = \"154 mm\"\n"),
        // told of another liquid and another wall, timed, geometric, or nobody knows
        format!("{indicated}{TOLD}"),
        with(
            &format!("{indicated}{TOLD}"),
            "principle = \"timed\"",
            "principle = \"geometric\"",
        ),
        with(
            &format!("{indicated}{TOLD}"),
            "principle = \"timed\"\nprofile_factor = 0.94",
            "",
        ),
        zero_velocity,
        indicated,
    ] {
        let site = Site::from_toml(&text, "site.toml").expect("a site");
        // laminar, in the transition, turbulent
        for flow in [1e-4, 2.9e-4, 3.5e-4, 4.2e-4, 1e-3, 0.02, 0.2] {
            leads_back(&site, &at(flow, None), &Repeatability::default());
        }
    }
}

#[test]
fn a_fitting_upstream_has_its_factor() {
    let fitting = "fitting = \"single_bend\"\nstraight_run = \"8 D\"\norientation = \"90 deg\"";
    let text = site(&[("installation", fitting)]);
    let site = Site::from_toml(&text, "site.toml").expect("a site");
    let found = leads_back(&site, &at(0.02, None), &Repeatability::default());
    let factor = found.inputs().inputs().iter();
    let factor = factor.filter(|i| i.name() == "installation.factor").count();
    assert_eq!(factor, 1);
    let refused = site.expected(&at(1e-4, None), &Repeatability::default());
    assert_refused(
        refused,
        "out-of-range",
        &["installation.fitting", "above 4045"],
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_flow_and_repeatability_lead_back(
        exponent in -4.0_f64..-0.5,
        celsius in 2.0_f64..90.0,
        readings in 2_usize..50,
        nanoseconds in 0.0_f64..20.0,
        percent in 0.0_f64..5.0,
    ) {
        let texts = [format!("{nanoseconds} ns"), format!("{percent} %")];
        let scatter = Scatter::parse(Channel::TimeDifference, &texts).expect("a scatter");
        let repeatability = Repeatability::default()
            .with_readings(readings)
            .expect("enough")
            .with_scatter(Channel::TimeDifference, scatter);
        let conditions = at(libm::pow(10.0, exponent), 273.15 + celsius);
        leads_back(&demo_site(), &conditions, &repeatability);
    }
}

/// At flow, temperature and scatter of the demonstration's readings the plan is its evaluation, but
/// for the transit time, which was read and not computed.
#[test]
fn a_trial_run_plans_its_own_evaluation() {
    let site = demo_site();
    let evaluation = site.evaluate(&demo_readings()).expect("an evaluation");
    let repeatability = Repeatability::as_in(&demo_readings()).expect("a repeatability");
    assert_eq!(repeatability.readings(), 360);
    let temperature = evaluation.inputs.inputs().iter();
    let temperature = temperature.filter(|i| i.name() == "liquid.temperature");
    let temperature: f64 = temperature.map(|i| i.estimate()).sum();
    let conditions = at(evaluation.estimate(), temperature);
    let found = site.expected(&conditions, &repeatability).expect("a plan");
    let planned = found.budget();
    assert_relative(
        planned.standard_uncertainty,
        evaluation.standard_uncertainty(),
        2e-3,
        "standard uncertainty",
    );
    for (planned, line) in planned.lines.iter().zip(&evaluation.budget.lines) {
        assert_eq!(planned.input.name(), line.input.name());
        assert_eq!(planned.input.dof(), line.input.dof());
        let difference = (planned.share - line.share).abs();
        assert!(difference < 2e-3, "{}: {difference}", line.input.name());
    }
    let line = planned.lines.iter();
    let mut line = line.filter(|l| l.input.name() == "readings.time_difference");
    let evidence = line.next().expect("a line").input.evidence();
    assert!(
        evidence.starts_with("planned: mean of 360 readings"),
        "{evidence}"
    );
    assert!(evidence.contains("as in readings.csv"), "{evidence}");
}

#[test]
fn the_mean_of_n_readings_has_its_scatter_over_the_root_of_n() {
    let texts = ["3 ns", "0.4 %"];
    let scatter = Scatter::parse(Channel::TimeDifference, &texts).expect("a scatter");
    let repeatability = Repeatability::default()
        .with_readings(16)
        .expect("enough")
        .with_scatter(Channel::TimeDifference, scatter);
    let found = demo_site()
        .expected(&at(0.2, 281.15), &repeatability)
        .expect("a plan");
    let dt = mean(&found, Channel::TimeDifference);
    let line = found.budget().lines.iter();
    let mut line = line.filter(|l| l.input.name() == "readings.time_difference");
    let input = &line.next().expect("a line").input;
    let by_hand = libm::hypot(3e-9, 0.004 * dt) / 4.0;
    assert_relative(input.standard_uncertainty(), by_hand, 1e-14, "by hand");
    assert_eq!(input.dof(), 15.0);
    assert_eq!(input.unit().symbol, "ns");
    let transit = found.inputs().inputs().iter();
    let mut transit = transit.filter(|i| i.name() == "readings.transit_time");
    let evidence = transit.next().expect("an input").evidence();
    assert!(
        evidence.contains("0.01 us (assumed, judgement)"),
        "{evidence}"
    );
}

#[test]
fn a_planned_temperature_replaces_the_stated_one() {
    let planned = expected(&site(&[]), at(0.02, 313.15));
    let stated = with(&site(&[]), "20 degC", "40 degC");
    let stated = expected(&stated, at(0.02, None));
    let (a, b) = (planned.steps(), stated.steps());
    assert_relative(a.reynolds, b.reynolds, 1e-12, "Reynolds number");
    assert_relative(
        a.liquid_sound_speed,
        b.liquid_sound_speed,
        1e-14,
        "sound speed",
    );
    let (a, b) = (planned.budget(), stated.budget());
    assert_relative(
        a.standard_uncertainty,
        b.standard_uncertainty,
        1e-9,
        "uncertainty",
    );
}

#[test]
fn what_cannot_be_planned_is_refused() {
    let (site, usual) = (demo_site(), Repeatability::default());
    for flow in [0.0, -0.1, f64::NAN, f64::INFINITY] {
        let refused = site.expected(&at(flow, 281.15), &usual);
        assert_refused(refused, "out-of-range", &["flow: found", "above 0"]);
    }
    let refused = site.expected(&at(0.3, None), &usual);
    assert_refused(refused, "missing", &["temperatures", "states none"]);
    let stated = Site::from_toml(&viscous("timed"), "site.toml").expect("a site");
    let refused = stated.expected(&at(0.02, 300.0), &usual);
    assert_refused(refused, "conflict", &["temperatures", "stated"]);
    assert_refused(usual.with_readings(1), "length", &["readings", "2 or more"]);
    let parse = |channel, texts: &[&str]| Scatter::parse(channel, texts);
    let dt = Channel::TimeDifference;
    assert_refused(
        parse(dt, &["-1 ns"]),
        "out-of-range",
        &["scatter.time_difference"],
    );
    assert_refused(
        parse(dt, &["1 m"]),
        "wrong-dimension",
        &["scatter.time_difference"],
    );
    assert_refused(parse(dt, &[]), "missing", &["2 ns"]);
    let kelvin = parse(Channel::Temperature, &["1 %"]);
    assert_refused(kelvin, "wrong-dimension", &["scatter.temperature"]);
}

#[test]
fn conditions_at_which_nothing_can_be_measured_say_why() {
    let (site, usual) = (demo_site(), Repeatability::default());
    let hot = site.expected(&at(0.3, 450.0), &usual);
    assert_refused(hot, "out-of-range", &["boil"]);
    let torrent = site.expected(&at(200.0, 281.15), &usual);
    let error = assert_refused(torrent, "out-of-range", &["Reynolds number", "1e8"]);
    // the number is that of the flow and not of a guess on the way
    let inside = 1.2768 / PI - 2.0 * 8.7667e-3;
    let reynolds = 4.0 * 200.0 / (PI * inside * 1.386e-6);
    let found = error.context().found.expect("a number");
    assert_relative(
        found.trim().parse().expect("a number"),
        reynolds,
        0.01,
        "Re",
    );
    let steep = with(&crate::support::demo("site.toml"), "39.6 deg", "60 deg");
    let steep = Site::from_toml(&steep, "site.toml").expect("a site");
    let refused = steep.expected(&at(0.3, 281.15), &usual);
    assert_refused(refused, "total-reflection", &["no refracted ray"]);
}

#[test]
fn rehearsals_carry_units_in_their_names() {
    let found = demo_site().expected(&at(0.3, 281.15), &Repeatability::default());
    let columns = found.expect("a plan").rehearsal();
    let names: Vec<&str> = columns.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(
        names,
        ["time_difference_s", "transit_time_s", "temperature_K"]
    );
}
