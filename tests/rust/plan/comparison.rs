//! Alternatives side by side: ranks, effort, room along the pipe, and each warning once.

use super::{at, demo_plan, demo_site};
use crate::site::site;
use crate::support::{assert_refused, assert_relative, with};
use flowdoubt::plan::{
    Candidate, Cell, Comparison, ComparisonRequest, Effort, Fit, Placed, Plan, PlanRequest,
    Repeatability, Room, Row, Wanted,
};
use flowdoubt::site::{Change, Site};
use flowdoubt::units::Unit;
use serde_json::Value;

const FITTING: &str =
    "fitting = \"single_bend\"\nstraight_run = \"20 D\"\norientation = \"90 deg\"";

fn traverses(n: u32) -> Change {
    Change {
        traverses: Some(n),
        ..Change::default()
    }
}

fn parsed(text: &str) -> Site {
    Site::from_toml(text, "site.toml").unwrap_or_else(|e| panic!("{e}\n{text}"))
}

/// A pipe of DN 150 with sensors of 60 mm, over four flows.
fn compared(changes: &[Change], by: ComparisonRequest) -> Plan {
    let text = site(&[
        ("path", "sensor_length = \"60 mm\""),
        ("installation", FITTING),
    ]);
    let request = PlanRequest {
        flows: vec![0.002, 0.01, 0.03, 0.05],
        alternatives: changes.to_vec(),
        comparison: by,
        ..PlanRequest::default()
    };
    parsed(&text)
        .plan(&request)
        .unwrap_or_else(|e| panic!("{e}"))
}

fn room(free_length: Option<f64>, rail: Option<[f64; 2]>) -> ComparisonRequest {
    ComparisonRequest {
        room: Room { free_length, rail },
        ..ComparisonRequest::default()
    }
}

fn cell<'a>(row: &'a Row, name: &str) -> &'a Cell {
    let found = row.iter().find(|(own, _)| own == name);
    &found.unwrap_or_else(|| panic!("no column {name}")).1
}

#[track_caller]
fn number(row: &Row, name: &str) -> f64 {
    match cell(row, name) {
        Cell::Number(number) => *number,
        other => panic!("{name}: {other:?}"),
    }
}

#[test]
fn the_numbers_are_those_of_the_points() {
    let plan = compared(&[1, 2, 4].map(traverses), ComparisonRequest::default());
    let points = plan.rows().expect("rows");
    let comparison = plan.comparison().expect("a comparison");
    for (i, one) in comparison.alternatives.iter().enumerate() {
        let own = points.chunks(4).nth(i).expect("points");
        let mut relative: Vec<f64> = own
            .iter()
            .map(|point| number(point, "relative_expanded_uncertainty"))
            .collect();
        let largest = one.largest.expect("a result");
        assert_eq!(largest.relative, relative[largest.at]);
        relative.sort_by(f64::total_cmp);
        assert_eq!(largest.relative, relative[3]);
        assert_eq!(one.typical, Some(0.5 * (relative[1] + relative[2])));
        assert_eq!(one.measurable, 4);
        let spacing = number(&own[0], "spacing_m");
        assert_eq!(one.placed.expect("a place").spacing, [spacing; 2]);
    }
    // rows come by rank
    let rows = comparison.rows();
    let by_rank: Vec<f64> = rows
        .iter()
        .map(|row| number(row, "relative_expanded_uncertainty_largest"))
        .collect();
    assert!(by_rank.is_sorted(), "{by_rank:?}");
    assert!(rows.iter().all(|row| row.len() == rows[0].len()));
    assert_eq!(cell(&rows[0], "rank_by_uncertainty"), &Cell::Whole(1));
}

/// An odd number of conditions has a point in the middle, an even number two.
#[test]
fn typical_is_the_median() {
    for flows in [vec![0.1], vec![0.05, 0.1, 0.3], vec![0.05, 0.1]] {
        let plan = demo_plan(PlanRequest {
            flows: flows.clone(),
            ..PlanRequest::default()
        });
        let rows = plan.rows().expect("rows");
        let mut own: Vec<f64> = rows
            .iter()
            .map(|row| number(row, "relative_expanded_uncertainty"))
            .collect();
        own.sort_by(f64::total_cmp);
        let n = own.len();
        let expected = 0.5 * (own[(n - 1) / 2] + own[n / 2]);
        let found = plan.comparison().expect("a comparison").alternatives[0].typical;
        assert_eq!(found, Some(expected), "{flows:?}");
    }
}

