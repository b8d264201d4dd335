//! Risks against closed forms, against simulation and against scipy; bad input.

use crate::support::assert_relative;
use crate::support::tables::{Comparison, against};
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::special::{normal_cdf, normal_quantile};
use flowdoubt::uncertainty::Distribution;
use flowdoubt::uncertainty::conformity::{
    DecisionRule, GlobalRisks, ItemsAndMeasurement, LimitSide, Permissible, SpecificRisks,
    StandardUncertainty, decision_limit,
};

const INF: f64 = f64::INFINITY;
/// Conforming, consumer's and producer's risk, as the test below explains.
const RESISTORS: [f64; 3] = [
    0.9044192954544461,
    0.009878291521771436,
    0.06902651046151202,
];
const BEARINGS: [f64; 3] = [0.957619888008316, 0.001026536132510892, 0.07464969402681615];
const ARCSINE: [f64; 3] = [
    0.7128674137425873,
    5.828306591303985e-05,
    5.824847495008904e-05,
];

fn normal(mean: f64, standard_deviation: f64) -> Distribution {
    Distribution::Normal {
        mean,
        standard_deviation,
    }
}

fn within(lower: f64, upper: f64) -> Permissible {
    Permissible::new(Some(lower), Some(upper)).expect("limits")
}

#[test]
fn global_risks_meet_scipy() {
    let mut compared = against(
        "scipy quadrature",
        "probability of conformity, risks of consumer and producer",
    );
    // scipy 1.17.1, integrate.quad of the density of the prior times the probability of
    // acceptance or rejection, to 1e-12 absolute
    let resistors = ItemsAndMeasurement::new(normal(1500.0, 0.12), 0.04, within(1499.8, 1500.2));
    let risks = resistors
        .expect("items")
        .global_risks(&within(1499.82, 1500.18));
    near(&mut compared, risks, RESISTORS);
    let prior = Distribution::Gamma {
        shape: 4.0,
        scale: 0.25,
    };
    let tolerance = Permissible::new(None, Some(2.0)).expect("limit");
    let bearings = ItemsAndMeasurement::new(prior, 0.25, tolerance).expect("items");
    near(
        &mut compared,
        bearings.global_risks(&tolerance.guarded(0.325).expect("guarded")),
        BEARINGS,
    );
    // a prior without finite density at its limits, and a far better measurement
    let prior = Distribution::Arcsine {
        lower: -1.0,
        upper: 1.0,
    };
    let sharp = ItemsAndMeasurement::new(prior, 1e-4, within(-0.9, 0.9)).expect("items");
    let risks = sharp.global_risks(&within(-0.9, 0.9));
    near(&mut compared, risks, ARCSINE);
}

#[track_caller]
fn near(
    compared: &mut Comparison,
    found: GlobalRisks,
    [conforming, consumers_risk, producers_risk]: [f64; 3],
) {
    compared.relative(found.conforming, conforming, 1e-11, "conforming");
    let at = format!("{found:?}");
    compared.absolute(found.consumers_risk, consumers_risk, 1e-10, &at);
    compared.absolute(found.producers_risk, producers_risk, 1e-10, &at);
    // accepted = conforming - rejected conforming + accepted nonconforming
    let accepted = conforming - producers_risk + consumers_risk;
    assert!((found.accepted - accepted).abs() < 1e-10, "{found:?}");
}

#[test]
fn global_risks_meet_a_simulation() {
    let items = ItemsAndMeasurement::new(normal(0.1, 0.5), 0.2, within(-1.0, 1.0));
    let acceptance = within(-0.8, 0.8);
    let risks = items.expect("items").global_risks(&acceptance);
    let (mut value, mut error) = (Stream::new(1, "value"), Stream::new(1, "error"));
    let (mut wrong, mut lost) = (0_u32, 0_u32);
    let trials = 400_000;
    for _ in 0..trials {
        let eta = 0.1 + 0.5 * normal_quantile(value.next_uniform());
        let measured = eta + 0.2 * normal_quantile(error.next_uniform());
        let (good, accepted) = (eta.abs() <= 1.0, acceptance.contains(measured));
        wrong += u32::from(accepted && !good);
        lost += u32::from(!accepted && good);
    }
    let check = |count: u32, p: f64| {
        let n = f64::from(trials);
        let share = f64::from(count) / n;
        assert!(
            (share - p).abs() < 5.0 * (p * (1.0 - p) / n).sqrt(),
            "{share}, {p}"
        );
    };
    check(wrong, risks.consumers_risk);
    check(lost, risks.producers_risk);
}

#[test]
fn a_normal_prior_gives_the_weighted_mean() {
    // posterior of two normal densities, JCGM 106:2012, 6.2 example: weights 1 / u^2
    let (y0, u0, ym, um) = (10.0, 0.4, 11.0, 0.3);
    let tolerance = within(9.5, 11.2);
    let items = ItemsAndMeasurement::new(normal(y0, u0), um, tolerance).expect("items");
    let (w0, wm) = (1.0 / (u0 * u0), 1.0 / (um * um));
    let (y, u) = ((w0 * y0 + wm * ym) / (w0 + wm), 1.0 / (w0 + wm).sqrt());
    let expected = normal_cdf((11.2 - y) / u) - normal_cdf((9.5 - y) / u);
    let found = items.conformity_given(ym).expect("probability");
    assert_relative(found, expected, 1e-10, "posterior");
    // with nothing known before, the measured value alone
    let vague = ItemsAndMeasurement::new(normal(0.0, 1e5), um, tolerance).expect("items");
    let alone = tolerance.probability_for_measured(ym, um).expect("alone");
    assert_relative(vague.conformity_given(ym).expect("p"), alone, 1e-6, "vague");
    let prior = Distribution::Rectangular {
        lower: 0.0,
        upper: 1.0,
    };
    let items = ItemsAndMeasurement::new(prior, 0.01, within(0.2, 0.8)).expect("items");
    let error = items
        .conformity_given(5.0)
        .expect_err("400 uncertainties away");
    assert!(error.to_string().contains("rule out"), "{error}");
}

