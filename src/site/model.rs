//! The measurement model of a site: from readings to volume flow, every step by name.

use super::bore::Bore;
use super::values::{Terms, Values};
use super::{AngleFrom, Basis, Choices, Intermediates, LiquidModel, Quantity};
use crate::acoustics::{
    Geometry, Path, axial_slowness, convected, slowness_of_spacing, velocity_from_geometry,
    velocity_from_time, velocity_of_programmed_meter,
};
use crate::error::Result;
use crate::liquid::State;
use crate::pipe;
use crate::profile::{SoundPath, factor_for_velocity_on};
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output};
use crate::units::{Dimension, Unit};

/// The measurement model of one path.
///
/// ```text
/// Q = K_cal K_inst K_mount K_law k(Re, roughness) (pi/4) D^2 v,    Re = 4 Q / (pi D nu)
/// ```
/// Off the axis `k` is that of the chord.
/// The velocity `v` follows from the readings by the [`Basis`]. Each quantity is the sum of its
/// inputs; a quantity without inputs has its default value.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteModel {
    pub(super) choices: Choices,
    pub(super) terms: Terms,
    flow_unit: Unit,
}

/// What the properties of the liquid come to.
struct Properties<S> {
    density: S,
    kinematic_viscosity: S,
    sound_speed: S,
}

impl SiteModel {
    /// The name of the model in records. Its number goes up when an equation changes.
    pub const IDENTIFIER: &'static str = "transit-time path 1";

    pub(super) fn new(choices: Choices) -> SiteModel {
        SiteModel {
            choices,
            terms: Terms::new(Vec::new()),
            flow_unit: Dimension::VolumeFlow.si_unit(),
        }
    }

    /// The same model with the quantity of each input and the unit of the output.
    pub(crate) fn with_terms(mut self, terms: Vec<Quantity>, flow_unit: Unit) -> SiteModel {
        self.terms = Terms::new(terms);
        self.flow_unit = flow_unit;
        self
    }

    /// The same model with the angle of the ray from elsewhere.
    pub(crate) fn with_angle_from(mut self, angle_from: AngleFrom) -> SiteModel {
        self.choices.angle_from = angle_from;
        self
    }

    /// What the site file chooses.
    pub fn choices(&self) -> &Choices {
        &self.choices
    }

    /// The quantity of each input.
    pub fn terms(&self) -> &[Quantity] {
        &self.terms.of
    }

    /// Whether anything is stated or read of a quantity.
    pub fn has(&self, q: Quantity) -> bool {
        self.terms.have(q)
    }

    pub(super) fn values<S: Scalar>(&self, x: &[S]) -> Values<S> {
        self.terms.values(x, self.choices.layers)
    }

