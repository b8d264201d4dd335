//! What a reader must be told of the velocity profile.

use super::{Evaluation, Warning};
use crate::message::{Told, message};
use crate::model::{LiquidModel, Quantity};
use crate::profile::{Regime, entrance_half_width, laminar_entrance_length};
use crate::scalar::Dual;

/// What is left of the entrance, as a part of the factor, from which a warning speaks of it: as much
/// as the factor of developed laminar flow is known to. Our choice.
const ENTRANCE: f64 = 0.003;

/// Richardson number from which buoyancy is taken to change the profile. Common practice asks for less
/// than about 0.1, no source.
const RICHARDSON: f64 = 0.1;

/// Thermal expansion in 1/K of a liquid whose density is not known: about that of oils, more than that
/// of water below 90 degC.
const UNKNOWN_EXPANSION: f64 = 0.8e-3;

const GRAVITY: f64 = 9.806_65;

impl Evaluation {
    pub(super) fn transition(&self) -> Option<Warning> {
        (self.regime() == Regime::Transition).then(|| {
            Warning::told(
                "transition",
                message!(
                    "warnings.transition",
                    "Reynolds number {reynolds} is between laminar and turbulent flow: pipes differ in \
                     where the transition lies, and the profile changes from moment to moment; measure \
                     at another flow if you can",
                    reynolds = format!("{:.0}", self.steps.reynolds),
                ),
            )
        })
    }

    /// Laminar flow that is still developing.
    pub(super) fn entrance(&self) -> Option<Warning> {
        if self.regime() != Regime::Laminar {
            return None; // in the transition that is the smaller worry
        }
        let (steps, run) = (&self.steps, self.site.developing_run(&self.steps));
        let left = entrance_half_width(&steps.conditions, steps.reynolds, run);
        (left > ENTRANCE).then(|| {
            let length = format!("{:.0} D", laminar_entrance_length(steps.reynolds));
            let run = format!("{run:.0} D");
            let higher = format!("{:.1} %", 100.0 * left);
            let message = if self.site.inlet_run.is_some() {
                message!(
                    "warnings.developing-flow",
                    "laminar flow needs {length} of straight pipe to develop, and {run} are stated: \
                     the factor may be up to {higher} higher",
                    length = length,
                    run = run,
                    higher = higher,
                )
            } else {
                message!(
                    "warnings.developing-flow-assumed",
                    "laminar flow needs {length} of straight pipe to develop, and {run} are assumed, \
                     for {key} is not stated: the factor may be up to {higher} higher",
                    length = length,
                    run = run,
                    key = Told::Key("profile.inlet_run"),
                    higher = higher,
                )
            };
            Warning::told("developing-flow", message)
        })
    }

    /// Layers of different temperature.
    pub(super) fn stratified(&self) -> Option<Warning> {
        let difference = self.site.temperature_difference?;
        let steps = &self.steps;
        let (expansion, known) = match self.thermal_expansion() {
            Some(expansion) => (expansion, Told::Number(String::new())),
            None => {
                let assumed = message!(
                    "warnings.stratified-flow-assumed",
                    ", with an expansion of {expansion} assumed",
                    expansion = "0.0008 1/K".to_owned(),
                );
                (UNKNOWN_EXPANSION, assumed.into())
            }
        };
        let square = steps.mean_velocity * steps.mean_velocity;
        let richardson = GRAVITY * expansion.abs() * difference * steps.inside_diameter / square;
        (richardson > RICHARDSON).then(|| {
            Warning::told(
                "stratified-flow",
                message!(
                    "warnings.stratified-flow",
                    "a temperature difference of {difference} across the pipe gives a Richardson \
                     number of {richardson}{assumed}: warm liquid flows on top, the profile is none \
                     that any law knows, and the temperature is not that of the sound path; mix the \
                     flow or measure at a higher one",
                    difference = format!("{difference:.2} K"),
                    richardson = format!("{richardson:.2}"),
                    assumed = known,
                ),
            )
        })
    }

    /// Thermal expansion of the liquid in 1/K, where its density is computed.
    fn thermal_expansion(&self) -> Option<f64> {
        let LiquidModel::Computed(liquid) = &self.model.choices().liquid else {
            return None;
        };
        let state = self.model.liquid_state(&self.inputs.estimates());
        self.estimate_of(Quantity::Temperature)?;
        let density = liquid.density(&crate::liquid::State {
            temperature: Dual::<f64, 1>::variable(state.temperature, 0),
            pressure: Dual::fixed(state.pressure),
            content: Dual::fixed(state.content),
        });
        let expansion = -density.gradient[0] / density.value;
        expansion.is_finite().then_some(expansion)
    }
}
