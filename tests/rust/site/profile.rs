//! What a site file may say of the velocity profile, and what is derived where it says nothing.

use crate::site::{BASE, readings, site};
use crate::support::{assert_refused, assert_relative, evaluate, with};
use flowdoubt::Result;
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::profile::{
    Conditions, FrictionLaw, LAMINAR_FACTOR, ProfileLaw, Regime, beam_half_width,
    entrance_half_width, factor_of, factor_uncertainty, friction_uncertainty,
};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{MeasurementModel, Output};
use flowdoubt::units::Unit;

fn evaluated(text: &str) -> Evaluation {
    evaluate(text, &readings()).unwrap_or_else(|e| panic!("{e}"))
}

fn refused(text: &str, code: &str, parts: &[&str]) {
    assert_refused(evaluate(text, &readings()), code, parts);
}

/// The site with a liquid of that viscosity.
fn viscous(viscosity: &str, lines: &[(&str, &str)]) -> String {
    let stated = format!(
        "kind = \"stated\"\nsound_speed = \"1445 m/s\"\nkinematic_viscosity = \"{viscosity}\"\n"
    );
    let water = "kind = \"water\"\ntemperature = \"20 degC\"\nabsolute_pressure = \"5 bar\"\n";
    with(&site(lines), water, &stated)
}

/// Standard uncertainty, contribution relative to the flow, and evidence of an input.
fn line(found: &Evaluation, name: &str) -> Option<(f64, f64, String)> {
    let line = found.budget.lines.iter().find(|l| l.input.name() == name)?;
    let u = line.input.standard_uncertainty();
    let part = line.sensitivity * u / found.estimate();
    Some((u, part, line.input.evidence().to_owned()))
}

fn codes(text: &str) -> Vec<&'static str> {
    // readings of a pipe that is none do not fit its sound speed
    let codes = evaluated(text).warnings().into_iter().map(|w| w.code);
    codes
        .filter(|code| *code != "sound-speed-differs")
        .collect()
}

#[test]
fn law_and_friction_have_the_uncertainties_of_their_residuals() {
    let found = evaluated(BASE);
    let steps = &found.steps;
    let (law, friction) = (ProfileLaw::default(), FrictionLaw::Colebrook);
    let c = Conditions {
        friction_ratio: None,
        ..steps.conditions
    };
    let own = factor_uncertainty(&c, steps.reynolds, 0.0, law, friction);
    let widest = 0.020 / steps.inside_diameter;
    let beam = beam_half_width(&c, steps.reynolds, 0.0, friction, widest);
    let expected = libm::hypot(own, beam / 3.0_f64.sqrt());
    let (u, part, evidence) = line(&found, "profile.law_factor").expect("a line");
    assert_relative(u, expected, 1e-6, "law");
    assert_relative(part, expected, 0.02, "law, relative to the flow");
    assert!(evidence.contains("residuals against measured profiles"));
    let (u, part, _) = line(&found, "profile.friction_ratio").expect("a line");
    assert_relative(
        u,
        friction_uncertainty(steps.reynolds, 0.0),
        1e-6,
        "friction",
    );
    // half of the distance of the factor from one
    let k = steps.profile_factor;
    assert_relative(
        part,
        -0.5 * (1.0 - k) * u,
        0.1,
        "friction, relative to the flow",
    );
    assert_eq!(line(&found, "profile.transition_reynolds"), None);
}

#[test]
fn a_stated_friction_ratio_takes_the_place_of_the_derived_one() {
    let stated = "friction_ratio = { value = \"1.10\", standard_uncertainty = \"0.02\" }";
    let found = evaluated(&site(&[("profile", stated)]));
    let (u, part, _) = line(&found, "profile.friction_ratio").expect("a line");
    assert_relative(u, 0.02, 1e-12, "as stated");
    assert!(part < 0.0);
    let change = found.estimate() / evaluated(BASE).estimate() - 1.0;
    let k = found.steps.profile_factor;
    assert_relative(change, -0.5 * (1.0 - k) * 0.10, 0.1, "10 % more friction");
    let text = site(&[("profile", "friction_ratio = \"3\"")]);
    refused(
        &text,
        "out-of-range",
        &["profile.friction_ratio", "0.5 to 2"],
    );
    // a law that knows no friction has no line of it
    let miller = evaluated(&site(&[("profile", "law = \"power_miller\"")]));
    assert_eq!(line(&miller, "profile.friction_ratio"), None);
}

