//! Warnings and advice: what is said of a site, and where it begins.

use crate::site::{BASE, evaluated, oil, site};
use crate::support::{assert_refused, evaluate, with};
use flowdoubt::evaluate::Readings;
use flowdoubt::liquid::water;
use flowdoubt::site::Site;

#[test]
fn warnings_say_what_limits_a_result() {
    let codes = |text: &str| -> Vec<&'static str> {
        // the transit time that the site expects, or every site would be warned of its sound speed
        let steps = evaluated(text).steps;
        let time = steps.path.time_in_liquid + steps.dead_time;
        let columns = [
            ("time_difference_ns", [99.0, 101.0, 100.0, 100.0]),
            ("transit_time_s", [time - 1e-8, time + 1e-8, time, time]),
        ];
        let columns = columns.iter().map(|(name, v)| (*name, v.as_slice()));
        let readings = Readings::from_columns(columns).expect("readings");
        let found = evaluate(text, &readings).expect("flow");
        let words = found.in_words().expect("words");
        let json = found.to_json(None).expect("json");
        let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        for warning in found.warnings() {
            assert!(words.contains(&warning.words), "{}", warning.words);
        }
        let said = json["warnings"].as_array().expect("list").iter();
        let said: Vec<[&str; 2]> = said
            .map(|said| ["name", "words"].map(|key| said[key].as_str().expect("text")))
            .collect();
        let warnings = found.warnings();
        let warned: Vec<[&str; 2]> = warnings.iter().map(|w| [w.code, &*w.words]).collect();
        assert_eq!(said, warned);
        found.warnings().iter().map(|w| w.code).collect()
    };
    assert_eq!(codes(BASE), [""; 0]);
    let wrong = evaluated(BASE).warnings();
    assert_eq!(wrong[0].code, "sound-speed-differs");
    let causes = &wrong[0].words;
    assert!(causes.contains("liquid.temperature") || causes.contains("readings.transit_time"));
    let near_boiling = with(BASE, "\"5 bar\"", "\"2.4 kPa\"");
    assert_eq!(codes(&near_boiling), ["two-phase-risk"]);
    let hot = with(
        &with(BASE, "\"20 degC\"", "\"130 degC\""),
        "\"5 bar\"",
        "\"8 bar\"",
    );
    let far = ["hot-pipe", "wedge-temperature", "survey-temperature"];
    assert_eq!(codes(&hot), far);
    let long = site(&[("path", "sensor_length = \"200 mm\"")]);
    assert_eq!(codes(&long), ["sensors-overlap"]);
    let fits = site(&[("path", "sensor_length = \"60 mm\"")]);
    assert_eq!(codes(&fits), [""; 0]);
    // the sound drifts by 0.2 mm
    let narrow = site(&[("path", "sensor_length = \"0.2 mm\"")]);
    assert_eq!(codes(&narrow), ["beam-drift"]);
    let oil = oil();
    assert_eq!(
        codes(&with(
            &oil,
            "[liquid]\n",
            "[liquid]\nvapour_pressure = \"5 bar\"\n"
        )),
        ["two-phase-risk", "developing-flow"]
    );
    let stated = with(
        BASE,
        "[liquid]\n",
        "[liquid]\nvapour_pressure = \"1 kPa\"\n",
    );
    let parts = [
        "liquid.vapour_pressure",
        "for tabulated and stated liquids only",
    ];
    assert_refused(Site::from_toml(&stated, "site.toml"), "conflict", &parts);
    let transition = with(&oil, "\"90 cSt\"", "\"48 cSt\"");
    assert_eq!(codes(&transition), ["transition"]);
    // the transition has an uncertainty of its own there, and only there
    let share = |text: &str| {
        let lines = evaluated(text).budget.lines;
        let mut lines = lines.iter();
        let line = lines.find(|line| line.input.name() == "profile.transition_reynolds");
        line.map(|line| line.share)
    };
    assert!(share(&transition).expect("a line") > 0.1);
    assert_eq!((share(BASE), share(&oil)), (None, None));
}

/// Common practice without a source; the test pins where it is said, not that it is right.
#[test]
fn advice_is_that_of_the_pipe() {
    let advice = |text: &str| evaluated(text).mounting_advice().join("; ");
    let large = advice(BASE);
    assert!(large.contains("bar of known length") && large.contains("hard walls"));
    assert!(!large.contains("rail") && !large.contains("opposite side"));
    let direct = advice(&with(BASE, "traverses = 2", "traverses = 1"));
    assert!(direct.contains("opposite side"));
    let small = advice(&with(BASE, "168.3 mm", "88.9 mm"));
    assert!(small.contains("one rail") && !small.contains("bar of known"));
    let plastic = with(BASE, "3230 m/s", "2400 m/s");
    assert!(!advice(&plastic).contains("hard walls"));
    let words = evaluated(BASE).in_words().expect("words");
    assert!(words.contains("mounting (common practice): steel"));
}

/// Each warning begins where it says it does.
#[test]
fn warnings_have_their_thresholds() {
    let steps = evaluated(BASE).steps;
    let has = |text: &str, code: &str| evaluated(text).warnings().iter().any(|w| w.code == code);
    let vapour: f64 = water::saturation_pressure(293.15);
    let head = 0.5 * steps.liquid_density * steps.mean_velocity * steps.mean_velocity;
    for (heads, warned) in [(1.95, true), (2.05, false)] {
        let pressure = format!("\"{:e} Pa\"", vapour + heads * head);
        let text = with(BASE, "\"5 bar\"", &pressure);
        assert_eq!(
            has(&text, "two-phase-risk"),
            warned,
            "{heads} velocity heads"
        );
    }
    let sensor = |metres: f64| site(&[("path", &format!("sensor_length = \"{metres:e} m\""))]);
    let (spacing, drift) = (steps.path.spacing, steps.beam_drift());
    assert!(has(&sensor(1.01 * spacing), "sensors-overlap"));
    assert!(!has(&sensor(0.99 * spacing), "sensors-overlap"));
    // on a direct path the sensors sit opposite
    let direct = with(&sensor(2.0 * spacing), "traverses = 2", "traverses = 1");
    assert!(!has(&direct, "sensors-overlap"));
    assert!(has(&sensor(1.99 * drift), "beam-drift"));
    assert!(!has(&sensor(2.01 * drift), "beam-drift"));
    for (celsius, warned) in [(120.0, false), (123.0, true), (232.0, true)] {
        let wall = format!("wall_temperature = \"{celsius} degC\"");
        assert_eq!(
            has(&site(&[("pipe", &wall)]), "hot-pipe"),
            warned,
            "{celsius}"
        );
    }
    // the angle of the other way: just within and just beyond the standard uncertainty
    let found = evaluated(BASE);
    let u = found.budget.relative_standard_uncertainty();
    let slope = found
        .placement()
        .expect("placement")
        .expect("a path")
        .relative_sensitivity
        .expect("flow");
    for (uncertainties, warned) in [(0.9, false), (1.1, true)] {
        let placed = spacing + uncertainties * u / slope;
        let text = site(&[("path", &format!("spacing = \"{placed:e} m\""))]);
        assert_eq!(has(&text, "angles-differ"), warned, "{uncertainties} u");
    }
}
