//! From what is read of a reference to the volume flow at the meter.

use super::file::{MeterPlace, ReferenceKind};
use super::quantity::{COUNT, ReferenceQuantity};
use super::reference_curves::Curves;
use super::weighing::{air_density, buoyancy_factor};
use crate::liquid::{Liquid, State};
use crate::scalar::Scalar;
use serde::Serialize;
use smallvec::SmallVec;

/// The values of all quantities of a reference: the sum of their terms, or the default value.
pub(super) struct Values<S> {
    sums: [S; COUNT],
    /// The values at the points of the curves of factor and error.
    at_points: [SmallVec<[S; 4]>; 2],
}

impl<S: Scalar> Values<S> {
    /// From quantities and the values of their terms, the first of which are the points of a curve
    /// where there is one.
    pub(super) fn of(
        curves: &Curves,
        terms: impl Iterator<Item = (ReferenceQuantity, S)>,
    ) -> Values<S> {
        let mut sums =
            std::array::from_fn(|i| S::constant(ReferenceQuantity::ALL[i].default_value()));
        let mut first = [true; COUNT];
        let mut at_points = [SmallVec::new(), SmallVec::new()];
        for (quantity, term) in terms {
            let place = quantity as usize;
            if let Some(curve) = curves.of(quantity) {
                let points = &mut at_points[usize::from(quantity == ReferenceQuantity::Error)];
                if points.len() < curve.points() {
                    points.push(term);
                    first[place] = false;
                    // what is added to the curve
                    sums[place] = S::constant(0.0);
                    continue;
                }
            }
            sums[place] = if std::mem::replace(&mut first[place], false) {
                term
            } else {
                sums[place] + term
            };
        }
        Values { sums, at_points }
    }

    pub(super) fn get(&self, q: ReferenceQuantity) -> S {
        self.sums[q as usize]
    }

    /// The value of a quantity at an indicated flow in m3/s.
    fn at_flow(&self, curves: &Curves, q: ReferenceQuantity, flow: S) -> S {
        let Some(curve) = curves.of(q) else {
            return self.get(q);
        };
        let points = &self.at_points[usize::from(q == ReferenceQuantity::Error)];
        curve.lines.at(flow.abs(), points) + self.get(q)
    }
}

/// How the liquid changes between meter and reference.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum LiquidChange {
    /// By its formulation; the pressure as well, where that is part of it.
    Computed(Liquid),
    /// By stated coefficients.
    Stated,
}

/// What is chosen of a reference, and which quantities are stated for a run.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ReferenceModel {
    pub(super) kind: ReferenceKind,
    pub(super) meter: MeterPlace,
    pub(super) liquid: LiquidChange,
    pub(super) curves: Curves,
    stated: [bool; COUNT],
}

/// The liquid at the meter.
#[derive(Debug, Clone, Copy)]
pub(super) struct AtMeter<S> {
    pub(super) state: State<S>,
    /// In kg/m3; NaN where it is not known.
    pub(super) density: S,
}

/// The steps from the readings of a reference to the volume flow at the meter, in SI units. What a
/// kind of reference does not use is NaN.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ReferenceSteps<S> {
    /// Density of the air, in kg/m3.
    pub air_density: S,
    /// Mass over indication of the scale, by buoyancy.
    pub buoyancy_factor: S,
    /// Mass collected, in kg.
    pub mass: S,
    /// Density of the liquid at the meter, in kg/m3.
    pub density_at_meter: S,
    /// Volume of the tank in operation over that at its reference temperature.
    pub tank_expansion_factor: S,
    /// Volume that the reference holds or passed, under its conditions, in m3.
    pub volume_at_reference: S,
    /// Density of the liquid at the reference over that at the meter.
    pub density_ratio: S,
    /// Volume at the meter that the line between meter and reference took in, in m3.
    pub line_pack: S,
    /// Duration in s, free of the error of the diverter.
    pub duration: S,
    /// Volume that passed the meter, in m3.
    pub volume: S,
    /// Volume flow at the meter, in m3/s.
    pub volume_flow: S,
}

