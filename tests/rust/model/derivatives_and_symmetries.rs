//! The measurement model of a site: derivatives, symmetries and scaling laws.

use crate::support::{assert_relative, evaluate, slope};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::profile::Regime;
use flowdoubt::scalar::{Dual, Scalar};
use flowdoubt::uncertainty::MeasurementModel;
use proptest::prelude::*;

/// A lined pipe with every quantity uncertain; `{basis}`, `{law}` and `{meter}` are filled in.
const LINED: &str = r#"
[site]
name = "lined pipe"
[liquid]
kind = "water"
temperature = { value = "35 degC", standard_uncertainty = "0.2 K" }
thermometer = { standard_uncertainty = "0.1 K" }
absolute_pressure = { value = "5 bar", standard_uncertainty = "0.2 bar" }
[pipe]
outside_diameter = { value = "168.3 mm", standard_uncertainty = "0.3 mm" }
wall = { value = "7.1 mm", standard_uncertainty = "0.1 mm" }
wall_sound_speed = { value = "3230 m/s", standard_uncertainty = "20 m/s" }
liner = { value = "3 mm", standard_uncertainty = "0.2 mm" }
liner_sound_speed = { value = "2500 m/s", standard_uncertainty = "100 m/s" }
roughness = { value = "0.05 mm", standard_uncertainty = "0.02 mm" }
[path]
basis = "{basis}"
traverses = 2
wedge_angle = { value = "40 deg", standard_uncertainty = "0.1 deg" }
wedge_sound_speed = { value = "2430 m/s", standard_uncertainty = "8 m/s" }
[meter]
calibration_factor = { value = "1.002", standard_uncertainty = "0.4 %" }
zero_time_difference = { value = "0.2 ns", standard_uncertainty = "0.1 ns" }
zero_velocity = { value = "2 mm/s", standard_uncertainty = "1 mm/s" }
time_base = { value = "1.00003", standard_uncertainty = "20 ppm" }
electronics_delay = { value = "0.6 us", standard_uncertainty = "0.02 us" }
cable_delay = { value = "0.1 us", standard_uncertainty = "0.01 us" }
wedge_delay = { value = "16 us", standard_uncertainty = "0.1 us" }
{meter}
[profile]
law = "{law}"
[installation]
factor = { value = "0.998", standard_uncertainty = "0.3 %" }
remounting = { value = "1.001", standard_uncertainty = "0.3 %" }
"#;

/// A meter that was told of another pipe and other sensors.
const PROGRAMMED: &str = r#"
[meter.programmed]
principle = "timed"
inside_diameter = "150 mm"
profile_factor = 0.95
wedge_angle = "41 deg"
wedge_sound_speed = "2480 m/s"
"#;

fn lined(basis: &str, law: &str) -> Evaluation {
    let meter = if basis == "indicated" { PROGRAMMED } else { "" };
    let site = LINED.replace("{basis}", basis).replace("{law}", law);
    let site = site.replace("{meter}", meter);
    let columns = match basis {
        "indicated" => vec![("volume_flow_m3_h", &[88.0, 90.0, 91.0, 90.5][..])],
        _ => vec![
            ("time_difference_ns", &[101.0, 103.0, 102.0, 101.5][..]),
            ("transit_time_us", &[231.2, 231.3, 231.1, 231.2]),
        ],
    };
    let readings = Readings::from_columns(columns).expect("readings");
    evaluate(&site, &readings).unwrap_or_else(|e| panic!("{e}"))
}

const BASES: [&str; 3] = ["timed", "geometric", "indicated"];
const LAWS: [&str; 4] = ["fitted", "wake", "logarithmic", "power"];

