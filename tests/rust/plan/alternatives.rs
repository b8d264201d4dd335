//! Alternatives of a site: the same file with some choices changed.

use super::{at, demo_plan, demo_site};
use crate::site::site;
use crate::support::{assert_refused, assert_relative, demo_readings, plain_demo, with};
use flowdoubt::model::Basis;
use flowdoubt::plan::PlanRequest;
use flowdoubt::site::{Change, Site};
use serde_json::Value;

const FITTING: &str = "fitting = \"single_bend\"\nstraight_run = { value = \"8 D\", \
                       standard_uncertainty = \"0.2 D\" }\norientation = \"90 deg\"";

fn traverses(n: u32) -> Change {
    Change {
        traverses: Some(n),
        ..Change::default()
    }
}

fn basis(basis: Basis) -> Change {
    Change {
        basis: Some(basis),
        ..Change::default()
    }
}

fn parsed(text: &str) -> Site {
    Site::from_toml(text, "site.toml").unwrap_or_else(|e| panic!("{e}\n{text}"))
}

/// The alternative must be the site of a file that was edited by hand, to the last bit, and so must
/// be the site of its own text.
#[track_caller]
fn is_as_edited(stated: &str, change: &Change, edited: &str) {
    let alternative = parsed(stated).with(change).expect("an alternative");
    let readings = demo_readings();
    let result = |site: &Site| {
        let evaluation = site.evaluate(&readings).unwrap_or_else(|e| panic!("{e}"));
        evaluation.to_json(None).expect("JSON")
    };
    let by_hand = result(&parsed(edited));
    assert_eq!(result(&alternative), by_hand, "{change}");
    assert_eq!(result(&parsed(alternative.text())), by_hand, "{change}");
}

#[test]
fn an_alternative_is_the_file_edited_by_hand() {
    let text = with(
        &plain_demo(),
        "factor = { value = \"1.000\", half_width = \"1.4 %\", shape = \"triangular\", evidence = \
         \"14 diameters downstream of one bend, judgement\" }",
        FITTING,
    );
    is_as_edited(&text, &Change::default(), &text);
    let edited = with(&text, "traverses = 2", "traverses = 1");
    is_as_edited(&text, &traverses(1), &edited);
    let edited = with(&text, "\"timed\"", "\"geometric\"");
    is_as_edited(&text, &basis(Basis::Geometric), &edited);
    let farther = Change {
        straight_run: Some("20 D".to_owned()),
        orientation: Some("0 deg".to_owned()),
        planes: Some(2),
        ..Change::default()
    };
    let edited = with(
        &with(&text, "8 D", "20 D"),
        "\"90 deg\"",
        "\"0 deg\"\nplanes = 2",
    );
    is_as_edited(&text, &farther, &edited);
}

#[test]
fn labels_say_what_was_changed() {
    assert_eq!(Change::default().to_string(), "as stated");
    assert_eq!(traverses(1).to_string(), "1 traverse (direct)");
    let change = Change {
        straight_run: Some("8 D".to_owned()),
        ..traverses(2)
    };
    assert_eq!(
        change.to_string(),
        "2 traverses (reflected), straight run 8 D"
    );
}

#[test]
fn a_stated_spacing_goes_with_its_traverses() {
    let placed = site(&[("path", "spacing = \"180 mm\"")]);
    let other = parsed(&placed).with(&traverses(4)).expect("an alternative");
    assert!(!other.text().contains("spacing"), "{}", other.text());
    let same = parsed(&placed).with(&traverses(2)).expect("an alternative");
    assert!(same.text().contains("spacing"));
    let decides = site(&[("path", "spacing = \"180 mm\"\nangle_from = \"spacing\"")]);
    let refused = parsed(&decides).with(&traverses(4));
    assert_refused(refused, "conflict", &["path.traverses", "angle_from"]);
}

#[test]
fn what_the_file_cannot_serve_is_refused() {
    let no_fitting = |change: Change| parsed(&site(&[])).with(&change);
    for change in [
        Change {
            straight_run: Some("8 D".to_owned()),
            ..Change::default()
        },
        Change {
            orientation: Some("0 deg".to_owned()),
            ..Change::default()
        },
        Change {
            planes: Some(2),
            ..Change::default()
        },
    ] {
        assert_refused(no_fitting(change), "missing", &["installation.fitting"]);
    }
    let no_delay = with(
        &with(&site(&[]), "timed", "geometric"),
        "wedge_delay = \"16 us\"\n",
        "",
    );
    let refused = parsed(&no_delay).with(&basis(Basis::Timed));
    assert_refused(refused, "missing", &["meter.wedge_delay"]);
    let refused = parsed(&site(&[])).with(&basis(Basis::Indicated));
    assert_refused(refused, "conflict", &["path.basis"]);
    assert_refused(
        no_fitting(traverses(0)),
        "out-of-range",
        &["path.traverses"],
    );
}

