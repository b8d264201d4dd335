//! Sites from values in memory, back to text, and changed field by field.

use super::{BASE, readings, site};
use crate::support::{assert_refused, demo, demo_readings, with};
use flowdoubt::Error;
use flowdoubt::evaluate::Readings;
use flowdoubt::model::Quantity;
use flowdoubt::site::Site;
use proptest::prelude::*;
use toml::{Table, Value};

fn sections(text: &str) -> Table {
    text.parse().expect("TOML")
}

/// What two sites give, bit by bit.
fn bits(site: &Site, readings: &Readings) -> Result<Vec<u64>, String> {
    let evaluation = site.evaluate(readings).map_err(|e| inner(e).to_string())?;
    let inputs = evaluation.inputs.inputs().iter();
    let stated = inputs.flat_map(|i| [i.estimate(), i.standard_uncertainty(), i.dof()]);
    let result = [evaluation.estimate(), evaluation.standard_uncertainty()];
    Ok(result.into_iter().chain(stated).map(f64::to_bits).collect())
}

fn inner(error: Error) -> Error {
    match error {
        Error::InFile { source, .. } => *source,
        other => other,
    }
}

/// A text, the site of its sections and that of its text with comments: the same, or the same error.
fn assert_round_trip(text: &str, readings: &Readings) {
    let stated = Site::from_toml(text, "a.toml").map_err(inner);
    let made = Site::from_sections(&sections(text));
    match (stated, made) {
        (Ok(stated), Ok(made)) => {
            let expected = bits(&stated, readings);
            assert_eq!(bits(&made, readings), expected, "{text}");
            let commented = made.to_toml();
            assert!(commented.contains("\n# "), "{commented}");
            assert_eq!(sections(&commented), sections(made.text()), "{commented}");
            let again = Site::from_toml(&commented, "b.toml").expect("the same site");
            assert_eq!(bits(&again, readings), expected, "{commented}");
            assert_eq!(again.stated_lines(), stated.stated_lines());
        }
        (Err(stated), Err(made)) => {
            assert_eq!(made.to_string(), stated.to_string(), "{text}");
        }
        (stated, made) => panic!("{:?} {:?}\n{text}", stated.err(), made.err()),
    }
}

#[test]
fn the_demonstration_is_the_same_from_its_sections() {
    assert_round_trip(&demo("site.toml"), &demo_readings());
    assert_round_trip(
        &with(&demo("site.toml"), "traverses = 2", "traverses = 9"),
        &demo_readings(),
    );
    for file in ["hot_steel_main", "small_plastic_pipe"] {
        let path = format!("notebooks/demo/box/{file}.toml");
        let site = Site::load(path).expect("a site");
        // what it uses of a file of instruments stands in its text
        assert_round_trip(site.text(), &readings());
    }
}

