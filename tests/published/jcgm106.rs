//! JCGM 106:2012, examples of clauses 7 to 9.

use super::Values;
use flowdoubt::scalar::special::{StudentT, normal_quantile};
use flowdoubt::uncertainty::Distribution;
use flowdoubt::uncertainty::conformity::{
    DecisionRule, ItemsAndMeasurement, LimitSide, Permissible, StandardUncertainty, decision_limit,
};

const INF: f64 = f64::INFINITY;

pub fn values() -> Values {
    let mut all = one_item();
    all.extend(limits());
    all.extend(all_items());
    all.into_iter()
        .map(|(id, value)| (format!("106.{id}"), value))
        .collect()
}

fn permissible(lower: Option<f64>, upper: Option<f64>) -> Permissible {
    Permissible::new(lower, upper).expect("limits")
}

fn one_item() -> Values {
    let diode = permissible(None, Some(-5.40));
    let container = permissible(Some(490.0), None);
    let oil = permissible(Some(12.5), Some(16.3));
    let pc = |limits: &Permissible, y, u| limits.probability_for_measured(y, u).expect("p");
    let z = |limits: &Permissible, y, u| limits.standardised_distance(y, u).expect("z");
    let mut all = vec![
        ("diode.z".to_owned(), z(&diode, -5.47, 0.05)),
        ("diode.pc".to_owned(), pc(&diode, -5.47, 0.05)),
        ("container.z".to_owned(), z(&container, 509.7, 8.6)),
        ("container.pc".to_owned(), pc(&container, 509.7, 8.6)),
        ("oil.pc".to_owned(), pc(&oil, 13.6, 1.8)),
    ];
    for p in [0.8, 0.9, 0.95, 0.99, 0.999] {
        all.push((format!("t1.{p}"), normal_quantile(p)));
    }
    all
}

fn limits() -> Values {
    let upper = |limit, rule, uncertainty, dof, p| {
        decision_limit(limit, LimitSide::Upper, rule, uncertainty, dof, p).expect("limit")
    };
    let reject = DecisionRule::GuardedRejection;
    let speed = upper(
        100.0,
        reject,
        StandardUncertainty::Relative(0.02),
        INF,
        0.999,
    );
    let nandrolone = upper(2.00, reject, StandardUncertainty::Absolute(0.20), 9.0, 0.95);
    // a guard band of two standard uncertainties, measured at the acceptance limit
    let tolerance = permissible(None, Some(10.0));
    let accepted = tolerance.guarded(2.0 * 0.5).expect("guarded").upper();
    let conforms = tolerance
        .probability_for_measured(accepted, 0.5)
        .expect("p");
    [
        ("speed", speed),
        ("nandrolone.t", StudentT::new(9.0).quantile(0.95)),
        ("nandrolone.g", nandrolone - 2.00),
        ("nandrolone.A", nandrolone),
        ("guard2u", 1.0 - conforms),
    ]
    .map(|(id, value)| (id.to_owned(), value))
    .to_vec()
}

fn all_items() -> Values {
    let normal = |mean, standard_deviation| Distribution::Normal {
        mean,
        standard_deviation,
    };
    let resistors = permissible(Some(1499.8), Some(1500.2));
    let items = ItemsAndMeasurement::new(normal(1500.0, 0.12), 0.04, resistors).expect("items");
    let resistor = items.global_risks(&permissible(Some(1499.82), Some(1500.18)));

    let bearings = permissible(None, Some(2.0));
    let prior = Distribution::Gamma {
        shape: 4.0,
        scale: 0.25,
    };
    let u = 0.25;
    let items = ItemsAndMeasurement::new(prior, u, bearings).expect("items");
    let guard_band = 2.0 * u * 0.65;
    let acceptance = bearings.guarded(guard_band).expect("guarded");
    let bearing = items.global_risks(&acceptance);
    let wanted = items.guard_band_for(0.001).expect("guard band");

    let mut all = vec![
        ("resistor.pc".to_owned(), resistor.conforming),
        ("resistor.RC".to_owned(), resistor.consumers_risk),
        ("resistor.RP".to_owned(), resistor.producers_risk),
        ("bearings.out".to_owned(), 1.0 - bearing.conforming),
        ("bearings.RC".to_owned(), bearing.consumers_risk),
        ("bearings.RP".to_owned(), bearing.producers_risk),
        ("bearings.r".to_owned(), wanted / (2.0 * u)),
        ("bearings.A".to_owned(), acceptance.upper()),
    ];
    for capability in [2.0, 10.0] {
        // tolerance of length 1, prior standard deviation of a sixth of it, no guard band
        let tolerance = Permissible::about(0.0, 0.5).expect("limits");
        let u = 1.0 / (4.0 * capability);
        assert_eq!(tolerance.capability_index(u).expect("index"), capability);
        let items = ItemsAndMeasurement::new(normal(0.0, 1.0 / 6.0), u, tolerance);
        let risks = items.expect("items").global_risks(&tolerance);
        all.push((format!("binary{capability}.RC"), risks.consumers_risk));
        all.push((format!("binary{capability}.RP"), risks.producers_risk));
    }
    all
}
