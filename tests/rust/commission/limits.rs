//! Expected values and limits against plane trigonometry and finite differences.

use super::{entry, kinds, listed, site_of, uncertain};
use crate::site::BASE;
use crate::support::{assert_refused, assert_relative, slope, with};
use flowdoubt::commission::CommissioningRequest;
use flowdoubt::liquid::water;

/// What the sound takes through the base, and what it is read as: Snell's law by hand.
#[derive(Clone, Copy)]
pub struct Truth {
    pub diameter: f64,
    pub wall: f64,
    pub angle: f64,
    pub temperature: f64,
    pub formulation: f64,
    pub wedge_delay: f64,
}

pub const NOMINAL: Truth = Truth {
    diameter: 0.1683,
    wall: 7.11e-3,
    angle: 40.0 * std::f64::consts::PI / 180.0,
    temperature: 293.15,
    formulation: 1.0,
    wedge_delay: 16e-6,
};

impl Truth {
    pub fn sound_speed(&self) -> f64 {
        water::sound_speed(self.temperature, 5e5) * self.formulation
    }

    fn slowness(&self) -> f64 {
        libm::sin(self.angle) / 2430.0
    }

    fn across(&self) -> f64 {
        2.0 * (self.diameter - 2.0 * self.wall)
    }

    fn dead_time(&self) -> f64 {
        let sine: f64 = self.slowness() * 3230.0;
        self.wedge_delay + 2.0 * self.wall / (3230.0 * (1.0 - sine * sine).sqrt())
    }

    /// Transit time of two traverses.
    pub fn transit_time(&self) -> f64 {
        let c = self.sound_speed();
        let sine = self.slowness() * c;
        self.across() / (c * (1.0 - sine * sine).sqrt()) + self.dead_time()
    }

    /// The sound speed that a meter with these settings makes of a transit time: the lower root of
    /// `a^2 c^4 - c^2 + (across / t_f)^2 = 0`.
    pub fn measured_speed(&self, transit_time: f64) -> f64 {
        let a = self.slowness();
        let q = self.across() / (transit_time - self.dead_time());
        let root = (1.0 - 4.0 * a * a * q * q).sqrt();
        ((1.0 - root) / (2.0 * a * a)).sqrt()
    }
}

#[test]
fn the_transit_time_is_that_of_plane_trigonometry_with_its_uncertainty() {
    let list = listed(&uncertain());
    let own = entry(&list, "times.transit_time");
    assert_relative(
        own.expected.expect("a time"),
        NOMINAL.transit_time(),
        1e-12,
        "time",
    );
    // slopes by finite differences of the trigonometry
    let by = |change: &dyn Fn(&mut Truth, f64), h: f64| {
        let at = |x: f64| {
            let mut truth = NOMINAL;
            change(&mut truth, x);
            truth.transit_time()
        };
        slope(at, 0.0, h)
    };
    let parts = [
        by(&|t, x| t.diameter += x, 1e-5) * 0.15e-3,
        by(&|t, x| t.wall += x, 1e-5) * 0.08e-3,
        by(&|t, x| t.angle += x, 1e-4) * 0.15_f64.to_radians(),
        by(&|t, x| t.temperature += x, 0.1) * 0.3,
        by(&|t, x| t.formulation += x, 1e-4) * 2e-4,
        0.1e-6,
        // the mean of 30 readings that scatter by 10 ns
        10e-9 / 30_f64.sqrt(),
    ];
    let u = parts.iter().map(|part| part * part).sum::<f64>().sqrt();
    assert_relative(own.standard_uncertainty.expect("u"), u, 1e-6, "u");
    let [low, high] = own.limits.expect("limits");
    // Student's t for 95 % with so many degrees of freedom is that of the normal distribution
    assert_relative(high - low, 2.0 * 1.959_964 * u, 1e-3, "width");
}

#[test]
fn the_sound_speed_of_the_path_is_that_of_the_quadratic() {
    let speed = NOMINAL.sound_speed();
    let measured = NOMINAL.measured_speed(NOMINAL.transit_time());
    assert_relative(measured, speed, 1e-12, "the test itself");
    let list = listed(&uncertain());
    let own = entry(&list, "times.sound_speed");
    assert_relative(own.expected.expect("a speed"), speed, 1e-12, "speed");
    // a wrong wall of the settings moves what the meter finds, and not what is expected
    let of_wall = slope(
        |x| {
            let truth = Truth {
                wall: NOMINAL.wall + x,
                ..NOMINAL
            };
            NOMINAL.measured_speed(truth.transit_time())
        },
        0.0,
        1e-5,
    );
    let sharper = with(
        &uncertain(),
        "standard_uncertainty = \"0.08 mm\"",
        "half_width = \"0 mm\", shape = \"rectangular\"",
    );
    let list = listed(&sharper);
    let sharp = entry(&list, "times.sound_speed");
    let square = |u: Option<f64>| u.expect("u") * u.expect("u");
    let added = square(own.standard_uncertainty) - square(sharp.standard_uncertainty);
    assert_relative(added.sqrt(), of_wall.abs() * 0.08e-3, 1e-6, "of the wall");
}

