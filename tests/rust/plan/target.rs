//! The way to a wanted uncertainty: closed forms, optimality, degrees of freedom, correlation.

use super::{at, demo_plan, demo_site};
use crate::support::{assert_refused, assert_relative, demo_readings};
use flowdoubt::plan::{
    Improvable, PlanRequest, Repeatability, Target, TargetRequest, Wanted, least_effort,
};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{Budget, Input, InputSet, Output};
use flowdoubt::units::{Dimension, Unit};
use proptest::prelude::*;

fn effort(inputs: &[Improvable], fractions: &[f64]) -> f64 {
    inputs
        .iter()
        .zip(fractions)
        .map(|(i, s)| i.effort(*s))
        .sum()
}

fn variance(fixed: f64, inputs: &[Improvable], fractions: &[f64]) -> f64 {
    let parts = inputs.iter().zip(fractions);
    fixed + parts.map(|(i, s)| i.variance * s * s).sum::<f64>()
}

fn inputs() -> impl Strategy<Value = Vec<Improvable>> {
    let one = (1e-3_f64..10.0, 1e-2_f64..100.0, 0.0_f64..0.9);
    let one = one.prop_map(|(variance, cost, lowest)| Improvable {
        variance,
        cost,
        lowest: if lowest < 0.2 { 0.0 } else { lowest },
    });
    prop::collection::vec(one, 1..8)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// The conditions of Karush, Kuhn and Tucker, which are sufficient for a convex problem, and
    /// no cheaper point in the neighbourhood.
    #[test]
    fn the_least_effort_is_the_least(
        inputs in inputs(),
        fixed in 0.0_f64..5.0,
        share in 0.02_f64..0.98,
        steps in prop::collection::vec(-0.05_f64..0.05, 8),
    ) {
        let lowest: Vec<f64> = inputs.iter().map(|i| i.lowest).collect();
        let ones = vec![1.0; inputs.len()];
        let (least, most) = (variance(fixed, &inputs, &lowest), variance(fixed, &inputs, &ones));
        let wanted = least + share * (most - least);
        let found = least_effort(fixed, &inputs, wanted).expect("reachable");
        prop_assert!((variance(fixed, &inputs, &found) / wanted - 1.0).abs() < 1e-12);
        // cost / (2 v s^3) is the multiplier, the same for all between their bounds
        let multiplier = |i: usize| inputs[i].cost / (2.0 * inputs[i].variance * Scalar::powi(found[i], 3));
        let inner = |i: &usize| found[*i] > inputs[*i].lowest * (1.0 + 1e-12) && found[*i] < 1.0;
        let free: Vec<usize> = (0..inputs.len()).filter(inner).collect();
        prop_assert!(!free.is_empty() || share == 1.0);
        let lambda = multiplier(free[0]);
        for (i, s) in found.iter().enumerate() {
            let own = multiplier(i);
            if inner(&i) {
                prop_assert!((own / lambda - 1.0).abs() < 1e-9, "{own} {lambda}");
            } else if *s == 1.0 {
                prop_assert!(own >= lambda * (1.0 - 1e-9)); // its next bit costs more than elsewhere
            } else {
                prop_assert!(own <= lambda * (1.0 + 1e-9));
            }
        }
        let near: Vec<f64> = found
            .iter()
            .zip(&inputs)
            .zip(&steps)
            .map(|((s, i), step)| (s * (1.0 + step)).clamp(i.lowest, 1.0))
            .collect();
        if variance(fixed, &inputs, &near) <= wanted {
            prop_assert!(effort(&inputs, &near) >= effort(&inputs, &found) * (1.0 - 1e-9));
        }
    }

    #[test]
    fn prices_in_another_currency_change_nothing(inputs in inputs(), share in 0.1_f64..0.9) {
        let ones = vec![1.0; inputs.len()];
        let lowest: Vec<f64> = inputs.iter().map(|i| i.lowest).collect();
        let (least, most) = (variance(0.1, &inputs, &lowest), variance(0.1, &inputs, &ones));
        let wanted = least + share * (most - least);
        let found = least_effort(0.1, &inputs, wanted).expect("reachable");
        let dearer: Vec<Improvable> =
            inputs.iter().map(|i| Improvable { cost: 7.0 * i.cost, ..*i }).collect();
        let again = least_effort(0.1, &dearer, wanted).expect("reachable");
        for (a, b) in found.iter().zip(&again) {
            prop_assert!((a / b - 1.0).abs() < 1e-12);
        }
    }
}

