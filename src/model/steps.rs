//! The measurement model of a site: from readings to volume flow, every step by name.

use super::bore::Bore;
use super::equations::Equations;
use super::programmed::Seen;
use super::terms::{Terms, Values};
use super::{AngleFrom, Basis, Choices, Intermediates, Quantity, Uncalibrated};
use crate::acoustics::{
    Geometry, Path, axial_slowness, convected, slowness_of_spacing, velocity_from_geometry,
    velocity_from_time,
};
use crate::derivation::{Notes, Step};
use crate::error::Result;
use crate::profile::{Conditions, FactorSteps, factor_for_velocity_on};
use crate::scalar::Scalar;
use crate::uncertainty::{MeasurementModel, Output};
use crate::units::{Dimension, Unit};

/// The measurement model of one path.
///
/// ```text
/// Q = K_cal K_inst K_mount K_law k(Re, roughness) (pi/4) D^2 v,    Re = 4 Q / (pi D nu)
/// ```
/// An in-situ calibration adds its own factor. Where such a factor is known point by point, it is
/// that at the flow which the meter tells without it.
///
/// Off the axis `k` is that of the chord.
/// The velocity `v` follows from the readings by the [`Basis`]. Each quantity is the sum of its
/// inputs; a quantity without inputs has its default value.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteModel {
    pub(super) choices: Choices,
    pub(super) terms: Terms,
    flow_unit: Unit,
}

impl SiteModel {
    /// The name of the model in records. Its number goes up when an equation changes.
    pub const IDENTIFIER: &'static str = "transit-time path 2";

    pub(crate) fn new(choices: Choices) -> SiteModel {
        SiteModel {
            terms: Terms::new(Vec::new(), &choices),
            choices,
            flow_unit: Dimension::VolumeFlow.si_unit(),
        }
    }

    /// The same model with the quantity of each input and the unit of the output.
    pub(crate) fn with_terms(mut self, terms: Vec<Quantity>, flow_unit: Unit) -> SiteModel {
        self.terms = Terms::new(terms, &self.choices);
        self.flow_unit = flow_unit;
        self
    }

    /// The same model with the angle of the ray from elsewhere.
    pub(crate) fn with_angle_from(mut self, angle_from: AngleFrom) -> SiteModel {
        self.choices.angle_from = angle_from;
        self
    }

    /// The same model with the sensors as they are programmed into the meter, unless it was told of
    /// others; of no effect but on the indicated basis.
    pub(crate) fn with_slowness_programmed(mut self, axial_slowness: f64) -> SiteModel {
        if let Some(programmed) = &mut self.choices.programmed {
            programmed.axial_slowness.get_or_insert(axial_slowness);
        }
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
        self.terms.values(x, self.choices.layers.len())
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
        self.noted_steps(x, &mut ())
    }

    /// Every step of the evaluation, taken down with its equation.
    pub(crate) fn noted_steps<S: Scalar, N: Notes<S>>(
        &self,
        x: &[S],
        notes: &mut N,
    ) -> Intermediates<S> {
        self.traced(x, notes).1
    }