#[test]
fn each_kelvin_changes_transit_time_and_sound_speed_as_water_does() {
    let list = listed(&uncertain());
    let words = &list.step("times").expect("a step").words;
    let of_speed = slope(|t| water::sound_speed(t, 5e5), 293.15, 0.1);
    assert!(
        words.contains(&format!("{of_speed:.1} m/s")),
        "{words} {of_speed}"
    );
    let at = |t: f64| {
        Truth {
            temperature: t,
            ..NOMINAL
        }
        .transit_time()
    };
    let of_time = 1e6 * slope(at, 293.15, 0.1);
    assert!(
        words.contains(&format!("{of_time:.2} us")),
        "{words} {of_time}"
    );
}

#[test]
fn limits_hold_the_expected_value_in_their_middle() {
    let mut judged = 0;
    for (kind, text, request) in kinds() {
        let list = site_of(&text).commissioning(&request);
        let list = list.unwrap_or_else(|e| panic!("{kind}: {e}"));
        for own in list.steps.iter().flat_map(|step| &step.entries) {
            let Some([low, high]) = own.limits else {
                assert_eq!(own.standard_uncertainty, None, "{kind} {}", own.key);
                continue;
            };
            judged += 1;
            let expected = own.expected.expect("limits of a value");
            assert!(low < expected && expected < high, "{kind} {}", own.key);
            let middle = 0.5 * (low + high);
            assert!(
                (middle - expected).abs() <= 1e-9 * (high - low),
                "{kind} {}",
                own.key
            );
            assert!(!own.from.is_empty(), "{kind} {}", own.key);
        }
        for shown in [list.in_words(), list.form(), list.to_json()] {
            assert!(
                !shown.contains("NaN") && !shown.contains("inf"),
                "{kind}: {shown}"
            );
        }
    }
    assert!(judged > 25, "{judged}");
}

#[test]
fn what_is_exact_has_no_limits_and_the_words_say_so() {
    let list = listed(BASE);
    for path in ["dimensions.wall", "zero.time_difference"] {
        let own = entry(&list, path);
        assert_eq!(
            (own.limits, own.standard_uncertainty),
            (None, None),
            "{path}"
        );
    }
    // nobody stated a zero, so that none is expected
    assert_eq!(entry(&list, "zero.time_difference").expected, None);
    let ratio = entry(&list, "placement.ratio");
    assert_eq!((ratio.expected, ratio.limits), (Some(1.0), None));
    assert!(ratio.from.contains("no limits"), "{}", ratio.from);
}

#[test]
fn two_placements_differ_by_what_both_renew() {
    let list = listed(&uncertain());
    let own = entry(&list, "placement.ratio");
    let u = own.standard_uncertainty.expect("u");
    // the profile factor follows the flow that is computed, by less than one part in a hundred
    assert_relative(u, 2_f64.sqrt() * 0.004, 1e-2, "two placements");
}

#[test]
fn the_meter_that_indicates_leaves_the_sound_path_to_itself() {
    let (_, text, request) = kinds().pop().expect("the last");
    let list = site_of(&text).commissioning(&request).expect("a list");
    assert!(list.entry("times.transit_time").is_none());
    let speed = entry(&list, "times.sound_speed");
    assert!(speed.expected.is_some() && speed.limits.is_none());
    assert!(list.entry("zero.velocity").is_some());
}

#[test]
fn a_direct_path_asks_for_half_the_circumference() {
    let list = listed(&with(&uncertain(), "traverses = 2", "traverses = 1"));
    let half = entry(&list, "marks.half_circumference");
    let expected = 0.5 * std::f64::consts::PI * 0.1683;
    assert_relative(half.expected.expect("a length"), expected, 1e-12, "half");
    let u = 0.5 * std::f64::consts::PI * 0.15e-3;
    assert_relative(half.standard_uncertainty.expect("u"), u, 1e-9, "u");
    assert!(
        listed(&uncertain())
            .entry("marks.half_circumference")
            .is_none()
    );
}

#[test]
fn a_request_that_cannot_be_is_refused() {
    let site = site_of(&uncertain());
    let with = |request: CommissioningRequest| site.commissioning(&request);
    let nothing = CommissioningRequest::default();
    for u in [-1.0, f64::NAN, f64::INFINITY] {
        let request = CommissioningRequest {
            temperature_standard_uncertainty: u,
            ..nothing
        };
        assert_refused(
            with(request),
            "out-of-range",
            &["temperature_standard_uncertainty"],
        );
    }
    for flow in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let request = CommissioningRequest {
            flow: Some(flow),
            ..nothing
        };
        assert_refused(with(request), "out-of-range", &["flow", "above 0"]);
    }
    let twice = CommissioningRequest {
        temperature: Some(290.0),
        ..nothing
    };
    assert_refused(with(twice), "conflict", &["liquid.temperature"]);
    let bare = site_of(&crate::support::demo("site.toml"));
    assert_refused(bare.commissioning(&nothing), "missing", &["temperature"]);
}

#[test]
fn without_the_delay_of_the_wedges_no_transit_time_is_expected() {
    let geometric = with(&uncertain(), "basis = \"timed\"", "basis = \"geometric\"");
    let at = geometric.find("wedge_delay").expect("a delay");
    let end = at + geometric[at..].find('\n').expect("a line");
    let list = listed(&format!("{}{}", &geometric[..at], &geometric[end..]));
    assert!(list.entry("times.transit_time").is_none());
    assert_eq!(entry(&list, "times.sound_speed").limits, None);
    let words = &list.step("times").expect("a step").words;
    assert!(words.contains("delay of the wedges"), "{words}");
}
