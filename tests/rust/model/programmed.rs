//! Meters that were programmed wrongly, by a forward meter of its own: rays by their travel time, and
//! what a meter of either principle makes of the times. Nothing of it is taken from the crate.

use crate::support::{assert_relative, evaluate};
use flowdoubt::evaluate::Readings;
use proptest::prelude::*;
use std::f64::consts::PI;
use std::fmt::Write as _;

/// A site as it is, in SI units.
#[derive(Debug, Clone, Copy)]
struct Truth {
    diameter: f64,
    wall: f64,
    wall_speed: f64,
    liner: f64,
    liner_speed: f64,
    liquid_speed: f64,
    angle: f64,
    wedge_speed: f64,
    traverses: u32,
    velocity: f64,
}

/// What was programmed, each as a factor on what is.
#[derive(Debug, Clone, Copy)]
struct Wrong {
    diameter: f64,
    wall: f64,
    wall_speed: f64,
    liner: f64,
    liner_speed: f64,
    liquid_speed: f64,
    slowness: f64,
    factor: f64,
}

/// What a ray meets: inside diameter, layers of thickness and sound speed, sound speed of the liquid.
struct Met {
    inside: f64,
    layers: [(f64, f64); 2],
    liquid: f64,
    slowness: f64,
}

impl Met {
    fn dead_time(&self) -> f64 {
        let cosine = |c: f64| (1.0 - (self.slowness * c) * (self.slowness * c)).sqrt();
        self.layers
            .iter()
            .map(|(e, c)| 2.0 * e / (c * cosine(*c)))
            .sum()
    }

    /// Axial run of the ray in the liquid.
    fn run(&self, traverses: u32) -> f64 {
        let sine = self.slowness * self.liquid;
        f64::from(traverses) * self.inside * sine / (1.0 - sine * sine).sqrt()
    }
}

impl Truth {
    fn seen(&self) -> Met {
        Met {
            inside: self.diameter - 2.0 * (self.wall + self.liner),
            layers: [(self.wall, self.wall_speed), (self.liner, self.liner_speed)],
            liquid: self.liquid_speed,
            slowness: libm::sin(self.angle) / self.wedge_speed,
        }
    }

    fn told(&self, wrong: &Wrong) -> Met {
        let seen = self.seen();
        Met {
            inside: seen.inside * wrong.diameter,
            layers: [
                (self.wall * wrong.wall, self.wall_speed * wrong.wall_speed),
                (
                    self.liner * wrong.liner,
                    self.liner_speed * wrong.liner_speed,
                ),
            ],
            liquid: seen.liquid * wrong.liquid_speed,
            slowness: seen.slowness * wrong.slowness,
        }
    }

    /// Time difference and mean of the times against and with the flow: the sound covers, in a liquid
    /// that moves along, the way between two fixed points.
    fn times(&self) -> (f64, f64) {
        let seen = self.seen();
        let (c, v, run) = (self.liquid_speed, self.velocity, seen.run(self.traverses));
        let across = f64::from(self.traverses) * seen.inside;
        // (run -+ v t)^2 + across^2 = (c t)^2
        let time = |v: f64| {
            let square = c * c - v * v;
            let half = run * v;
            (-half + (half * half + square * (run * run + across * across)).sqrt()) / square
        };
        let (with, against) = (time(v), time(-v));
        (against - with, 0.5 * (with + against) + seen.dead_time())
    }

    /// The flow that a meter indicates which was told something else.
    fn indicated(&self, wrong: &Wrong, timed: bool) -> f64 {
        let (difference, time) = self.times();
        let told = self.told(wrong);
        let velocity = if timed {
            difference / (2.0 * told.slowness * (time - told.dead_time()))
        } else {
            told.liquid * told.liquid * difference / (2.0 * told.run(self.traverses))
        };
        wrong.factor * velocity * 0.25 * PI * told.inside * told.inside
    }