    /// The pipe in operation, and every step.
    pub(super) fn traced<S: Scalar, N: Notes<S>>(
        &self,
        x: &[S],
        notes: &mut N,
    ) -> (Bore<S>, Intermediates<S>) {
        let values = self.values(x);
        let of = |q: Quantity| values.of(q);
        let bore = Bore::of(&self.choices, &self.terms, &values, notes);
        let liquid = self.properties(&values, notes);
        let say = Equations {
            choices: &self.choices,
            terms: &self.terms,
            symbols: bore.symbols,
        };

        // the sound path and the velocity on it
        let geometry = Geometry {
            layers: &bore.layers,
            chord: bore.chord,
            liquid_sound_speed: liquid.sound_speed,
            traverses: self.choices.traverses,
        };
        let slowness = match self.choices.angle_from {
            AngleFrom::Wedge => {
                let wedge_speed = self.wedge_sound_speed(&values);
                let slowness = axial_slowness(of(Quantity::WedgeAngle), wedge_speed);
                if self.has(Quantity::WedgeTemperature) {
                    notes.note(|| say.wedge_sound_speed(wedge_speed));
                }
                notes.note(|| say.axial_slowness(slowness));
                slowness
            }
            AngleFrom::Spacing => {
                let slowness = slowness_of_spacing(&geometry, of(Quantity::Spacing));
                notes.note(|| say.slowness_of_spacing(slowness));
                slowness
            }
        };
        let path = Path::trace(&geometry, slowness);
        say.path(&path, notes);
        let dead_time = of(Quantity::ElectronicsDelay)
            + of(Quantity::CableDelay)
            + of(Quantity::CableLength) * of(Quantity::CableDelayPerLength)
            + of(Quantity::WedgeDelay)
            + path.time_in_layers;
        notes.note(|| say.dead_time(dead_time));
        let time_base = of(Quantity::TimeBase);
        let time_in_liquid = time_base * of(Quantity::TransitTime) - dead_time;
        notes.note(|| say.time_in_liquid(time_in_liquid));
        let time_difference =
            time_base * (of(Quantity::TimeDifference) - of(Quantity::ZeroTimeDifference));
        notes.note(|| say.time_difference(time_difference));
        let path_velocity = match self.choices.basis {
            Basis::Timed => {
                let first_order = velocity_from_time(time_difference, time_in_liquid, slowness);
                notes.note(|| say.velocity_in_first_order(first_order));
                let velocity = convected(first_order, path.liquid_sine, liquid.sound_speed);
                notes.note(|| say.velocity_from_time(velocity));
                velocity
            }
            Basis::Geometric => {
                let speed = liquid.sound_speed;
                let velocity = velocity_from_geometry(time_difference, &path, speed);
                notes.note(|| say.velocity_from_geometry(velocity));
                velocity
            }
            Basis::Indicated => {
                let seen = Seen {
                    values: &values,
                    bore: &bore,
                    liquid: &liquid,
                    path: &path,
                    say: &say,
                };
                self.indicated_velocity(&seen, notes)
            }
        };

        // the profile, solved together with the flow
        let relative_roughness = of(Quantity::Roughness) / bore.inside_diameter;
        let known = |q: Quantity| self.has(q).then(|| of(q));
        let conditions = Conditions {
            offset: bore
                .chord_offset
                .map(|offset| offset.abs() * 2.0 / bore.inside_diameter),
            beam: known(Quantity::BeamWidth).map(|width| width / bore.inside_diameter),
            transition_reynolds: known(Quantity::TransitionReynolds),
            friction_ratio: known(Quantity::FrictionRatio),
        };
        let with_factors = |factors: S| {
            let path_reynolds =
                (factors * path_velocity).abs() * bore.inside_diameter / liquid.kinematic_viscosity;
            let profile_factor = factor_for_velocity_on(
                &conditions,
                path_reynolds,
                relative_roughness,
                self.choices.law,
                self.choices.friction,
            );
            (path_reynolds, profile_factor)
        };
        let mut uncalibrated = Uncalibrated::unknown();
        let [calibration, in_situ] = if self.choices.has_curve() {
            let plain = of(Quantity::LawFactor)
                * of(Quantity::InstallationFactor)
                * of(Quantity::RemountingFactor);
            let (path_reynolds, profile_factor) = with_factors(plain);
            uncalibrated = Uncalibrated {
                volume_flow: (bore.area * (plain * profile_factor * path_velocity)).abs(),
                reynolds: profile_factor * path_reynolds,
            };
            self.calibration(&values, &uncalibrated, notes)
        } else {
            [Quantity::CalibrationFactor, Quantity::InSituFactor].map(of)
        };
        let mut factors = calibration
            * of(Quantity::LawFactor)
            * of(Quantity::InstallationFactor)
            * of(Quantity::RemountingFactor);
        if self.has(Quantity::InSituFactor) {
            factors *= in_situ;
        }
        notes.note(|| say.factors(factors));
        notes.note(|| {
            Step::new(
                "r_k",
                "relative roughness",
                "k_s/D",
                relative_roughness,
                "1",
            )
        });
        let (path_reynolds, profile_factor) = with_factors(factors);
        notes.note(|| {
            let words = "Reynolds number of the velocity on the path";
            Step::new("Re_p", words, "abs(K*v)*D/nu", path_reynolds, "1")
        });
        let reynolds = profile_factor * path_reynolds;
        FactorSteps {
            conditions: &conditions,
            factor: profile_factor,
            reynolds,
            relative_roughness,
            law: self.choices.law,
            friction: self.choices.friction,
        }
        .note(notes);
        let mean_velocity = factors * profile_factor * path_velocity;
        notes.note(|| Step::new("V", "mean velocity", "K*k*v", mean_velocity, "m/s"));
        let volume_flow = bore.area * mean_velocity;
        notes.note(|| Step::new("Q", "volume flow", "A*V", volume_flow, "m3/s"));
        let steps = Intermediates {
            outside_diameter: bore.outside_diameter,
            surveyed_wall: bore.surveyed_wall,
            surface_diameter: bore.surface_diameter,
            circumference: bore.circumference,
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
            conditions,
            uncalibrated,
            reynolds,
            profile_factor,
            mean_velocity,
            volume_flow,
        };
        (bore, steps)
    }

    /// Sine of the angle of the ray in the fastest of layers and liquid, where it is largest.
    pub(crate) fn largest_sine<S: Scalar>(&self, x: &[S]) -> S {
        let (bore, steps) = self.traced(x, &mut ());
        largest_sine_of(&bore, &steps.path)
    }

    /// The value of a quantity: the sum of its terms, or its default.
    pub(crate) fn sum_of<S: Scalar>(&self, q: Quantity, x: &[S]) -> S {
        self.values(x).of(q)
    }
}

pub(super) fn largest_sine_of<S: Scalar>(bore: &Bore<S>, path: &Path<S>) -> S {
    let layers = bore.layers.iter();
    let sines = layers.map(|layer| path.sine_in(layer.sound_speed));
    sines.fold(path.liquid_sine, S::max)
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
