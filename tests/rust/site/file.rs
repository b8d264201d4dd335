//! What is wrong with a site file is said in words that name the place, what was found and what
//! is allowed.

use crate::support::{assert_refused, demo, demo_readings, evaluate, line_of, plain_demo, with};
use flowdoubt::Error;
use flowdoubt::evaluate::Readings;
use flowdoubt::model::Quantity;
use flowdoubt::site::{Change, Site};
use proptest::prelude::*;

/// Asserts that `text` is refused with `code` at the line of the passage `place`, and that the
/// message has all `parts`.
#[track_caller]
pub fn refuses_text(text: &str, place: &str, code: &str, parts: &[&str]) {
    let line = line_of(text, place);
    let result = evaluate(text, &demo_readings());
    let error = assert_refused(result.map(|_| ()), code, parts);
    let start = format!("site.toml:{line}: ");
    assert!(
        error.to_string().starts_with(&start),
        "not {start} but {error}"
    );
}

/// The same for the demonstration site with `passage` replaced by `mistake`.
#[track_caller]
pub fn refuses(passage: &str, mistake: &str, place: &str, code: &str, parts: &[&str]) {
    refuses_text(&with(&plain_demo(), passage, mistake), place, code, parts);
}

#[test]
fn quantities_that_are_none() {
    let angle = |mistake: &str, code: &str, parts: &[&str]| {
        let parts = [&["path.wedge_angle"], parts].concat();
        refuses("\"39.6 deg\"", mistake, "wedge_angle", code, &parts);
    };
    let kind = ["`39.6 mm` is of kind length, not angle", "rad, deg"];
    angle("\"39.6 mm\"", "wrong-dimension", &kind);
    let unit = ["unknown unit `dag`", "rad, deg", "did you mean deg?"];
    angle("\"39.6 dag\"", "unknown-unit", &unit);
    angle("\"39.6\"", "not-a-quantity", &["`39.6`", "rad, deg"]);
    angle("\"flat\"", "not-a-quantity", &["`flat`", "rad, deg"]);
    angle("39.6", "wrong-type", &["`39.6`", "text in quotation marks"]);
    angle(
        "\"0 deg\"",
        "out-of-range",
        &["found 0 deg", "0.1 deg to 89 deg"],
    );
    angle(
        "\"-3 deg\"",
        "out-of-range",
        &["found -3 deg", "0.1 deg to 89 deg"],
    );
    let bare = [
        "path.wedge_sound_speed",
        "`2431`",
        "text with a unit",
        "table",
    ];
    let table = "{ value = \"2431 m/s\", half_width";
    refuses(table, "2431 # {", "wedge_sound_speed", "wrong-type", &bare);
}

#[test]
fn keys_that_do_not_exist() {
    for (passage, mistake, path, nearest) in [
        (
            "wedge_angle =",
            "wedge_angel =",
            "path.wedge_angel",
            "`wedge_angle`",
        ),
        (
            "value = \"39.6",
            "valeu = \"39.6",
            "path.wedge_angle.valeu",
            "`value`",
        ),
        (
            "instrument = { half_width = \"1.0",
            "instrument = { halfwidth = \"1.0",
            "pipe.outside_circumference.instrument.halfwidth",
            "`half_width`",
        ),
        (
            "[installation]",
            "[instalation]",
            "instalation",
            "`installation`",
        ),
        (
            "coefficient",
            "coeficient",
            "correlation.coeficient",
            "`coefficient`",
        ),
        ("note =", "nota =", "site.nota", "`note`"),
    ] {
        let suggestion = format!("{path}: unknown key, did you mean {nearest}?; allowed: ");
        refuses(passage, mistake, mistake, "unknown-key", &[&suggestion]);
    }
    let parts = ["pipe.colour: unknown key; allowed: material, wave, "];
    refuses(
        "[path]",
        "colour = \"blue\"\n[path]",
        "colour",
        "unknown-key",
        &parts,
    );
}

