//! What a reader of a result must be told beside its uncertainty.

use super::Evaluation;
use crate::message::{Message, Told, message};
use crate::model::{LiquidModel, Quantity};
use crate::uncertainty::{Origin, rounded};
use serde::Serialize;

/// A finding that does not forbid the result but limits what it is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Warning {
    /// A name that never changes.
    pub code: &'static str,
    /// What was found and what to do, in words.
    pub words: String,
    /// The same, to be said in another language; `None` of a log of readings or a mark-out.
    #[serde(skip)]
    pub message: Option<Message>,
}

impl Warning {
    pub(crate) fn new(code: &'static str, words: String) -> Warning {
        Warning {
            code,
            words,
            message: None,
        }
    }

    pub(crate) fn told(code: &'static str, message: Message) -> Warning {
        Warning {
            code,
            words: message.words(),
            message: Some(message),
        }
    }
}

/// Local drop of pressure at fittings and edges that a warning allows for, in velocity heads.
/// Our choice, of the order of the loss of a partly open valve.
const VELOCITY_HEADS: f64 = 2.0;

/// Temperatures in K up to which sensors for ordinary service and for high temperature go:
/// 121 degC and 230 degC. Common practice without source.
const SENSOR_TEMPERATURES_K: [f64; 2] = [394.15, 503.15];

/// Eccentricity over radius from which the plane of the path may miss the middle of the bore by
/// more than matters. Our choice.
const ECCENTRIC: f64 = 0.02;

/// Independent readings below which their dependence is not well known. From simulation: above ten,
/// 95 % intervals cover in 92 % of cases and more.
const FEW: f64 = 10.0;

impl Evaluation {
    /// What a reader must be told beside the uncertainty. Found when asked for: some of it takes as
    /// long as the budget itself.
    pub fn warnings(&self) -> Vec<Warning> {
        let found = [
            self.boiling(),
            self.near_total_reflection(),
            self.slow_wave(),
            self.other_wave(),
            self.transition(),
            self.entrance(),
            self.stratified(),
            self.beyond_calibration(),
            self.counted_twice(),
            self.overlap(),
            self.drift(),
            self.hot_sensors(),
            self.warm_wedge(),
            self.surveyed_at_another_temperature(),
            self.eccentric(),
            self.other_angle(),
            self.short_run(),
            self.sound_speed_differs(),
        ];
        found
            .into_iter()
            .flatten()
            .chain(self.short_records())
            .chain(self.programmed_otherwise())
            .chain(self.in_situ_limits())
            .chain(self.skipped_periods())
            .chain(self.unusual())
            .chain(self.fast())
            .chain(self.stated_outliers())
            .chain(self.of_readings.iter().cloned())
            .collect()
    }

    /// What must be known before the sensors are mounted: the warnings that need no readings.
    pub(crate) fn mounting_warnings(&self) -> Vec<Warning> {
        let found = [
            self.near_total_reflection(),
            self.slow_wave(),
            self.other_wave(),
            self.overlap(),
            self.hot_sensors(),
            self.warm_wedge(),
            self.surveyed_at_another_temperature(),
            self.eccentric(),
            self.short_run(),
        ];
        found.into_iter().flatten().chain(self.unusual()).collect()
    }

    /// Two phases: the pressure is near that at which the liquid boils.
    fn boiling(&self) -> Option<Warning> {
        let pressure = self.estimate_of(Quantity::Pressure)?;
        let computed = match &self.model.choices().liquid {
            LiquidModel::Computed(liquid) => {
                liquid.vapour_pressure(self.estimate_of(Quantity::Temperature)?)
            }
            LiquidModel::Stated => None,
        };
        let vapour_pressure = computed.or(self.site.vapour_pressure)?;
        let velocity = self.steps.mean_velocity;
        let density = Some(self.steps.liquid_density).filter(|d| d.is_finite());
        let head = 0.5 * density.unwrap_or(1000.0) * velocity * velocity;
        let margin = pressure - vapour_pressure;
        (margin < VELOCITY_HEADS * head).then(|| {
            let kpa = |pascal: f64| format!("{:.1} kPa", 1e-3 * pascal);
            Warning::told(
                "two-phase-risk",
                message!(
                    "warnings.two-phase-risk",
                    "absolute pressure {pressure} is {margin} above the vapour pressure of \
                     {vapour_pressure}, less than {heads} velocity heads ({head}): the liquid may \
                     cavitate or flash at fittings, and bubbles scatter the sound",
                    pressure = kpa(pressure),
                    margin = kpa(margin),
                    vapour_pressure = kpa(vapour_pressure),
                    heads = VELOCITY_HEADS.to_string(),
                    head = kpa(VELOCITY_HEADS * head),
                ),
            )
        })
    }

    /// Two sensors on the same side that do not fit beside each other.
    fn overlap(&self) -> Option<Warning> {
        let length = self.site.sensor_length?;
        let spacing = self.steps.path.spacing;
        let traverses = self.model.choices().traverses;
        (traverses.is_multiple_of(2) && spacing < length).then(|| {
            Warning::told(
                "sensors-overlap",
                message!(
                    "warnings.sensors-overlap",
                    "the spacing of {spacing} is less than the {length} that one sensor is long: \
                     they do not fit beside each other; more traverses or a direct path need more \
                     room",
                    spacing = format!("{:.1} mm", 1e3 * spacing),
                    length = format!("{:.1} mm", 1e3 * length),
                ),
            )
        })
    }

