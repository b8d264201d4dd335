//! A tool of one's own with the crate inside: the cooling power that a district-cooling plant
//! delivers, from the flow of a clamp-on meter and two thermometers, with its uncertainty.
//!
//! Run from the root of the repository: `cargo run --example cooling_power`

use flowdoubt::Error;
use flowdoubt::evaluate::{CAUTIONS, Evaluation, Readings};
use flowdoubt::liquid::water;
use flowdoubt::model::SiteModel;
use flowdoubt::montecarlo::{IntervalKind, MonteCarlo, Validation};
use flowdoubt::record::ModelRecord;
use flowdoubt::scalar::Scalar;
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, propagate};
use flowdoubt::units::Unit;
use std::fmt;
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

/// How long the tool waits for its runs at most.
const PATIENCE: Duration = Duration::from_secs(600);

/// `P = rho(T_supply) Q c_p (T_return - T_supply)`, written once for values, derivatives and trials.
///
/// The model of the site is nested: its inputs come first, so that every line of the budget of the
/// flow is a line of the budget of the power as well.
struct CoolingPower {
    site: SiteModel,
    /// Absolute pressure in Pa.
    pressure: f64,
}

/// An error of the tool's own, which comes back as the source of the crate's.
#[derive(Debug)]
struct NoLoad;

impl fmt::Display for NoLoad {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("the return is no warmer than the supply: are the thermometers exchanged?")
    }
}

impl std::error::Error for NoLoad {}

impl CoolingPower {
    /// The name of the model in records; another one whenever the equation changes.
    const NAME: &str = "cooling power 1";

    /// The inputs of the site with their correlations, followed by the tool's own. A pair of
    /// thermometers is in the two pipes, calibrated together and in the laboratory of the surface
    /// probe; the figures are invented.
    fn inputs(evaluation: &Evaluation) -> flowdoubt::Result<InputSet> {
        let forever = f64::INFINITY;
        let thermometer = |name: &str, kelvin: f64| {
            Input::with_standard_uncertainty(name, kelvin, 0.05, forever).map(|input| {
                input
                    .in_component("thermometers")
                    .shown_in(Unit::named("K"))
            })
        };
        let own = vec![
            Input::with_expanded_uncertainty("heat capacity", 4193.0, 4.0, 2.0, forever)?
                .in_component("liquid")
                .shown_in(Unit::named("J/(kg K)"))
                .evidence_in_words("steam tables"),
            thermometer("supply temperature", 281.2)?,
            thermometer("return temperature", 288.6)?,
        ];
        let pairs = [
            ("supply temperature", "return temperature", 0.8),
            ("supply temperature", "liquid.temperature.instrument", 0.1),
            ("return temperature", "liquid.temperature.instrument", 0.1),
        ];
        let pairs = pairs.map(|(a, b, r)| (a.to_owned(), b.to_owned(), r));
        evaluation.inputs.clone().and_correlated(own, &pairs)
    }
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
        let (of_site, own) = x.split_at(self.site.terms().len());
        let [heat_capacity, supply, back] = [own[0], own[1], own[2]];
        let warmer = back - supply;
        if warmer.value().is_some_and(|kelvin| kelvin <= 0.0) {
            return Err(Error::model(NoLoad));
        }
        let [flow] = self.site.evaluate(of_site)?;
        let density = water::density(supply, S::constant(self.pressure));
        Ok([density * flow * heat_capacity * warmer])
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

    let model = CoolingPower {
        site: evaluation.model.clone(),
        pressure: 7.2e5,
    };
    let inputs = CoolingPower::inputs(&evaluation)?;
    let budgets = propagate(&model, &inputs)?;
    let budget = &budgets[0];
    println!("\n{budget}");

    // a watch is told the trials done, between batches, and may end the run
    let begun = Instant::now();
    let mut watch = |_done: u64| match begun.elapsed() < PATIENCE {
        true => ControlFlow::Continue(()),
        false => ControlFlow::Break(()),
    };
    let run = MonteCarlo {
        trials: 1_000_000,
        ..MonteCarlo::default()
    };
    let joint = run.joint_watched(&model, &inputs, &mut watch)?;
    let trials = joint.of_output(0);
    let interval = trials.interval(0.95, IntervalKind::Shortest)?;
    println!(
        "Monte Carlo: shortest 95 % interval [{:.1}, {:.1}] kW; {}",
        1e-3 * interval.low,
        1e-3 * interval.high,
        Validation::of(budget, &trials, 0.95, 1)?.verdict_in_words(),
    );

    let record = ModelRecord::of(CoolingPower::NAME, &inputs, &budgets, Some(&joint), 0.95)?;
    println!("record of {}: SHA-256 {}", record.model(), record.digest());
    let read = ModelRecord::from_text(&record.to_text())?;
    let differences = read.reproduce(CoolingPower::NAME, &model, &mut watch)?;
    println!("read and computed anew: {} differences", differences.len());
    println!("\n{CAUTIONS}");
    Ok(())
}