#[test]
fn a_guard_band_has_the_risk_it_was_chosen_for() {
    let items = ItemsAndMeasurement::new(normal(0.0, 0.5), 0.2, within(-1.0, 1.0)).expect("items");
    for wanted in [0.02, 0.005, 1e-4] {
        let w = items.guard_band_for(wanted).expect("guard band");
        let acceptance = within(-1.0, 1.0).guarded(w).expect("acceptance");
        let risk = items.global_risks(&acceptance).consumers_risk;
        assert_relative(risk, wanted, 1e-7, "risk");
    }
    // a large risk allows more than the tolerance interval
    assert!(items.guard_band_for(0.04).expect("guard band") < 0.0);
    let error = items
        .guard_band_for(0.2)
        .expect_err("more than do not conform");
    assert!(error.to_string().contains("for these items"), "{error}");
}

#[test]
fn decision_limits_are_right_with_the_chosen_probability() {
    for side in [LimitSide::Lower, LimitSide::Upper] {
        for rule in [
            DecisionRule::GuardedAcceptance,
            DecisionRule::GuardedRejection,
        ] {
            let limits = match side {
                LimitSide::Lower => Permissible::new(Some(100.0), None),
                LimitSide::Upper => Permissible::new(None, Some(100.0)),
            };
            let limits = limits.expect("limit");
            for uncertainty in [
                StandardUncertainty::Absolute(2.0),
                StandardUncertainty::Relative(0.02),
            ] {
                let a = decision_limit(100.0, side, rule, uncertainty, INF, 0.95).expect("limit");
                let u = match uncertainty {
                    StandardUncertainty::Absolute(u) => u,
                    StandardUncertainty::Relative(share) => share * a,
                };
                let conforms = limits.probability_for_measured(a, u).expect("p");
                let expected = match rule {
                    DecisionRule::GuardedAcceptance => 0.95,
                    DecisionRule::GuardedRejection => 0.05,
                };
                assert_relative(conforms, expected, 1e-12, &format!("{side:?}, {rule:?}"));
                assert_eq!(limits.contains(a), rule == DecisionRule::GuardedAcceptance);
            }
        }
    }
}

#[test]
fn limits_and_uncertainties_out_of_range_are_refused() {
    assert!(Permissible::new(None, None).is_err());
    assert!(Permissible::new(Some(2.0), Some(1.0)).is_err());
    assert!(Permissible::new(Some(f64::NAN), None).is_err());
    let tolerance = within(0.0, 1.0);
    assert!(tolerance.guarded(0.5).is_err(), "nothing left");
    assert!(tolerance.probability_for_measured(0.5, 0.0).is_err());
    assert!(tolerance.standardised_distance(0.5, -1.0).is_err());
    let single = Permissible::new(None, Some(1.0)).expect("limit");
    assert!(single.capability_index(0.1).is_err());
    let wide = within(-1.7e306, 1.7e306);
    assert!(wide.capability_index(1e-3).is_err(), "no finite number");
    assert!(ItemsAndMeasurement::new(normal(0.0, 1.0), 0.0, tolerance).is_err());
    let sample = Distribution::of_sample(&[1.0, 2.0]).expect("sample");
    let error = ItemsAndMeasurement::new(sample, 1.0, tolerance).expect_err("no density");
    assert!(error.to_string().contains("no density"), "{error}");
    let limit = |uncertainty, dof, p| {
        let rule = DecisionRule::GuardedRejection;
        decision_limit(1.0, LimitSide::Upper, rule, uncertainty, dof, p)
    };
    assert!(limit(StandardUncertainty::Absolute(0.1), INF, 0.3).is_err());
    assert!(limit(StandardUncertainty::Absolute(0.0), INF, 0.95).is_err());
    assert!(limit(StandardUncertainty::Absolute(0.1), 0.0, 0.95).is_err());
    assert!(
        limit(StandardUncertainty::Relative(0.7), INF, 0.95).is_err(),
        "t u_r above one"
    );
}

#[test]
fn limits_belong_to_the_interval_for_single_values_too() {
    // JCGM 106:2012, 3.3.5 note 1
    let limits = within(1.0, 2.0);
    for (value, p) in [(1.0, 1.0), (2.0, 1.0), (0.999, 0.0), (2.001, 0.0)] {
        let exact = Distribution::Fixed { value };
        assert_eq!(limits.probability(&exact), p, "{value}");
        assert_eq!(limits.contains(value), p == 1.0);
    }
    let sample = Distribution::of_sample(&[0.5, 1.0, 1.0, 1.5, 2.0, 2.5]).expect("sample");
    assert_relative(limits.probability(&sample), 4.0 / 6.0, 1e-15, "sample");
    // a distribution with a density is none of these, even where the density is infinite
    let arcsine = Distribution::Arcsine {
        lower: 0.0,
        upper: 1.0,
    };
    assert_eq!(limits.probability(&arcsine), 0.0);
    let risks = SpecificRisks::of(limits.probability(&sample));
    assert_relative(risks.consumers_risk, 2.0 / 6.0, 1e-15, "consumer's");
    assert_relative(risks.producers_risk, 4.0 / 6.0, 1e-15, "producer's");
}