#[test]
fn sensitivities_meet_differences_on_every_basis_and_law() {
    for basis in BASES {
        for law in LAWS {
            let evaluation = lined(basis, law);
            let x = evaluation.inputs.estimates();
            let flow = |i: usize, value: f64| {
                let mut x = x.clone();
                x[i] = value;
                evaluation.model.evaluate(&x).expect("flow")[0]
            };
            let mut seen = 0;
            for (i, line) in evaluation.budget.lines.iter().enumerate() {
                let u = line.input.standard_uncertainty();
                let h = if x[i] == 0.0 { u } else { 1e-4 * x[i].abs() };
                let by_difference = slope(|value| flow(i, value), x[i], h);
                let error = (line.sensitivity - by_difference).abs();
                let rounding = 1e-15 * evaluation.estimate() / h;
                let what = || format!("{basis}, {law}: {}", line.input.name());
                assert!(
                    error < 1e-6 * by_difference.abs() + rounding,
                    "{}: {error:e}",
                    what()
                );
                seen += usize::from(line.sensitivity.abs() > 1e3 * rounding);
            }
            // the rest cannot act on the basis, or hardly does
            let expected = if basis == "timed" { 20 } else { 15 };
            assert!(seen >= expected, "{basis}, {law}: {seen} inputs act");
        }
    }
}

#[test]
fn inputs_act_where_they_should() {
    let acts = |basis: &str, name: &str| {
        let lines = lined(basis, "fitted").budget.lines;
        lines
            .iter()
            .find(|line| line.input.name() == name)
            .is_some_and(|line| line.sensitivity != 0.0)
    };
    for (name, timed, geometric, indicated) in [
        ("path.wedge_angle", true, true, true),
        ("pipe.outside_diameter", true, true, true),
        ("readings.transit_time", true, false, false),
        ("readings.time_difference", true, true, false),
        ("readings.volume_flow", false, false, true),
        ("meter.zero_time_difference", true, true, false),
        ("meter.zero_velocity", false, false, true),
        ("meter.time_base", true, true, false),
        ("meter.electronics_delay", true, false, false),
        // by the dead time with which a meter of other sensors computed
        ("pipe.wall_sound_speed", true, false, true),
        ("pipe.liner_sound_speed", true, false, true),
        // by beam convection only on the timed basis
        ("liquid.sound_speed_formulation", true, true, true),
        ("liquid.temperature", true, true, true),
        ("liquid.temperature.instrument", true, true, true),
        ("liquid.viscosity_formulation", true, true, true),
        ("pipe.roughness", true, true, true),
        ("installation.remounting", true, true, true),
        ("profile.law_factor", true, true, true),
    ] {
        let found = BASES.map(|basis| acts(basis, name));
        assert_eq!(found, [timed, geometric, indicated], "{name}");
    }
}

#[test]
fn a_dual_has_the_value_of_the_plain_number_to_the_last_bit() {
    for basis in BASES {
        for law in LAWS {
            let evaluation = lined(basis, law);
            let x = evaluation.inputs.estimates();
            let plain = evaluation.model.evaluate(&x).expect("plain")[0];
            for i in 0..x.len() {
                let mut seeded: Vec<Dual<f64, 1>> = x.iter().map(|x| Dual::constant(*x)).collect();
                seeded[i] = Dual::variable(x[i], 0);
                let dual = evaluation.model.evaluate(&seeded).expect("dual")[0];
                assert_eq!(dual.value.to_bits(), plain.to_bits(), "{basis}, {law}");
            }
            assert_eq!(plain.to_bits(), evaluation.estimate().to_bits());
        }
    }
}

/// A site with a stated liquid, all exact, in SI units.
#[derive(Debug, Clone, Copy)]
struct Plain {
    basis: &'static str,
    length: f64,
    speed: f64,
    viscosity: f64,
    delay: f64,
    traverses: u32,
    transit_time: f64,
    time_difference: f64,
}

impl Plain {
    /// A pipe of about 150 mm bore with water, unless scaled.
    const WATER: Plain = Plain {
        basis: "timed",
        length: 1.0,
        speed: 1.0,
        viscosity: 1e-6,
        delay: 16e-6,
        traverses: 2,
        transit_time: 231e-6,
        time_difference: 100e-9,
    };
    /// The same with thick oil.
    const OIL: Plain = Plain {
        viscosity: 1e-3,
        ..Plain::WATER
    };

