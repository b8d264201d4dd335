//! Where hostile input begins: the demonstration, the files to begin with, and a record of each kind.

use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::model::Basis;
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::record::{Extras, Record};
use flowdoubt::site::Site;
use flowdoubt::table::{NamedColumn, StatusColumn, TableOptions};
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

/// The same in other forms: what parts the columns, decimals, rows before the names, units below them,
/// names of others, states.
pub fn tables() -> Vec<String> {
    let rows = [
        ["2026-09-17T09:00:00", "796,57", "609,547", "8,12", "ok"],
        ["2026-09-17T09:00:05", "797,06", "609,517", "8,14", "ok"],
        [
            "2026-09-17T09:00:10",
            "792,85",
            "609,511",
            "8,14",
            "no echo",
        ],
        ["2026-09-17T09:00:15", "799,12", "609,478", "8,17", "ok"],
    ];
    let table = |head: &str, sign: &str, of: &dyn Fn(&str) -> String| {
        let rows = rows.iter().map(|row| {
            let cells: Vec<String> = row.iter().map(|cell| of(cell)).collect();
            cells.join(sign) + "\n"
        });
        head.to_owned() + &rows.collect::<String>()
    };
    let as_is = |cell: &str| cell.to_owned();
    let points = |cell: &str| cell.replace(',', ".");
    vec![
        table(
            "time;time_difference_ns;transit_time_us;temperature_degC;state\n",
            ";",
            &as_is,
        ),
        table(
            "sep=\t\nLoop 3\n\ntime\tTime difference\tTransit time\tTemperature\tstate\n\
             \t[ns]\t(us)\t°C\t\n",
            "\t",
            &as_is,
        ),
        table("clock|dT|TT [us]|T water (degC)|state\n", "|", &points),
        table(
            "time,time_difference [ns],transit_time [us],temperature (°C),state\n",
            ",",
            &points,
        ),
        "time;time_difference_ns;transit_time_us;temperature_degC\n\
         17.09.2026 09:00:00;1.796,57;1.609,547;8,12\n17.09.2026 09:00:05;1.797,06;1.609,517;8,14\n"
            .to_owned(),
    ]
}

/// How the tables of others name their columns.
pub fn table_options() -> TableOptions {
    let column = |quantity: &str, name: &str, unit: Option<&str>| {
        let names = vec![name.to_owned()];
        let unit = unit.map(str::to_owned);
        NamedColumn::new(quantity, names, unit, "columns").expect("a column")
    };
    let mut options = TableOptions::default();
    options.columns = vec![
        column("time", "clock", None),
        column("time_difference", "dT", Some("ns")),
        column("transit_time", "TT", None),
        column("temperature", "T water", None),
    ];
    let good = vec!["ok".to_owned()];
    options.status = Some(StatusColumn::new("state", good, "status").expect("a status"));
    options
}

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

/// What one owns, and what was delivered.
pub fn instruments() -> Vec<String> {
    vec![demo("box/instruments.toml"), demo("box/delivered.toml")]
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
