//! What drawings and tables of a site rest on, against the physics called one by one and against
//! the budget.

use crate::site::{BASE, readings, site};
use crate::support::{assert_refused, assert_relative, demo, demo_readings, evaluate, with};
use flowdoubt::acoustics::{Aim, Layer, LayeredPipe};
use flowdoubt::evaluate::Readings;
use flowdoubt::model::PathLayout;
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::profile::{FrictionLaw, ProfileLaw, chord_factor};
use flowdoubt::record::{Extras, Record};
use flowdoubt::site::Site;

fn layout_of(text: &str) -> PathLayout {
    let site = Site::from_toml(text, "site.toml").expect("site");
    site.path_layout().expect("a known path")
}

#[test]
fn the_corners_of_the_ray_are_those_of_the_traced_path() {
    for traverses in 1..=5_u32 {
        let text = with(BASE, "traverses = 2", &format!("traverses = {traverses}"));
        let text = with(
            &text,
            "[path]\n",
            "[path]\ncouplant = \"0.2 mm\"\ncouplant_sound_speed = \"1600 m/s\"\n",
        );
        let text = with(
            &text,
            "[meter]\n",
            "[meter]\nwedge_delay_covers_couplant = false\n",
        );
        let text = with(
            &text,
            "[pipe]\n",
            "[pipe]\nliner = \"3 mm\"\nliner_sound_speed = \"2400 m/s\"\n",
        );
        let layout = layout_of(&text);
        let layer = |thickness: f64, sound_speed: f64| Layer {
            thickness,
            sound_speed,
        };
        let angle = 40.0_f64.to_radians();
        let traced = LayeredPipe {
            outside_diameter: 0.1683,
            couplant: Some(layer(2e-4, 1600.0)),
            layers: vec![layer(7.11e-3, 3230.0), layer(3e-3, 2400.0)],
            liquid_sound_speed: layout.liquid_sound_speed,
            traverses,
        }
        .trace(Aim::Wedge {
            angle,
            sound_speed: 2430.0,
        })
        .expect("a path");
        assert_relative(layout.spacing, traced.path.spacing, 1e-14, "spacing");
        assert_relative(layout.liquid_angle, traced.liquid_angle, 1e-14, "angle");
        let names: Vec<&str> = layout.layers.iter().map(|l| l.name.as_str()).collect();
        assert_eq!(names, ["couplant", "wall", "liner"]);
        for (drawn, angle) in layout.layers[1..].iter().zip(&traced.layer_angles) {
            assert_relative(drawn.angle, *angle, 1e-14, &drawn.name);
        }
        let (first, last) = (layout.ray[0], layout.ray[layout.ray.len() - 1]);
        assert_eq!(layout.ray.len() as u32, 3 + traverses + 3 + 1);
        assert_relative(last[0] - first[0], layout.spacing, 1e-14, "run");
        assert_relative(first[1], 0.1683 / 2.0 + 2e-4, 1e-14, "under the wedge");
        assert_eq!(layout.is_direct(), last[1] < 0.0);
        assert_relative(last[1].abs(), first[1], 1e-14, "height");
        let touches = &layout.ray[3..=3 + traverses as usize];
        for pair in touches.windows(2) {
            assert_relative(
                (pair[1][1] - pair[0][1]).abs(),
                layout.inside_diameter,
                1e-14,
                "bore",
            );
        }
    }
}

#[test]
fn a_path_that_takes_readings_is_known_with_them_only() {
    let evaluation = evaluate(BASE, &readings()).expect("base");
    assert_eq!(evaluation.path_layout().as_ref(), Some(&layout_of(BASE)));

    let of_demo = Site::from_toml(&demo("site.toml"), "site.toml").expect("demonstration");
    assert_eq!(of_demo.path_layout(), None, "the temperature is read");
    let evaluation = of_demo.evaluate(&demo_readings()).expect("demonstration");
    let layout = evaluation.path_layout().expect("path");
    assert_eq!(layout.spacing, evaluation.steps.path.spacing);
}

