//! Liquids given by a table.

use crate::support::{assert_refused, assert_relative, slope};
use flowdoubt::liquid::tabulated::{Column, ColumnUncertainty, TabulatedLiquid, ViscosityColumn};
use flowdoubt::scalar::Dual;
use proptest::prelude::*;

const TEMPERATURES: [f64; 4] = [283.15, 293.15, 313.15, 353.15];

fn column(values: &[f64], uncertainty: ColumnUncertainty) -> Column {
    Column {
        values: values.to_vec(),
        uncertainty,
    }
}

fn sound_speed() -> Column {
    column(
        &[1500.0, 1465.0, 1396.0, 1262.0],
        ColumnUncertainty::Absolute(5.0),
    )
}

fn density() -> Column {
    column(
        &[877.0, 870.0, 856.0, 829.0],
        ColumnUncertainty::Relative(0.002),
    )
}

fn viscosity() -> Column {
    column(
        &[210e-6, 110e-6, 42e-6, 12e-6],
        ColumnUncertainty::Relative(0.05),
    )
}

fn oil() -> TabulatedLiquid {
    let viscosity = ViscosityColumn::Kinematic(viscosity());
    TabulatedLiquid::new(&TEMPERATURES, &sound_speed(), &density(), &viscosity).expect("oil")
}

#[test]
fn rows_are_met_and_uncertainties_follow() {
    let oil = oil();
    assert_eq!(oil.temperature_range(), [283.15, 353.15]);
    for (row, t) in TEMPERATURES.into_iter().enumerate() {
        let rho = density().values[row];
        let nu = viscosity().values[row];
        assert_relative(oil.sound_speed(t), sound_speed().values[row], 1e-15, "c");
        assert_relative(oil.density(t), rho, 1e-15, "density");
        assert_relative(oil.kinematic_viscosity(t), nu, 1e-14, "nu");
        assert_relative(oil.dynamic_viscosity(t), rho * nu, 1e-14, "mu");
        assert_eq!(oil.sound_speed_uncertainty(t), 5.0);
        assert_relative(oil.density_uncertainty(t), 0.002 * rho, 1e-15, "u(density)");
        assert_relative(oil.viscosity_relative_uncertainty(t), 0.05, 1e-15, "u(nu)");
    }
    // the same liquid by its dynamic viscosity, with an absolute uncertainty
    let products: Vec<f64> = (viscosity().values.iter())
        .zip(density().values)
        .map(|(nu, rho)| nu * rho)
        .collect();
    let mu = column(&products, ColumnUncertainty::Absolute(1e-3));
    let other = ViscosityColumn::Dynamic(mu.clone());
    let other = TabulatedLiquid::new(&TEMPERATURES, &sound_speed(), &density(), &other);
    let other = other.expect("the same oil");
    for (row, t) in TEMPERATURES.into_iter().enumerate() {
        let (found, nu) = (other.kinematic_viscosity(t), oil.kinematic_viscosity(t));
        assert_relative(found, nu, 1e-14, "nu");
        assert_relative(other.dynamic_viscosity(t), mu.values[row], 1e-14, "mu");
        let share = other.viscosity_relative_uncertainty(t);
        assert_relative(share, 1e-3 / mu.values[row], 1e-14, "u(mu)");
    }
}

#[test]
fn a_viscosity_that_falls_by_a_constant_share_is_met_everywhere() {
    let fall = |t: f64| 1e-4 * libm::exp(-0.03 * (t - 293.15));
    let values = TEMPERATURES.map(fall);
    let falling = ViscosityColumn::Kinematic(column(&values, ColumnUncertainty::Relative(0.0)));
    let liquid = TabulatedLiquid::new(&TEMPERATURES, &sound_speed(), &density(), &falling);
    let liquid = liquid.expect("liquid");
    for t in [283.15, 284.0, 301.3, 320.0, 352.0] {
        assert_relative(liquid.kinematic_viscosity(t), fall(t), 1e-12, "nu");
    }
}