    fn evaluate(self) -> Evaluation {
        let (length, speed) = (self.length, self.speed);
        let metres = |metres: f64| format!("\"{:e} m\"", metres * length);
        let metres_a_second = |c: f64| format!("\"{:e} m/s\"", c * speed);
        let site = format!(
            "[site]\nname = \"plain\"\n\
             [liquid]\nkind = \"stated\"\nsound_speed = {}\nkinematic_viscosity = \"{:e} m2/s\"\n\
             [pipe]\noutside_diameter = {}\nwall = {}\nwall_sound_speed = {}\n\
             liner = {}\nliner_sound_speed = {}\nroughness = {}\n\
             [path]\nbasis = \"{}\"\ntraverses = {}\n\
             wedge_angle = \"40 deg\"\nwedge_sound_speed = {}\n\
             [meter]\nwedge_delay = \"{:e} s\"\n",
            metres_a_second(1480.0),
            self.viscosity,
            metres(0.1683),
            metres(7.1e-3),
            metres_a_second(3230.0),
            metres(3e-3),
            metres_a_second(2500.0),
            metres(5e-5),
            self.basis,
            self.traverses,
            metres_a_second(2430.0),
            self.delay,
        );
        let (dt, t) = ([self.time_difference; 2], [self.transit_time; 2]);
        let columns = [("time_difference_s", &dt[..]), ("transit_time_s", &t[..])];
        let readings = Readings::from_columns(columns).expect("readings");
        evaluate(&site, &readings).unwrap_or_else(|e| panic!("{e}"))
    }

    fn flow(self) -> f64 {
        self.evaluate().estimate()
    }
}

/// `(v/c)^2`, in which bases and flows differ by the sound that the flow carries along.
fn mach_square(evaluation: &Evaluation) -> f64 {
    let steps = &evaluation.steps;
    let mach = steps.path_velocity / steps.liquid_sound_speed;
    mach * mach
}

fn any_plain() -> impl Strategy<Value = Plain> {
    let dt = 1e-9..200e-9_f64;
    (any::<bool>(), dt, -6.0..-2.5_f64, 200e-6..300e-6_f64).prop_map(|(timed, dt, nu, t)| Plain {
        basis: if timed { "timed" } else { "geometric" },
        time_difference: dt,
        viscosity: libm::exp10(nu),
        transit_time: t,
        ..Plain::WATER
    })
}

proptest! {
    #[test]
    fn a_larger_copy_of_the_pipe_carries_the_square(site in any_plain(), scale in 0.2..20.0_f64) {
        // all lengths and times by the same factor leave velocities; viscosity keeps Re
        let copy = Plain {
            length: scale,
            viscosity: site.viscosity * scale,
            delay: site.delay * scale,
            transit_time: site.transit_time * scale,
            time_difference: site.time_difference * scale,
            ..site
        };
        let ratio = copy.flow() / (site.flow() * scale * scale);
        prop_assert!((ratio - 1.0).abs() < 1e-12, "{ratio}");
    }

    #[test]
    fn faster_sound_and_shorter_times_are_faster_flow(
        site in any_plain(),
        scale in 0.5..2.0_f64,
    ) {
        let copy = Plain {
            speed: scale,
            viscosity: site.viscosity * scale,
            delay: site.delay / scale,
            transit_time: site.transit_time / scale,
            time_difference: site.time_difference / scale,
            ..site
        };
        let ratio = copy.flow() / (site.flow() * scale);
        prop_assert!((ratio - 1.0).abs() < 1e-12, "{ratio}");
    }

    #[test]
    fn flow_grows_a_little_faster_than_the_time_difference(site in any_plain()) {
        let double = Plain { time_difference: 2.0 * site.time_difference, ..site };
        let (one, two) = (site.evaluate(), double.evaluate());
        let ratio = two.estimate() / one.estimate();
        // but for the sound that the flow carries along
        let least = 2.0 - 4.0 * mach_square(&two);
        match (one.regime(), two.regime()) {
            (Regime::Laminar, Regime::Laminar) => {
                prop_assert!((least..=2.0 + 1e-14).contains(&ratio), "{ratio}");
            }
            // the factor rises from 3/4 to that of turbulent flow
            (Regime::Laminar, _) | (_, Regime::Transition) => {
                prop_assert!((least..2.5).contains(&ratio), "{ratio}");
            }
            (Regime::Transition, Regime::Turbulent) => {
                prop_assert!((least..2.6).contains(&ratio), "{ratio}");
            }
            _ => prop_assert!((least..2.06).contains(&ratio), "{ratio}"),
        }
    }

    #[test]
    fn flow_the_other_way_is_the_same_to_the_last_bit(site in any_plain()) {
        let reversed = Plain { time_difference: -site.time_difference, ..site };
        let (there, back) = (site.evaluate(), reversed.evaluate());
        prop_assert_eq!(there.estimate().to_bits(), (-back.estimate()).to_bits());
        let (u, u_back) = (there.standard_uncertainty(), back.standard_uncertainty());
        prop_assert_eq!(u.to_bits(), u_back.to_bits());
        prop_assert_eq!(there.steps.reynolds.to_bits(), back.steps.reynolds.to_bits());
    }

    #[test]
    fn geometric_and_timed_basis_agree_when_the_transit_time_is_as_expected(site in any_plain()) {
        let geometric = Plain { basis: "geometric", ..site }.evaluate();
        let expected = geometric.steps.path.time_in_liquid + geometric.steps.dead_time;
        let timed = Plain { basis: "timed", transit_time: expected, ..site }.flow();
        // the transit time of the moving liquid is longer by the square of v/c
        let allowed = 1e-12 + 2.0 * mach_square(&geometric);
        prop_assert!((timed / geometric.estimate() - 1.0).abs() < allowed);
    }
}

