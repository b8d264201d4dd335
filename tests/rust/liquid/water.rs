//! Liquid water against IAPWS.

use crate::support::tables::against;
use crate::support::{assert_refused, assert_relative, json, number, slope};
use flowdoubt::liquid::water::{
    check, density, dynamic_viscosity, kinematic_viscosity, saturation_pressure, sound_speed,
    sound_speed_relative_uncertainty, viscosity_at_density,
};
use flowdoubt::scalar::{Dual, Scalar};
use proptest::prelude::*;

const ATMOSPHERE: f64 = 101_325.0;

/// The points of one table of `golden/water.json`.
fn points(table: &str) -> Vec<serde_json::Value> {
    let all = json("golden/water.json");
    all[table]["points"].as_array().expect("points").clone()
}

#[test]
fn liquid_water_meets_an_independent_implementation() {
    let mut rho = against("package `iapws`", "density of water");
    let mut c = against("package `iapws`", "sound speed in water");
    let mut mu = against("package `iapws`", "dynamic viscosity of water");
    let mut nu = against("package `iapws`", "kinematic viscosity of water");
    let points = points("liquid");
    assert!(points.len() > 60);
    for point in &points {
        let n = |key: &str| number(&point[key]);
        let (t, p) = (n("T_K"), n("p_Pa"));
        let what = |quantity: &str| format!("{quantity} at {t} K, {p} Pa");
        rho.relative(density(t, p), n("rho"), 1e-9, &what("density"));
        c.relative(sound_speed(t, p), n("c"), 2e-9, &what("sound speed"));
        mu.relative(dynamic_viscosity(t, p), n("mu"), 2e-9, &what("mu"));
        nu.relative(kinematic_viscosity(t, p), n("nu"), 2e-9, &what("nu"));
    }
}

#[test]
fn check_values_of_the_releases() {
    let mut rho = against(
        "IAPWS R6-95(2018), table 7",
        "density of water, check values",
    );
    let mut c = against(
        "IAPWS R6-95(2018), table 7",
        "sound speed in water, check values",
    );
    let mut mu = against(
        "IAPWS R12-08(2008), table 4",
        "viscosity of water, uPa s, check values",
    );
    // IAPWS R6-95(2018), table 7: printed with nine digits; the pressure is that of the density
    for point in points("density_check") {
        let n = |key: &str| number(&point[key]);
        let (t, p) = (n("T_K"), n("p_Pa"));
        rho.relative(density(t, p), n("rho"), 1e-9, "density");
        c.relative(sound_speed(t, p), n("c"), 5e-9, "sound speed");
    }
    // IAPWS R12-08(2008), table 4
    for point in points("viscosity_check") {
        let n = |key: &str| number(&point[key]);
        let found = viscosity_at_density(n("T_K"), n("rho"));
        mu.printed(found * 1e6, n("mu") * 1e6, 1e-6, "viscosity in uPa s");
    }
}

#[test]
fn saturation_pressure_as_published() {
    let mut printed = against(
        "W. Wagner and A. Pruss 1993",
        "saturation pressure of water at its triple and boiling point",
    );
    let mut iapws95 = against(
        "IAPWS-95 by package `CoolProp`",
        "saturation pressure of water",
    );
    // W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783: triple point, normal
    // boiling point, critical point
    printed.printed(saturation_pressure(273.16), 611.657, 1e-3, "triple point");
    let boiling = saturation_pressure(373.1243) * 1e-6;
    printed.printed(boiling, 0.101_325, 1e-6, "boiling point in MPa");
    let critical = saturation_pressure(647.096) * 1e-6;
    assert_relative(critical, 22.064, 1e-12, "critical point in MPa");
    // IAPWS-95 itself, computed with CoolProp; the release allows 0.01 %
    for (t, p) in [
        (293.15, 2_339.318_183),
        (300.0, 3_536.806_752),
        (450.0, 932_203.563_6),
        (500.0, 2_639_195.872),
    ] {
        iapws95.relative(saturation_pressure(t), p, 1e-4, "saturation pressure");
    }
}

