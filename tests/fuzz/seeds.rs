//! Where hostile input begins: the demonstration, the files to begin with, and a record of each kind.

use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::model::Basis;
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::record::{Extras, Record};
use flowdoubt::site::Site;
use flowdoubt::verify::Verification;
use std::sync::LazyLock;

/// Readings that suit the demonstration, few so that much is tried in a second.
pub const READINGS: &str = "\
time,time_difference_ns,transit_time_us,temperature_degC
2026-09-17T09:00:00,796.57,609.547,8.12
2026-09-17T09:00:05,797.06,609.517,8.14
2026-09-17T09:00:10,792.85,609.511,8.14
2026-09-17T09:00:15,799.12,609.478,8.17
";

/// The text of a file of the demonstration.
pub fn demo(name: &str) -> String {
    let path = format!("{}/notebooks/demo/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Rows enough to tell how readings scatter.
pub fn log() -> String {
    demo("readings.csv")
        .lines()
        .take(20)
        .map(|line| format!("{line}\n"))
        .collect()
}

/// The demonstration, and a file to begin with for every basis and liquid.
pub fn sites() -> Vec<String> {
    let mut texts = vec![demo("site.toml")];
    for basis in [Basis::Timed, Basis::Geometric, Basis::Indicated] {
        for liquid in Site::STARTER_LIQUIDS {
            texts.push(Site::starter_for(basis, liquid).expect("a file to begin with"));
        }
    }
    texts
}

pub fn verifications() -> Vec<String> {
    vec![demo("verification.toml"), Verification::STARTER.to_owned()]
}

/// The demonstration site.
pub static SITE: LazyLock<Site> =
    LazyLock::new(|| Site::from_toml(&demo("site.toml"), "site.toml").expect("the demonstration"));

/// The readings above.
pub static GIVEN: LazyLock<Readings> =
    LazyLock::new(|| Readings::from_csv_text(READINGS, "readings.csv").expect("readings"));

/// The beginning of the readings of a run of the demonstration; of other names, those above.
pub fn readings(name: &str) -> flowdoubt::Result<Readings> {
    static FILES: LazyLock<Vec<(String, Readings)>> = LazyLock::new(|| {
        let verification = demo("verification.toml");
        let names = verification
            .split('"')
            .filter(|text| text.ends_with(".csv"));
        let beginning = |name: &str| -> Option<(String, Readings)> {
            let rows: Vec<String> = demo(name).lines().take(6).map(str::to_owned).collect();
            let readings = Readings::from_csv_text(&rows.join("\n"), name).ok()?;
            Some((name.to_owned(), readings))
        };
        names.filter_map(beginning).collect()
    });
    let found = FILES.iter().find(|(own, _)| own == name);
    Ok(found.map_or_else(|| GIVEN.clone(), |(_, readings)| readings.clone()))
}

/// A record with a check of the zero and, if asked for, a few trials, which take most of the time.
pub fn record_of(evaluation: &Evaluation, with_trials: bool) -> flowdoubt::Result<Record> {
    let run = MonteCarlo {
        trials: 100,
        allowed_failures: 1.0,
        ..MonteCarlo::default()
    };
    let trials = with_trials.then(|| evaluation.monte_carlo(run));
    let zero = Readings::from_columns([("time_difference_ns", &[0.1, 0.2, 0.15][..])]);
    let (trials, zero) = (trials.and_then(Result::ok), zero.ok());
    Record::of(
        evaluation,
        Extras {
            trials: trials.as_ref(),
            at_no_flow: zero.as_ref(),
            ..Extras::default()
        },
    )
}

/// The texts of records: of an evaluation, of one reconciled, of a verification.
pub fn records() -> Vec<String> {
    let evaluation = SITE.evaluate(&GIVEN).expect("an evaluation");
    let reconciled = evaluation.reconciled().expect("reconciled").after;
    let verification = Verification::with_readings(&demo("verification.toml"), "v.toml", readings);
    let result = SITE
        .verify(&verification.expect("a verification"))
        .expect("verified");
    vec![
        record_of(&evaluation, true).expect("a record").to_text(),
        record_of(&reconciled, true).expect("a record").to_text(),
        Record::of_verification(&result, None)
            .expect("a record")
            .to_text(),
    ]
}
