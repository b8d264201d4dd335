//! Thermal and pressure expansion against closed forms and against equilibrium, solved by finite
//! differences.

use crate::support::{assert_refused, assert_relative, slope};
use flowdoubt::pipe::{Ends, Pressurised, Strain, thermally_expanded};
use flowdoubt::scalar::{Dual, Scalar};
use proptest::prelude::*;

const ENDS: [Ends; 3] = [Ends::Open, Ends::Closed, Ends::Anchored];

/// NPS 6 schedule 40, steel, 10 bar.
fn pipe() -> Pressurised<f64> {
    Pressurised {
        outside_diameter: 0.1683,
        inside_diameter: 0.15408,
        pressure: 1e6,
        youngs_modulus: 207e9,
        poisson_ratio: 0.29,
        ends: Ends::Closed,
    }
}

prop_compose! {
    fn any_pipe()(
        bore in 0.01..2.0_f64,
        wall in 0.005..0.8_f64, // of the bore
        pressure in 1e4..1e7_f64,
        youngs_modulus in 5e10..3e11_f64,
        poisson_ratio in 0.0..0.5_f64,
        ends in 0..3_usize,
    ) -> Pressurised<f64> {
        Pressurised {
            outside_diameter: bore * (1.0 + 2.0 * wall),
            inside_diameter: bore,
            pressure,
            youngs_modulus,
            poisson_ratio,
            ends: ENDS[ends],
        }
    }
}

/// Radial displacements at bore and outside by finite differences of the equation of equilibrium in
/// displacements, `u'' + u'/r - u/r^2 = 0`, with Hooke's law at both surfaces. The axial strain is
/// `axial`; the mean axial stress comes with the displacements.
fn by_differences(p: &Pressurised<f64>, axial: f64) -> (f64, f64, f64) {
    const N: usize = 2000;
    let (a, b) = (0.5 * p.inside_diameter, 0.5 * p.outside_diameter);
    let h = (b - a) / N as f64;
    let (e, nu) = (p.youngs_modulus, p.poisson_ratio);
    let lame = e * nu / ((1.0 + nu) * (1.0 - 2.0 * nu));
    let shear = e / (2.0 * (1.0 + nu));
    // below, on and above the diagonal, right side; node i lies at a + i h
    let (mut low, mut mid, mut up, mut rhs) = (vec![], vec![], vec![], vec![0.0; N + 1]);
    for i in 0..=N {
        let x = a + i as f64 * h;
        low.push(1.0 / (h * h) - 0.5 / (x * h));
        mid.push(-2.0 / (h * h) - 1.0 / (x * x));
        up.push(1.0 / (h * h) + 0.5 / (x * h));
    }
    // sigma_r = (lame + 2 shear) u' + lame (u/r + axial) is -p at the bore and 0 outside; so the
    // nodes beyond both surfaces are eliminated
    let stiff = (lame + 2.0 * shear) / (2.0 * h);
    let inner = -p.pressure - lame * axial;
    mid[0] += low[0] * lame / a / stiff;
    up[0] += low[0];
    rhs[0] += low[0] * inner / stiff;
    let outer = -lame * axial;
    mid[N] -= up[N] * lame / b / stiff;
    low[N] += up[N];
    rhs[N] -= up[N] * outer / stiff;
    for i in 1..=N {
        let factor = low[i] / mid[i - 1];
        mid[i] -= factor * up[i - 1];
        rhs[i] -= factor * rhs[i - 1];
    }
    let mut u = vec![0.0; N + 1];
    u[N] = rhs[N] / mid[N];
    for i in (0..N).rev() {
        u[i] = (rhs[i] - up[i] * u[i + 1]) / mid[i];
    }
    // the mean axial stress: sigma_z = lame (u' + u/r) + (lame + 2 shear) axial, and the integral of
    // (u' + u/r) r is u r
    let area = 0.5 * (b * b - a * a);
    let stress = lame * (u[N] * b - u[0] * a) / area + (lame + 2.0 * shear) * axial;
    (u[0] / a, u[N] / b, stress)
}

#[test]
fn pressure_strain_meets_equilibrium_and_hookes_law() {
    for ends in ENDS {
        for wall in [0.005, 0.05, 0.4] {
            let base = pipe();
            let p = Pressurised {
                outside_diameter: base.inside_diameter * (1.0 + 2.0 * wall),
                ends,
                ..base
            };
            // linear in the axial strain: find the one that gives the axial force of these ends
            let (none, some) = (by_differences(&p, 0.0), by_differences(&p, 1e-4));
            let ratio = p.outside_diameter / p.inside_diameter;
            let axial = match ends {
                Ends::Anchored => 0.0,
                Ends::Open => -none.2 / (some.2 - none.2),
                // the wall carries the thrust on the bore
                Ends::Closed => (p.pressure / (ratio * ratio - 1.0) - none.2) / (some.2 - none.2),
            };
            let bore = none.0 + (some.0 - none.0) * axial;
            let outside = none.1 + (some.1 - none.1) * axial;
            let strain = p.strain();
            assert_relative(strain.bore, bore, 1e-5, &format!("bore {ends:?} {wall}"));
            assert_relative(
                strain.outside,
                outside,
                1e-5,
                &format!("outside {ends:?} {wall}"),
            );
        }
    }
}