impl ReferenceModel {
    pub(super) fn new(
        kind: ReferenceKind,
        meter: MeterPlace,
        liquid: LiquidChange,
        curves: Curves,
        stated: impl IntoIterator<Item = ReferenceQuantity>,
    ) -> ReferenceModel {
        let mut all = [false; COUNT];
        for quantity in stated {
            all[quantity as usize] = true;
        }
        ReferenceModel {
            kind,
            meter,
            liquid,
            curves,
            stated: all,
        }
    }

    /// Whether anything is stated of a quantity.
    pub(super) fn has(&self, q: ReferenceQuantity) -> bool {
        self.stated[q as usize]
    }

    /// Density of the liquid at a state over that at the meter.
    ///
    /// A coefficient is the same at all temperatures and pressures between:
    /// `rho / rho_m = exp(-beta (T - T_m) + kappa (p - p_m))`.
    pub(super) fn density_ratio<S: Scalar>(
        &self,
        values: &Values<S>,
        meter: &AtMeter<S>,
        temperature: Option<S>,
        pressure: Option<S>,
    ) -> S {
        if temperature.is_none() && pressure.is_none() {
            return S::constant(1.0);
        }
        let at = State {
            temperature: temperature.unwrap_or(meter.state.temperature),
            pressure: pressure.unwrap_or(meter.state.pressure),
            content: meter.state.content,
        };
        let squeezed = |exponent: S| {
            if pressure.is_none() || !self.has(ReferenceQuantity::LiquidCompressibility) {
                return exponent;
            }
            let compressibility = values.get(ReferenceQuantity::LiquidCompressibility);
            exponent + compressibility * (at.pressure - meter.state.pressure)
        };
        match &self.liquid {
            LiquidChange::Computed(liquid) => {
                let ratio = liquid.density(&at) / liquid.density(&meter.state);
                if liquid.needs_pressure() {
                    return ratio;
                }
                ratio * squeezed(S::constant(0.0)).exp()
            }
            LiquidChange::Stated => {
                let warmer = if temperature.is_some() {
                    at.temperature - meter.state.temperature
                } else {
                    S::constant(0.0)
                };
                squeezed(-values.get(ReferenceQuantity::LiquidExpansion) * warmer).exp()
            }
        }
    }

    fn stated<S: Scalar>(&self, values: &Values<S>, q: ReferenceQuantity) -> Option<S> {
        self.has(q).then(|| values.get(q))
    }

    /// Temperature and pressure of the liquid at the reference, where they are not those at the
    /// meter.
    pub(super) fn conditions<S: Scalar>(&self, values: &Values<S>) -> (Option<S>, Option<S>) {
        let temperature = self.stated(values, ReferenceQuantity::Temperature);
        let pressure = match self.kind {
            ReferenceKind::MasterMeter => self.stated(values, ReferenceQuantity::Pressure),
            // an open tank
            ReferenceKind::VolumetricTank => Some(
                self.stated(values, ReferenceQuantity::Pressure)
                    .unwrap_or(values.get(ReferenceQuantity::AirPressure)),
            ),
            // a mass does not change with pressure
            ReferenceKind::Weighing => None,
        };
        (temperature, pressure)
    }

    /// Volume at the meter that the line between meter and reference took in during the run.
    ///
    /// ```text
    /// (V_2 rho_2 - V_1 rho_1) / rho_m,    V_2 = V_1 (1 + alpha dT)^3 (1 + gamma dp)
    /// ```
    pub(super) fn line_pack<S: Scalar>(&self, values: &Values<S>, meter: &AtMeter<S>) -> S {
        use ReferenceQuantity as Q;
        if !self.has(Q::LineVolume) {
            return S::constant(0.0);
        }
        let of = |q: Q| values.get(q);
        let (t_1, t_2) = (
            self.stated(values, Q::LineTemperatureStart),
            self.stated(values, Q::LineTemperatureEnd),
        );
        let (p_1, p_2) = (
            self.stated(values, Q::LinePressureStart),
            self.stated(values, Q::LinePressureEnd),
        );
        let before = self.density_ratio(values, meter, t_1, p_1);
        let after = self.density_ratio(values, meter, t_2, p_2);
        let mut growth = S::constant(1.0);
        if let (Some(t_1), Some(t_2)) = (t_1, t_2) {
            growth = (of(Q::LineExpansion) * (t_2 - t_1) + 1.0).powi(3);
        }
        if let (Some(p_1), Some(p_2)) = (p_1, p_2) {
            growth *= of(Q::LineCompliance) * (p_2 - p_1) + 1.0;
        }
        of(Q::LineVolume) * (growth * after - before)
    }