#[test]
fn two_inputs_by_hand() {
    let one = |variance: f64, cost: f64, lowest: f64| Improvable {
        variance,
        cost,
        lowest,
    };
    // nothing to do, out of reach, one input alone: s^2 = (V - F) / v
    assert_eq!(
        least_effort(1.0, &[one(3.0, 1.0, 0.0)], 4.0),
        Some(vec![1.0])
    );
    assert_eq!(least_effort(1.0, &[one(3.0, 1.0, 0.0)], 0.9), None);
    assert_eq!(least_effort(1.0, &[one(3.0, 1.0, 0.5)], 1.7), None);
    assert_eq!(least_effort(1.0, &[one(3.0, 1.0, 0.5)], f64::NAN), None);
    let alone = least_effort(1.0, &[one(3.0, 1.0, 0.0)], 2.0).expect("reachable");
    assert_relative(alone[0], libm::sqrt(1.0 / 3.0), 1e-15, "alone");
    // eight times the variance at the same price: half the fraction; V = 8 s^2 + (2 s)^2 = 12 s^2
    let pair = [one(8.0, 1.0, 0.0), one(1.0, 1.0, 0.0)];
    let found = least_effort(0.0, &pair, 12.0 * 0.09).expect("reachable");
    assert_relative(found[0], 0.3, 1e-14, "the larger");
    assert_relative(found[1], 0.6, 1e-14, "the smaller");
    // an input without effect is left alone
    let idle = [one(0.0, 1.0, 0.0), one(4.0, 1.0, 0.0)];
    let found = least_effort(0.0, &idle, 1.0).expect("reachable");
    assert_eq!(found[0], 1.0);
    assert_relative(found[1], 0.5, 1e-15, "the other");
}

fn metre() -> Unit {
    Unit::parse("mm", Dimension::Length, "test").expect("a unit")
}

/// The sum of inputs given by name, standard uncertainty in mm and degrees of freedom.
fn sum_of(lines: &[(&str, f64, f64)], pairs: &[(&str, &str, f64)]) -> (Budget, InputSet) {
    let inputs = lines.iter().map(|(name, u, dof)| {
        let input = Input::with_standard_uncertainty(name, 1.0, 1e-3 * u, *dof).expect("an input");
        input.shown_in(metre())
    });
    let pairs: Vec<(String, String, f64)> = pairs
        .iter()
        .map(|(a, b, r)| ((*a).to_owned(), (*b).to_owned(), *r))
        .collect();
    let inputs = InputSet::correlated(inputs.collect(), &pairs).expect("inputs");
    let output = Output {
        name: "sum".to_owned(),
        unit: metre(),
    };
    let ones = vec![1.0; lines.len()];
    let estimate = lines.len() as f64;
    let budget = Budget::from_gradient(output, estimate, &inputs, &ones).expect("a budget");
    (budget, inputs)
}

fn wanted(millimetres: f64) -> TargetRequest {
    TargetRequest {
        wanted: Wanted::Absolute(1e-3 * millimetres),
        costs: None,
        lowest: Vec::new(),
    }
}

const INFINITE: f64 = f64::INFINITY;
/// `t` of infinite degrees of freedom for 95 % (JCGM 100:2008, table G.2: 1.960).
const K95: f64 = 1.959_963_984_540_054;

fn target(of: &(Budget, InputSet), request: &TargetRequest) -> Target {
    Target::of(&of.0, &of.1, 0.95, request, &|_| true).expect("a target")
}

