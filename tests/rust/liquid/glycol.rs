//! Glycol solutions against another implementation and, without glycol, against water.

use crate::support::tables::against;
use crate::support::{assert_refused, json, number, slope};
use flowdoubt::liquid::glycol::{
    DENSITY_RELATIVE_UNCERTAINTY, Glycol, TEMPERATURE_MAX_K, VISCOSITY_RELATIVE_UNCERTAINTY,
};
use flowdoubt::liquid::water;
use flowdoubt::scalar::{Dual, Scalar};
use proptest::prelude::*;

const BOTH: [(Glycol, &str); 2] = [
    (Glycol::Ethylene, "ethylene"),
    (Glycol::Propylene, "propylene"),
];

#[test]
fn properties_meet_an_independent_implementation() {
    let mut rho = against("package `CoolProp`", "density of glycol solutions");
    let mut mu = against(
        "package `CoolProp`",
        "dynamic viscosity of glycol solutions",
    );
    let mut nu = against(
        "package `CoolProp`",
        "kinematic viscosity of glycol solutions",
    );
    let mut freeze = against(
        "package `CoolProp`",
        "freezing temperature of glycol solutions",
    );
    let all = json("golden/glycol.json");
    for (glycol, name) in BOTH {
        let points = all[name].as_array().expect("points");
        assert!(points.len() > 20, "{}", points.len());
        for point in points {
            let n = |key: &str| number(&point[key]);
            let (t, x) = (n("T_K"), n("x"));
            let what = |quantity: &str| format!("{quantity} of {name} at {t} K, {x}");
            rho.relative(glycol.density(t, x), n("rho"), 1e-14, &what("density"));
            // the other one rounds the factor 1e-3 in the exponent: by 3e-7
            mu.relative(glycol.dynamic_viscosity(t, x), n("mu"), 4e-7, &what("mu"));
            let quotient = n("mu") / n("rho");
            nu.relative(
                glycol.kinematic_viscosity(t, x),
                quotient,
                4e-7,
                &what("nu"),
            );
            let freezing = glycol.freezing_temperature(x);
            freeze.relative(
                freezing,
                n("freezing_K"),
                1e-14,
                &what("freezing temperature"),
            );
        }
    }
}

#[test]
fn without_glycol_it_is_water_within_the_uncertainty() {
    for (glycol, name) in BOTH {
        let freezing: f64 = glycol.freezing_temperature(0.0);
        assert!((freezing - 273.15).abs() < 0.03, "{name}: {freezing}");
        let (mut largest_density, mut largest_viscosity): (f64, f64) = (0.0, 0.0);
        for celsius in (1..=99).step_by(7) {
            let t = f64::from(celsius) + 273.15;
            let rho = glycol.density(t, 0.0) / water::density(t, 101_325.0) - 1.0;
            let mu = water::dynamic_viscosity(t, 101_325.0);
            let mu = glycol.dynamic_viscosity(t, 0.0) / mu - 1.0;
            largest_density = largest_density.max(rho.abs());
            largest_viscosity = largest_viscosity.max(mu.abs());
        }
        assert!(largest_density < 0.0011, "{name}: {largest_density}");
        assert!(largest_viscosity < 0.02, "{name}: {largest_viscosity}");
        assert!(largest_density < DENSITY_RELATIVE_UNCERTAINTY);
        assert!(largest_viscosity < VISCOSITY_RELATIVE_UNCERTAINTY);
    }
}

#[test]
fn states_outside_the_correlations() {
    for (glycol, _) in BOTH {
        assert_eq!(glycol.check(293.15, 0.3), Ok(()));
        assert_eq!(glycol.check(373.15, 0.6), Ok(()));
        let refused = |t: f64, x: f64, part: &str| {
            assert_refused(glycol.check(t, x), "out-of-range", &[part]);
        };
        refused(293.15, 0.61, "glycol mass fraction: found 0.61");
        refused(293.15, 30.0, "mass of glycol in mass of solution");
        refused(293.15, -0.01, "glycol mass fraction: found -0.01");
        refused(293.15, f64::NAN, "glycol mass fraction: found NaN");
        refused(373.16, 0.3, "to 100 degC (373.15 K)");
        refused(250.0, 0.3, "begins to freeze");
        refused(f64::NAN, 0.3, "glycol temperature: found NaN K");
    }
}

/// The property by its place in the list.
fn property<S: Scalar>(glycol: Glycol, which: usize, t: S, x: S) -> S {
    match which {
        0 => glycol.density(t, x),
        1 => glycol.dynamic_viscosity(t, x),
        _ => glycol.kinematic_viscosity(t, x),
    }
}

proptest! {
    #[test]
    fn derivatives_meet_differences(
        glycol in 0..2_usize,
        which in 0..3_usize,
        t in 275.0..372.0_f64,
        x in 0.01..0.59_f64,
    ) {
        let glycol = BOTH[glycol].0;
        let dual = property(glycol, which, Dual::<f64, 2>::variable(t, 0), Dual::variable(x, 1));
        prop_assert_eq!(dual.value.to_bits(), property(glycol, which, t, x).to_bits());
        let by_t = slope(|t| property(glycol, which, t, x), t, 0.05);
        let by_x = slope(|x| property(glycol, which, t, x), x, 1e-3);
        let small = 1e-9 * dual.value;
        prop_assert!((dual.gradient[0] - by_t).abs() < 1e-6 * by_t.abs() + small);
        prop_assert!((dual.gradient[1] - by_x).abs() < 1e-6 * by_x.abs() + 1e2 * small);
    }

    #[test]
    fn more_glycol_is_more_viscous_and_freezes_later(
        glycol in 0..2_usize,
        x in 0.0..0.59_f64,
        share in 0.0..1.0_f64,
    ) {
        let glycol = BOTH[glycol].0;
        let freezing: f64 = glycol.freezing_temperature(x);
        let t = freezing + share * (TEMPERATURE_MAX_K - 1.0 - freezing);
        prop_assert!(glycol.freezing_temperature(x + 0.01) < freezing);
        prop_assert!(glycol.dynamic_viscosity(t, x + 0.01) > glycol.dynamic_viscosity(t, x));
        prop_assert!(glycol.dynamic_viscosity(t + 1.0, x) < glycol.dynamic_viscosity(t, x));
        prop_assert!(glycol.density(t + 1.0, x) < glycol.density(t, x) || t < 280.0);
    }
}