#[test]
fn keys_and_sections_that_are_missing() {
    let missing = |passage: &str, replacement: &str, place: &str, path: &str| {
        let part = format!("{path}: missing; needed: ");
        refuses(passage, replacement, place, "missing", &[&part]);
    };
    missing("traverses = 2", "", "[path]", "path.traverses");
    missing("wedge_angle =", "#", "[path]", "path.wedge_angle");
    missing(
        "wedge_sound_speed =",
        "#",
        "[path]",
        "path.wedge_sound_speed",
    );
    missing("kind =", "#", "[liquid]", "liquid.kind");
    missing(
        "absolute_pressure =",
        "#",
        "[liquid]",
        "liquid.absolute_pressure",
    );
    missing("wall =", "#", "[pipe]", "pipe.wall");
    missing("wall_sound_speed =", "#", "[pipe]", "pipe.wall_sound_speed");
    missing(
        "outside_circumference =",
        "#",
        "[pipe]",
        "pipe.outside_circumference",
    );
    missing("name =", "#", "[site]", "site.name");
    missing(
        "coefficient =",
        "#",
        "[[correlation]]",
        "correlation.coefficient",
    );
    let stated = "kind = \"stated\"\nsound_speed = \"1440 m/s\"";
    missing(
        "kind = \"water\"",
        stated,
        "[liquid]",
        "liquid.kinematic_viscosity",
    );
    let stated = "kind = \"stated\"\nkinematic_viscosity = \"1 cSt\"";
    missing("kind = \"water\"", stated, "[liquid]", "liquid.sound_speed");
    let text = demo("site.toml");
    let liquid = text.find("[liquid]").expect("liquid");
    refuses_text(
        &text[..liquid],
        "#",
        "missing",
        &["liquid: missing; needed: a section"],
    );
    refuses_text("\n\n", "", "missing", &["site: missing"]);
}

#[test]
fn choices_that_do_not_exist() {
    for (passage, mistake, parts) in [
        (
            "law = \"fitted\"",
            "law = \"fited\"",
            ["profile.law", "`fited`", "`fitted`", "logarithmic"],
        ),
        (
            "\"colebrook\"",
            "\"colbrook\"",
            ["profile.friction", "`colbrook`", "`colebrook`", "mckeon"],
        ),
        (
            "\"water\"",
            "\"watr\"",
            ["liquid.kind", "`watr`", "`water`", "stated"],
        ),
        (
            "\"timed\"",
            "\"timd\"",
            ["path.basis", "`timd`", "`timed`", "geometric, indicated"],
        ),
    ] {
        refuses(passage, mistake, mistake, "unknown-name", &parts);
    }
    let unit = ["site.flow_unit", "unknown unit `m3/d`", "m3/s, m3/h"];
    refuses("\"m3/h\"", "\"m3/d\"", "flow_unit", "unknown-unit", &unit);
    let kind = [
        "site.flow_unit",
        "`m/s` is of kind velocity, not volume flow",
    ];
    refuses("\"m3/h\"", "\"m/s\"", "flow_unit", "wrong-dimension", &kind);
}

#[test]
fn numbers_out_of_range() {
    for p in ["1.2", "0", "1", "-0.95", "nan"] {
        let mistake = format!("coverage_probability = {p}");
        let parts = [
            "site.coverage_probability: found ",
            "strictly between 0 and 1",
        ];
        refuses(
            "coverage_probability = 0.95",
            &mistake,
            &mistake,
            "out-of-range",
            &parts,
        );
    }
    let traverses = |number: &str, code: &str, parts: &[&str]| {
        let mistake = format!("traverses = {number}");
        refuses("traverses = 2", &mistake, &mistake, code, parts);
    };
    traverses(
        "0",
        "out-of-range",
        &["path.traverses: found 0; allowed: 1 to 8"],
    );
    traverses(
        "9",
        "out-of-range",
        &["path.traverses: found 9; allowed: 1 to 8"],
    );
    traverses(
        "-2",
        "wrong-type",
        &["path.traverses: found integer `-2`", "whole number"],
    );
    traverses(
        "2.5",
        "wrong-type",
        &["path.traverses: found floating point `2.5`"],
    );
    traverses(
        "\"two\"",
        "wrong-type",
        &["path.traverses: found string \"two\""],
    );
    let kappa = |law: &str, kappa: &str, code: &str, parts: &[&str]| {
        let mistake = format!("law = \"{law}\"\nkappa = {kappa}");
        refuses("law = \"fitted\"", &mistake, "kappa", code, parts);
    };
    kappa(
        "logarithmic",
        "0.5",
        "out-of-range",
        &["profile.kappa: found 0.5", "0.35 to 0.45"],
    );
    kappa(
        "wake",
        "0.4",
        "conflict",
        &["profile.kappa", "with wake", "\"logarithmic\" only"],
    );
    refuses(
        "law = \"fitted\"",
        "law = \"power\"\nn = 3",
        "n = 3",
        "out-of-range",
        &["profile.n: found 3", "4 to 15"],
    );
    refuses(
        "law = \"fitted\"",
        "law = \"wake_cantwell\"\nn = 7",
        "n = 7",
        "conflict",
        &["profile.n", "Cantwell", "\"power\" only"],
    );
    refuses(
        "friction = \"colebrook\"",
        "friction = \"mckeon\"",
        "friction",
        "conflict",
        &["profile.friction", "smooth pipes", "no pipe.roughness"],
    );
    let both = "outside_diameter = \"406.4 mm\"\nwall =";
    let parts = [
        "outside_diameter beside outside_circumference",
        "one of the two",
    ];
    refuses("wall =", both, "outside_diameter", "conflict", &parts);
}