    fn drift(&self) -> Option<Warning> {
        let length = self.site.sensor_length?;
        let drift = self.steps.beam_drift().abs();
        (drift > 0.5 * length).then(|| {
            Warning::told(
                "beam-drift",
                message!(
                    "warnings.beam-drift",
                    "the flow carries the sound {drift} along the pipe, more than half the \
                     {length} of a sensor: little of it arrives; use fewer traverses",
                    drift = format!("{:.1} mm", 1e3 * drift),
                    length = format!("{:.1} mm", 1e3 * length),
                ),
            )
        })
    }

    fn hot_sensors(&self) -> Option<Warning> {
        let temperature = self.wall_temperature()?;
        let [ordinary, hot] = SENSOR_TEMPERATURES_K;
        let celsius = format!("{:.0} degC", temperature - 273.15);
        let message = if temperature > hot {
            message!(
                "warnings.hot-pipe-beyond-high",
                "the wall has {temperature}, beyond what sensors for high temperature usually bear \
                 (about 230 degC, common practice); mind burns and follow the site's permit",
                temperature = celsius,
            )
        } else if temperature > ordinary {
            message!(
                "warnings.hot-pipe-beyond-ordinary",
                "the wall has {temperature}, beyond what sensors for ordinary service usually bear \
                 (about 121 degC, common practice): take sensors and couplant for high temperature; \
                 mind burns and follow the site's permit",
                temperature = celsius,
            )
        } else {
            return None;
        };
        Some(Warning::told("hot-pipe", message))
    }

    fn eccentric(&self) -> Option<Warning> {
        let eccentricity = self.site.eccentricity?;
        let radius = 0.5 * self.steps.inside_diameter;
        (eccentricity > ECCENTRIC * radius).then(|| {
            Warning::told(
                "eccentric-bore",
                message!(
                    "warnings.eccentric-bore",
                    "the wall readings put the bore {eccentricity} off the centre, {share} of the \
                     radius: a path across may miss its middle; put the sensors where the wall is \
                     thickest and thinnest, or state {key}",
                    eccentricity = format!("{:.2} mm", 1e3 * eccentricity),
                    share = format!("{:.1} %", 100.0 * eccentricity / radius),
                    key = Told::Key("path.chord_offset"),
                ),
            )
        })
    }

    fn sound_speed_differs(&self) -> Option<Warning> {
        let check = self.sound_speed_check().ok()?;
        let unlikely = !check.agrees() && check.difference.standard_uncertainty > 0.0;
        unlikely.then(|| {
            let causes = check
                .causes_told()
                .into_iter()
                .map(|cause| message!("sentences.line_of_list", "\n  {line}", line = cause));
            Warning::told(
                "sound-speed-differs",
                message!(
                    "warnings.sound-speed-differs",
                    "{found}; likely causes:{causes}",
                    found = check.told(),
                    causes = Told::Joined(causes.map(Told::from).collect(), ""),
                ),
            )
        })
    }

    /// Readings that depend on each other for too long a part of the record.
    fn short_records(&self) -> Vec<Warning> {
        let inputs = self.inputs.inputs().iter();
        let short = inputs.filter_map(|input| match input.origin() {
            Origin::Readings {
                count,
                effective_count,
                ..
            } if *effective_count < FEW.min(*count as f64) => {
                let message = message!(
                    "warnings.short-record",
                    "the {count} readings of {input} are worth {effective} independent ones: the \
                     record is shorter than {few} times the time over which they depend on each \
                     other, and their mean may be less certain than stated; read for longer, or with \
                     less damping; a drift looks the same",
                    count = count.to_string(),
                    input = Told::Input(input.name().to_owned()),
                    effective = rounded(*effective_count, 2),
                    few = FEW.to_string(),
                );
                Some(Warning::told("short-record", message))
            }
            _ => None,
        });
        short.collect()
    }

    /// What was programmed is not what was surveyed.
    fn programmed_otherwise(&self) -> Vec<Warning> {
        let checks = self.programmed_check().unwrap_or_default();
        let differs = checks.iter().filter(|check| check.standardised.abs() > 2.0);
        differs
            .map(|check| {
                let message = message!(
                    "warnings.programmed-differs",
                    "programmed {parameter} differs from the surveyed one by {difference}, more \
                     than twice its standard uncertainty; the evaluation puts it right, but find \
                     out why",
                    parameter = check.parameter,
                    difference = format!("{:+.2} %", 100.0 * check.relative_difference()),
                );
                Warning::told("programmed-differs", message)
            })
            .collect()
    }

    /// Wedge and spacing tell different angles.
    fn other_angle(&self) -> Option<Warning> {
        let placement = self.placement().ok()??;
        let difference = placement.other_flow? / self.estimate() - 1.0;
        let uncertainty = self.budget.relative_standard_uncertainty();
        (difference.abs() > uncertainty).then(|| {
            Warning::told(
                "angles-differ",
                message!(
                    "warnings.angles-differ",
                    "with the angle of the ray from the {other} the flow would be {difference} \
                     different, more than its standard uncertainty of {uncertainty}: check spacing, \
                     wall, liquid and wedge",
                    other = self.model.choices().angle_from.other().in_words(),
                    difference = format!("{:+.2} %", 100.0 * difference),
                    uncertainty = format!("{:.2} %", 100.0 * uncertainty),
                ),
            )
        })
    }
}
