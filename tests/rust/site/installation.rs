//! The fitting upstream in a site file: what it does to the budget, and how it is refused.

use crate::support::{FACTOR, assert_relative, demo_readings, evaluate, plain_demo, slope, with};
use flowdoubt::evaluate::Evaluation;
use flowdoubt::profile::disturbance::{
    Fitting, Mounting, Planes, cross_flow_half_width, installation_factor, installation_half_width,
};
use flowdoubt::site::{Change, Site};
use flowdoubt::uncertainty::Input;

/// The demonstration site with other lines in place of its installation factor.
fn site(lines: &str) -> String {
    with(&plain_demo(), FACTOR, lines)
}

#[track_caller]
fn evaluated(lines: &str) -> Evaluation {
    evaluate(&site(lines), &demo_readings()).expect("an evaluation")
}

fn input<'a>(evaluation: &'a Evaluation, name: &str) -> Option<&'a Input> {
    evaluation.inputs.inputs().iter().find(|i| i.name() == name)
}

fn refuses(lines: &str, place: &str, code: &str, parts: &[&str]) {
    crate::site::file::refuses_text(&site(lines), place, code, parts);
}

const BEND: &str = "fitting = \"single_bend\"\nstraight_run = \"8 D\"\norientation = \"90 deg\"";

fn behind_bend(straight_run: f64, orientation: Option<f64>, planes: Planes) -> Mounting<f64> {
    Mounting {
        straight_run,
        orientation: orientation.map(f64::to_radians),
        planes,
    }
}

#[test]
fn the_factor_is_that_of_the_family() {
    let e = evaluated(BEND);
    let m = behind_bend(8.0, Some(90.0), Planes::One);
    let factor = input(&e, "installation.factor").expect("an input");
    let k = installation_factor(Fitting::SingleBend, &m);
    assert_eq!(factor.estimate(), k);
    let h = installation_half_width(Fitting::SingleBend, &m);
    assert_relative(
        factor.standard_uncertainty(),
        k * h / libm::sqrt(3.0),
        1e-14,
        "half-width",
    );
    assert_eq!(factor.component(), "installation");
    for words in [
        "8.0 D downstream of one 90 degree bend",
        "path at 90 deg",
        "Sensors 21 (2021) 868",
    ] {
        assert!(factor.evidence().contains(words), "{}", factor.evidence());
    }
    // the demonstration site has two traverses, so cross flow cancels; nothing else is uncertain
    let terms = e
        .inputs
        .inputs()
        .iter()
        .filter(|i| i.name().starts_with("installation.factor"));
    assert_eq!(terms.count(), 1);
    let undisturbed = evaluated("");
    let ratio = e.estimate() / undisturbed.estimate();
    assert!(
        (ratio / k - 1.0).abs() < 1e-3,
        "{ratio} is not {k}, apart from the Reynolds number"
    );
}

#[test]
fn a_run_in_metres_is_the_run_in_diameters() {
    let bore = evaluated("").steps.inside_diameter;
    let run = format!("straight_run = \"{} m\"", 8.0 * bore);
    let metres = evaluated(&with(BEND, "straight_run = \"8 D\"", &run));
    let diameters = evaluated(BEND);
    let name = "installation.factor";
    let [a, b] = [&metres, &diameters].map(|e| input(e, name).expect("an input").estimate());
    assert_relative(a, b, 1e-12, "factor");
    for text in ["8D", " 8.0 D ", "8e0 D"] {
        let e = evaluated(&with(BEND, "8 D", text));
        assert_eq!(e.estimate(), diameters.estimate(), "{text}");
    }
}

#[test]
fn uncertainties_of_run_and_orientation_have_lines_of_their_own() {
    let lines = "fitting = \"single_bend\"\n\
                 straight_run = { value = \"6 D\", standard_uncertainty = \"0.4 D\", dof = 9 }\n\
                 orientation = { value = \"30 deg\", half_width = \"10 deg\", shape = \"rectangular\" }";
    let e = evaluated(lines);
    let at = |run, degrees| {
        installation_factor(
            Fitting::SingleBend,
            &behind_bend(run, Some(degrees), Planes::One),
        )
    };
    let run = input(&e, "installation.factor.straight_run").expect("an input");
    let expected = (slope(|x| at(x, 30.0), 6.0, 1e-3) * 0.4).abs();
    assert_relative(run.standard_uncertainty(), expected, 1e-8, "straight run");
    assert_eq!((run.estimate(), run.dof()), (0.0, 9.0));
    let angle = input(&e, "installation.factor.orientation").expect("an input");
    let expected = (slope(|x| at(6.0, x), 30.0, 1e-2) * 10.0 / libm::sqrt(3.0)).abs();
    assert_relative(angle.standard_uncertainty(), expected, 1e-8, "orientation");
    // the same uncertainty in metres
    let bore = e.steps.inside_diameter;
    let metres = with(lines, "\"6 D\"", &format!("\"{} m\"", 6.0 * bore));
    let metres = with(&metres, "\"0.4 D\"", &format!("\"{} m\"", 0.4 * bore));
    let same = evaluated(&metres);
    let same = input(&same, "installation.factor.straight_run").expect("an input");
    let u = run.standard_uncertainty();
    assert_relative(same.standard_uncertainty(), u, 1e-10, "metres");
    // a percentage is one of the run
    let relative = with(lines, "\"0.4 D\"", "\"10 %\"");
    let run = input(&evaluated(&relative), "installation.factor.straight_run").cloned();
    let slope_times_u = (slope(|x| at(x, 30.0), 6.0, 1e-3) * 0.6).abs();
    let found = run.expect("an input").standard_uncertainty();
    assert_relative(found, slope_times_u, 1e-8, "10 % of 6 D");
}