#[test]
fn laminar_flow_is_linear_in_the_time_difference() {
    let oil = Plain::OIL.evaluate();
    assert_eq!(oil.regime(), Regime::Laminar);
    assert_eq!(oil.steps.profile_factor, 0.75);
    for times in [2.0, 4.0, 0.25] {
        let dt = times * Plain::OIL.time_difference;
        let other = Plain {
            time_difference: dt,
            ..Plain::OIL
        };
        let other = other.evaluate();
        // but for the sound that the flow carries along
        let allowed = 2.0 * mach_square(&other).max(mach_square(&oil));
        assert_relative(other.estimate(), times * oil.estimate(), allowed, "flow");
    }
    // by hand: Q = 3/4 (pi/4) D^2 v
    let v = oil.steps.path_velocity;
    let d = 0.1683 - 2.0 * (7.1e-3 + 3e-3);
    let flow = 0.75 * std::f64::consts::FRAC_PI_4 * d * d * v;
    assert_relative(oil.estimate(), flow, 1e-14, "by hand");
}

#[test]
fn more_traverses_only_lengthen_the_times() {
    let twice = Plain {
        basis: "geometric",
        traverses: 4,
        time_difference: 2.0 * Plain::WATER.time_difference,
        ..Plain::WATER
    };
    let once = Plain {
        basis: "geometric",
        ..Plain::WATER
    };
    assert_relative(twice.flow(), once.flow(), 1e-14, "flow");
}

#[test]
fn no_time_difference_is_no_flow_with_a_finite_budget() {
    for law in LAWS {
        let site = LINED.replace("{law}", law).replace("{meter}", "");
        let site = site.replace("{basis}", "timed").replace("0.2 ns", "0 ns");
        let columns = [
            ("time_difference_ns", &[0.1, -0.1, 0.05, -0.05][..]),
            ("transit_time_us", &[231.2, 231.3, 231.1, 231.2]),
        ];
        let still = Readings::from_columns(columns).expect("readings");
        let evaluation = evaluate(&site, &still).expect("evaluation");
        assert!(
            evaluation.estimate().abs() < 1e-18,
            "{}",
            evaluation.estimate()
        );
        assert_eq!(evaluation.regime(), Regime::Laminar);
        let u = evaluation.standard_uncertainty();
        assert!(u > 0.0 && u < 1e-3, "{u}");
        assert!(
            evaluation
                .expanded()
                .expect("expanded")
                .expanded_uncertainty
                > u
        );
        // only the time difference and its zero are left
        for line in &evaluation.budget.lines {
            let times = ["readings.time_difference", "meter.zero_time_difference"];
            let expected = times.contains(&line.input.name());
            assert_eq!(line.share > 1e-12, expected, "{}", line.input.name());
        }
    }
}