fn fraction(target: &Target, input: &str) -> (Option<f64>, Option<f64>) {
    let improvement = target.improvements.iter().find(|i| i.input == input);
    let improvement = improvement.expect("an improvement");
    (improvement.alone, improvement.least_effort)
}

#[test]
fn each_input_alone_has_a_closed_form() {
    let of = sum_of(&[("a", 4.0, INFINITE), ("b", 3.0, INFINITE)], &[]);
    // U = 1.96 * 5 mm; for 1.96 * 4.5 mm, a alone: 4.5^2 - 3^2 = (4 s)^2
    let found = target(&of, &wanted(K95 * 4.5));
    let (alone, _) = fraction(&found, "a");
    assert_relative(
        alone.expect("a"),
        libm::sqrt(20.25 - 9.0) / 4.0,
        1e-12,
        "a alone",
    );
    let (alone, _) = fraction(&found, "b");
    assert_relative(
        alone.expect("b"),
        libm::sqrt(20.25 - 16.0) / 3.0,
        1e-12,
        "b alone",
    );
    // what the other leaves is the least that one alone can reach
    let found = target(&of, &wanted(K95 * 3.9));
    assert!(fraction(&found, "a").0.is_some());
    assert_eq!(fraction(&found, "b").0, None);
    assert!(found.is_reachable());
    let way = found.least_effort.expect("a way");
    assert_relative(
        way.expanded.expanded_uncertainty,
        1e-3 * K95 * 3.9,
        1e-9,
        "reached",
    );
}

#[test]
fn a_target_that_is_met_asks_for_nothing() {
    let of = sum_of(&[("a", 4.0, INFINITE), ("b", 3.0, INFINITE)], &[]);
    let found = target(&of, &wanted(10.0));
    assert!(found.is_met());
    assert_eq!(found.least_effort.as_ref().map(|way| way.effort), Some(0.0));
    assert_eq!(fraction(&found, "a"), (Some(1.0), Some(1.0)));
    assert!(found.headline().contains("met without improvement"));
}

#[test]
fn what_cannot_be_reached_says_what_is_left() {
    let of = sum_of(&[("a", 4.0, INFINITE), ("b", 3.0, INFINITE)], &[]);
    let mut request = wanted(K95 * 2.9);
    request.costs = Some(vec![("a".to_owned(), 1.0)]);
    let found = target(&of, &request);
    assert!(!found.is_reachable());
    assert_relative(
        found.lowest.expanded_uncertainty,
        3e-3 * K95,
        1e-12,
        "b alone is left",
    );
    assert!(
        found.headline().contains("cannot be reached"),
        "{}",
        found.headline()
    );
    // exactly what is left needs a perfect input
    request.wanted = Wanted::Absolute(found.lowest.expanded_uncertainty);
    assert!(!target(&of, &request).is_reachable());
    let held = found
        .improvements
        .iter()
        .find(|i| i.input == "b")
        .expect("b");
    assert_eq!(held.held, Some("no cost given"));
    // a lowest uncertainty bounds what is left
    request.lowest = vec![("a".to_owned(), "1.6 mm".to_owned())];
    let found = target(&of, &request);
    let left = 1e-3 * K95 * libm::hypot(3.0, 1.6);
    assert_relative(
        found.lowest.expanded_uncertainty,
        left,
        1e-12,
        "both are left",
    );
    assert_relative(found.improvements[0].lowest, 0.4, 1e-12, "as a fraction");
}