#[test]
fn tables_that_are_none() {
    let kinematic = || ViscosityColumn::Kinematic(viscosity());
    let refused = |t: &[f64], c: &Column, nu: &ViscosityColumn, code: &str, part: &str| {
        assert_refused(TabulatedLiquid::new(t, c, &density(), nu), code, &[part]);
    };
    let times = |t: &[f64], code: &str, part: &str| {
        refused(t, &sound_speed(), &kinematic(), code, part);
    };
    times(&[], "length", "liquid table: temperature: found 0 values");
    times(&[293.15], "length", "2 or more");
    times(
        &[283.15, 293.15, 293.15, 353.15],
        "out-of-range",
        "temperature, row 3: found 293.15 K; allowed: above 293.15 K",
    );
    times(
        &[283.15, f64::NAN, 313.15, 353.15],
        "out-of-range",
        "temperature, row 2: found NaN K",
    );
    times(
        &[283.15, 293.15, 313.15, f64::INFINITY],
        "out-of-range",
        "temperature, row 4: found inf K",
    );
    times(
        &[-10.0, 293.15, 313.15, 353.15],
        "out-of-range",
        "temperature, row 1: found -10 K; allowed: finite and above 0 K",
    );
    times(
        &[283.15, 293.15, 313.15],
        "length",
        "sound speed: found 4 values; allowed: 3",
    );

    let speed = |values: &[f64], uncertainty: ColumnUncertainty, part: &str| {
        let column = column(values, uncertainty);
        refused(&TEMPERATURES, &column, &kinematic(), "out-of-range", part);
    };
    let exact = ColumnUncertainty::Relative(0.0);
    speed(
        &[1500.0, 0.0, 1396.0, 1262.0],
        exact,
        "sound speed, row 2: found 0 m/s",
    );
    speed(
        &[1500.0, 1400.0, f64::NAN, 1262.0],
        exact,
        "sound speed, row 3: found NaN m/s",
    );
    let good = sound_speed().values;
    speed(
        &good,
        ColumnUncertainty::Absolute(-1.0),
        "sound speed, standard uncertainty: found -1 m/s",
    );
    speed(
        &good,
        ColumnUncertainty::Relative(f64::NAN),
        "sound speed, standard uncertainty: found NaN",
    );

    let negative = column(&[1e-4, 1e-5, -1e-5, 1e-6], exact);
    for (viscosity, part) in [
        (
            ViscosityColumn::Dynamic(negative.clone()),
            "dynamic viscosity, row 3: found -0.00001 Pa s",
        ),
        (
            ViscosityColumn::Kinematic(negative),
            "kinematic viscosity, row 3: found -0.00001 m2/s",
        ),
    ] {
        refused(
            &TEMPERATURES,
            &sound_speed(),
            &viscosity,
            "out-of-range",
            part,
        );
    }
}

#[test]
fn nothing_is_extrapolated() {
    let oil = oil();
    assert_eq!(oil.check(283.15), Ok(()));
    assert_eq!(oil.check(353.15), Ok(()));
    for t in [283.14, 353.16, f64::NAN] {
        let parts = ["liquid temperature: found", "283.15 to 353.15 K"];
        assert_refused(oil.check(t), "out-of-range", &parts);
        assert!(oil.sound_speed(t).is_nan());
        assert!(oil.kinematic_viscosity(t).is_nan());
    }
}

proptest! {
    #[test]
    fn derivatives_meet_differences(interval in 0..3_usize, share in 0.05..0.95_f64) {
        let [start, end] = [TEMPERATURES[interval], TEMPERATURES[interval + 1]];
        let t = start + share * (end - start);
        let oil = oil();
        let dual = Dual::<f64, 1>::variable(t, 0);
        // four points within the interval
        let h = 0.01 * (end - start);
        for (found, difference) in [
            (oil.sound_speed(dual), slope(|t| oil.sound_speed(t), t, h)),
            (oil.density(dual), slope(|t| oil.density(t), t, h)),
            (oil.kinematic_viscosity(dual), slope(|t| oil.kinematic_viscosity(t), t, h)),
            (oil.dynamic_viscosity(dual), slope(|t| oil.dynamic_viscosity(t), t, h)),
        ] {
            prop_assert!((found.gradient[0] / difference - 1.0).abs() < 1e-6);
        }
    }
}