#[test]
fn what_does_not_fit_comes_last_and_says_why() {
    let changes = [1, 2, 4].map(traverses);
    let free = compared(&changes, ComparisonRequest::default());
    let free = free.comparison().expect("a comparison");
    let spacing = |i: usize| free.alternatives[i].placed.expect("a place").spacing[1];
    // four traverses are best where there is room for them
    assert_eq!(free.alternatives[2].rank_by_uncertainty, 1);
    assert_eq!(free.alternatives[0].rank_by_spacing, 1);
    assert!(free.alternatives.iter().all(|one| one.fit == Fit::NotAsked));

    let length = spacing(2) + 0.06;
    let just = compared(&changes, room(Some(length), None));
    let just = just.comparison().expect("a comparison");
    assert_eq!(just.alternatives[2].fit.fits(), Some(true));
    assert!(just.alternatives[2].fit.spare().expect("a length") < 1e-9);
    assert_relative(
        just.alternatives[1].fit.spare().expect("a length"),
        spacing(2) - spacing(1),
        1e-9,
        "what is left",
    );

    let short = compared(&changes, room(Some(length - 1e-3), None));
    let short = short.comparison().expect("a comparison");
    let last = &short.alternatives[2];
    assert_eq!(last.fit.fits(), Some(false));
    let ranks = [
        last.rank_by_uncertainty,
        last.rank_by_effort,
        last.rank_by_spacing,
    ];
    assert_eq!(ranks, [3, 3, 3]);
    assert_eq!(short.ranked().last(), Some(&2));
    let reason = last.fit.reason();
    let [needed, free] = [length, length - 1e-3].map(|m| format!("{:.0} mm", 1e3 * m));
    assert!(
        reason.contains(&needed) && reason.contains(&free),
        "{reason}"
    );
    let words = short.in_words();
    assert!(
        words.contains(reason) && words.contains("4 traverses (reflected)"),
        "{words}"
    );

    let rail = compared(&changes, room(None, Some([0.05, spacing(1) + 1e-3])));
    let rail = rail.comparison().expect("a comparison");
    let fits = |i: usize| rail.alternatives[i].fit.fits();
    assert_eq!([fits(1), fits(2)], [Some(true), Some(false)]);
    assert!(rail.alternatives[2].fit.reason().contains("rail"));
}

#[test]
fn sensors_on_one_line_must_not_overlap_and_need_a_length_to_tell() {
    let placed = |spacing: f64, sensor_length, is_direct| Placed {
        spacing: [spacing; 2],
        sensor_length,
        is_direct,
    };
    let anywhere = Room::default();
    let overlap = anywhere.fit(&placed(0.05, Some(0.06), false));
    assert_eq!(overlap.fits(), Some(false));
    assert!(overlap.reason().contains("overlap"));
    assert_eq!(anywhere.fit(&placed(0.05, Some(0.06), true)), Fit::NotAsked);
    assert_eq!(
        anywhere.fit(&placed(0.06, Some(0.06), false)),
        Fit::NotAsked
    );
    let half_a_metre = Room {
        free_length: Some(0.5),
        rail: None,
    };
    // without a length of the sensors the spacing alone can forbid, but not allow
    let unknown = half_a_metre.fit(&placed(0.45, None, false));
    assert!(matches!(&unknown, Fit::NotKnown(why) if why.contains("path.sensor_length")));
    assert_eq!(unknown.fits(), None);
    assert_eq!(
        half_a_metre.fit(&placed(0.51, None, false)).fits(),
        Some(false)
    );
    // the largest spacing over the temperatures needs the length, the smallest may be too short
    let range = Placed {
        spacing: [0.41, 0.45],
        ..placed(0.45, Some(0.06), false)
    };
    assert_eq!(half_a_metre.fit(&range).fits(), Some(false));
    let rail = Room {
        free_length: None,
        rail: Some([0.42, 0.6]),
    };
    assert!(rail.fit(&range).reason().contains("410 mm"));
}

