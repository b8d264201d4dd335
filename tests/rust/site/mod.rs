//! Site files: what may be stated, what is refused, and sites of every ordinary kind.

mod contradictions;
mod display;
pub mod file;
mod in_memory;
mod installation;
mod instruments;
mod liquids;
mod path;
mod pipe;
mod profile;
mod without_effect;

use crate::support::{evaluate, with};
use flowdoubt::evaluate::{Evaluation, Readings};

/// A site of exact numbers; keys are added to its sections by [`site`].
pub const BASE: &str = "\
[site]
name = \"base\"
[liquid]
kind = \"water\"
temperature = \"20 degC\"
absolute_pressure = \"5 bar\"
[pipe]
outside_diameter = \"168.3 mm\"
wall = \"7.11 mm\"
wall_sound_speed = \"3230 m/s\"
[path]
basis = \"timed\"
traverses = 2
wedge_angle = \"40 deg\"
wedge_sound_speed = \"2430 m/s\"
[meter]
wedge_delay = \"16 us\"
";

/// The base with lines added to sections: pairs of a section and a line.
pub fn site(lines: &[(&str, &str)]) -> String {
    lines.iter().fold(BASE.to_owned(), |text, (section, line)| {
        let head = format!("[{section}]\n");
        if text.contains(&head) {
            with(&text, &head, &format!("{head}{line}\n"))
        } else {
            format!("{text}{head}{line}\n")
        }
    })
}

/// Readings of 100 ns at 240 us.
pub fn readings() -> Readings {
    // enough for Student's t to have nearly the spread of the normal distribution
    let columns = [
        ("time_difference_ns", [99.0, 101.0, 100.0, 100.0].repeat(10)),
        ("transit_time_us", [240.0, 240.1, 239.9, 240.0].repeat(10)),
    ];
    let columns = columns
        .iter()
        .map(|(name, values)| (*name, values.as_slice()));
    Readings::from_columns(columns).expect("readings")
}

#[track_caller]
pub fn evaluated(site: &str) -> Evaluation {
    evaluate(site, &readings()).unwrap_or_else(|e| panic!("{e}\n{site}"))
}

fn estimate(evaluation: &Evaluation, input: &str) -> (f64, f64, String) {
    let inputs = evaluation.inputs.inputs();
    let found = inputs.iter().find(|i| i.name() == input);
    let found = found.unwrap_or_else(|| panic!("no input {input}"));
    (
        found.estimate(),
        found.standard_uncertainty(),
        found.evidence().to_owned(),
    )
}

const WATER: &str = "kind = \"water\"";

const TABLE: &str = "\
[liquid.table]
temperature = [\"10 degC\", \"20 degC\", \"40 degC\"]
sound_speed = [\"1480 m/s\", \"1445 m/s\", \"1375 m/s\"]
density = [\"878 kg/m3\", \"871 kg/m3\", \"857 kg/m3\"]
kinematic_viscosity = [\"160 cSt\", \"90 cSt\", \"36 cSt\"]
sound_speed_uncertainty = \"3 m/s\"
density_uncertainty = \"0.2 %\"
viscosity_uncertainty = \"4 %\"
evidence = \"data sheet of the oil\"
";

pub fn oil() -> String {
    with(BASE, WATER, "kind = \"tabulated\"") + TABLE
}