/// A type A input of few degrees of freedom: as it gets better, the coverage factor falls, and the
/// solution is judged with its own.
#[test]
fn the_coverage_factor_is_that_of_the_improved_budget() {
    let of = sum_of(&[("a", 4.0, 4.0), ("b", 3.0, INFINITE)], &[]);
    let mut request = wanted(8.0);
    request.costs = Some(vec![("a".to_owned(), 1.0)]);
    let found = target(&of, &request);
    // (5/4)^4 * 4 = 9.77 effective degrees of freedom, truncated: 2.262 (table G.2)
    assert_relative(found.before.coverage_factor, 2.262, 2e-4, "before");
    let way = found.least_effort.expect("a way");
    let s = found.improvements[0].least_effort.expect("a fraction");
    let combined = libm::hypot(4.0 * s, 3.0);
    let dof = libm::floor(Scalar::powi(combined, 4) / (Scalar::powi(4.0 * s, 4) / 4.0));
    assert_eq!(way.expanded.dof, dof);
    assert!(way.expanded.coverage_factor < found.before.coverage_factor);
    let reached = way.expanded.expanded_uncertainty;
    assert!(reached <= 8e-3 * (1.0 + 1e-12), "{reached}");
    // a hundredth less effort is not enough
    let less = s * 1.01;
    let combined = libm::hypot(4.0 * less, 3.0);
    assert!(way.expanded.coverage_factor * combined > 8.0);
    assert_relative(
        way.budget.standard_uncertainty,
        1e-3 * libm::hypot(4.0 * s, 3.0),
        1e-12,
        "the budget made anew",
    );
}

#[test]
fn correlated_inputs_are_improved_together() {
    let lines = [
        ("a", 4.0, INFINITE),
        ("b", 3.0, INFINITE),
        ("c", 2.0, INFINITE),
    ];
    let of = sum_of(&lines, &[("a", "b", 0.5)]);
    // a and b: 16 + 9 + 2 * 0.5 * 12 = 37; with c 41
    let mut request = wanted(K95 * 5.0);
    request.costs = Some(vec![("a".to_owned(), 1.0), ("b".to_owned(), 2.0)]);
    let found = target(&of, &request);
    let s = libm::sqrt((25.0 - 4.0) / 37.0);
    for input in ["a", "b"] {
        let (alone, together) = fraction(&found, input);
        assert_relative(alone.expect("alone"), s, 1e-12, input);
        assert_relative(together.expect("together"), s, 1e-12, input);
    }
    let way = found.least_effort.as_ref().expect("a way");
    assert_relative(way.effort, 3.0 * (1.0 / s - 1.0), 1e-9, "the costs of both");
    assert_eq!(found.improvements[0].together_with.len(), 1);
    request.costs = Some(vec![("a".to_owned(), 1.0)]);
    let refused = Target::of(&of.0, &of.1, 0.95, &request, &|_| true);
    assert_refused(refused, "conflict", &["costs", "a, b"]);
}

#[test]
fn derived_inputs_are_held_unless_they_have_a_cost() {
    let evaluation = demo_site()
        .evaluate(&demo_readings())
        .expect("an evaluation");
    let request = |costs| TargetRequest {
        wanted: Wanted::parse("1.6 %").expect("a target"),
        costs,
        lowest: Vec::new(),
    };
    let found = evaluation.target(&request(None)).expect("a target");
    let held = |name: &str| {
        let own = found.improvements.iter().find(|i| i.input == name);
        own.expect("an input").held
    };
    assert_eq!(
        held("profile.law_factor"),
        Some("derived, nobody states it")
    );
    assert_eq!(
        held("liquid.viscosity_formulation"),
        Some("derived, nobody states it")
    );
    for name in [
        "meter.calibration_factor",
        "readings.time_difference",
        "liquid.temperature",
        "liquid.temperature.instrument",
        "pipe.wall.instrument",
    ] {
        assert_eq!(held(name), None, "{name}");
    }
    let way = found.least_effort.as_ref().expect("a way");
    let reached = way.expanded.expanded_uncertainty;
    assert!(reached <= found.wanted * (1.0 + 1e-12));
    assert_relative(reached, found.wanted, 1e-3, "no more than is needed");
    // cable and electronics delay are correlated in the file
    let cable = found
        .improvements
        .iter()
        .find(|i| i.input == "meter.cable_delay");
    assert_eq!(
        cable.expect("an input").together_with,
        ["meter.electronics_delay"]
    );
    let law = vec![("profile.law_factor".to_owned(), 1.0)];
    let found = evaluation.target(&request(Some(law))).expect("a target");
    assert!(
        found
            .improvements
            .iter()
            .any(|i| i.input == "profile.law_factor" && i.held.is_none())
    );
}