    fn properties<S: Scalar>(&self, values: &Values<S>) -> Properties<S> {
        let of = |q: Quantity| values.of(q);
        match &self.choices.liquid {
            LiquidModel::Stated => Properties {
                density: S::constant(f64::NAN),
                kinematic_viscosity: of(Quantity::KinematicViscosity),
                sound_speed: of(Quantity::LiquidSoundSpeed),
            },
            LiquidModel::Computed(liquid) => {
                let state = self.state(values);
                let density = liquid.density(&state) * of(Quantity::DensityFactor);
                let viscosity = liquid.kinematic_viscosity(&state, density);
                let sound_speed = if liquid.has_sound_speed() {
                    liquid.sound_speed(&state) * of(Quantity::SoundSpeedFactor)
                } else {
                    of(Quantity::LiquidSoundSpeed)
                };
                Properties {
                    density,
                    kinematic_viscosity: viscosity * of(Quantity::ViscosityFactor),
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

    /// Sound speed of the wedge at its temperature.
    pub(super) fn wedge_sound_speed<S: Scalar>(&self, values: &Values<S>) -> S {
        let stated = values.of(Quantity::WedgeSoundSpeed);
        if !self.has(Quantity::WedgeTemperature) {
            return stated;
        }
        let warmer =
            values.of(Quantity::WedgeTemperature) - values.of(Quantity::WedgeReferenceTemperature);
        stated + values.of(Quantity::WedgeSoundSpeedPerKelvin) * warmer
    }

    /// Every step of the evaluation, by name.
    pub fn steps<S: Scalar>(&self, x: &[S]) -> Intermediates<S> {
        let values = self.values(x);
        let of = |q: Quantity| values.of(q);
        let bore = Bore::of(&self.choices, &self.terms, &values);
        let liquid = self.properties(&values);

        // the sound path and the velocity on it
        let geometry = Geometry {
            layers: &bore.layers,
            chord: bore.chord,
            liquid_sound_speed: liquid.sound_speed,
            traverses: self.choices.traverses,
        };
        let slowness = match self.choices.angle_from {
            AngleFrom::Wedge => {
                axial_slowness(of(Quantity::WedgeAngle), self.wedge_sound_speed(&values))
            }
            AngleFrom::Spacing => slowness_of_spacing(&geometry, of(Quantity::Spacing)),
        };
        let path = Path::trace(&geometry, slowness);
        let dead_time = of(Quantity::ElectronicsDelay)
            + of(Quantity::CableDelay)
            + of(Quantity::CableLength) * of(Quantity::CableDelayPerLength)
            + of(Quantity::WedgeDelay)
            + path.time_in_layers;
        let time_in_liquid = of(Quantity::TransitTime) - dead_time;
        let time_difference = of(Quantity::TimeDifference) - of(Quantity::ZeroTimeDifference);
        let path_velocity = match self.choices.basis {
            Basis::Timed => {
                let first_order = velocity_from_time(time_difference, time_in_liquid, slowness);
                convected(first_order, path.liquid_sine, liquid.sound_speed)
            }
            Basis::Geometric => velocity_from_geometry(time_difference, &path, liquid.sound_speed),
            Basis::Indicated => self.indicated_velocity(&of, slowness),
        };

        // the profile, solved together with the flow
        let factors = of(Quantity::CalibrationFactor)
            * of(Quantity::LawFactor)
            * of(Quantity::InstallationFactor)
            * of(Quantity::RemountingFactor);
        let relative_roughness = of(Quantity::Roughness) / bore.inside_diameter;
        let path_reynolds =
            (factors * path_velocity).abs() * bore.inside_diameter / liquid.kinematic_viscosity;
        let sound_path = SoundPath {
            offset: bore
                .chord_offset
                .map(|offset| offset.abs() * 2.0 / bore.inside_diameter),
            intermittency_shift: self
                .has(Quantity::IntermittencyShift)
                .then(|| of(Quantity::IntermittencyShift)),
        };
        let profile_factor = factor_for_velocity_on(
            &sound_path,
            path_reynolds,
            relative_roughness,
            self.choices.law,
            self.choices.friction,
        );
        let mean_velocity = factors * profile_factor * path_velocity;
        Intermediates {
            outside_diameter: bore.outside_diameter,
            inside_diameter: bore.inside_diameter,
            area: bore.area,
            chord_offset: bore.chord_offset.unwrap_or(S::constant(0.0)),
            chord: bore.chord,
            liquid_density: liquid.density,
            liquid_sound_speed: liquid.sound_speed,
            kinematic_viscosity: liquid.kinematic_viscosity,
            wall_sine: path.sine_in(bore.wall_sound_speed),
            path,
            dead_time,
            time_in_liquid,
            time_difference,
            path_velocity,
            relative_roughness,
            reynolds: profile_factor * path_reynolds,
            profile_factor,
            mean_velocity,
            volume_flow: bore.area * mean_velocity,
        }
    }

    /// Sine of the angle of the ray in the fastest of layers and liquid, where it is largest.
    pub(crate) fn largest_sine<S: Scalar>(&self, x: &[S]) -> S {
        let bore = Bore::of(&self.choices, &self.terms, &self.values(x));
        let path = self.steps(x).path;
        let layers = bore.layers.iter();
        let sines = layers.map(|layer| path.sine_in(layer.sound_speed));
        sines.fold(path.liquid_sine, S::max)
    }

    /// The velocity on the path from what the meter indicates.
    fn indicated_velocity<S: Scalar>(&self, of: &impl Fn(Quantity) -> S, slowness: S) -> S {
        let Some(programmed) = self.choices.programmed else {
            return S::constant(f64::NAN); // not reached: the site file must state them
        };
        let from_flow = self.has(Quantity::IndicatedFlow);
        let indicated = match programmed.inside_diameter {
            Some(d) if from_flow => of(Quantity::IndicatedFlow) / pipe::area(d),
            _ => of(Quantity::IndicatedVelocity),
        };
        let ratio = programmed
            .axial_slowness
            .map_or(S::constant(1.0), |programmed| {
                S::constant(programmed) / slowness
            });
        velocity_of_programmed_meter(
            indicated - of(Quantity::ZeroVelocity),
            ratio,
            programmed.profile_factor,
        )
    }
}

impl MeasurementModel for SiteModel {
    type Outputs<S: Scalar> = [S; 1];

    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "volume flow".to_owned(),
            unit: self.flow_unit.clone(),
        }]
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([self.steps(x).volume_flow])
    }
}