#[test]
fn effort_is_counted_as_stated() {
    let change = |traverses, planes, run: Option<&str>| Change {
        traverses: Some(traverses),
        planes: Some(planes),
        straight_run: run.map(str::to_owned),
        ..Change::default()
    };
    let plan = compared(
        &[
            change(2, 1, None),
            change(1, 1, None),
            change(2, 2, None),
            change(1, 2, Some("20 D")),
            change(3, 2, Some("30 D")),
        ],
        ComparisonRequest::default(),
    );
    let comparison = plan.comparison().expect("a comparison");
    let own = comparison.alternatives.iter();
    let efforts: Vec<f64> = own
        .map(|one| one.effort.as_ref().expect("a site").total())
        .collect();
    // sensor positions, planes with both sides, another place
    assert_eq!(efforts, [2.0, 2.0 + 1.0, 4.0, 4.0 + 2.0, 4.0 + 2.0 + 1.0]);
    let ranks: Vec<usize> = comparison
        .alternatives
        .iter()
        .map(|one| one.rank_by_effort)
        .collect();
    assert_eq!(ranks, [1, 2, 3, 4, 5]);
    assert!(comparison.in_words().contains("our convention"));
    let words = comparison.alternatives[4]
        .effort
        .as_ref()
        .expect("a site")
        .in_words();
    for part in ["4 sensor positions", "both sides", "another place"] {
        assert!(words.contains(part), "{words}");
    }
}

#[test]
fn callers_may_know_the_effort_better() {
    let changes = [1, 2].map(traverses);
    let by = |efforts: &[(&str, f64)]| ComparisonRequest {
        efforts: efforts
            .iter()
            .map(|(label, n)| ((*label).to_owned(), *n))
            .collect(),
        ..ComparisonRequest::default()
    };
    let [direct, reflected] = ["1 traverse (direct)", "2 traverses (reflected)"];
    let plan = compared(&changes, by(&[(reflected, 3.5), (direct, 1.0)]));
    let comparison = plan.comparison().expect("a comparison");
    assert_eq!(comparison.alternatives[0].rank_by_effort, 1);
    assert_eq!(
        comparison.alternatives[1]
            .effort
            .as_ref()
            .map(Effort::total),
        Some(3.5)
    );
    assert!(!comparison.in_words().contains("our convention"));

    let text = site(&[("installation", FITTING)]);
    let refused = |efforts: &[(&str, f64)]| {
        parsed(&text).plan(&PlanRequest {
            flows: vec![0.01],
            alternatives: changes.to_vec(),
            comparison: by(efforts),
            ..PlanRequest::default()
        })
    };
    assert_refused(
        refused(&[("direct", 1.0)]),
        "unknown-name",
        &["efforts", direct],
    );
    assert_refused(
        refused(&[(direct, 1.0)]),
        "missing",
        &["efforts", reflected],
    );
    for impossible in [-1.0, f64::NAN, f64::INFINITY] {
        let efforts = [(direct, impossible), (reflected, 1.0)];
        assert_refused(refused(&efforts), "out-of-range", &["efforts"]);
    }
}

#[test]
fn a_room_that_is_none_is_refused() {
    let refused = |by: ComparisonRequest| {
        parsed(&site(&[])).plan(&PlanRequest {
            flows: vec![0.01],
            comparison: by,
            ..PlanRequest::default()
        })
    };
    for length in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let by = room(Some(length), None);
        assert_refused(refused(by), "out-of-range", &["free_length"]);
        let by = room(None, Some([length, 1.0]));
        assert_refused(refused(by), "out-of-range", &["rail[0]"]);
    }
    let by = room(None, Some([0.5, 0.4]));
    assert_refused(refused(by), "out-of-range", &["rail[1]", "0.5 m"]);
    let by = ComparisonRequest {
        wanted: Some(Wanted::Relative(0.0)),
        ..ComparisonRequest::default()
    };
    assert_refused(refused(by), "out-of-range", &["target"]);
}