#[test]
fn thin_walls_follow_the_kettle_formula() {
    for (ends, factor) in [
        (Ends::Open, 1.0),
        (Ends::Closed, 1.0 - 0.5 * 0.29),
        (Ends::Anchored, 1.0 - 0.29 * 0.29),
    ] {
        let wall = 1e-6;
        let thin = Pressurised {
            outside_diameter: 0.2 + 2.0 * wall,
            inside_diameter: 0.2,
            pressure: 1e3,
            ends,
            ..pipe()
        };
        let expected = 1e3 * 0.2 / (2.0 * 207e9 * wall) * factor;
        assert_relative(thin.strain().bore, expected, 1e-4, "bore");
        assert_relative(thin.strain().outside, expected, 1e-4, "outside");
    }
}

#[test]
fn an_infinitely_thick_wall_is_a_hole_in_a_block() {
    // u/a = p (1 + nu) / E
    let block = Pressurised {
        outside_diameter: 1e6,
        inside_diameter: 0.1,
        ..pipe()
    };
    assert_relative(block.strain().bore, 1e6 * 1.29 / 207e9, 1e-12, "hole");
}

#[test]
fn warmth_keeps_the_shape() {
    // 100 m of steel, 11.7e-6 /K, 50 K: 58.5 mm
    assert_relative(
        thermally_expanded(100.0, 11.7e-6, 50.0),
        100.0585,
        1e-14,
        "length",
    );
    let grown = |x: f64| thermally_expanded(x, 150e-6, -15.0);
    let (outside, wall) = (grown(0.11), grown(10.0e-3));
    assert_relative(outside - 2.0 * wall, grown(0.09), 1e-14, "bore");
    let x = |value, i| Dual::<f64, 3>::variable(value, i);
    let dual = thermally_expanded(x(0.11, 0), x(150e-6, 1), x(-15.0, 2));
    let expected = [1.0 - 15.0 * 150e-6, 0.11 * -15.0, 0.11 * 150e-6];
    for (found, expected) in dual.gradient.into_iter().zip(expected) {
        assert_relative(found, expected, 1e-14, "derivative");
    }
}

#[test]
fn pipes_under_pressure_that_cannot_be() {
    assert_eq!(pipe().check(), Ok(()));
    let refused = |change: &dyn Fn(&mut Pressurised<f64>), field: &str| {
        let mut p = pipe();
        change(&mut p);
        assert_refused(p.check(), "out-of-range", &[field, "allowed: "]);
    };
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        refused(&|p| p.outside_diameter = bad, "pipe.outside_diameter");
        refused(&|p| p.inside_diameter = bad, "pipe.inside_diameter");
        refused(&|p| p.youngs_modulus = bad, "pipe.youngs_modulus");
    }
    refused(
        &|p| p.inside_diameter = p.outside_diameter,
        "pipe.inside_diameter",
    );
    for bad in [-0.1, 0.51, f64::NAN] {
        refused(&|p| p.poisson_ratio = bad, "pipe.poisson_ratio");
    }
    for bad in [2e9, -2e9, f64::NAN] {
        refused(&|p| p.pressure = bad, "pipe.pressure");
    }
}

/// A function of the pipe under pressure with one number varied.
fn vary<S: Scalar>(p: &Pressurised<f64>, x: [S; 5]) -> Strain<S> {
    Pressurised {
        outside_diameter: x[0],
        inside_diameter: x[1],
        pressure: x[2],
        youngs_modulus: x[3],
        poisson_ratio: x[4],
        ends: p.ends,
    }
    .strain()
}

proptest! {
    #[test]
    fn strain_behaves(p in any_pipe(), factor in 0.1..10.0_f64) {
        let strain = p.strain();
        prop_assert!(strain.bore > strain.outside && strain.outside > 0.0);
        let scaled = Pressurised {
            outside_diameter: p.outside_diameter * factor,
            inside_diameter: p.inside_diameter * factor,
            ..p
        };
        prop_assert!((scaled.strain().bore / strain.bore - 1.0).abs() < 1e-11);
        let pressed = Pressurised { pressure: p.pressure * factor, ..p }.strain();
        prop_assert!((pressed.bore / strain.bore / factor - 1.0).abs() < 1e-12);
        // axial tension makes the pipe slimmer
        let with = |ends| Pressurised { ends, ..p }.strain().bore;
        prop_assert!(with(Ends::Closed) <= with(Ends::Anchored) + 1e-18);
        prop_assert!(with(Ends::Closed) <= with(Ends::Open));
        // the wall gets thinner
        let thinner = p.outside_diameter * strain.outside < p.inside_diameter * strain.bore;
        prop_assert!(thinner);
    }

    #[test]
    fn derivatives_of_strain_meet_differences(p in any_pipe()) {
        let x = [
            p.outside_diameter,
            p.inside_diameter,
            p.pressure,
            p.youngs_modulus,
            p.poisson_ratio,
        ];
        let mut dual = [Dual::<f64, 5>::constant(0.0); 5];
        for (i, value) in x.into_iter().enumerate() {
            dual[i] = Dual::variable(value, i);
        }
        let dual = vary(&p, dual);
        prop_assert_eq!(dual.bore.value.to_bits(), p.strain().bore.to_bits());
        for i in 0..5 {
            let h = 1e-4 * (p.outside_diameter / p.inside_diameter - 1.0).min(1.0) * x[i].max(1e-2);
            let at = |value: f64| {
                let mut x = x;
                x[i] = value;
                vary(&p, x)
            };
            let scale = p.strain().bore / x[i].max(1e-2);
            let by_difference = slope(|value| at(value).bore, x[i], h);
            prop_assert!((dual.bore.gradient[i] - by_difference).abs() < 1e-5 * scale);
            let by_difference = slope(|value| at(value).outside, x[i], h);
            prop_assert!((dual.outside.gradient[i] - by_difference).abs() < 1e-5 * scale);
        }
    }
}
