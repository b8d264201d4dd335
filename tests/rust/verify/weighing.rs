//! Buoyancy, air density and diverter.

use crate::support::tables::against;
use crate::support::{assert_refused, assert_relative, json, number, slope};
use flowdoubt::scalar::Dual;
use flowdoubt::verify::{air_density, buoyancy_factor, check_air, diverter_error};
use proptest::prelude::*;

#[test]
fn air_density_is_that_of_cipm_2007_and_of_coolprop() {
    let mut cipm = against("CIPM-2007", "density of air");
    let mut coolprop = against("package `CoolProp`", "density of air");
    let mut note = against(
        "National Physical Laboratory, guidance note",
        "density of air, 18 to 22 degC",
    );
    let golden = json("golden/air_density.json");
    let points = golden["points"].as_array().expect("points");
    assert!(points.len() > 20);
    for point in points {
        let of = |key: &str| number(&point[key]);
        let (t, p, h) = (of("temperature_k"), of("pressure_pa"), of("humidity"));
        check_air(t, p, h).expect("inside the range");
        let ours: f64 = air_density(t, p, h);
        // 2e-4 by OIML R 111, E.3, and 6e-5 between the equations of 1981/91 and 2007 (both figures
        // from memory)
        cipm.relative(ours, of("cipm_2007"), 3e-4, "CIPM-2007");
        coolprop.relative(ours, of("coolprop"), 5e-4, "CoolProp");
        // National Physical Laboratory, guidance note on buoyancy correction and air density
        // measurement: a formula of another shape, good to 4e-4
        let (celsius, percent) = (t - 273.15, 100.0 * h);
        if !(18.0..=22.0).contains(&celsius) {
            continue; // it is linear in the temperature, for laboratories
        }
        let other = (0.348_444 * 0.01 * p - percent * (0.002_52 * celsius - 0.020_582)) / t;
        note.relative(ours, other, 4e-4, "guidance note");
    }
}

#[test]
fn air_outside_the_formula_is_refused() {
    assert_refused(
        check_air(293.15, 8e4, 0.5),
        "out-of-range",
        &["air_pressure", "800 hPa"],
    );
    assert_refused(
        check_air(273.15, 1e5, 0.5),
        "out-of-range",
        &["air_temperature", "0 degC"],
    );
    assert_refused(
        check_air(293.15, 1e5, 0.9),
        "out-of-range",
        &["air_humidity", "air_density"],
    );
    assert_refused(
        check_air(f64::NAN, 1e5, 0.5),
        "out-of-range",
        &["air_temperature"],
    );
}

#[test]
fn derivatives_are_those_of_differences() {
    let at = |t: f64| air_density(t, 1e5, 0.6);
    let dual = air_density(
        Dual::<f64, 1>::variable(295.0, 0),
        Dual::fixed(1e5),
        Dual::fixed(0.6),
    );
    assert_relative(dual.gradient[0], slope(at, 295.0, 0.1), 1e-9, "air");
    let at = |rho: f64| buoyancy_factor(1.2, 8000.0, rho);
    let dual = buoyancy_factor(
        Dual::fixed(1.2),
        Dual::fixed(8000.0),
        Dual::<f64, 1>::variable(990.0, 0),
    );
    assert_relative(dual.gradient[0], slope(at, 990.0, 1.0), 1e-6, "buoyancy");
}

proptest! {
    /// In a vacuum, and for weights of the density of the liquid, air does nothing.
    #[test]
    fn buoyancy_vanishes_where_it_must(rho in 600.0..2000.0, air in 1.0..1.3) {
        prop_assert_eq!(buoyancy_factor(0.0, 8000.0, rho), 1.0);
        prop_assert_eq!(buoyancy_factor(air, rho, rho), 1.0);
        let factor: f64 = buoyancy_factor(air, 8000.0, rho);
        prop_assert!(factor > 1.0);
        // the first-order form of ISO 4185 (from memory)
        let first_order = 1.0 + air * (1.0 / rho - 1.0 / 8000.0);
        prop_assert!((factor - first_order).abs() < 2.0 * (air / rho) * (air / rho));
    }

    /// Masses made up with a diverter error give it back.
    #[test]
    fn diverter_error_is_found_again(
        error in -0.1..0.1f64, flow in 1.0..100.0f64, ratio in 0.97..1.03f64, bursts in 5u32..40,
        long in 300.0..900.0f64, short in 300.0..900.0f64,
    ) {
        let mass = flow * (long - error);
        let small = ratio * flow * (short - f64::from(bursts) * error);
        let found: f64 = diverter_error(long, mass, short, small, bursts, ratio);
        prop_assert!((found - error).abs() < 1e-9, "{found} {error}");
        // the approximate form of ISO 4185, annex A (from memory), for equal times
        let small = ratio * flow * (long - f64::from(bursts) * error);
        let quotient = small / long / (mass / long) / ratio;
        let approximate = -long / (f64::from(bursts) - 1.0) * (quotient - 1.0);
        prop_assert!((approximate - error).abs() < 1e-3 * error.abs().max(1e-6));
    }
}
