//! Sites that use instruments of a file.

use crate::site::site;
use crate::support::{demo, line_of, with};
use flowdoubt::site::{Change, Inventory, Selection, Site};
use flowdoubt::{Error, Result};
use std::sync::Arc;

const PAIR: &str = r#"
[[sensors]]
name = "wide pair"
serial_number = "17"
wedge_angle = { value = "39.6 deg", half_width = "0.30 deg", shape = "triangular", evidence = "drawing" }
wedge_sound_speed = { value = "2431 m/s", half_width = "12 m/s", shape = "rectangular" }
wedge_delay = { value = "16.4 us", standard_uncertainty = "0.15 us" }
length = "62 mm"
frequency = "1 MHz"

[[electronics]]
name = "portable"
delay = { value = "0.62 us", half_width = "0.05 us", shape = "rectangular" }
resolution = "0.1 ns"

[[certificate]]
number = "C 1"
of = ["wide pair", "portable"]
date = "2026-02-12"
due = "2027-02-12"
calibration_factor = { value = "1.001", expanded_uncertainty = "0.90 %", coverage_factor = 2, dof = 50 }
reynolds = [1e5, 1e6]
"#;

fn inventory(text: &str) -> Result<Arc<Inventory>> {
    Inventory::from_toml(text, "box.toml").map(Arc::new)
}

/// The error must say all these parts.
#[track_caller]
fn assert_told<T>(result: Result<T>, parts: &[&str]) {
    let Err(error) = result else {
        panic!("accepted, though not {parts:?}");
    };
    let message = error.to_string();
    for part in parts {
        assert!(message.contains(part), "no `{part}` in: {message}");
    }
}

fn pair() -> Arc<Inventory> {
    inventory(PAIR).expect("instruments")
}

/// The base without its wedge, which comes from the instruments.
fn bare(section: &str) -> String {
    let text = site(&[("profile", "law = \"fitted\"")]);
    let text = with(&text, "wedge_angle = \"40 deg\"\n", "");
    let text = with(&text, "wedge_sound_speed = \"2430 m/s\"\n", "");
    let text = with(&text, "wedge_delay = \"16 us\"\n", "");
    format!("{text}[instruments]\n{section}")
}

const USED: &str = "sensors = \"wide pair\"\nelectronics = \"portable\"\n";

fn numbers(site: &Site) -> Vec<u64> {
    let evaluation = site.evaluate(&crate::site::readings()).expect("a result");
    let lines = evaluation.budget.lines.iter();
    let inputs =
        lines.flat_map(|line| [line.input.estimate(), line.contribution, line.sensitivity]);
    let result = [evaluation.estimate(), evaluation.standard_uncertainty()];
    result.into_iter().chain(inputs).map(f64::to_bits).collect()
}

#[test]
fn a_site_that_uses_instruments_is_the_site_that_states_them() {
    let used = Site::from_toml_with(&bare(USED), "site.toml", &pair()).expect("a site");
    let stated = bare("").replace("[instruments]\n", "");
    let path = "[path]\nwedge_angle = { value = \"39.6 deg\", half_width = \"0.30 deg\", shape = \
                \"triangular\" }\nwedge_sound_speed = { value = \"2431 m/s\", half_width = \"12 m/s\", \
                shape = \"rectangular\" }\nsensor_length = \"62 mm\"\nfrequency = \"1 MHz\"\n";
    let meter = "[meter]\nwedge_delay = { value = \"16.4 us\", standard_uncertainty = \"0.15 us\" \
                 }\nelectronics_delay = { value = \"0.62 us\", half_width = \"0.05 us\", shape = \
                 \"rectangular\" }\nresolution = \"0.1 ns\"\ncalibration_factor = { value = \
                 \"1.001\", expanded_uncertainty = \"0.90 %\", coverage_factor = 2, dof = 50 \
                 }\ncalibration_covers = [\"sensors\", \"electronics\"]\ncalibration_reynolds = \
                 [1e5, 1e6]\n";
    let stated = with(&with(&stated, "[path]\n", path), "[meter]\n", meter);
    let by_hand = Site::from_toml(&stated, "site.toml").expect("a site");
    assert_eq!(numbers(&used), numbers(&by_hand));
    // the text stands on its own: a record of the site needs no other file
    let again = Site::from_toml(used.text(), "site.toml")
        .unwrap_or_else(|e| panic!("{e}\n{}", used.text()));
    assert_eq!(numbers(&again), numbers(&used));
    assert_eq!(again.text(), used.text());
    let choices = used.choices_in_words();
    assert!(
        choices.contains(&("sensors", "wide pair, serial number 17".to_owned())),
        "{choices:?}"
    );
    assert_eq!(again.choices_in_words(), choices);
    let angle = used
        .stated_lines()
        .into_iter()
        .find(|l| l.input == "path.wedge_angle");
    assert_eq!(angle.map(|l| l.evidence), Some("drawing; wide pair, serial number 17; uncertainty covered by meter.calibration_factor, whose calibration was with these sensors".to_owned()));
}