#[test]
fn a_target_is_met_by_the_least_effort() {
    let changes = [1, 2, 4].map(traverses);
    let plain = compared(&changes, ComparisonRequest::default());
    let plain = plain.comparison().expect("a comparison");
    let largest = |i: usize| plain.alternatives[i].largest.expect("a result").relative;
    assert!(largest(0) > largest(1) && largest(1) > largest(2));
    assert!(plain.conclusion().is_none());
    let towards = |wanted: f64, free_length: Option<f64>| {
        let by = ComparisonRequest {
            wanted: Some(Wanted::Relative(wanted)),
            ..room(free_length, None)
        };
        compared(&changes, by).comparison().expect("a comparison")
    };
    // exactly what two traverses come to
    let all = towards(largest(1), None);
    let met: Vec<_> = all
        .alternatives
        .iter()
        .map(|one| all.is_on_target(one))
        .collect();
    assert_eq!(met, [Some(false), Some(true), Some(true)]);
    // of two with the same effort the one with the lower uncertainty
    let best = all.least_effort_on_target().expect("reached");
    assert_eq!(best.label, "4 traverses (reflected)");
    assert!(
        all.conclusion()
            .expect("words")
            .contains("4 traverses (reflected)")
    );
    // but not where it does not fit
    let spacing = |i: usize| plain.alternatives[i].placed.expect("a place").spacing[1];
    let narrow = towards(largest(1), Some(0.5 * (spacing(1) + spacing(2)) + 0.06));
    let best = narrow.least_effort_on_target().expect("reached");
    assert_eq!(best.label, "2 traverses (reflected)");
    let none = towards(0.5 * largest(2), None);
    assert!(none.least_effort_on_target().is_none());
    let words = none.conclusion().expect("words");
    assert!(
        words.contains("no alternative") && words.contains("4 traverses"),
        "{words}"
    );
    // a target in flow units is easier at the lower flow
    let flows = compared(
        &changes,
        ComparisonRequest {
            wanted: Some(Wanted::Absolute(largest(1) * 0.002 * 1.000_001)),
            ..ComparisonRequest::default()
        },
    );
    let flows = flows.comparison().expect("a comparison");
    let met = flows.alternatives[1].on_target.expect("a target");
    assert!((1..4).contains(&met), "{met}");
}

/// Sixteen points with the same warnings: each is told once, and belongs to all.
#[test]
fn each_warning_is_told_once() {
    let request = PlanRequest {
        flows: vec![0.05, 0.1, 0.2, 0.3],
        temperatures: vec![400.0],
        alternatives: [1, 2, 3, 4].map(traverses).to_vec(),
        ..PlanRequest::default()
    };
    let plan_of = |request: &PlanRequest| demo_site().plan(request).expect("a plan");
    let plan = plan_of(&request);
    let comparison = plan.comparison().expect("a comparison");
    let expected = plan.points[0].expected.as_ref().expect("a result");
    let of_first: Vec<&str> = expected.warnings().iter().map(|w| w.code).collect();
    assert_eq!(
        of_first,
        ["hot-pipe", "wedge-temperature", "survey-temperature"]
    );
    let text = plan.in_words(None).expect("words");
    for code in &of_first {
        assert_eq!(
            text.matches(&format!("warning ({code})")).count(),
            1,
            "{text}"
        );
    }
    for remark in &comparison.remarks {
        let count = comparison
            .remarks
            .iter()
            .filter(|r| r.code == remark.code)
            .count();
        assert_eq!(count, 1, "{}", remark.code);
        // every point is where its own warnings say
        for (i, point) in plan.points.iter().enumerate() {
            let warnings = point.expected.as_ref().expect("a result").warnings();
            let warned = warnings.iter().any(|w| w.code == remark.code);
            let own = remark.belongs_to.iter().find(|(own, _)| *own == i / 4);
            let listed = own.is_some_and(|(_, conditions)| conditions.contains(&(i % 4)));
            assert_eq!(warned, listed, "{} at point {i}", remark.code);
        }
    }
    // flows where there is nothing to expect say why once
    let beyond = plan_of(&PlanRequest {
        flows: vec![0.1, 400.0, 500.0],
        ..request
    });
    let comparison = beyond.comparison().expect("a comparison");
    let refusals: Vec<_> = comparison.remarks.iter().filter(|r| r.is_refusal).collect();
    assert_eq!(refusals.len(), 1, "{refusals:?}");
    assert!(refusals[0].has_other_figures);
    assert_eq!(refusals[0].belongs_to.len(), 4);
    let words = comparison.belongs_to(refusals[0]);
    assert!(
        words.starts_with("all alternatives at 1440000 m3/h"),
        "{words}"
    );
    assert!(
        comparison
            .alternatives
            .iter()
            .all(|one| one.measurable == 1)
    );
}

