//! All inputs of a site at once, against differences and trials.

use crate::site::{evaluated, site};
use crate::support::{assert_relative, slope, with};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::uncertainty::MeasurementModel;

#[test]
fn every_input_of_a_full_site_has_the_sensitivity_of_a_difference() {
    for (basis, from) in [
        ("timed", "wedge"),
        ("geometric", "spacing"),
        ("timed", "spacing"),
    ] {
        let keys = "roughness = \"0.1 mm\"\novality = \"1 %\"\nliner = \"3 mm\"\nliner_material = \"epoxy\"\n\
                    material = \"carbon steel\"\nsurvey_temperature = \"15 degC\"\n\
                    survey_absolute_pressure = \"1 bar\"";
        let path = format!(
            "spacing = \"150 mm\"\nangle_from = \"{from}\"\ncouplant = \"0.1 mm\"\n\
             chord_offset = \"3 mm\"\ncircumferential_misplacement = \"2 mm\"\n\
             wedge_temperature = \"25 degC\"\nwedge_sound_speed_per_kelvin = \"-2 m/(s K)\""
        );
        let text = site(&[
            ("pipe", keys),
            ("path", &path),
            (
                "meter",
                "cable_length = \"20 m\"\nwedge_delay_covers_couplant = false",
            ),
        ]);
        let text = with(&text, "\"timed\"", &format!("\"{basis}\""))
            + "[[pipe.layer]]\nthickness = \"1 mm\"\nsound_speed = \"2900 m/s\"\n";
        let found = evaluated(&text);
        let x = found.inputs.estimates();
        let flow = |i: usize, value: f64| {
            let mut x = x.clone();
            x[i] = value;
            found.model.evaluate(&x).expect("flow")[0]
        };
        let mut acting = 0;
        for (i, line) in found.budget.lines.iter().enumerate() {
            let h = if x[i] == 0.0 { 1e-4 } else { 1e-4 * x[i].abs() };
            let by_difference = slope(|value| flow(i, value), x[i], h);
            let rounding = 1e-14 * found.estimate() / h;
            let error = (line.sensitivity - by_difference).abs();
            let allowed = 1e-6 * by_difference.abs() + rounding;
            assert!(
                error < allowed,
                "{basis} {from} {}: {error:e}",
                line.input.name()
            );
            acting += usize::from(line.sensitivity.abs() > 10.0 * rounding);
        }
        assert!(acting >= 25, "{basis} {from}: {acting} of {}", x.len());
        let run = MonteCarlo {
            trials: 2000,
            seed: 1,
            ..MonteCarlo::default()
        };
        let trials = found.monte_carlo(run).expect("trials");
        let u = found.standard_uncertainty();
        assert_relative(trials.standard_uncertainty, u, 0.1, "Monte Carlo");
    }
}
