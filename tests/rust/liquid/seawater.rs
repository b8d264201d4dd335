//! Sea water against TEOS-10, UNESCO 44 and other published equations.

use crate::support::tables::against;
use crate::support::{assert_printed, assert_refused, assert_relative, json, number, slope};
use flowdoubt::liquid::seawater::{
    SALINITY_MAX_KG_KG, SOUND_SPEED_RELATIVE_UNCERTAINTY, TEMPERATURE_RANGE_K, check, density,
    dynamic_viscosity, kinematic_viscosity, reference_salinity, sound_speed,
};
use flowdoubt::liquid::water;
use flowdoubt::scalar::{Dual, Scalar};
use proptest::prelude::*;

const ATMOSPHERE: f64 = 101_325.0;

#[test]
fn density_and_sound_speed_meet_an_independent_implementation() {
    let mut rho = against("TEOS-10 by package `gsw`", "density of sea water");
    let mut c = against("TEOS-10 by package `gsw`", "sound speed in sea water");
    let all = json("golden/seawater.json");
    let points = all["points"].as_array().expect("points");
    assert_eq!(points.len(), 120);
    for point in points {
        let n = |key: &str| number(&point[key]);
        let (t, p, s) = (n("T_K"), n("p_Pa"), n("S"));
        let what = |quantity: &str| format!("{quantity} at {t} K, {p} Pa, {s}");
        rho.relative(density(t, p, s), n("rho"), 1e-14, &what("density"));
        c.relative(sound_speed(t, p, s), n("c"), 1e-13, &what("sound speed"));
    }
}

#[test]
fn density_meets_the_equation_of_state_of_1980() {
    let mut compared = against(
        "N. P. Fofonoff and R. C. Millard 1983 (UNESCO 44), page 19",
        "density of sea water, equation of state of 1980",
    );
    // N. P. Fofonoff and R. C. Millard, UNESCO Tech. Pap. Mar. Sci. 44 (1983), page 19: practical
    // salinity, temperature on IPTS-68, density; the newer formulation differs by up to 3e-6
    for (practical, t68, published) in [
        (0.0, 5.0, 999.966_75),
        (0.0, 25.0, 997.047_96),
        (35.0, 5.0, 1_027.675_47),
        (35.0, 25.0, 1_023.343_06),
    ] {
        let found = density(celsius_68(t68), ATMOSPHERE, reference_salinity(practical));
        compared.relative(found, published, 3e-6, "density");
    }
}

/// Temperature in K on ITS-90 from degrees Celsius on IPTS-68 (P. M. Saunders 1990).
fn celsius_68(celsius: f64) -> f64 {
    celsius / 1.000_24 + 273.15
}

/// The sum of `c[i][j] t^j p^i`.
fn series(coefficients: &[&[f64]], t: f64, p: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, row| {
        sum * p + row.iter().rev().fold(0.0, |sum, c| sum * t + c)
    })
}

/// Sound speed in m/s after Chen and Millero, with the coefficients of G. S. K. Wong and S. Zhu,
/// J. Acoust. Soc. Am. 97 (1995) 1732, for ITS-90: practical salinity, temperature in degC,
/// pressure above the atmosphere in bar. 0 to 40 degC, 0 to 40, 0 to 1000 bar.
fn chen_millero(s: f64, t: f64, p: f64) -> f64 {
    const WATER: [&[f64]; 4] = [
        &[
            1_402.388,
            5.038_30,
            -5.810_90e-2,
            3.343_2e-4,
            -1.477_97e-6,
            3.141_9e-9,
        ],
        &[0.153_563, 6.899_9e-4, -8.182_9e-6, 1.363_2e-7, -6.126_0e-10],
        &[
            3.126_0e-5,
            -1.711_1e-6,
            2.598_6e-8,
            -2.535_3e-10,
            1.041_5e-12,
        ],
        &[-9.772_9e-9, 3.851_3e-10, -2.365_4e-12],
    ];
    const LINEAR: [&[f64]; 4] = [
        &[1.389, -1.262e-2, 7.166e-5, 2.008e-6, -3.21e-8],
        &[
            9.474_2e-5,
            -1.258_3e-5,
            -6.492_8e-8,
            1.051_5e-8,
            -2.014_2e-10,
        ],
        &[-3.906_4e-7, 9.106_1e-9, -1.600_9e-10, 7.994e-12],
        &[1.100e-10, 6.651e-12, -3.391e-13],
    ];
    const ROOT: [&[f64]; 2] = [&[-1.922e-2, -4.42e-5], &[7.363_7e-5, 1.795_0e-7]];
    const SQUARE: [&[f64]; 2] = [&[1.727e-3], &[-7.983_6e-6]];
    let [water, linear, root, square] = [
        series(&WATER, t, p),
        series(&LINEAR, t, p),
        series(&ROOT, t, p),
        series(&SQUARE, t, p),
    ];
    water + s * (linear + s.sqrt() * root + s * square)
}

