//! The liquid at the meter, from its state or as stated.

use super::terms::Values;
use super::{LiquidModel, Quantity, SiteModel};
use crate::derivation::{Notes, Step};
use crate::liquid::State;
use crate::scalar::Scalar;

/// What the properties of the liquid come to.
pub(super) struct Properties<S> {
    pub(super) density: S,
    pub(super) kinematic_viscosity: S,
    pub(super) sound_speed: S,
}

impl SiteModel {
    /// What computed or stated properties come to.
    pub(super) fn properties<S: Scalar>(
        &self,
        values: &Values<S>,
        notes: &mut impl Notes<S>,
    ) -> Properties<S> {
        let of = |q: Quantity| values.of(q);
        match &self.choices.liquid {
            LiquidModel::Stated => Properties {
                density: S::constant(f64::NAN),
                kinematic_viscosity: of(Quantity::KinematicViscosity),
                sound_speed: of(Quantity::LiquidSoundSpeed),
            },
            LiquidModel::Computed(liquid) => {
                let state = self.state(values);
                let equations = liquid.equations();
                let [of_density, of_viscosity, of_sound_speed] = equations.sources;
                let density = liquid.density(&state) * of(Quantity::DensityFactor);
                notes.note(|| {
                    let equation = format!("F_rho*{}", equations.density);
                    Step::new("rho", "density of the liquid", equation, density, "kg/m3")
                        .from(of_density)
                });
                let viscosity = liquid.kinematic_viscosity(&state, density);
                let kinematic_viscosity = viscosity * of(Quantity::ViscosityFactor);
                notes.note(|| {
                    let words = "kinematic viscosity of the liquid";
                    let equation = format!("F_eta*{}", equations.kinematic_viscosity);
                    Step::new("nu", words, equation, kinematic_viscosity, "m2/s").from(of_viscosity)
                });
                let sound_speed = if liquid.has_sound_speed() {
                    let speed = liquid.sound_speed(&state) * of(Quantity::SoundSpeedFactor);
                    notes.note(|| {
                        let equation = format!("F_c*{}", equations.sound_speed);
                        Step::new("c_f", "sound speed of the liquid", equation, speed, "m/s")
                            .from(of_sound_speed)
                    });
                    speed
                } else {
                    of(Quantity::LiquidSoundSpeed)
                };
                Properties {
                    density,
                    kinematic_viscosity,
                    sound_speed,
                }
            }
        }
    }

    /// The state of a liquid whose properties are computed.
    pub(super) fn state<S: Scalar>(&self, values: &Values<S>) -> State<S> {
        let content = if self.has(Quantity::Salinity) {
            Quantity::Salinity
        } else {
            Quantity::MassFraction
        };
        State {
            temperature: values.of(Quantity::Temperature),
            pressure: values.of(Quantity::Pressure),
            content: values.of(content),
        }
    }

    /// The state of the liquid at the meter; NaN in what nothing is stated or read of.
    pub(crate) fn liquid_state<S: Scalar>(&self, x: &[S]) -> State<S> {
        self.state(&self.values(x))
    }
}