#[test]
fn direct_paths_have_the_uncertainty_of_cross_flow() {
    let direct = with(
        &site(&with(BEND, "90 deg", "45 deg")),
        "traverses = 2",
        "traverses = 1",
    );
    // the transit time of the demonstration is that of two traverses; half of it fits one
    let direct = with(&direct, "basis = \"timed\"", "basis = \"geometric\"");
    let e = evaluate(&direct, &demo_readings()).expect("an evaluation");
    let m = behind_bend(8.0, Some(45.0), Planes::One);
    let [_, angle] = e.steps.angles();
    let h = cross_flow_half_width(Fitting::SingleBend, &m, 1, angle);
    let k = installation_factor(Fitting::SingleBend, &m);
    let found = input(&e, "installation.factor.cross_flow").expect("an input");
    assert_relative(
        found.standard_uncertainty(),
        k * h / libm::sqrt(3.0),
        1e-12,
        "cross flow",
    );
    assert_eq!(found.estimate(), 0.0);
}

#[test]
fn two_planes_and_unstated_orientations() {
    let two = evaluated("fitting = \"pump\"\nstraight_run = \"25 D\"\nplanes = 2");
    let m = behind_bend(25.0, None, Planes::Two);
    let factor = input(&two, "installation.factor").expect("an input");
    assert_eq!(factor.estimate(), installation_factor(Fitting::Pump, &m));
    assert!(
        factor.evidence().contains("two crossed planes"),
        "{}",
        factor.evidence()
    );
    assert!(
        factor.evidence().contains("judgement"),
        "{}",
        factor.evidence()
    );
    let u = |lines: &str| {
        let e = evaluated(lines);
        input(&e, "installation.factor").map(Input::standard_uncertainty)
    };
    let unstated = u("fitting = \"single_bend\"\nstraight_run = \"8 D\"");
    assert!(
        unstated > u(BEND),
        "an orientation that is not stated adds uncertainty"
    );
}

#[test]
fn a_short_run_is_cautioned() {
    let short = |e: Evaluation| {
        let mut own = e.warnings().into_iter();
        let found = own.find(|w| w.code == "short-straight-run");
        found.map(|w| w.words)
    };
    let caution = |run: &str| short(evaluated(&with(BEND, "8 D", run)));
    let words = caution("2.8 m").expect("a caution");
    assert!(
        words.contains("7.2 D downstream of one 90 degree bend"),
        "{words}"
    );
    assert_eq!(caution("10 D"), None);
    assert_eq!(short(evaluated("")), None);
}

#[test]
fn a_longer_run_shrinks_the_line() {
    let u = |run: &str| {
        let e = evaluated(&with(BEND, "8 D", run));
        let u = input(&e, "installation.factor").map(Input::standard_uncertainty);
        u.expect("an input")
    };
    let runs = ["2 D", "5 D", "10 D", "20 D", "60 D"].map(u);
    assert!(runs.windows(2).all(|pair| pair[1] < pair[0]), "{runs:?}");
    assert!(runs[4] > 0.0028, "the floor stays: {runs:?}");
}

#[test]
fn the_section_survives_a_round_trip() {
    let text = site(
        "fitting = \"two_bends_in_plane\"\nstraight_run = { value = \"3.1 m\", \
                     half_width = \"5 cm\", shape = \"rectangular\" }\norientation = \"45 deg\"\n\
                     planes = 2",
    );
    // a change that changes nothing is written all the same
    let change = Change {
        planes: Some(2),
        ..Change::default()
    };
    let stated = Site::from_toml(&text, "site.toml").expect("a site");
    let again = stated
        .with(&change)
        .expect("the same site")
        .text()
        .to_owned();
    assert_ne!(again, text);
    let [a, b] = [&text, &again].map(|t| evaluate(t, &demo_readings()).expect("an evaluation"));
    assert_eq!(a.estimate(), b.estimate());
    assert_eq!(a.standard_uncertainty(), b.standard_uncertainty());
    let first = |e: &Evaluation| input(e, "installation.factor").cloned();
    assert_eq!(first(&a), first(&b));
}

