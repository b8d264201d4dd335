//! Digests of everything whose bits are promised.

use flowdoubt::Result;
use flowdoubt::evaluate::{Evaluation, Log, Readings, SeriesOptions};
use flowdoubt::model::Basis;
use flowdoubt::montecarlo::{Adaptive, LowDiscrepancy, MonteCarlo, SobolIndices};
use flowdoubt::plan::{Conditions, PlanRequest, Repeatability};
use flowdoubt::record::{Extras, Form, Record, canonical_json, sha256};
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{Distribution, InputSet};
use flowdoubt::verify::Verification;
use serde_json::Value;
use std::fmt::Write as _;

const PINNED: &str = include_str!("digests.txt");
const SITE: &str = include_str!("../../notebooks/demo/site.toml");
const READINGS: &str = include_str!("../../notebooks/demo/readings.csv");
const VERIFICATION: &str = include_str!("../../notebooks/demo/verification.toml");
const DISTRIBUTIONS: &str = include_str!("../golden/distributions.json");

/// The runs of the demonstration's verification, in their order.
const RUNS: [&str; 12] = [
    include_str!("../../notebooks/demo/verification/run_01.csv"),
    include_str!("../../notebooks/demo/verification/run_02.csv"),
    include_str!("../../notebooks/demo/verification/run_03.csv"),
    include_str!("../../notebooks/demo/verification/run_04.csv"),
    include_str!("../../notebooks/demo/verification/run_05.csv"),
    include_str!("../../notebooks/demo/verification/run_06.csv"),
    include_str!("../../notebooks/demo/verification/run_07.csv"),
    include_str!("../../notebooks/demo/verification/run_08.csv"),
    include_str!("../../notebooks/demo/verification/run_09.csv"),
    include_str!("../../notebooks/demo/verification/run_10.csv"),
    include_str!("../../notebooks/demo/verification/run_11.csv"),
    include_str!("../../notebooks/demo/verification/run_12.csv"),
];

/// One line an item: its digest and its name.
pub fn digests() -> String {
    let mut lines = String::new();
    for (name, digest) in everything().expect("everything is computed") {
        // writing to a String cannot fail
        let _ = writeln!(lines, "{digest} {name}");
    }
    lines
}

/// The names of the items that are not as pinned.
pub fn differences(found: &str) -> Vec<String> {
    let names = |text: &str, other: &str| -> Vec<String> {
        let missing = text
            .lines()
            .filter(|line| !other.lines().any(|l| l == *line));
        let name = |line: &str| line.split_once(' ').map_or("", |(_, name)| name).to_owned();
        missing.map(name).collect()
    };
    let mut differing = names(found, PINNED);
    differing.extend(names(PINNED, found));
    differing.sort();
    differing.dedup();
    differing
}

/// Every item with its digest.
fn everything() -> Result<Vec<(String, String)>> {
    let mut items = vec![("quantiles of every distribution".to_owned(), quantiles())];
    let readings = Readings::from_csv_text(READINGS, "readings.csv")?;
    let site = Site::from_toml(SITE, "site.toml")?;
    let evaluation = site.evaluate(&readings)?;
    items.push((
        "the demonstration".to_owned(),
        of_record(&record(&evaluation, 20_000)?),
    ));
    let reconciled = evaluation.reconciled()?.after;
    items.push((
        "the demonstration, reconciled".to_owned(),
        of_record(&record(&reconciled, 500)?),
    ));
    for basis in [Basis::Timed, Basis::Geometric, Basis::Indicated] {
        for liquid in Site::STARTER_LIQUIDS {
            let name = format!("{} basis, {liquid}", basis.in_words());
            items.push((name, of_record(&other_site(basis, liquid)?)));
        }
    }
    items.push(("trials, kept".to_owned(), kept(&evaluation)?));
    items.push(("trials, tallied".to_owned(), tallied(&evaluation)?));
    items.push(("trials, adaptive".to_owned(), adaptive(&evaluation)?));
    items.push(("Sobol points".to_owned(), points(&evaluation)?));
    items.push(("Sobol indices".to_owned(), indices(&evaluation)?));
    items.push(("stress test".to_owned(), stress(&evaluation)?));
    let mut worksheet = evaluation.worksheet()?;
    AS_PINNED.clone_into(&mut worksheet.software);
    items.push((
        "worksheet".to_owned(),
        sha256(worksheet.in_form(Form::Text).as_bytes()),
    ));
    items.push(("series".to_owned(), series(&site)?));
    items.push(("plan".to_owned(), plan(&site)?));
    items.push(("mark-out".to_owned(), mark_out(&site)?));
    items.push(("verification".to_owned(), verification(&site)?));
    Ok(items)
}