#[test]
fn other_instruments_take_the_place_of_those_that_are_stated() {
    let demo_site = Site::from_toml(&demo("site.toml"), "site.toml").expect("the demo");
    let selection = Selection {
        sensors: Some("wide pair".to_owned()),
        electronics: Some("portable".to_owned()),
        ..Selection::default()
    };
    let change = Change {
        instruments: Some(pair().choose(&selection).expect("chosen")),
        ..Change::default()
    };
    let other = demo_site.with(&change).expect("a site");
    assert_eq!(change.to_string(), "wide pair");
    let of = |name: &str| {
        other
            .stated_lines()
            .into_iter()
            .filter(|l| l.input == name)
            .count()
    };
    assert_eq!(of("path.wedge_angle"), 1);
    // the correlation of the demo was of delays, of which one is another now
    assert!(demo_site.text().contains("[[correlation]]"));
    assert!(!other.text().contains("[[correlation]]"));
    let factor = other
        .stated_lines()
        .into_iter()
        .find(|l| l.input == "meter.calibration_factor");
    assert_eq!(
        factor.map(|l| l.evidence),
        Some("certificate C 1 of 2026-02-12".to_owned())
    );
    // without a certificate of their own they have no calibration
    let without = PAIR.split("[[certificate]]").next().expect("a part");
    let change = Change {
        instruments: Some(
            inventory(without)
                .expect("instruments")
                .choose(&selection)
                .expect("chosen"),
        ),
        ..Change::default()
    };
    let other = demo_site.with(&change).expect("a site");
    assert!(!other.text().contains("calibration_factor"));
}

#[test]
fn what_is_stated_twice_or_not_there_is_refused() {
    let refused = |text: &str, fragments: &[&str]| {
        assert_told(Site::from_toml_with(text, "site.toml", &pair()), fragments);
    };
    let line = |text: &str| format!("site.toml:{}:", line_of(text, "[instruments]"));
    let twice = with(
        &bare(USED),
        "[path]\n",
        "[path]\nwedge_angle = \"40 deg\"\n",
    );
    refused(&twice, &["path.wedge_angle", "one of the two"]);
    let twice = with(
        &bare(USED),
        "[path]\n",
        "[path]\nsensor_length = \"60 mm\"\n",
    );
    refused(&twice, &["path.sensor_length", "one of the two"]);
    let unknown = bare("sensors = \"wide par\"\n");
    refused(
        &unknown,
        &[
            &line(&unknown),
            "instruments.sensors",
            "did you mean `wide pair`?",
        ],
    );
    let key = bare("sensor = \"wide pair\"\n");
    refused(&key, &["instruments.sensor", "did you mean `sensors`?"]);
    // text alone opens no file
    let alone = Site::from_toml(&bare(USED), "site.toml");
    assert_told(alone, &["instruments.file: missing"]);
}