    /// The site file, with what was programmed.
    fn site(&self, wrong: &Wrong, rest: &str) -> String {
        let told = self.told(wrong);
        let mut text = format!(
            "[site]\nname = \"made up\"\n[liquid]\nkind = \"stated\"\nsound_speed = \"{:e} m/s\"\n\
             kinematic_viscosity = \"1 mm2/s\"\n[pipe]\noutside_diameter = \"{:e} m\"\n\
             wall = \"{:e} m\"\nwall_sound_speed = \"{:e} m/s\"\nliner = \"{:e} m\"\n\
             liner_sound_speed = \"{:e} m/s\"\n[path]\nbasis = \"indicated\"\ntraverses = {}\n\
             wedge_angle = \"{:e} rad\"\nwedge_sound_speed = \"{:e} m/s\"\n[meter.programmed]\n",
            self.liquid_speed,
            self.diameter,
            self.wall,
            self.wall_speed,
            self.liner,
            self.liner_speed,
            self.traverses,
            self.angle,
            self.wedge_speed,
        );
        // the same slowness from an angle of 30 degrees
        let speed = 0.5 / told.slowness;
        let [(wall, wall_speed), (liner, liner_speed)] = told.layers;
        write!(
            text,
            "inside_diameter = \"{:e} m\"\nwall = \"{wall:e} m\"\n\
             wall_sound_speed = \"{wall_speed:e} m/s\"\nliner = \"{liner:e} m\"\n\
             liner_sound_speed = \"{liner_speed:e} m/s\"\nliquid_sound_speed = \"{:e} m/s\"\n\
             wedge_angle = \"30 deg\"\nwedge_sound_speed = \"{speed:e} m/s\"\n{rest}",
            told.inside, told.liquid,
        )
        .expect("text");
        text
    }
}

fn readings(flow: f64) -> Readings {
    Readings::from_columns([("volume_flow_m3_s", &[flow, flow][..])]).expect("readings")
}

prop_compose! {
    fn any_truth()(
        diameter in 0.05..2.0_f64,
        wall in 0.01..0.04_f64,
        wall_speed in 2900.0..3300.0_f64,
        liner in 0.005..0.02_f64,
        liner_speed in 2000.0..2800.0_f64,
        liquid_speed in 1300.0..1700.0_f64,
        angle in 0.5..0.75_f64,
        wedge_speed in 2400.0..2600.0_f64,
        traverses in 1..4_u32,
        velocity in 0.3..8.0_f64,
    ) -> Truth {
        Truth {
            diameter, wall: wall * diameter, wall_speed, liner: liner * diameter, liner_speed,
            liquid_speed, angle, wedge_speed, traverses, velocity,
        }
    }
}