/// Roughness known within a factor of two shows in the budget.
#[test]
fn roughness_known_within_a_factor_of_two_shows_in_the_budget() {
    let rough =
        "roughness = { value = \"0.3 mm\", half_width = \"0.15 mm\", shape = \"rectangular\" }";
    let found = evaluated(&site(&[("pipe", rough)]));
    let (_, roughness, _) = line(&found, "pipe.roughness").expect("a line");
    let (_, friction, _) = line(&found, "profile.friction_ratio").expect("a line");
    assert!(roughness.abs() > 0.002, "{roughness}");
    assert!(friction.abs() > 0.001, "{friction}");
    let smooth = evaluated(BASE);
    let (rough_u, ..) = line(&found, "profile.law_factor").expect("a line");
    let (smooth_u, ..) = line(&smooth, "profile.law_factor").expect("a line");
    assert!(rough_u > 1.5 * smooth_u, "{rough_u} and {smooth_u}");
}

#[test]
fn a_beam_as_wide_as_stated_averages_chords() {
    let stated =
        "beam_width = { value = \"30 mm\", half_width = \"5 mm\", shape = \"rectangular\" }";
    let found = evaluated(&site(&[("path", stated)]));
    let steps = &found.steps;
    assert_relative(
        steps.conditions.beam.expect("a beam"),
        0.030 / steps.inside_diameter,
        1e-15,
        "over the bore",
    );
    let (law, friction) = (ProfileLaw::default(), FrictionLaw::Colebrook);
    let k = factor_of(&steps.conditions, steps.reynolds, 0.0, law, friction);
    assert_relative(steps.profile_factor, k, 1e-13, "factor");
    let thin = evaluated(BASE);
    let change = found.estimate() / thin.estimate() - 1.0;
    assert!((0.001..0.004).contains(&change), "{change}");
    assert!(line(&found, "path.beam_width").expect("a line").1 > 0.0);
    // nothing stated: up to 20 mm
    let (u, _, evidence) = line(&thin, "profile.law_factor").expect("a line");
    let (narrower, _, words) = line(&found, "profile.law_factor").expect("a line");
    assert!(u > narrower && evidence.contains("20 mm") && !words.contains("20 mm"));
    let wide = site(&[("path", "beam_width = \"150 mm\"")]);
    refused(
        &wide,
        "out-of-range",
        &["path.beam_width", "so that the beam passes"],
    );
}

#[test]
fn a_stated_transition_decides_the_state_of_the_flow() {
    // a Reynolds number of some 3500: turbulent, or not, by the inlet
    let viscosity = "38 cSt";
    let usual = evaluated(&viscous(viscosity, &[]));
    assert!(
        (3000.0..4000.0).contains(&usual.steps.reynolds),
        "{}",
        usual.steps.reynolds
    );
    assert_eq!(usual.regime(), Regime::Transition);
    let (u, _, evidence) = line(&usual, "profile.transition_reynolds").expect("a line");
    // a density that falls linearly between 1950 and 3150
    assert_relative(u, 1200.0 / 18.0_f64.sqrt(), 1e-12, "of all pipes");
    assert!(evidence.contains("of the time by the model"));
    let quiet = "transition_reynolds = { value = \"6000\", standard_uncertainty = \"200\" }";
    let found = evaluated(&viscous(viscosity, &[("profile", quiet)]));
    assert_eq!(found.regime(), Regime::Laminar);
    assert_eq!(found.steps.profile_factor, LAMINAR_FACTOR);
    let text = viscous(viscosity, &[("profile", "transition_reynolds = \"1000\"")]);
    refused(
        &text,
        "out-of-range",
        &["profile.transition_reynolds", "1900 to 20000"],
    );
}

#[test]
fn developing_laminar_flow_is_warned_of_and_uncertain() {
    let at = |run: &str| viscous("120 cSt", &[("profile", run)]);
    let found = evaluated(&viscous("120 cSt", &[]));
    let steps = &found.steps;
    assert_eq!(found.regime(), Regime::Laminar);
    let left = entrance_half_width(&steps.conditions, steps.reynolds, 50.0);
    let (u, ..) = line(&found, "profile.law_factor").expect("a line");
    let widest = 0.020 / steps.inside_diameter;
    let beam = widest * widest / 3.0;
    let limits = libm::hypot(left, beam) / 3.0_f64.sqrt();
    assert_relative(u, libm::hypot(0.003, limits), 1e-9, "50 D assumed");
    assert_eq!(codes(&viscous("120 cSt", &[])), ["developing-flow"]);
    assert_eq!(codes(&at("inlet_run = \"30 D\"")), ["developing-flow"]);
    assert!(codes(&at("inlet_run = \"400 D\"")).is_empty());
    let (u, ..) = line(
        &evaluated(&at("inlet_run = \"61.8 m\"")),
        "profile.law_factor",
    )
    .expect("u");
    let developed = libm::hypot(0.003, beam / 3.0_f64.sqrt());
    assert_relative(u, developed, 1e-3, "developed, one measured profile");
    // the demonstration is turbulent: no word
    assert!(codes(&site(&[("profile", "inlet_run = \"10 D\"")])).is_empty());
    let none = at("inlet_run = \"0 m\"");
    refused(&none, "out-of-range", &["profile.inlet_run", "above 0"]);
}