#[test]
fn an_alternative_that_the_file_cannot_serve_is_points_that_say_why() {
    let text = with(
        &with(&site(&[]), "timed", "geometric"),
        "wedge_delay = \"16 us\"\n",
        "",
    );
    let request = PlanRequest {
        flows: vec![0.01, 0.02],
        alternatives: vec![basis(Basis::Timed), basis(Basis::Geometric)],
        ..PlanRequest::default()
    };
    let plan = parsed(&text).plan(&request).expect("a plan");
    assert_eq!(plan.points.len(), 4);
    for point in &plan.points[..2] {
        let why = point.expected.as_ref().expect_err("no delay").to_string();
        assert!(why.contains("meter.wedge_delay"), "{why}");
    }
    assert!(plan.points[2..].iter().all(|point| point.expected.is_ok()));
    // but a slip is a slip
    let slip = PlanRequest {
        alternatives: vec![traverses(0)],
        ..request
    };
    assert_refused(
        parsed(&text).plan(&slip),
        "out-of-range",
        &["path.traverses"],
    );
}

/// The time difference of a direct path is half that of two traverses, so uncertainty of the zero weighs
/// twice as much.
#[test]
fn the_uncertainty_of_the_zero_halves_with_twice_the_traverses() {
    let plan = demo_plan(PlanRequest {
        flows: vec![0.1],
        alternatives: [1, 2, 4].map(traverses).to_vec(),
        ..PlanRequest::default()
    });
    let zero = |i: usize| {
        let budget = plan.points[i].expected.as_ref().expect("a result").budget();
        let line = budget.lines.iter();
        let mut line = line.filter(|l| l.input.name() == "meter.zero_time_difference");
        line.next().expect("a line").contribution
    };
    assert_relative(zero(0), 2.0 * zero(1), 1e-6, "1 and 2");
    assert_relative(zero(1), 2.0 * zero(2), 1e-6, "2 and 4");
}

#[test]
fn points_come_in_the_order_asked_for_whatever_the_threads() {
    let request = PlanRequest {
        flows: vec![0.3, 0.1],
        temperatures: vec![285.0, 280.0],
        alternatives: vec![traverses(2), traverses(1)],
        ..PlanRequest::default()
    };
    let plan = demo_site().plan(&request).expect("a plan");
    let order: Vec<_> = plan
        .points
        .iter()
        .map(|p| {
            (
                p.alternative,
                p.conditions.temperature,
                p.conditions.volume_flow,
            )
        })
        .collect();
    let mut by_hand = Vec::new();
    for alternative in [0, 1] {
        for t in [285.0, 280.0] {
            for q in [0.3, 0.1] {
                by_hand.push((alternative, Some(t), q));
            }
        }
    }
    assert_eq!(order, by_hand);
    let alone = demo_site().with(&traverses(1)).expect("an alternative");
    let alone = alone
        .expected(&at(0.1, 280.0), &request.repeatability)
        .expect("a result");
    let last = plan.points[7].expected.as_ref().expect("a result");
    assert_eq!(last.budget(), alone.budget());
}

#[test]
fn requests_that_make_no_plan_are_refused() {
    let plan = |flows: Vec<f64>, temperatures: Vec<f64>| {
        demo_site().plan(&PlanRequest {
            flows,
            temperatures,
            ..PlanRequest::default()
        })
    };
    assert_refused(plan(vec![], vec![281.0]), "missing", &["flows"]);
    assert_refused(
        plan(vec![0.1, 0.0], vec![281.0]),
        "out-of-range",
        &["flows[1]"],
    );
    assert_refused(
        plan(vec![0.1], vec![281.0, -1.0]),
        "out-of-range",
        &["temperatures[1]"],
    );
    assert_refused(plan(vec![0.1], vec![]), "missing", &["temperatures"]);
    assert_refused(
        plan(vec![0.1; 20_001], vec![281.0]),
        "length",
        &["20000 at most"],
    );
}

#[test]
fn rows_have_the_same_columns_and_shares_add_up() {
    let plan = demo_plan(PlanRequest {
        flows: vec![0.3, 200.0],
        ..PlanRequest::default()
    });
    let json = plan.to_json(None).expect("JSON");
    let json: Value = serde_json::from_str(&json).expect("JSON");
    let points = json["points"].as_array().expect("points");
    let columns =
        |i: usize| -> Vec<&String> { points[i].as_object().expect("a row").keys().collect() };
    assert_eq!(columns(0), columns(1));
    let shares = points[0].as_object().expect("a row").iter();
    let shares = shares.filter(|(name, _)| name.starts_with("share_"));
    let sum: f64 = shares.filter_map(|(_, share)| share.as_f64()).sum();
    assert!((sum - 1.0).abs() < 1e-12, "{sum}");
    let squares = points[0].as_object().expect("a row").iter();
    let squares =
        squares.filter(|(name, _)| name.starts_with("standard_uncertainty_") && name.len() > 26);
    let sum: f64 = squares.filter_map(|(_, u)| u.as_f64()).map(|u| u * u).sum();
    let u = points[0]["standard_uncertainty_m3_s"]
        .as_f64()
        .expect("a number");
    assert_relative(sum, u * u, 1e-12, "components in quadrature");
    assert_eq!(points[1]["feasible"], false);
    assert!(
        points[1]["reason"]
            .as_str()
            .expect("words")
            .contains("Reynolds number")
    );
    assert!(points[1]["velocity_m_s"].is_null());
}