#[test]
fn what_is_stated_reads_as_in_the_budget() {
    let of_demo = Site::from_toml(&demo("site.toml"), "site.toml").expect("demonstration");
    let evaluation = of_demo.evaluate(&demo_readings()).expect("demonstration");
    let budget = evaluation.budget.rounded_lines();
    let stated = of_demo.stated_lines();
    assert!(stated.len() > 15);
    for line in &stated {
        let own = budget.iter().find(|cells| cells[1] == line.input);
        let cells = own.unwrap_or_else(|| panic!("{} is in the budget", line.input));
        let found = [
            line.component,
            &line.input,
            &line.estimate,
            &line.standard_uncertainty,
            &line.unit,
            line.distribution,
            &line.dof,
        ];
        assert_eq!(found.as_slice(), &cells[..7]);
        assert_eq!(&line.evidence, &cells[10]);
        assert!(line.words.ends_with('.'), "{}", line.words);
    }
    let choices = of_demo.choices_in_words();
    let said = |heading: &str| {
        let own = choices.iter().find(|(own, _)| *own == heading);
        own.map(|(_, words)| words.as_str())
    };
    assert_eq!(said("liquid"), Some("water"));
    assert_eq!(said("sound path"), Some("reflected, number of traverses 2"));
    assert_eq!(said("basis"), Some("timed"));
}

#[test]
fn the_factor_at_the_operating_point_is_that_of_the_model() {
    let off_centre = site(&[
        ("path", "chord_offset = \"12 mm\""),
        ("pipe", "roughness = \"0.1 mm\""),
    ]);
    for text in [BASE, off_centre.as_str()] {
        let evaluation = evaluate(text, &readings()).expect("site");
        let steps = &evaluation.steps;
        let at = evaluation
            .profile_factor_at(steps.reynolds)
            .expect("inside the laws");
        assert_relative(at.factor, steps.profile_factor, 1e-12, "factor");
        let far = evaluation.profile_factor_at(1e7).expect("inside the laws");
        let offset = 2.0 * steps.chord_offset / steps.inside_diameter;
        let law = ProfileLaw::default();
        let (roughness, friction) = (steps.relative_roughness, FrictionLaw::Colebrook);
        let expected = chord_factor(1e7, roughness, offset, law, friction);
        assert_relative(far.factor, expected, 1e-14, "factor elsewhere");
        assert!(far.standard_uncertainty > 0.0 && far.standard_uncertainty < 0.01);
    }
    let evaluation = evaluate(BASE, &readings()).expect("site");
    assert_refused(
        evaluation.profile_factor_at(1e12),
        "out-of-range",
        &["Reynolds number"],
    );
    assert_refused(evaluation.velocity_at(1.0), "out-of-range", &["radius"]);
}

#[test]
fn a_record_gives_back_evaluation_trials_and_readings_at_no_flow() {
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("demonstration");
    let run = MonteCarlo {
        trials: 500,
        seed: 9,
        ..MonteCarlo::default()
    };
    let trials = evaluation.monte_carlo(run).expect("trials");
    let zero = [("time_difference_ns", &[0.1, 0.2, 0.15][..])];
    let zero = Readings::from_columns(zero).expect("zero");
    let extras = Extras {
        trials: Some(&trials),
        digits: 1,
        at_no_flow: Some(&zero),
    };
    let record = Record::of(&evaluation, extras).expect("record");
    let found = record.recomputed().expect("recomputed");
    assert_eq!(found.evaluation.budget, evaluation.budget);
    assert_eq!(found.digits, 1);
    let again = found.trials.expect("trials");
    assert_eq!(again.sorted(), trials.sorted());
    let zero_again = found.at_no_flow.expect("readings at no flow");
    let check = |readings: &Readings| evaluation.zero_check(readings).expect("check").found;
    assert_eq!(check(&zero_again).to_bits(), check(&zero).to_bits());

    let bare = Record::of(&evaluation, Extras::default()).expect("record");
    let found = bare.recomputed().expect("recomputed");
    assert!(found.trials.is_none() && found.at_no_flow.is_none());
}