/// What cannot be measured comes after what does not fit, and that after what can be measured in part.
#[test]
fn standing_comes_before_any_number() {
    let text = site(&[("path", "sensor_length = \"60 mm\"")]);
    let base = parsed(&text);
    let conditions = [at(0.01, None), at(0.03, None), at(20.0, None)];
    let expect = |site: &Site, n: usize| -> Vec<_> {
        let all = conditions.iter().take(n);
        all.map(|c| site.expected(c, &Repeatability::default()))
            .collect()
    };
    let [two, three] = [2, 3].map(|n| expect(&base, n));
    let refused: Vec<_> = two
        .iter()
        .map(|_| {
            Err(flowdoubt::Error::Missing {
                field: "sensors".to_owned(),
                needed: "sensors for this wall".to_owned(),
            })
        })
        .collect();
    let candidate = |label: &'static str, fit: Fit, effort: f64| Candidate {
        label,
        expected: two.iter().collect(),
        effort: Effort::stated(effort).ok(),
        fit,
    };
    let unsuited = Fit::DoesNotFit("made for walls up to 5 mm".to_owned());
    let nowhere = Candidate {
        expected: refused.iter().collect(),
        ..candidate("not for this wall", Fit::NotAsked, 0.0)
    };
    let candidates = [
        nowhere,
        candidate("thin walls", unsuited, 1.0),
        candidate("the other pair", Fit::Fits { spare: None }, 3.0),
        candidate("one pair", Fit::NotAsked, 2.0),
    ];
    let unit = Unit::named("m3/h");
    let compare = |candidates: &[Candidate<'_>]| {
        Comparison::of(candidates, &conditions[..2], None, false, &unit).expect("a comparison")
    };
    let found = compare(&candidates);
    let ranks = |by: fn(&flowdoubt::plan::Compared) -> usize| {
        let all = found.alternatives.iter();
        all.map(by).collect::<Vec<_>>()
    };
    // equals share a rank, and the next is after both
    assert_eq!(ranks(|one| one.rank_by_uncertainty), [4, 3, 1, 1]);
    assert_eq!(ranks(|one| one.rank_by_effort), [4, 3, 2, 1]);
    let order: Vec<&str> = found
        .ranked()
        .iter()
        .map(|i| &*found.alternatives[*i].label)
        .collect();
    assert_eq!(
        order,
        [
            "one pair",
            "the other pair",
            "thin walls",
            "not for this wall"
        ]
    );
    let words = found.in_words();
    assert!(words.contains("made for walls up to 5 mm"), "{words}");
    assert!(found.remarks_in_words().contains("sensors for this wall"));
    // whatever the order in which they come, each has its rank
    let mut turned = candidates.to_vec();
    turned.reverse();
    for (one, other) in compare(&turned)
        .alternatives
        .iter()
        .rev()
        .zip(&found.alternatives)
    {
        assert_eq!(one, other);
    }
    // what can be measured in part comes between
    let in_part = Candidate {
        expected: three.iter().collect(),
        ..candidate("in part", Fit::NotAsked, 0.0)
    };
    let again: Vec<_> = two.iter().chain(&two[..1]).collect();
    let whole = Candidate {
        expected: again,
        ..candidate("whole", Fit::NotAsked, 1.0)
    };
    let found = Comparison::of(&[in_part, whole], &conditions, None, false, &unit);
    let found = found.expect("a comparison");
    assert_eq!(found.alternatives[0].measurable, 2);
    assert_eq!(found.alternatives[0].rank_by_effort, 2);
    let short = Comparison::of(&candidates, &conditions, None, false, &unit);
    assert_refused(short, "length", &["not for this wall", "3"]);
}

#[test]
fn nothing_that_is_not_finite_is_written() {
    let text = with(&site(&[]), "wedge_delay = \"16 us\"\n", "");
    let text = with(&text, "timed", "geometric");
    let plan = parsed(&text).plan(&PlanRequest {
        flows: vec![500.0],
        alternatives: vec![traverses(1), traverses(2)],
        comparison: ComparisonRequest {
            wanted: Some(Wanted::Relative(0.01)),
            ..room(Some(0.5), None)
        },
        ..PlanRequest::default()
    });
    let plan = plan.expect("a plan");
    let comparison = plan.comparison().expect("a comparison");
    for words in [comparison.in_words(), comparison.to_json()] {
        assert!(!words.contains("NaN") && !words.contains("inf"), "{words}");
    }
    let all: Value = serde_json::from_str(&plan.to_json(None).expect("JSON")).expect("JSON");
    assert_eq!(all["comparison"]["alternatives"][0]["fits"], Value::Null);
    assert_eq!(
        all["comparison"]["remarks"].as_array().map(Vec::len),
        Some(1)
    );
}