#[test]
fn syntax_of_toml() {
    refuses(
        "[path]",
        "[path",
        "[path",
        "syntax",
        &["not a valid site file"],
    );
    refuses(
        "traverses = 2",
        "traverses 2",
        "traverses 2",
        "syntax",
        &["not a valid site file"],
    );
    let twice = "traverses = 2\ntraverses = 3";
    refuses(
        "traverses = 2",
        twice,
        "traverses = 3",
        "syntax",
        &["duplicate key"],
    );
    refuses(
        "\"39.6 deg\"",
        "\"39.6 deg",
        "39.6 deg",
        "syntax",
        &["not a valid site file"],
    );
}

#[test]
fn lines_are_counted_behind_any_text() {
    let before = "# Göteborg\r\n# 100 µm, 3 °C\r\n\r\n";
    let text = before.to_owned() + &demo("site.toml").replace('\n', "\r\n");
    let parts = ["path.traverses: found 0"];
    refuses_text(
        &with(&text, "traverses = 2", "traverses = 0"),
        "traverses",
        "out-of-range",
        &parts,
    );
    // a quantity as a section of its own is placed at the line of its header
    let section = "[path.wedge_angle]\nvalue = \"39.6 mm\"\n\n[meter]";
    let text = with(&demo("site.toml"), "wedge_angle =", "#");
    let text = with(&text, "[meter]", section);
    refuses_text(
        &text,
        "[path.wedge_angle]",
        "wrong-dimension",
        &["path.wedge_angle"],
    );
}

#[test]
fn a_file_that_is_not_there() {
    let parts = ["cannot read nowhere/site.toml"];
    assert_refused(Site::load("nowhere/site.toml"), "file", &parts);
}

#[test]
fn parts_of_an_error_can_be_shown_apart() {
    let text = with(&demo("site.toml"), "\"39.6 deg\"", "\"39.6 mm\"");
    let error = Site::from_toml(&text, "site.toml").expect_err("a length is no angle");
    let context = error.context();
    assert_eq!(context.field.as_deref(), Some("path.wedge_angle"));
    assert_eq!(context.found.as_deref(), Some("39.6 mm"));
    assert_eq!(context.allowed.as_deref(), Some("rad, deg"));
}

#[test]
fn a_site_file_read_and_written_again_says_the_same() {
    let text = demo("site.toml");
    // a change that changes nothing is written all the same
    let change = Change {
        traverses: Some(2),
        ..Change::default()
    };
    let site = Site::from_toml(&text, "site.toml").expect("a site");
    let written = site.with(&change).expect("the same site").text().to_owned();
    assert_ne!(written, text);
    let readings = demo_readings();
    let (once, twice) = (evaluate(&text, &readings), evaluate(&written, &readings));
    let (once, twice) = (once.expect("once"), twice.expect("twice"));
    assert_eq!(once.budget, twice.budget);
}