    /// The flow that a master meter indicates, in m3/s: the place on the curve of its certificate.
    pub(super) fn indicated_flow<S: Scalar>(&self, values: &Values<S>, duration: S) -> S {
        match self.stated(values, ReferenceQuantity::Volume) {
            Some(volume) => volume / duration,
            None => values.get(ReferenceQuantity::VolumeFlow),
        }
    }

    /// Every step, by name.
    pub(super) fn steps<S: Scalar>(
        &self,
        values: &Values<S>,
        meter: &AtMeter<S>,
    ) -> ReferenceSteps<S> {
        use ReferenceQuantity as Q;
        let of = |q: Q| values.get(q);
        let none = S::constant(f64::NAN);
        let density_at_meter = self
            .stated(values, Q::LiquidDensity)
            .unwrap_or(meter.density);
        let (temperature, pressure) = self.conditions(values);
        let density_ratio = self.density_ratio(values, meter, temperature, pressure);
        // a master meter that shows the flow needs no duration: any will do
        let indicated = self.stated(values, Q::Duration);
        let duration = indicated.unwrap_or(S::constant(1.0)) - of(Q::DiverterError);
        let calibration = {
            let flow = self.indicated_flow(values, duration);
            let of = |q: Q| values.at_flow(&self.curves, q, flow);
            of(Q::CalibrationFactor) / (of(Q::Error) + 1.0)
        };
        let mut steps = ReferenceSteps {
            air_density: none,
            buoyancy_factor: none,
            mass: none,
            density_at_meter,
            tank_expansion_factor: none,
            volume_at_reference: none,
            density_ratio,
            line_pack: self.line_pack(values, meter),
            duration,
            volume: none,
            volume_flow: none,
        };
        let reference_volume = match self.kind {
            ReferenceKind::Weighing => {
                let indicated = self
                    .stated(values, Q::Mass)
                    .unwrap_or(of(Q::MassEnd) - of(Q::MassStart));
                steps.air_density = self.stated(values, Q::AirDensity).unwrap_or_else(|| {
                    air_density(
                        of(Q::AirTemperature),
                        of(Q::AirPressure),
                        of(Q::AirHumidity),
                    )
                });
                let in_tank = density_at_meter * density_ratio;
                steps.buoyancy_factor =
                    buoyancy_factor(steps.air_density, of(Q::WeightDensity), in_tank);
                steps.mass = indicated * calibration * steps.buoyancy_factor;
                steps.volume_at_reference = steps.mass / in_tank;
                steps.mass / density_at_meter
            }
            ReferenceKind::VolumetricTank => {
                let indicated = self
                    .stated(values, Q::Volume)
                    .unwrap_or_else(|| of(Q::CrossSection) * (of(Q::LevelEnd) - of(Q::LevelStart)));
                let wall = self
                    .stated(values, Q::TankTemperature)
                    .or(temperature)
                    .unwrap_or(meter.state.temperature);
                let warmer = wall - of(Q::TankReferenceTemperature);
                steps.tank_expansion_factor = (of(Q::TankExpansion) * warmer + 1.0).powi(3);
                steps.volume_at_reference = indicated * calibration * steps.tank_expansion_factor;
                steps.volume_at_reference * density_ratio
            }
            ReferenceKind::MasterMeter => {
                let indicated = match self.stated(values, Q::Volume) {
                    Some(volume) => volume,
                    None => of(Q::VolumeFlow) * duration,
                };
                steps.volume_at_reference = indicated * calibration;
                steps.volume_at_reference * density_ratio
            }
        };
        let through_meter = match self.meter {
            MeterPlace::Upstream => reference_volume + steps.line_pack,
            MeterPlace::Downstream => reference_volume - steps.line_pack,
        };
        steps.volume = through_meter - of(Q::StartStopVolume);
        steps.volume_flow = steps.volume / duration / of(Q::FlowRatio);
        steps
    }
}