/// A digest of numbers, by their bits.
fn of_numbers(numbers: impl IntoIterator<Item = f64>) -> String {
    let bytes: Vec<u8> = numbers
        .into_iter()
        .flat_map(|x| x.to_bits().to_le_bytes())
        .collect();
    sha256(&bytes)
}

/// A digest of JSON in its canonical form.
fn of_json(value: &impl serde::Serialize) -> String {
    sha256(&canonical_json(value).expect("a canonical form"))
}

/// The software in what is digested: the digests do not depend on its version, and this is the one with
/// which they were pinned first.
const AS_PINNED: &str = "flowdoubt 0.2.0";

fn of_json_text(text: &str) -> String {
    let mut value: Value = serde_json::from_str(text).expect("JSON");
    value["software"] = AS_PINNED.into();
    of_json(&value)
}

/// The digest of inputs and results, which does not depend on the version of the software.
fn of_record(record: &Record) -> String {
    of_json(record.content())
}

fn quantiles() -> String {
    let golden: Value = serde_json::from_str(DISTRIBUTIONS).expect("JSON");
    let cases = golden["distributions"].as_array().expect("a list");
    of_numbers(cases.iter().flat_map(|case| {
        let parameters = serde_json::from_value(case["parameters"].clone());
        let distribution: Distribution = parameters.expect("parameters");
        let p = [1e-12, 1e-6, 0.025, 0.2, 0.5, 0.71, 0.999, 1.0 - 1e-9];
        p.map(|p| distribution.quantile(p))
    }))
}

fn run(trials: u64) -> MonteCarlo {
    MonteCarlo {
        trials,
        seed: 2,
        allowed_failures: 0.5,
    }
}

fn record(evaluation: &Evaluation, trials: u64) -> Result<Record> {
    let trials = evaluation.monte_carlo(run(trials))?;
    let with_zero = |column: &str| {
        let zero = Readings::from_columns([(column, &[0.001, 0.002, 0.0015][..])])?;
        let extras = Extras {
            trials: Some(&trials),
            at_no_flow: Some(&zero),
            ..Extras::default()
        };
        Record::of(evaluation, extras)
    };
    // what is read at no flow is what the basis of the site reads
    with_zero("time_difference_ns").or_else(|_| with_zero("velocity_m_s"))
}

/// A file to begin with, evaluated with readings of its own.
fn other_site(basis: Basis, liquid: &str) -> Result<Record> {
    let text = Site::starter_for(basis, liquid)?;
    // a record holds the text of the site, and new comments are no new bits
    let lines = text.lines().filter(|line| !line.starts_with('#'));
    let text = lines.collect::<Vec<_>>().join("\n");
    let site = Site::from_toml(&text, "site.toml")?;
    // some files leave the temperature to the readings
    let at = |temperature| {
        let conditions = Conditions {
            volume_flow: 0.05,
            temperature,
        };
        site.expected(&conditions, &Repeatability::default())
    };
    let plan = at(None).or_else(|_| at(Some(290.0)))?;
    let columns = plan.rehearsal();
    let columns = columns
        .iter()
        .map(|(name, values)| (name.as_str(), values.as_slice()));
    record(&site.evaluate(&Readings::from_columns(columns)?)?, 500)
}