#[test]
fn requests_that_make_no_target_are_refused() {
    let evaluation = demo_site()
        .evaluate(&demo_readings())
        .expect("an evaluation");
    let refused = |wanted, costs: &[(&str, f64)], lowest: &[(&str, &str)]| {
        let costs = costs.iter().map(|(name, cost)| ((*name).to_owned(), *cost));
        let costs: Vec<_> = costs.collect();
        let lowest = lowest
            .iter()
            .map(|(a, b)| ((*a).to_owned(), (*b).to_owned()));
        evaluation.target(&TargetRequest {
            wanted,
            costs: Some(costs).filter(|costs| !costs.is_empty()),
            lowest: lowest.collect(),
        })
    };
    for bad in [
        Wanted::Relative(0.0),
        Wanted::Absolute(f64::NAN),
        Wanted::Relative(-0.1),
    ] {
        assert_refused(
            refused(bad, &[], &[]),
            "out-of-range",
            &["target", "above 0"],
        );
    }
    let usual = Wanted::Relative(0.01);
    let near = refused(usual, &[("pipe.wal", 1.0)], &[]);
    assert_refused(near, "unknown-name", &["costs", "did you mean `pipe.wall`"]);
    let free = refused(usual, &[("pipe.wall", 0.0)], &[]);
    assert_refused(free, "out-of-range", &["costs.pipe.wall", "above 0"]);
    let unit = refused(usual, &[], &[("pipe.wall", "1 s")]);
    assert_refused(unit, "wrong-dimension", &["lowest.pipe.wall"]);
    assert_refused(Wanted::parse("1 m"), "wrong-dimension", &["target"]);
    assert_refused(Wanted::parse("soon"), "not-a-quantity", &["target"]);
    assert_refused(
        Wanted::parse("4"),
        "not-a-quantity",
        &["target", "`4`", "1.5 %"],
    );
    assert_eq!(
        Wanted::parse("0.5 %").expect("a ratio"),
        Wanted::Relative(0.005)
    );
    let flow = Wanted::parse("36 m3/h").expect("a flow");
    assert_eq!(flow, Wanted::Absolute(36.0 / 3600.0));
}

#[test]
fn a_plan_has_a_target_for_each_point_with_a_result() {
    let plan = demo_plan(PlanRequest {
        flows: vec![0.02, 0.3, 200.0],
        ..PlanRequest::default()
    });
    let request = |text: &str| TargetRequest {
        wanted: Wanted::parse(text).expect("a target"),
        costs: None,
        lowest: Vec::new(),
    };
    let targets = plan.targets(&request("1.5 %")).expect("targets");
    assert!(targets[0].is_some() && targets[1].is_some() && targets[2].is_none());
    assert!(!plan.all_reachable(&targets));
    let possible = demo_plan(PlanRequest {
        flows: vec![0.3],
        ..PlanRequest::default()
    });
    let reached = possible.targets(&request("1.5 %")).expect("targets");
    assert!(possible.all_reachable(&reached));
    let far = possible.targets(&request("0.01 %")).expect("targets");
    assert!(!possible.all_reachable(&far));
    let direct = demo_site().expected(&at(0.3, 281.15), &Repeatability::default());
    let by_hand = direct
        .expect("a result")
        .budget()
        .expanded(0.95)
        .expect("U");
    let before = reached[0].as_ref().expect("a target").before;
    assert_eq!(before.dof, by_hand.dof);
    let (u, by_hand) = (before.expanded_uncertainty, by_hand.expanded_uncertainty);
    assert_relative(u, by_hand, 1e-14, "U");
}