#[test]
fn distance_to_chen_and_millero_is_the_stated_uncertainty() {
    // UNESCO 44, page 48: 1731.995 m/s at S = 40, 40 degC on IPTS-68, 10000 dbar; Wong and Zhu
    // moved the coefficients by up to 0.02 m/s
    let published = chen_millero(40.0, 40.0 / 1.000_24, 1000.0);
    assert!((published - 1_731.995).abs() < 0.02, "{published}");

    let mut largest: f64 = 0.0;
    let mut largest_cool: f64 = 0.0;
    for celsius in 0..=40 {
        for practical in [0.0, 1.0, 10.0, 20.0, 30.0, 35.0, 40.0] {
            for bar in [0.0, 5.0, 50.0, 98.0] {
                let t = f64::from(celsius);
                let other = chen_millero(practical, t, bar);
                let pressure = ATMOSPHERE + bar * 1e5;
                let own = sound_speed(t + 273.15, pressure, reference_salinity(practical));
                let distance = (own / other - 1.0).abs();
                largest = largest.max(distance);
                if celsius <= 30 && bar < 10.0 {
                    largest_cool = largest_cool.max(distance);
                }
            }
        }
    }
    assert!(largest <= SOUND_SPEED_RELATIVE_UNCERTAINTY, "{largest:e}");
    assert!(
        largest > 0.9 * SOUND_SPEED_RELATIVE_UNCERTAINTY,
        "{largest:e}"
    );
    assert!(largest_cool < 1.1e-4, "{largest_cool:e}");
}

#[test]
fn without_salt_it_is_water() {
    for t in [273.15, 283.15, 293.15, 303.15, 313.15] {
        for p in [ATMOSPHERE, 2e6, 10e6] {
            assert_relative(density(t, p, 0.0), water::density(t, p), 1e-6, "density");
            let c = water::sound_speed(t, p);
            assert_relative(sound_speed(t, p, 0.0), c, 2e-5, "sound speed");
            // pressure is left out of the one and not of the other
            let mu = water::dynamic_viscosity(t, p);
            assert_relative(dynamic_viscosity(t, 0.0), mu, 1.3e-2, "viscosity");
        }
        let mu = water::dynamic_viscosity(t, ATMOSPHERE);
        assert_relative(
            dynamic_viscosity(t, 0.0),
            mu,
            3e-3,
            "viscosity near 0.1 MPa",
        );
    }
}

#[test]
fn viscosity_meets_an_older_equation() {
    let mut compared = against(
        "J. D. Isdale and others 1972 (from memory)",
        "viscosity of sea water",
    );
    // J. D. Isdale, C. M. Spence and J. S. Tudhope, Desalination 10 (1972) 319: from 10 degC, in
    // g/kg; uncertainty of 1 % (from memory), against 1.5 % of ours
    for celsius in [10.0, 20.0, 30.0, 40.0_f64] {
        for s in [0.0, 10.0, 20.0, 30.0, 40.0] {
            let water = libm::exp(-10.7019 + 604.129 / (139.18 + celsius));
            let a = 1.474e-3 + 1.5e-5 * celsius - 3.927e-8 * celsius * celsius;
            let b = 1.073e-5 - 8.5e-8 * celsius + 2.23e-10 * celsius * celsius;
            let older = water * (1.0 + a * s + b * s * s);
            let found = dynamic_viscosity(celsius + 273.15, s * 1e-3);
            compared.relative(found, older, 1.5e-2, "viscosity");
        }
    }
    // Sharqawy and others as carried by others: 0.959 mPa s at 25 degC and 35 g/kg
    let found = dynamic_viscosity(298.15, 0.035) * 1e3;
    assert_printed(found, 0.959, 1e-3, "viscosity in mPa s");
    let nu = kinematic_viscosity(298.15, ATMOSPHERE, 0.035);
    assert_relative(nu, found * 1e-3 / 1_023.22, 1e-5, "kinematic viscosity");
}