#[test]
fn sound_speed_meets_a_published_polynomial() {
    let mut compared = against(
        "N. Bilaniuk and G. S. K. Wong 1993",
        "sound speed in water, 0 to 99 degC, m/s",
    );
    // N. Bilaniuk and G. S. K. Wong, J. Acoust. Soc. Am. 93 (1993) 1609, 148 points, ITS-90,
    // coefficients as seen in print; it lies within 0.07 m/s of IAPWS-95 over its range
    const COEFFICIENTS: [f64; 6] = [
        1_402.387_44,
        5.038_361_71,
        -5.811_729_16e-2,
        3.346_381_17e-4,
        -1.482_596_72e-6,
        3.165_850_20e-9,
    ];
    for celsius in (0..=99).map(f64::from) {
        let series = COEFFICIENTS.iter().rev();
        let published = series.fold(0.0, |sum, k| sum * celsius + k);
        let found = sound_speed(celsius + 273.15, ATMOSPHERE);
        compared.absolute(found, published, 0.1, &format!("{celsius} degC"));
    }
}

#[test]
fn states_that_are_no_liquid_water() {
    assert_eq!(check(293.15, ATMOSPHERE), Ok(()));
    assert_eq!(check(273.15, ATMOSPHERE), Ok(()));
    assert_eq!(check(503.15, 10e6), Ok(()));
    let refused = |t: f64, p: f64, parts: &[&str]| {
        assert_refused(check(t, p), "out-of-range", parts);
    };
    refused(
        273.14,
        ATMOSPHERE,
        &["water temperature: found 273.14 K", "0 to 230 degC"],
    );
    refused(
        503.16,
        5e6,
        &["water temperature: found 503.16 K", "0 to 230 degC"],
    );
    refused(f64::NAN, ATMOSPHERE, &["water temperature: found NaN K"]);
    refused(
        293.15,
        10.1e6,
        &["water pressure: found 10100000 Pa", "10000000 Pa absolute"],
    );
    refused(293.15, f64::NAN, &["water pressure: found NaN Pa"]);
    refused(
        374.15,
        ATMOSPHERE,
        &["water pressure", "below which water boils"],
    );
    refused(
        293.15,
        2300.0,
        &["2339 Pa at this temperature, below which water boils"],
    );
    refused(293.15, -1e5, &["water pressure: found -100000 Pa"]);
}

#[test]
fn uncertainty_of_the_sound_speed_grows_above_the_boiling_point() {
    assert_eq!(sound_speed_relative_uncertainty(293.15), 5e-5);
    assert_eq!(sound_speed_relative_uncertainty(383.15), 1e-3);
}

/// A property of water over temperature and pressure.
trait Property {
    fn at<S: Scalar>(&self, temperature: S, pressure: S) -> S;
}

/// The property by its place in the list.
struct Numbered(usize);

impl Property for Numbered {
    fn at<S: Scalar>(&self, t: S, p: S) -> S {
        match self.0 {
            0 => density(t, p),
            1 => sound_speed(t, p),
            2 => dynamic_viscosity(t, p),
            3 => kinematic_viscosity(t, p),
            _ => saturation_pressure(t) + p,
        }
    }
}

proptest! {
    #[test]
    fn derivatives_meet_differences(
        which in 0..5_usize,
        t in 274.0..502.0_f64,
        p in 0.2e6..9.8e6_f64,
    ) {
        let property = Numbered(which);
        let dual = property.at(Dual::<f64, 2>::variable(t, 0), Dual::variable(p, 1));
        prop_assert_eq!(dual.value.to_bits(), property.at(t, p).to_bits());
        let by_t = slope(|t| property.at(t, p), t, 0.05);
        let by_p = slope(|p| property.at(t, p), p, 5e4);
        // near a maximum the slope vanishes: 1e-6 of the slope or of the value per kelvin or MPa
        let small = 1e-9 * dual.value;
        prop_assert!((dual.gradient[0] - by_t).abs() < 1e-6 * by_t.abs() + small);
        prop_assert!((dual.gradient[1] - by_p).abs() < 1e-6 * by_p.abs() + small * 1e-6);
    }

    #[test]
    fn water_under_pressure_is_denser_and_faster(t in 273.15..503.15_f64, p in 3e6..9e6_f64) {
        prop_assert!(density(t, p + 1e5) > density(t, p));
        prop_assert!(sound_speed(t, p + 1e5) > sound_speed(t, p));
        prop_assert!(dynamic_viscosity(t, p) < dynamic_viscosity(t - 0.1, p));
    }
}