#[test]
fn the_file_to_begin_with_keeps_its_values_and_comments() {
    let made = Site::from_sections(&sections(&Site::starter())).expect("a site");
    let text = made.to_toml();
    for words in [
        "# Wall thickness of the pipe; usually 0.5 mm to 100 mm\nwall = { readings = [\"7.1 mm\"",
        "# crossings of the liquid: odd on a direct path, even on a reflected one\ntraverses = 2",
        "# Absolute pressure of the liquid; usually 0.01 bar to 100 bar\n",
        "# codes, the permit of the site and licensed practice.\n",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
}

#[test]
fn the_text_of_an_alternative_gets_comments_and_one_that_has_some_keeps_them() {
    let site = Site::load("notebooks/demo/site.toml").expect("a site");
    assert_eq!(site.to_toml(), demo("site.toml"));
    let change = flowdoubt::site::Change {
        traverses: Some(1),
        ..Default::default()
    };
    let direct = site.with(&change).expect("an alternative");
    assert!(!direct.text().contains('#'));
    assert!(direct.to_toml().contains("reflected one\ntraverses = 1\n"));
    assert_round_trip(direct.text(), &demo_readings());
}

#[test]
fn what_is_wrong_is_named_by_its_path_without_lines() {
    for (key, value, code, parts) in [
        (
            "wall",
            Value::Float(7.1),
            "not-a-quantity",
            ["pipe.wall", "`7.1`", "length (m, cm, mm"],
        ),
        (
            "wal",
            "7 mm".into(),
            "unknown-key",
            ["pipe.wal", "wall", ""],
        ),
        (
            "wall",
            "9 m".into(),
            "out-of-range",
            ["pipe.wall", "9", "0.5 m"],
        ),
        (
            "size",
            150.into(),
            "wrong-type",
            ["pipe.size", "150", "\"DN 150\""],
        ),
        (
            "material",
            Value::Array(vec![]),
            "wrong-type",
            ["pipe.material", "\"carbon steel\"", ""],
        ),
    ] {
        let mut sections = sections(BASE);
        let pipe = sections["pipe"].as_table_mut().expect("a section");
        pipe.insert(key.to_owned(), value);
        let error = assert_refused(Site::from_sections(&sections), code, &parts);
        assert!(!error.to_string().contains('<'), "{error}");
    }
    let error = assert_refused(Site::from_sections(&3), "syntax", &["3", "sections"]);
    assert!(error.to_string().contains("pipe"));
}

#[test]
fn a_ratio_may_be_a_number() {
    let mut made = sections(BASE);
    let factor: Table = "value = 1.002\nhalf_width = 0.01\nshape = \"rectangular\""
        .parse()
        .expect("TOML");
    made["meter"]
        .as_table_mut()
        .expect("a section")
        .insert("calibration_factor".into(), factor.into());
    let made = Site::from_sections(&made).expect("a site");
    let line = "calibration_factor = { value = \"1.002\", half_width = \"0.01\", shape = \"rectangular\" }";
    let stated = Site::from_toml(&site(&[("meter", line)]), "a.toml").expect("a site");
    assert_eq!(bits(&made, &readings()), bits(&stated, &readings()));
}

/// A number of a unit, with an uncertainty in one of five ways.
fn statement(number: f64, unit: &str, way: usize, relative: f64, words: &str) -> String {
    let evidence = Value::String(words.to_owned());
    let u = relative * number.abs();
    let value = format!("\"{number} {unit}\"");
    let rest = match way {
        0 => return value,
        1 => format!("standard_uncertainty = \"{u} {unit}\", dof = 9, evidence = {evidence}"),
        2 => format!("half_width = \"{u} {unit}\", shape = \"rectangular\""),
        3 => "expanded_uncertainty = \"1.5 %\", coverage_factor = 2".to_owned(),
        _ => {
            let other = number + u;
            return format!(
                "{{ instrument = {{ half_width = \"{u} {unit}\", shape = \"triangular\" }}, readings = \
                 [{value}, \"{other} {unit}\"] }}"
            );
        }
    };
    format!("{{ {rest}, value = {value} }}")
}

/// A quantity, and a statement of it.
fn stated_quantity() -> impl Strategy<Value = (Quantity, String)> {
    let place = 0..Quantity::ALL.len();
    (
        place,
        0.0..1.0_f64,
        0_usize..5,
        1e-4..0.05_f64,
        "[ -~]{0,12}",
    )
        .prop_map(|(place, share, way, relative, words)| {
            let q = Quantity::ALL[place];
            // about a default or a number that most quantities can have
            let default = q.default_value();
            let number = match default.is_finite() {
                true => default + 1e-3 * share,
                false => 0.005 + share,
            };
            let unit = q.dimension().si_unit().symbol;
            let unit = if unit == "1" { "" } else { &unit };
            (q, statement(number, unit, way, relative, &words))
        })
}

proptest! {
    #[test]
    fn whatever_is_stated_of_any_quantity_comes_back(stated in prop::collection::vec(stated_quantity(), 1..4)) {
        let mut text = BASE.to_owned();
        for (q, statement) in &stated {
            let path = q.path();
            let Some((section, key)) = path.split_once('.') else { continue };
            let mut sections = sections(&text);
            let table = sections.entry(section).or_insert_with(|| Value::Table(Table::new()));
            let read: Table = format!("x = {statement}").parse().expect("TOML");
            table.as_table_mut().expect("a section").insert(key.to_owned(), read["x"].clone());
            text = sections.to_string();
        }
        assert_round_trip(&text, &readings());
    }

    #[test]
    fn no_text_at_a_path_leaves_a_file_that_is_none(key in "[a-z_.\\[\\]0-9]{0,20}", text in "\\PC{0,12}") {
        let site = Site::load("notebooks/demo/site.toml").expect("a site");
        for path in [key.clone(), format!("pipe.{key}"), format!("pipe.wall.{key}"), format!("pipe.layer[{key}].thickness")] {
            if let Ok(other) = site.with_texts(&[(&path, &text)]) {
                prop_assert!(Site::from_toml(&other.to_toml(), "b.toml").is_ok());
            }
        }
    }
}

#[test]
fn a_field_changes_its_text_and_nothing_else() {
    let site = Site::load("notebooks/demo/site.toml").expect("a site");
    let text = demo("site.toml");
    for (path, to, before, after) in [
        (
            "path.wedge_angle.value",
            "40 deg",
            "\"39.6 deg\"",
            "\"40 deg\"",
        ),
        (
            "path.wedge_angle.half_width",
            "0.5 deg",
            "half_width = \"0.30 deg\", shape = \"triangular\"",
            "half_width = \"0.5 deg\", shape = \"triangular\"",
        ),
        ("path.traverses", "4", "traverses = 2", "traverses = 4"),
        (
            "pipe.layer[2].thickness.value",
            "0.1 mm",
            "value = \"0.12 mm\"",
            "value = \"0.1 mm\"",
        ),
        (
            "installation.fitting",
            "two_bends_in_plane",
            "single_bend",
            "two_bends_in_plane",
        ),
        (
            "pipe.wall.instrument.half_width",
            "0.1 mm",
            "half_width = \"0.06 mm\"",
            "half_width = \"0.1 mm\"",
        ),
    ] {
        let changed = site
            .with_texts(&[(path, to)])
            .unwrap_or_else(|e| panic!("{path}: {e}"));
        assert_eq!(changed.text(), with(&text, before, after), "{path}");
    }
    let whole = site.with_texts(&[("pipe.wall", "7 mm")]).expect("a site");
    assert!(whole.text().contains("\nwall = \"7 mm\"\n"));
    assert_refused(
        site.with_texts(&[("pipe", "7 mm")]),
        "unknown-key",
        &["pipe"],
    );
    assert_refused(
        site.with_texts(&[("path.wedge_angle.value", "x")]),
        "not-a-quantity",
        &["path.wedge_angle"],
    );
}

#[test]
fn an_exact_statement_gets_an_uncertainty_and_loses_it_again() {
    let site = Site::from_toml(BASE, "a.toml").expect("a site");
    let path = "pipe.wall.standard_uncertainty";
    let uncertain = site.with_texts(&[(path, "0.05 mm")]).expect("a site");
    let line = "wall = { value = \"7.11 mm\", standard_uncertainty = \"0.05 mm\" }\n";
    assert!(uncertain.text().contains(line), "{}", uncertain.text());
    let exact = uncertain.with_texts(&[(path, "")]).expect("a site");
    assert_eq!(bits(&exact, &readings()), bits(&site, &readings()));
    // the readings of a wall, and a liner that was not there
    let read = uncertain
        .with_texts(&[("pipe.wall", "")])
        .expect_err("no wall");
    assert!(read.to_string().contains("pipe.wall: missing"), "{read}");
    let fields = uncertain.fields().expect("fields");
    assert!(fields.iter().any(|field| field.path == "pipe.wall"));
}

#[test]
fn every_text_of_a_slider_makes_a_site() {
    let site = Site::load("notebooks/demo/site.toml").expect("a site");
    let fields = site.fields().expect("fields");
    let paths: Vec<&str> = fields.iter().map(|field| field.path.as_str()).collect();
    for path in [
        "liquid.thermometer",
        "pipe.layer[2].sound_speed",
        "installation.straight_run",
    ] {
        assert!(paths.contains(&path), "{paths:?}");
    }
    let mut tried = 0;
    for part in fields.iter().flat_map(|field| &field.parts) {
        assert!(
            part.rungs.is_empty() || part.rungs.contains(&part.text),
            "{part:?}"
        );
        for text in part.rungs.iter().chain(std::iter::once(&part.text)) {
            let changed = site.with_texts(&[(&part.path, text)]);
            let known = changed.as_ref().err().map(Error::code);
            // a geometry that cannot be, such as an angle of total reflection, comes with readings
            assert_eq!(known, None, "{} = {text}: {:?}", part.path, changed.err());
            tried += 1;
        }
    }
    assert!(tried > 300, "{tried}");
}
