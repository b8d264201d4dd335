//! The verification file: what is refused, and in which words.

use super::{WATER, demonstrated, site, verification, verified};
use crate::support::{assert_refused, demo, line_of, with};
use flowdoubt::verify::Verification;
use proptest::prelude::*;

const GOOD: &str = "\
[verification]
name = \"v\"
question = \"error as installed\"
indicated = \"computed from its readings\"
permissible_error = \"2 %\"

[reference]
kind = \"weighing\"
start = \"flying\"
air_density = \"1.2 kg/m3\"
diverter_error = \"0 s\"
duration = \"60 s\"

[[run]]
point = \"p\"
readings = \"60\"
mass = { value = \"1000 kg\", half_width = \"0.5 kg\", shape = \"rectangular\" }
";

#[track_caller]
fn refused(passage: &str, replacement: &str, code: &str, line_with: &str, parts: &[&str]) {
    let text = with(GOOD, passage, replacement);
    let line = format!("verification.toml:{}: ", line_of(&text, line_with));
    let found = verification(&text).and_then(|v| site(WATER, "").verify(&v));
    let mut parts = parts.to_vec();
    parts.push(&line);
    assert_refused(found, code, &parts);
}

#[test]
fn the_good_one_is_good() {
    let result = verified(&site(WATER, ""), GOOD);
    assert_eq!(result.accepted(), Some(true));
}

#[test]
fn files_are_refused_in_words() {
    let kg = "mass = { value";
    refused(
        kg,
        "mas = { value",
        "unknown-key",
        "mas =",
        &["run.mas", "did you mean `mass`?"],
    );
    refused(
        "air_density",
        "air_densty",
        "unknown-key",
        "air_densty",
        &["`air_density`?"],
    );
    refused(
        "\"weighing\"",
        "\"weighting\"",
        "unknown-name",
        "weighting",
        &["`weighing`?"],
    );
    refused(
        "\"1000 kg\"",
        "\"1000 L\"",
        "wrong-dimension",
        "1000 L",
        &["run[1].mass", "volume, not mass"],
    );
    refused(
        "\"1000 kg\"",
        "\"-3 kg\"",
        "out-of-range",
        "-3 kg",
        &["run[1].mass", "-3 kg", "above 0"],
    );
    refused(
        "\"1000 kg\"",
        "\"a lot\"",
        "not-a-quantity",
        "a lot",
        &["run[1].mass"],
    );
    refused(
        "\"0.5 kg\"",
        "\"-0.5 kg\"",
        "out-of-range",
        "-0.5 kg",
        &["run[1].mass.half_width"],
    );
    refused(
        "start = \"flying\"\n",
        "",
        "missing",
        "[reference]",
        &["reference.start", "flying"],
    );
    refused(
        "diverter_error = \"0 s\"\n",
        "",
        "missing",
        "[[run]]",
        &["run[1].diverter_error"],
    );
    refused(
        "duration = \"60 s\"\n",
        "",
        "missing",
        "[[run]]",
        &["run[1].duration"],
    );
    refused(
        "air_density = \"1.2 kg/m3\"\n",
        "",
        "missing",
        "[[run]]",
        &["run[1].air_density"],
    );
    refused(
        "\"flying\"",
        "\"standing\"",
        "conflict",
        "diverter_error",
        &["start = \"flying\" only"],
    );
    refused(
        "duration =",
        "volume = \"1 m3\"\nduration =",
        "conflict",
        "volume =",
        &["reference.volume", "weighing"],
    );
    refused(
        "duration =",
        "flow_ratio = \"1\"\nduration =",
        "conflict",
        "flow_ratio",
        &["in series"],
    );
    refused(
        "point = \"p\"",
        "point = \"p\"\nduration = \"61 s\"",
        "conflict",
        "[[run]]",
        &["run[1].duration", "beside reference.duration"],
    );
    refused(
        "point = \"p\"",
        "point = \"p\"\nmass_end = \"1 kg\"",
        "conflict",
        "[[run]]",
        &["mass beside mass_end"],
    );
    refused(
        "readings = \"60\"",
        "readings = \"nowhere.csv\"",
        "file",
        "nowhere",
        &["nowhere.csv"],
    );
    refused(
        "\"2 %\"",
        "\"2 kg\"",
        "wrong-dimension",
        "2 kg",
        &["verification.permissible_error"],
    );
    refused(
        "\"2 %\"",
        "\"-2 %\"",
        "out-of-range",
        "-2 %",
        &["verification.permissible_error"],
    );
    for (stated, field) in [
        (
            "permissible_error = \"1.7976931348623157e308 %\"",
            "permissible_error",
        ),
        ("permissible_error = \"1001 %\"", "permissible_error"),
        (
            "lower_limit = \"-1e307 %\"\nupper_limit = \"1 %\"",
            "lower_limit",
        ),
        (
            "lower_limit = \"-1 %\"\nupper_limit = \"1e307 %\"",
            "upper_limit",
        ),
        (
            "permissible_error = \"2 %\"\nprior = { standard_deviation = \"1e300 %\" }",
            "prior",
        ),
        (
            "permissible_error = \"2 %\"\nprior = { mean = \"1e300 %\", standard_deviation = \"1 %\" }",
            "prior",
        ),
    ] {
        let allowed = &["1000 %"];
        refused(
            "permissible_error = \"2 %\"",
            stated,
            "out-of-range",
            field,
            allowed,
        );
    }
    refused(
        "permissible_error = \"2 %\"",
        "rule = \"simple acceptance\"",
        "conflict",
        "rule",
        &["no effect"],
    );
    refused(
        "permissible_error = \"2 %\"",
        "permissible_error = \"2 %\"\nlower_limit = \"1 %\"",
        "conflict",
        "permissible_error",
        &["lower_limit"],
    );
    refused(
        "permissible_error = \"2 %\"",
        "lower_limit = \"2 %\"\nupper_limit = \"1 %\"",
        "out-of-range",
        "lower_limit",
        &["above the lower limit"],
    );
    refused(
        "name = \"v\"",
        "name = \"v\"\nprobability = 1.0",
        "out-of-range",
        "probability",
        &["0.5 to below 1"],
    );
    refused(
        "name = \"v\"",
        "name = \"v\"\nprior = { standard_deviation = \"0 %\" }",
        "out-of-range",
        "prior",
        &["standard_deviation"],
    );
    refused(
        "name = \"v\"",
        "name = \"v\"\nrule = \"best\"",
        "unknown-name",
        "rule",
        &["guarded acceptance"],
    );
    refused(
        "[[run]]",
        "[[point]]\nname = \"q\"\n[[run]]",
        "unknown-name",
        "point = \"p\"",
        &["run[1].point", "did you mean `q`?"],
    );
    refused(
        "[[run]]",
        "[[point]]\nname = \"p\"\n[[point]]\nname = \"p\" # again\n[[run]]",
        "conflict",
        "# again",
        &["point.name", "two points named \"p\""],
    );
}

#[test]
fn references_must_fit_the_liquid() {
    refused(
        "duration =",
        "liquid_expansion = \"2e-4 1/K\"\nduration =",
        "conflict",
        "[[run]]",
        &["run[1].liquid_expansion"],
    );
    refused(
        "duration =",
        "liquid_compressibility = \"0.5 1/GPa\"\nduration =",
        "conflict",
        "[[run]]",
        &["run[1].liquid_compressibility"],
    );
    refused(
        "duration =",
        "temperature = \"-20 degC\"\nduration =",
        "out-of-range",
        "[[run]]",
        &["water temperature"],
    );
    refused(
        "duration =",
        "line_volume = \"1 m3\"\nduration =",
        "missing",
        "[reference]",
        &["reference.meter", "upstream"],
    );
    refused(
        "duration =",
        "meter = \"upstream\"\nline_volume = \"1 m3\"\nduration =",
        "conflict",
        "[[run]]",
        &["run[1].line_volume", "no effect"],
    );
    let stated = "kind = \"stated\"\nkinematic_viscosity = \"1 cSt\"\nsound_speed = \"1480 m/s\"";
    let found = site(stated, "").verify(&verification(GOOD).expect("file"));
    assert_refused(
        found,
        "missing",
        &[
            "run[1].liquid_density",
            "density of the liquid at the meter",
        ],
    );
    let glycol = "kind = \"ethylene glycol\"\nmass_fraction = \"0.3\"\nsound_speed = \"1600 m/s\"";
    let tank = GOOD
        .replace(
            "\"weighing\"",
            "\"volumetric tank\"\ntank_expansion = \"0 1/K\"",
        )
        .replace("air_density = \"1.2 kg/m3\"\n", "")
        .replace(
            "mass = { value = \"1000 kg\", half_width = \"0.5 kg\"",
            "volume = { value = \"1 m3\", half_width = \"1 L\"",
        );
    let tank = verification(&tank).unwrap_or_else(|e| panic!("{e}"));
    assert_refused(
        site(glycol, "").verify(&tank),
        "missing",
        &["run[1].liquid_compressibility"],
    );
    assert_refused(
        site(stated, "").verify(&tank),
        "missing",
        &["liquid.temperature"],
    );
}

#[test]
fn numbers_that_no_run_can_have() {
    refused(
        "\"0 s\"",
        "\"61 s\"",
        "out-of-range",
        "[[run]]",
        &["run[1] duration"],
    );
    refused(
        "readings = \"60\"",
        "readings = \"-60\"",
        "out-of-range",
        "[[run]]",
        &["run[1] flow by the meter"],
    );
    let ends = "mass_start = \"900 kg\"\nmass_end = \"800 kg\"";
    refused(
        "mass = { value = \"1000 kg\", half_width = \"0.5 kg\", shape = \"rectangular\" }",
        ends,
        "out-of-range",
        "[[run]]",
        &["run[1] mass", "above 0"],
    );
    let air = "air_temperature = \"2 degC\"\nair_pressure = \"1 bar\"\nair_humidity = \"50 %\"";
    refused(
        "air_density = \"1.2 kg/m3\"",
        air,
        "out-of-range",
        "[[run]]",
        &["air_temperature", "10 to 30 degC"],
    );
}

#[test]
fn a_file_without_runs() {
    let head = GOOD.split("[[run]]").next().expect("head");
    assert_refused(verification(head), "missing", &["run"]);
    let empty = format!("run = []\n{head}");
    assert_refused(verification(&empty), "length", &["run", "1 to 200 runs"]);
    assert_refused(verification("name = "), "syntax", &["verification file"]);
    assert_refused(
        Verification::load("nowhere.toml"),
        "file",
        &["nowhere.toml"],
    );
}

#[test]
fn readings_lie_below_the_folder_of_the_file_unless_more_is_allowed() {
    let folder = tempfile::tempdir().expect("folder");
    let own = folder.path().join("received");
    std::fs::create_dir(&own).expect("folder");
    let readings = "time_difference_ns\n60\n61\n";
    std::fs::write(folder.path().join("outside.csv"), readings).expect("file");
    std::fs::write(own.join("60"), readings).expect("file");
    let path = own.join("v.toml");
    std::fs::write(&path, GOOD).expect("file");
    assert!(Verification::load(&path).is_ok());
    let named = |name: &str| GOOD.replace("\"60\"", &format!("{name:?}"));
    std::fs::write(&path, named("../outside.csv")).expect("file");
    let parts = [
        "v.toml",
        "../outside.csv",
        "does not lie below",
        "readings_below",
    ];
    assert_refused(Verification::load(&path), "conflict", &parts);
    assert!(Verification::load_with_readings_below(&path, folder.path()).is_ok());
    assert_refused(
        Verification::load_with_readings_below(&path, ""),
        "missing",
        &["readings_below"],
    );
    let absolute = named(&folder.path().join("outside.csv").display().to_string());
    assert_refused(
        Verification::from_toml(&absolute, &path),
        "conflict",
        &["does not lie below"],
    );
}

#[test]
fn an_instrument_is_the_same_in_all_runs() {
    let run = "[[run]]\npoint = \"p\"\nreadings = \"60\"\nmass = { value = \"1000 kg\", instrument = { \
               standard_uncertainty = \"0.1 %\" } }\n";
    let head = GOOD.split("[[run]]").next().expect("head");
    let second = run
        .replace("1000 kg", "2000 kg")
        .replace("0.1 %", "2 kg")
        .replace("\"60\"", "\"120\"");
    let result = verified(&site(WATER, ""), &format!("{head}{run}{second}"));
    let corrections = result.run_inputs.inputs().iter();
    let corrections: Vec<&str> = corrections
        .map(|i| i.name())
        .filter(|n| n.contains("instrument"))
        .collect();
    assert_eq!(corrections, ["reference.mass.instrument"]);
    // 0.1 % of either reading: the same relative deviation in both
    let u: Vec<f64> = result
        .runs
        .iter()
        .map(|r| r.reference_flow.standard_uncertainty / r.reference_flow.value)
        .collect();
    assert!(
        (u[0] - 1e-3).abs() < 1e-9 && (u[1] - 1e-3).abs() < 1e-9,
        "{u:?}"
    );
    let lines = &result.points[0].error_budget.lines;
    let own = lines.iter().find(|l| l.input.name() == corrections[0]);
    let expected = 1e-3 * (1.0 + result.points[0].error.value);
    let found = own.expect("line").contribution.abs();
    assert!((found / expected - 1.0).abs() < 1e-6, "{found}");
}

#[test]
fn results_are_json_and_words() {
    let (site, verification) = demonstrated();
    let result = site.verify(&verification).expect("result");
    let own = result.to_json(None).expect("json");
    let own: serde_json::Value = serde_json::from_str(&own).expect("JSON");
    assert_eq!(own["reference"], "master meter");
    assert_eq!(own["points"].as_array().expect("points").len(), 3);
    let error = own["runs"][0]["error"]["value"].as_f64().expect("error");
    assert_eq!(error.to_bits(), result.runs[0].error.value.to_bits());
    assert!(own["points"][0]["budget"][0]["name"].is_string());
    assert_eq!(own["decision"]["verdict"], "conforms");
    let words = result.in_words().expect("words");
    for part in [
        "run 12,",
        "point high,",
        "repeatability",
        "conforms: the error is within",
        "straight line",
    ] {
        assert!(words.contains(part), "no {part} in {words}");
    }
    assert_eq!(verification.readings_files()[0], "verification/run_01.csv");
    assert_eq!(verification.points(), ["low", "middle", "high"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever is torn out of the file or put into it, the answer is a result or an error.
    #[test]
    fn torn_files_never_panic(from in 0usize..4000, length in 0usize..60, junk in "[ -~\\n]{0,12}") {
        let text = demo("verification.toml");
        let from = from.min(text.len());
        let to = (from + length).min(text.len());
        let torn = format!("{}{junk}{}", &text[..from], &text[to..]);
        if let Ok(read) = verification(&torn) {
            let _ = site(WATER, "").verify(&read);
        }
    }
}