/// One change of the kind that slips into a file while it is edited.
fn change(text: &str, kind: u8, place: usize, with: char) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let (line, other) = (place % lines.len(), place / 7 % lines.len());
    match kind {
        0 => drop(lines.remove(line)),
        1 => lines.insert(other, lines[line].clone()),
        2 => lines[line] = lines[other].clone(),
        _ => {
            let mut bytes: Vec<char> = text.chars().collect();
            let at = place % bytes.len();
            match kind {
                3 => drop(bytes.remove(at)),
                4 => bytes.insert(at, with),
                _ => bytes[at] = with,
            }
            return bytes.into_iter().collect();
        }
    }
    lines.join("\n")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]
    #[test]
    fn any_slip_is_read_or_refused_at_a_line_of_the_file(
        slips in prop::collection::vec((0..6_u8, any::<usize>(), prop::char::range(' ', '~')), 1..4),
    ) {
        let slip = |text: String, (kind, place, with): (u8, usize, char)| {
            change(&text, kind, place, with)
        };
        let text = slips.into_iter().fold(demo("site.toml"), slip);
        match Site::from_toml(&text, "site.toml") {
            Ok(site) => {
                // may be refused, must not panic
                let evaluated = site.evaluate(&demo_readings());
                prop_assert!(evaluated.map_or(true, |e| e.estimate().is_finite()));
            }
            Err(Error::InFile { line, source, .. }) => {
                prop_assert!((1..=text.lines().count() + 1).contains(&line), "{source}");
            }
            Err(error) => prop_assert!(false, "no line in: {error}"),
        }
    }

    #[test]
    fn any_text_is_read_or_refused_without_panic(text in "\\PC*") {
        let _ = Site::from_toml(&text, "site.toml");
    }
}

/// A key that is off in the starter file.
fn is_off(line: &str) -> bool {
    line.strip_prefix('#')
        .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_lowercase() || c == '['))
}

#[test]
fn the_starter_file_is_a_site_and_all_its_keys_are_known() {
    let starter = Site::starter();
    let site = Site::from_toml(&starter, "starter.toml").expect("a site");
    let readings = [
        ("transit_time_us", &[261.0, 261.1][..]),
        ("time_difference_ns", &[150.0, 151.0][..]),
        ("temperature_degC", &[18.0, 18.1][..]),
    ];
    let readings = Readings::from_columns(readings).expect("readings");
    let evaluation = site.evaluate(&readings).expect("an evaluation");
    let relative = evaluation.standard_uncertainty() / evaluation.estimate();
    assert!((0.005..0.05).contains(&relative), "{relative}");

    let lines: Vec<&str> = starter.lines().collect();
    let (mut place, mut keys) = (0, 0);
    while place < lines.len() {
        let line = lines[place];
        let off = lines[place..].iter().take_while(|line| is_off(line));
        // a table goes on with all its keys
        let whole = match line.starts_with("#[") {
            true => off.count(),
            false => off.take(1).count(),
        };
        if whole > 0 {
            let mut on = lines.clone();
            on[place..place + whole]
                .iter_mut()
                .for_each(|line| *line = &line[1..]);
            if let Err(error) = Site::from_toml(&on.join("\n"), "starter.toml") {
                // beside what is stated already, or without a partner
                let code = error.code();
                assert!(matches!(code, "conflict" | "missing"), "{line}: {error}");
            }
            keys += whole;
        }
        place += whole.max(1);
    }
    assert!(keys > 30);
    // what the table of quantities has is there, in its section, on or off
    let mut section = "";
    let mut known = Vec::new();
    for line in lines {
        let line = line.trim_start_matches('#');
        if let Some(head) = line.strip_prefix('[').and_then(|l| l.strip_suffix(']')) {
            section = head;
        } else if let Some((key, _)) = line.split_once(" = ") {
            known.push(format!("{section}.{key}"));
        }
    }
    for q in Quantity::ALL {
        let path = q.path().into_owned();
        let derived = ["meter.geometric_share", "in_situ_calibration.factor"];
        let elsewhere = path.starts_with("readings.") || derived.contains(&path.as_str());
        assert!(elsewhere || known.contains(&path), "{path}");
    }
}