#[test]
fn a_site_file_opens_instruments_below_its_own_folder_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let inner = folder.path().join("site");
    std::fs::create_dir(&inner).expect("a folder");
    std::fs::write(folder.path().join("box.toml"), PAIR).expect("a file");
    std::fs::write(inner.join("own.toml"), PAIR).expect("a file");
    let load = |file: &str| {
        let text = bare(&format!("file = \"{file}\"\n{USED}"));
        std::fs::write(inner.join("site.toml"), text).expect("a file");
        Site::load(inner.join("site.toml"))
    };
    let own = load("own.toml").expect("a site");
    assert!(own.text().contains("taken_from = \"own.toml, SHA-256 "));
    for outside in ["../box.toml", "/etc/hostname"] {
        assert_told(load(outside), &["instruments.file", "below"]);
    }
    assert_told(load("absent.toml"), &["absent.toml"]);
    let _ = load("../box.toml");
    let with_instruments = Site::load_with(inner.join("site.toml"), &pair()).expect("a site");
    assert_eq!(numbers(&with_instruments), numbers(&own));
}

#[test]
fn what_is_wrong_with_instruments_is_told_with_its_line() {
    let refused = |text: &str, line: usize, fragments: &[&str]| {
        let place = format!("box.toml:{line}: ");
        let all: Vec<&str> = [place.as_str()]
            .into_iter()
            .chain(fragments.iter().copied())
            .collect();
        assert_told(inventory(text), &all);
    };
    let head = "[[sensors]]\nname = \"a\"\n";
    refused(
        &format!("{head}wedge_angle = \"95 deg\"\n"),
        3,
        &["sensors[1].wedge_angle", "89"],
    );
    refused(
        &format!("{head}wall = [\"9 mm\", \"4 mm\"]\n"),
        3,
        &["sensors[1].wall[1]", "4 mm", "9 mm or above"],
    );
    refused(
        &format!("{head}wall = [\"9 kg\", \"4 mm\"]\n"),
        3,
        &["sensors[1].wall[0]", "length"],
    );
    refused(
        &format!("{head}wall_materials = [\"carbon steal\"]\n"),
        3,
        &["did you mean `carbon steel`?"],
    );
    refused(
        &format!("{head}length = \"1e308 m\"\n"),
        3,
        &["sensors[1].length", "above 0, to 1e12"],
    );
    refused(
        &format!("{head}cost = -1.0\n"),
        3,
        &["sensors[1].cost", "0 or above"],
    );
    refused(
        &format!("{head}angle = \"40 deg\"\n"),
        3,
        &["sensors.angle: unknown key"],
    );
    refused(
        &format!("{head}[[cables]]\nname = \"a\"\nlength = \"5 m\"\n"),
        4,
        &["`a` a second time"],
    );
    refused(
        "[[mounting]]\nname = \"r\"\nkind = \"rail\"\n",
        1,
        &["mounting[1].spacing: missing"],
    );
    refused(
        "[[mounting]]\nname = \"r\"\nkind = \"raill\"\n",
        3,
        &["did you mean `rail`?"],
    );
    refused(
        "[[tool]]\nname = \"r\"\npurpose = []\n",
        1,
        &["tool[1].purpose: missing"],
    );
    let certificate = "[[certificate]]\nnumber = \"1\"\nof = [\"a\"]\n";
    refused(
        &format!("{head}{certificate}date = \"12.2.2026\"\n"),
        6,
        &["certificate[1].date", "2026-03-31"],
    );
    refused(
        &format!("{head}{certificate}date = \"2026-02-12\"\ndue = \"2026-02-12\"\n"),
        7,
        &["certificate[1].due", "a later day"],
    );
    refused(
        &format!("{certificate}date = \"2026-02-12\"\n"),
        3,
        &["certificate[1].of", "`a`"],
    );
}

#[test]
fn the_inventory_of_the_demo_is_read_whole() {
    let text = demo("box/instruments.toml");
    let inventory = inventory(&text).expect("instruments");
    for (head, count) in [
        ("[[sensors]]", inventory.sensors.len()),
        ("[[electronics]]", inventory.electronics.len()),
        ("[[cables]]", inventory.cables.len()),
        ("[[couplant]]", inventory.couplants.len()),
        ("[[mounting]]", inventory.mountings.len()),
        ("[[tool]]", inventory.tools.len()),
        ("[[certificate]]", inventory.certificates.len()),
    ] {
        assert_eq!(text.matches(head).count(), count, "{head}");
    }
    let error: Option<Error> = inventory.choose(&Selection::default()).err();
    assert_eq!(error, None);
}
