//! A tool of one's own with the crate inside: the cooling power that a district-cooling plant
//! delivers, from the flow of a clamp-on meter and two thermometers, with its uncertainty.
//!
//! Run from the root of the repository: `cargo run --example cooling_power`

use flowdoubt::evaluate::{CAUTIONS, Readings};
use flowdoubt::liquid::water;
use flowdoubt::montecarlo::{IntervalKind, MonteCarlo, Validation};
use flowdoubt::record::{Extras, Record};
use flowdoubt::scalar::Scalar;
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, propagate};
use flowdoubt::units::Unit;

/// `P = rho(T_supply) Q c_p (T_return - T_supply)`, written once for values, derivatives and trials.
struct CoolingPower {
    /// Absolute pressure in Pa.
    pressure: f64,
}

impl MeasurementModel for CoolingPower {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        let unit = Unit {
            factor: 1e3,
            ..Unit::named("kW")
        };
        let name = "cooling power".to_owned();
        vec![Output { name, unit }]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> flowdoubt::Result<[S; 1]> {
        let [flow, heat_capacity, supply, back] = [x[0], x[1], x[2], x[3]];
        let density = water::density(supply, S::constant(self.pressure));
        Ok([density * flow * heat_capacity * (back - supply)])
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/notebooks/demo");
    let site = Site::load(format!("{folder}/site.toml"))?;
    let readings = Readings::from_csv(format!("{folder}/readings.csv"))?;
    let evaluation = site.evaluate(&readings)?;
    println!("{}", evaluation.headline()?);
    for warning in evaluation.warnings() {
        println!("warning ({}): {}", warning.code, warning.words);
    }

    let forever = f64::INFINITY;
    let flow = Input::with_standard_uncertainty(
        "volume flow",
        evaluation.estimate(),
        evaluation.standard_uncertainty(),
        evaluation.budget.effective_dof,
    )?;
    // a pair of thermometers on the two pipes; the figures are invented
    let inputs = InputSet::correlated(
        vec![
            flow.evidence_in_words("clamp-on meter"),
            Input::with_expanded_uncertainty("heat capacity", 4193.0, 4.0, 2.0, forever)?
                .evidence_in_words("steam tables"),
            Input::with_standard_uncertainty("supply temperature", 281.2, 0.05, forever)?,
            Input::with_standard_uncertainty("return temperature", 288.6, 0.05, forever)?,
        ],
        &[(
            "supply temperature".into(),
            "return temperature".into(),
            0.8,
        )],
    )?;
    let model = CoolingPower { pressure: 7.2e5 };
    let budget = propagate(&model, &inputs)?.swap_remove(0);
    println!("\n{budget}");

    let run = MonteCarlo {
        trials: 1_000_000,
        ..MonteCarlo::default()
    };
    let trials = run.joint(&model, &inputs)?.of_output(0);
    let interval = trials.interval(0.95, IntervalKind::Shortest)?;
    let agrees = Validation::of(&budget, &trials, 0.95, 1)?.validated;
    println!(
        "Monte Carlo: shortest 95 % interval [{:.1}, {:.1}] kW, first order {} to one digit",
        1e-3 * interval.low,
        1e-3 * interval.high,
        if agrees { "validated" } else { "not validated" },
    );

    let record = Record::of(&evaluation, Extras::default())?;
    println!("record of the flow: SHA-256 {}", record.digest());
    println!("\n{CAUTIONS}");
    Ok(())
}