#[test]
fn layers_of_different_temperature_are_warned_of() {
    let water =
        |kelvin: &str| site(&[("liquid", &format!("temperature_difference = \"{kelvin}\""))]);
    assert!(codes(&water("1 K")).is_empty());
    // slow: readings of a twentieth
    let columns = [
        ("time_difference_ns", vec![4.95, 5.05, 5.0, 5.0]),
        ("transit_time_us", vec![240.0, 240.1, 239.9, 240.0]),
    ];
    let columns = columns
        .iter()
        .map(|(name, values)| (*name, values.as_slice()));
    let slow = Readings::from_columns(columns).expect("readings");
    let found = evaluate(&water("5 K"), &slow).expect("site");
    let warnings = found.warnings();
    let warning = warnings
        .iter()
        .find(|w| w.code == "stratified-flow")
        .expect("a warning");
    // g alpha dT D / V^2, with the expansion of water at 20 degC, 2.07e-4 1/K (handbooks)
    let v = found.steps.mean_velocity;
    let richardson = 9.80665 * 2.07e-4 * 5.0 * found.steps.inside_diameter / (v * v);
    assert!(
        warning
            .words
            .contains(&format!("number of {richardson:.2}")),
        "{}",
        warning.words
    );
    let text = water("-1 K");
    refused(
        &text,
        "out-of-range",
        &["liquid.temperature_difference", "0 or above"],
    );
}

/// Profile factor, and that of turbulent flow at the same Reynolds number.
#[derive(Clone)]
struct Factors(Evaluation);

impl MeasurementModel for Factors {
    type Outputs<S: Scalar> = [S; 2];

    fn outputs(&self) -> Vec<Output> {
        ["k", "k of turbulent flow"]
            .map(|name| Output {
                name: name.to_owned(),
                unit: Unit::named("1"),
            })
            .to_vec()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 2]> {
        let steps = self.0.model.steps(x);
        let always = Conditions {
            transition_reynolds: Some(S::constant(1.0)),
            ..steps.conditions
        };
        let (law, friction) = (ProfileLaw::default(), FrictionLaw::Colebrook);
        let least = steps.reynolds.max(S::constant(1400.0));
        let turbulent = factor_of(&always, least, steps.relative_roughness, law, friction);
        Ok([steps.profile_factor, turbulent])
    }
}

/// A million trials at ten Reynolds numbers through the transition: each between laminar and turbulent
/// flow. Where the odds of the share were shifted, trials came out at -18 884 times the flow.
#[test]
fn no_trial_leaves_the_physical_range() {
    for step in 0..10 {
        let reynolds = 1500.0 + 3500.0 / 9.0 * f64::from(step);
        let guess = evaluated(&viscous("40 cSt", &[]));
        let viscosity = 40.0 * guess.steps.reynolds / reynolds;
        let found = evaluated(&viscous(&format!("{viscosity:.4} cSt"), &[]));
        assert_relative(found.steps.reynolds, reynolds, 0.15, "about there");
        let run = MonteCarlo {
            trials: 100_000,
            seed: 3,
            ..MonteCarlo::default()
        };
        let trials = run
            .joint(&Factors(found.clone()), &found.inputs)
            .expect("trials");
        assert_eq!(trials.failed(), 0);
        let pairs = trials.values(0).iter().zip(trials.values(1));
        for (k, turbulent) in pairs {
            // as good as the fits of trials
            let inside = (LAMINAR_FACTOR - 1e-9..=turbulent + 1e-8).contains(k);
            assert!(inside, "{k} beside {turbulent} at {reynolds}");
        }
        let summary = found.monte_carlo(run).expect("trials");
        let u = summary.standard_uncertainty / found.estimate();
        assert!(u < 0.12, "{u} at {reynolds}");
    }
}