#[test]
fn states_outside_the_validity() {
    assert_eq!(check(293.15, ATMOSPHERE, 0.035), Ok(()));
    assert_eq!(check(273.15, 10e6, 0.0), Ok(()));
    assert_eq!(check(313.15, ATMOSPHERE, 0.042), Ok(()));
    let refused = |t: f64, p: f64, s: f64, part: &str| {
        assert_refused(check(t, p, s), "out-of-range", &[part]);
    };
    refused(
        273.14,
        ATMOSPHERE,
        0.03,
        "sea water temperature: found 273.14 K",
    );
    refused(313.16, ATMOSPHERE, 0.03, "0 to 40 degC");
    refused(
        f64::NAN,
        ATMOSPHERE,
        0.03,
        "sea water temperature: found NaN",
    );
    refused(293.15, 2e3, 0.03, "at which water boils");
    refused(293.15, 10.1e6, 0.03, "10000000 Pa absolute");
    refused(293.15, f64::NAN, 0.03, "sea water pressure: found NaN");
    refused(
        293.15,
        ATMOSPHERE,
        35.0,
        "sea water salinity: found 35 kg/kg",
    );
    refused(293.15, ATMOSPHERE, -0.001, "0 to 42 g/kg");
    refused(
        293.15,
        ATMOSPHERE,
        f64::NAN,
        "sea water salinity: found NaN",
    );
}

/// The property by its place in the list.
fn property<S: Scalar>(which: usize, t: S, p: S, s: S) -> S {
    match which {
        0 => density(t, p, s),
        1 => sound_speed(t, p, s),
        2 => dynamic_viscosity(t, s),
        _ => kinematic_viscosity(t, p, s),
    }
}

#[test]
fn derivatives_stay_finite_without_salt() {
    for which in 0..4 {
        let [t, p] = [290.0, 1e6].map(Dual::<f64, 1>::fixed);
        let fresh = property(which, t, p, Dual::variable(0.0, 0));
        let one_sided = (property(which, 290.0, 1e6, 1e-8) - fresh.value) / 1e-8;
        assert_relative(fresh.gradient[0], one_sided, 1e-2, "slope by salinity");
    }
    assert!(density(290.0, 1e6, -1e-4).is_nan());
}

proptest! {
    #[test]
    fn derivatives_meet_differences(
        which in 0..4_usize,
        t in 274.0..312.0_f64,
        p in 0.2e6..9.8e6_f64,
        s in 0.002..0.041_f64,
    ) {
        type D = Dual<f64, 3>;
        let dual = property(which, D::variable(t, 0), D::variable(p, 1), D::variable(s, 2));
        prop_assert_eq!(dual.value.to_bits(), property(which, t, p, s).to_bits());
        let slopes = [
            (slope(|t| property(which, t, p, s), t, 0.05), 1.0),
            (slope(|p| property(which, t, p, s), p, 5e4), 1e-6),
            (slope(|s| property(which, t, p, s), s, 1e-4), 1e2),
        ];
        // 1e-6 of the slope, or 1e-9 of the value per kelvin, MPa or percent of salt
        for (found, (slope, scale)) in dual.gradient.iter().zip(slopes) {
            let allowed = 1e-6 * slope.abs() + 1e-9 * dual.value * scale;
            prop_assert!((found - slope).abs() < allowed, "{} {}", found, slope);
        }
    }

    #[test]
    fn salt_makes_water_denser_faster_and_more_viscous(
        t in TEMPERATURE_RANGE_K[0]..TEMPERATURE_RANGE_K[1],
        s in 0.0..SALINITY_MAX_KG_KG - 1e-3,
        p in 0.1e6..9.9e6_f64,
    ) {
        prop_assert!(density(t, p, s + 1e-3) > density(t, p, s));
        prop_assert!(sound_speed(t, p, s + 1e-3) > sound_speed(t, p, s));
        prop_assert!(dynamic_viscosity(t, s + 1e-3) > dynamic_viscosity(t, s));
        prop_assert!(sound_speed(t, p + 1e5, s) > sound_speed(t, p, s));
    }
}
