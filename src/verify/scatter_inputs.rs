//! The scatter of the runs as inputs of the errors of the flow points.

use super::scatter::{Groups, Repeatability, Reproducibility, repeatability};
use super::verification::Verification;
use crate::error::Result;
use crate::uncertainty::Input;
use crate::uncertainty::union::Own;

/// What the scatter of the runs tells.
pub(super) struct Scatter {
    pub(super) repeatability: Vec<Option<Repeatability>>,
    pub(super) reproducibility: Vec<Option<Reproducibility>>,
}

pub(super) fn scatter(
    verification: &Verification,
    groups: &[Vec<(String, Vec<usize>)>],
    errors: &[f64],
) -> Result<Scatter> {
    let points: Vec<Groups<'_>> = verification
        .points
        .iter()
        .zip(groups)
        .map(|(point, groups)| Groups {
            point,
            errors: groups
                .iter()
                .map(|(_, runs)| runs.iter().map(|run| errors[*run]).collect())
                .collect(),
        })
        .collect();
    let reproducibility = points.iter().map(Groups::reproducibility);
    Ok(Scatter {
        repeatability: repeatability(&points, verification.repeatability)?,
        reproducibility: reproducibility.collect::<Result<_>>()?,
    })
}

impl Scatter {
    /// The standard deviation of the effect of a placement over all points; `None` where the runs
    /// do not tell it.
    pub(super) fn between_placements(&self) -> Option<f64> {
        let found: Vec<&Reproducibility> = self.reproducibility.iter().flatten().collect();
        let dof = |r: &Reproducibility| (r.placements - 1) as f64;
        let weights: f64 = found.iter().map(|r| dof(r)).sum();
        let squares = found
            .iter()
            .map(|r| dof(r) * r.between_placements * r.between_placements);
        let deviation = (squares.sum::<f64>() / weights).sqrt();
        (deviation > 0.0).then_some(deviation)
    }
}

/// The runs of a point by the name of their placement.
pub(super) type Placements = [(String, Vec<usize>)];

/// The input of the scatter of the runs of a point about the means of their placements.
///
/// Where the effect of the placements is judged from the same runs, it gets no more degrees of freedom
/// than that: with those of its own, intervals for 95 % would cover 90 % (three placements of five
/// runs, by simulation), since the effect is found to be zero where it is not.
pub(super) fn repeatability_input(
    point: &str,
    placements: &Placements,
    found: &Repeatability,
    least_dof: f64,
) -> Result<Own> {
    let count: usize = placements.iter().map(|(_, runs)| runs.len()).sum();
    let of = if found.pooled {
        "all points"
    } else {
        "this point"
    };
    let why = format!("scatter of the runs of {of}, mean of {count}");
    let name = format!("point[{point}].repeatability");
    let dof = found.dof.min(least_dof);
    scatter_input(name, found.standard_uncertainty, dof, "repeatability", why)
}

/// The input of the mean effect of the placements of a point. The placements are the same at all
/// points, so that it is one input, and more points add no degrees of freedom.
pub(super) fn reproducibility_input(placements: &Placements, deviation: f64) -> Result<Own> {
    let names: Vec<&str> = placements.iter().map(|(name, _)| name.as_str()).collect();
    let count = names.len() as f64;
    let why = format!("analysis of variance over placements, mean of {count}");
    let name = format!("placements[{}].reproducibility", names.join(", "));
    let u = deviation / count.sqrt();
    scatter_input(name, u, count - 1.0, "reproducibility", why)
}

/// An input of the scatter of errors.
fn scatter_input(name: String, u: f64, dof: f64, component: &str, why: String) -> Result<Own> {
    let input = Input::with_standard_uncertainty(&name, 0.0, u, dof)?
        .shown_in(crate::units::Unit::percent())
        .in_component(component)
        .evidence_in_words(why);
    Ok(Own {
        name,
        input,
        scatters: false,
    })
}