/// A number of trials that fills no block.
const TRIALS: u64 = 70_001;

fn kept(evaluation: &Evaluation) -> Result<String> {
    let trials = run(TRIALS).joint(&evaluation.model, &evaluation.inputs)?;
    Ok(of_numbers(trials.values(0).iter().copied()))
}

fn tallied(evaluation: &Evaluation) -> Result<String> {
    let tallied = run(2 * TRIALS).tally(&evaluation.model, &evaluation.inputs)?;
    Ok(sha256(&tallied.tally().to_bytes()?))
}

fn adaptive(evaluation: &Evaluation) -> Result<String> {
    let adaptive = Adaptive {
        most_trials: 200_000,
        ..Adaptive::default()
    };
    let found = adaptive.run(&evaluation.model, &evaluation.inputs)?;
    let outputs = found.outputs.iter();
    Ok(of_numbers(outputs.flat_map(|output| {
        [
            output.estimate,
            output.standard_uncertainty,
            output.low,
            output.high,
        ]
        .map(|settled| [settled.mean, settled.twice_standard_error])
        .concat()
    })))
}

fn points(evaluation: &Evaluation) -> Result<String> {
    let points = LowDiscrepancy {
        points: 256,
        antithetic: true,
        ..LowDiscrepancy::default()
    };
    let found = points.run(&evaluation.model, &evaluation.inputs)?;
    Ok(of_numbers(found.trials.values(0).iter().copied()))
}

fn indices(evaluation: &Evaluation) -> Result<String> {
    let indices = SobolIndices {
        trials: 2000,
        ..SobolIndices::default()
    };
    // of correlated inputs there are none
    let inputs = InputSet::independent(evaluation.inputs.inputs().to_vec())?;
    let found = indices.run(&evaluation.model, &inputs)?;
    let inputs = found.iter().flat_map(|output| &output.inputs);
    Ok(of_numbers(inputs.flat_map(|input| {
        [input.first_order, input.total]
            .map(|index| [index.value, index.standard_error, index.low, index.high])
            .concat()
    })))
}

fn stress(evaluation: &Evaluation) -> Result<String> {
    let found = evaluation.stress_test(&run(5000), &[])?;
    let stresses = found.stresses.iter();
    let numbers = stresses.flat_map(|stress| [stress.by, stress.held, stress.relative_error]);
    Ok(of_numbers(
        numbers.chain([found.held, found.standard_error]),
    ))
}

fn series(site: &Site) -> Result<String> {
    let log = Log::from_csv_text(READINGS, "readings.csv", None)?;
    let found = site.evaluate_series(&log, SeriesOptions::default())?;
    let total = [
        found.total.estimate,
        found.total.standard_uncertainty,
        found.duration,
    ];
    let rows = [&found.flow, &found.standard_uncertainty, &found.reynolds];
    Ok(of_numbers(rows.into_iter().flatten().copied().chain(total)))
}

fn plan(site: &Site) -> Result<String> {
    let plan = site.plan(&PlanRequest {
        flows: vec![0.02, 0.1, 0.3],
        temperatures: vec![278.15, 290.0],
        ..PlanRequest::default()
    })?;
    Ok(of_json_text(&plan.to_json(None)?))
}

fn mark_out(site: &Site) -> Result<String> {
    let conditions = flowdoubt::mark_out::Conditions {
        temperature: Some(281.15),
        ..Default::default()
    };
    Ok(of_json_text(&site.mark_out(&conditions)?.to_json()))
}

fn verification(site: &Site) -> Result<String> {
    let verification = Verification::with_readings(VERIFICATION, "verification.toml", |name| {
        let number = name.trim_end_matches(".csv").rsplit('_').next();
        let number: usize = number.and_then(|n| n.parse().ok()).unwrap_or_default();
        Readings::from_csv_text(RUNS[number - 1], name)
    })?;
    let result = site.verify(&verification)?;
    let trials = result.monte_carlo(run(2000))?;
    Ok(of_record(&Record::of_verification(&result, Some(&trials))?))
}