prop_compose! {
    fn any_wrong()(
        diameter in 0.9..1.1_f64,
        wall in 0.5..1.5_f64,
        wall_speed in 0.95..1.03_f64,
        liner in 0.5..1.5_f64,
        liner_speed in 0.9..1.1_f64,
        liquid_speed in 0.95..1.05_f64,
        slowness in 0.95..1.03_f64,
        factor in 0.9..1.0_f64,
    ) -> Wrong {
        Wrong { diameter, wall, wall_speed, liner, liner_speed, liquid_speed, slowness, factor }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn whatever_was_programmed_the_velocity_is_recovered(
        truth in any_truth(),
        wrong in any_wrong(),
        timed in any::<bool>(),
    ) {
        let principle = if timed { "timed" } else { "geometric" };
        let rest = format!("principle = \"{principle}\"\nprofile_factor = {:e}\n", wrong.factor);
        let site = truth.site(&wrong, &rest);
        let read = readings(truth.indicated(&wrong, timed));
        let found = evaluate(&site, &read).expect("an evaluation");
        assert_relative(found.steps.path_velocity, truth.velocity, 1e-9, principle);
    }

    #[test]
    fn what_is_not_known_of_the_meter_is_in_the_interval(
        truth in any_truth(),
        wrong in any_wrong(),
        timed in any::<bool>(),
        corrects in any::<bool>(),
    ) {
        // the flow, from a meter of which everything is known
        let right = Wrong { factor: 1.0, ..wrong };
        let principle = if timed { "timed" } else { "geometric" };
        let known = format!("principle = \"{principle}\"\n");
        let read = readings(truth.indicated(&right, timed));
        let site = truth.site(&right, &format!("{known}profile_factor = 1\n"));
        let true_flow = evaluate(&site, &read).expect("known");
        // a meter that shows the path velocity, or corrects as the crate itself would
        let factor = if corrects { true_flow.steps.profile_factor } else { 1.0 };
        let wrong = Wrong { factor, ..wrong };
        let read = readings(truth.indicated(&wrong, timed));
        let factor = format!("profile_factor = {factor:e}\n");
        for (rest, name) in [
            (&factor, "meter.geometric_share"),
            (&known, "meter.profile_correction"),
        ] {
            let found = evaluate(&truth.site(&wrong, rest), &read).expect("an evaluation");
            let expanded = found.expanded().expect("an interval").expanded_uncertainty;
            let distance = (found.estimate() - true_flow.estimate()).abs();
            prop_assert!(distance <= expanded, "{name}: {distance} {expanded}");
            let mut names = found.budget.lines.iter().map(|line| line.input.name());
            prop_assert!(names.any(|own| own == name), "{name}");
        }
    }
}

/// A geometric meter whose sound speed was programmed wrongly, and one told of a pipe 6 mm too wide:
/// both are put right, where a timed meter would be taken for.
#[test]
fn a_geometric_meter_is_not_taken_for_a_timed_one() {
    let truth = Truth {
        diameter: 0.3239,
        wall: 7.1e-3,
        wall_speed: 3230.0,
        liner: 3e-3,
        liner_speed: 2500.0,
        liquid_speed: 1482.0,
        angle: 0.7,
        wedge_speed: 2460.0,
        traverses: 2,
        velocity: 1.5,
    };
    let right = Wrong {
        diameter: 1.0,
        wall: 1.0,
        wall_speed: 1.0,
        liner: 1.0,
        liner_speed: 1.0,
        liquid_speed: 1.0,
        slowness: 1.0,
        factor: 0.95,
    };
    let inside = truth.seen().inside;
    let wrongs = [
        (
            "liquid",
            Wrong {
                liquid_speed: 1500.0 / 1482.0,
                ..right
            },
        ),
        (
            "diameter",
            Wrong {
                diameter: (inside + 6e-3) / inside,
                ..right
            },
        ),
        (
            "wall",
            Wrong {
                wall: 4.1 / 7.1,
                ..right
            },
        ),
    ];
    for (what, wrong) in wrongs {
        for principle in ["timed", "geometric"] {
            let rest = format!("principle = \"{principle}\"\nprofile_factor = 0.95\n");
            let read = readings(truth.indicated(&wrong, principle == "timed"));
            let found = evaluate(&truth.site(&wrong, &rest), &read).expect("an evaluation");
            assert_relative(found.steps.path_velocity, 1.5, 1e-9, what);
        }
    }
}

#[test]
fn programmed_parameters_without_effect_are_refused() {
    let truth = "[site]\nname = \"made up\"\n[liquid]\nkind = \"stated\"\nsound_speed = \"1480 m/s\"\n\
                 kinematic_viscosity = \"1 mm2/s\"\n[pipe]\noutside_diameter = \"0.2 m\"\nwall = \"5 mm\"\n\
                 [path]\nbasis = \"indicated\"\ntraverses = 2\n";
    let refused = |rest: &str| {
        let read = Readings::from_columns([("velocity_m_s", &[1.0, 1.0][..])]).expect("readings");
        evaluate(&format!("{truth}{rest}"), &read)
            .expect_err("refused")
            .to_string()
    };
    let both = "[meter.programmed]\nprofile_factor = 1\nkinematic_viscosity = \"1 mm2/s\"\n";
    assert!(refused(both).contains("meter.programmed.kinematic_viscosity: "));
    let both = "[meter]\nprofile_correction = \"50 %\"\n[meter.programmed]\nprofile_factor = 1\n";
    assert!(refused(both).contains("meter.profile_correction: "));
    // layers as programmed are put right by those of the site, which must then be known
    let wall = "wedge_angle = \"40 deg\"\nwedge_sound_speed = \"2400 m/s\"\n[meter.programmed]\n\
                profile_factor = 1\nwall = \"4 mm\"\n";
    assert!(refused(wall).contains("pipe.wall_sound_speed: missing"));
}
