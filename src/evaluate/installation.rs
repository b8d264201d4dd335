//! The installation factor of the fitting upstream, as inputs of the budget.

use super::{Evaluation, Warning};
use crate::error::{Error, Result};
use crate::message::{Message, message};
use crate::model::{Intermediates, Quantity};
use crate::profile::Regime;
use crate::profile::disturbance::{
    Mounting, Planes, TYPICAL_ANGLE_IN_LIQUID, caution_told, cross_flow_half_width,
    installation_factor, installation_half_width,
};
use crate::scalar::Dual;
use crate::site::{Site, UpstreamFitting};
use crate::uncertainty::{Input, Shape};
use crate::units::Unit;

impl Site {
    /// The installation factor with its uncertainty, where the site file states a fitting. Its terms are
    /// the factor of the family, the cross flow on a direct path, and the uncertainties of straight run
    /// and orientation.
    ///
    /// # Errors
    /// A straight run for which the family does not hold, flow that is not turbulent or comes from
    /// the other side.
    pub(crate) fn installation_inputs(
        &self,
        terms: &[(Quantity, Input)],
    ) -> Result<Vec<(Quantity, Input)>> {
        let Some(upstream) = &self.upstream else {
            return Ok(Vec::new());
        };
        let steps = self.steps_at(terms)?;
        let choices = self.skeleton.choices();
        let inputs =
            check_flow(steps.mean_velocity, steps.reynolds, self.transition).and_then(|()| {
                let mounting = upstream.mounting(steps.inside_diameter)?;
                factor_inputs(upstream, &mounting, &steps, choices.traverses)
            });
        let component = Quantity::InstallationFactor.component(choices.basis);
        let finished = |input: Input| {
            let input = input.shown_in(Unit::named("1"));
            let input = input.in_component(component.in_words());
            (Quantity::InstallationFactor, input)
        };
        let inputs = inputs.map_err(|e| e.in_file(&self.file, upstream.line))?;
        Ok(inputs.into_iter().map(finished).collect())
    }
}

impl Evaluation {
    /// The straight run downstream of the stated fitting is shorter than common practice.
    pub(super) fn short_run(&self) -> Option<Warning> {
        let upstream = self.site.upstream.as_ref()?;
        let mounting = upstream.mounting(self.steps.inside_diameter).ok()?;
        let message = caution_told(upstream.fitting, mounting.straight_run)?;
        Some(Warning::told("short-straight-run", message))
    }
}

/// The families are those of turbulent flow that comes from the fitting.
pub(super) fn check_flow(mean_velocity: f64, reynolds: f64, transition: [f64; 2]) -> Result<()> {
    let field = "installation.fitting";
    let allowed = "a mean velocity above 0: the fitting lies upstream";
    Error::range(mean_velocity > 0.0, field, mean_velocity, "m/s", allowed)?;
    let turbulent = Regime::within(reynolds, transition) == Regime::Turbulent;
    let allowed = format!(
        "a Reynolds number above {:.0}; state installation.factor instead",
        Regime::turbulent_above(transition)
    );
    Error::range(turbulent, field, reynolds, "", allowed)
}

fn factor_inputs(
    upstream: &UpstreamFitting,
    mounting: &Mounting<f64>,
    steps: &Intermediates<f64>,
    traverses: u32,
) -> Result<Vec<Input>> {
    let (fitting, path) = (upstream.fitting, &*Quantity::InstallationFactor.path());
    let factor = installation_factor(
        fitting,
        &Mounting {
            straight_run: Dual::<f64, 2>::variable(mounting.straight_run, 0),
            orientation: mounting.orientation.map(|angle| Dual::variable(angle, 1)),
            planes: mounting.planes,
        },
    );
    let rectangular = |name: &str, estimate: f64, half_width: f64| {
        let (shape, dof) = (Shape::Rectangular, f64::INFINITY);
        Input::with_half_width(name, estimate, half_width, shape, dof)
    };
    let half_width = factor.value * installation_half_width(fitting, mounting);
    let evidence = message!(
        "evidence.installation",
        "{mounting}; {source}",
        mounting = told(upstream, mounting),
        source = fitting.source()
    );
    let factor_input = rectangular(path, factor.value, half_width)?;
    let mut inputs = vec![factor_input.evidence_in_message(evidence)];

    let [_, angle] = steps.angles();
    let angle = if angle > 0.0 {
        angle
    } else {
        TYPICAL_ANGLE_IN_LIQUID
    };
    let crossing = cross_flow_half_width(fitting, mounting, traverses, angle);
    if crossing > 0.0 {
        let input = rectangular(&format!("{path}.cross_flow"), 0.0, factor.value * crossing)?;
        inputs.push(input.evidence_in_message(message!(
            "evidence.cross_flow",
            "cross flow along a direct path, whose sign is not known; from memory"
        )));
    }
    let uncertainties = upstream.uncertainties(steps.inside_diameter);
    for ((name, u, dof), slope) in uncertainties.into_iter().zip(factor.gradient) {
        let contribution = (slope * u).abs();
        if contribution > 0.0 {
            let name = format!("{path}.{name}");
            let input = Input::with_standard_uncertainty(&name, 0.0, contribution, dof)?;
            inputs.push(input.evidence_in_message(message!(
                "evidence.slope",
                "as stated, times the slope of the factor"
            )));
        }
    }
    Ok(inputs)
}

/// Fitting, straight run and orientation.
fn told(upstream: &UpstreamFitting, mounting: &Mounting<f64>) -> Message {
    let orientation = match mounting.orientation {
        Some(angle) => message!(
            "evidence.orientation",
            "path at {angle}",
            angle = format!("{:.0} deg", angle.to_degrees())
        ),
        None => message!(
            "evidence.no_orientation",
            "orientation of the path not stated"
        ),
    };
    let placed = message!(
        "evidence.downstream",
        "{run} downstream of {fitting}, {orientation}",
        run = format!("{:.1} D", mounting.straight_run),
        fitting = upstream.fitting.in_words(),
        orientation = orientation
    );
    match mounting.planes {
        Planes::One => placed,
        Planes::Two => message!(
            "evidence.two_planes",
            "{placed}, two crossed planes",
            placed = placed
        ),
    }
}
