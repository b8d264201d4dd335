//! JCGM GUM-6:2020, clause 11. The guide could not be read: results are as quoted from it, inputs are
//! from memory, and say so where a figure is confirmed by nothing else.

use super::Values;
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{
    BetweenSets, Input, InputSet, MeasurementModel, Output, RandomEffects, propagate,
};
use flowdoubt::units::Dimension;
use flowdoubt::{Result, uncertainty};

pub fn values() -> Values {
    let mut all = air_velocity();
    all.extend(tin());
    all.into_iter()
        .map(|(id, value)| (format!("gum6.{id}"), value))
        .collect()
}

/// Velocity of air by a Pitot tube, `v = sqrt(2 dp R_s T / p)`.
struct Pitot;

impl MeasurementModel for Pitot {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "velocity".to_owned(),
            unit: Dimension::Velocity.si_unit(),
        }]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([(x[0] * x[3] * x[2] / x[1] * 2.0).sqrt()])
    }
}

/// Differential pressure 1.993 kPa, pressure 101.4 kPa, temperature 292.8 K, specific gas constant of
/// dry air 287.058 J/(kg K), with expanded uncertainties for k = 2 (from memory; both results as
/// printed follow from them).
fn air_velocity() -> Values {
    let input = |name: &str, value: f64, expanded: f64| {
        Input::with_standard_uncertainty(name, value, 0.5 * expanded, f64::INFINITY).expect("input")
    };
    let inputs = InputSet::independent(vec![
        input("differential pressure", 1993.0, 25.0),
        input("pressure", 101.4e3, 2.1e3),
        input("temperature", 292.8, 0.22),
        uncertainty::Input::exact("gas constant", 287.058).expect("exact"),
    ])
    .expect("inputs");
    let found = &propagate(&Pitot, &inputs).expect("budget")[0];
    vec![
        ("pitot.v".to_owned(), found.estimate),
        ("pitot.u".to_owned(), found.standard_uncertainty),
    ]
}

/// Mass fraction of tin in a standard solution in mg/g, by gravimetry and by ICP-OES. The values are
/// from memory; they give the 10.000 37 and 0.0026 that weights alone and the Birge ratio make of the
/// example.
pub const TIN: ([f64; 2], [f64; 2]) = ([10.000_07, 10.022], [0.000_31, 0.0026]);

fn tin() -> Values {
    let (x, u) = TIN;
    let found = RandomEffects::of(&x, &u, BetweenSets::DerSimonianLaird).expect("mean");
    vec![
        ("tin.y".to_owned(), found.mean),
        (
            "tin.u".to_owned(),
            found.standard_uncertainty_for_known_between_sets,
        ),
    ]
}