#[test]
fn mistakes_are_refused_at_their_line() {
    let missing = ["installation.straight_run: missing", "2.4 m", "8 D"];
    refuses("fitting = \"pump\"", "fitting", "missing", &missing);
    let parts = ["installation.fitting: missing", "single_bend"];
    refuses("straight_run = \"8 D\"", "straight_run", "missing", &parts);
    refuses("orientation = \"8 deg\"", "orientation", "missing", &parts);
    refuses("planes = 2", "planes", "missing", &parts);
    let both = format!("{FACTOR}\n{BEND}");
    let parts = ["installation.fitting", "beside a factor", "one of"];
    refuses(&both, "fitting", "conflict", &parts);

    let mistake = |passage: &str, mistake: &str, place: &str, code: &str, parts: &[&str]| {
        refuses(&with(BEND, passage, mistake), place, code, parts);
    };
    let near = ["did you mean `single_bend`", "two_bends_out_of_plane"];
    mistake(
        "single_bend",
        "singel_bend",
        "fitting",
        "unknown-name",
        &near,
    );
    let key = ["installation.straigt_run", "did you mean `straight_run`"];
    mistake(
        "straight_run",
        "straigt_run",
        "straigt_run",
        "unknown-key",
        &key,
    );
    let run = "straight_run";
    mistake(
        "8 D",
        "-8 D",
        run,
        "out-of-range",
        &["found -8 D", "above 0"],
    );
    mistake(
        "8 D",
        "-2 m",
        run,
        "out-of-range",
        &["found -2 m", "above 0"],
    );
    mistake(
        "8 D",
        "0.5 D",
        run,
        "out-of-range",
        &["found 0.5 D", "1 to 1000 inside diameters"],
    );
    mistake(
        "8 D",
        "2000 D",
        run,
        "out-of-range",
        &["found 2000 D", "1 to 1000"],
    );
    mistake(
        "8 D",
        "100 mm",
        run,
        "out-of-range",
        &[" D;", "1 to 1000 inside diameters"],
    );
    mistake(
        "8 D",
        "8 d",
        run,
        "unknown-unit",
        &["`d`", "or D for inside diameters"],
    );
    mistake(
        "8 D",
        "8 deg",
        run,
        "wrong-dimension",
        &["angle, not length"],
    );
    mistake(
        "8 D",
        "eight D",
        run,
        "not-a-quantity",
        &["eight D", "straight run"],
    );
    let readings = "{ readings = [\"8 D\", \"9 D\"] }";
    mistake(
        "\"8 D\"",
        readings,
        run,
        "conflict",
        &["without `readings`"],
    );
    let mixed = "{ value = \"8 D\", standard_uncertainty = \"1 m\" }";
    mistake(
        "\"8 D\"",
        mixed,
        run,
        "wrong-dimension",
        &["standard_uncertainty", "length"],
    );
    mistake(
        "90 deg",
        "90 mm",
        "orientation",
        "wrong-dimension",
        &["length, not angle"],
    );
    let three = format!("{BEND}\nplanes = 3");
    refuses(
        &three,
        "planes",
        "out-of-range",
        &["installation.planes", "found 3"],
    );
}

#[test]
fn only_turbulent_flow_from_the_fitting_has_a_family() {
    // a viscous liquid makes the same flow laminar
    let liquid =
        "kind = \"stated\"\nsound_speed = \"1440 m/s\"\nkinematic_viscosity = \"1500 mm2/s\"";
    let text = site(BEND);
    let from = text.find("kind = \"water\"").expect("the liquid");
    let to = text.find("[pipe]").expect("the pipe");
    let laminar = format!("{}{liquid}\n\n{}", &text[..from], &text[to..]);
    let parts = [
        "installation.fitting",
        "Reynolds number above 4045",
        "installation.factor",
    ];
    crate::site::file::refuses_text(&laminar, "straight_run", "out-of-range", &parts);
    let reverse = text.replace(
        "zero_time_difference = { value = \"0.15 ns\"",
        "zero_time_difference = { value = \"900 ns\"",
    );
    let parts = ["installation.fitting", "the fitting lies upstream"];
    crate::site::file::refuses_text(&reverse, "straight_run", "out-of-range", &parts);
}
