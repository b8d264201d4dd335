//! Refuses runs whose reference does not fit the liquid of the site, or that no run can have been.

use super::file::ReferenceKind;
use super::model::{RunModel, Sides};
use super::quantity::ReferenceQuantity as Q;
use super::question::Indicated;
use super::reference::LiquidChange;
use super::verification::Run;
use super::weighing::check_air;
use crate::error::{Error, Result};
use crate::liquid::State;
use crate::model::Quantity;

/// Judges a run at the estimates of all inputs.
///
/// # Errors
/// What is missing or has no effect for this liquid; a state outside its formulation; air outside the
/// formula; a mass, volume, duration or flow that is not above zero.
pub(super) fn check_run(run: &Run, model: &RunModel, estimates: &[f64]) -> Result<()> {
    let judged = Judged {
        run,
        model,
        sides: model.sides(estimates, false),
    };
    judged.liquid()?;
    judged.line()?;
    judged.states()?;
    judged.numbers()
}

/// What the meter showed must be known where it is compared.
///
/// # Errors
/// Readings of times, or of a velocity without a programmed bore.
pub(super) fn check_indicated(model: &RunModel) -> Result<()> {
    if model.indicated == Indicated::Computed {
        return Ok(());
    }
    let site = &model.site;
    let programmed = site.choices().programmed;
    let bore = programmed.and_then(|programmed| programmed.inside_diameter);
    let shown = site.has(Quantity::IndicatedFlow)
        || site.has(Quantity::ReadCurrent)
        || site.has(Quantity::IndicatedVelocity) && bore.is_some();
    if shown {
        return Ok(());
    }
    Err(Error::Conflict {
        field: "verification.indicated".to_owned(),
        found: format!(
            "\"{}\" with readings of times or of a velocity without a programmed bore",
            Indicated::Shown.in_words()
        ),
        allowed: format!(
            "\"{}\", or a column of the flow that the meter showed with path.basis = \"indicated\" \
             in the site file",
            Indicated::Computed.in_words()
        ),
    })
}

struct Judged<'a> {
    run: &'a Run,
    model: &'a RunModel,
    sides: Sides<f64>,
}

impl Judged<'_> {
    fn has(&self, q: Q) -> bool {
        self.model.reference.has(q)
    }

    fn field(&self, q: Q) -> String {
        format!("run[{}].{}", self.run.number, q.key())
    }

    fn missing(&self, q: Q, needed: &str) -> Error {
        Error::Missing {
            field: self.field(q),
            needed: needed.to_owned(),
        }
    }

    fn conflict(&self, q: Q, found: &str, allowed: &str) -> Error {
        Error::Conflict {
            field: self.field(q),
            found: found.to_owned(),
            allowed: allowed.to_owned(),
        }
    }

    /// Whether density or its ratio depends on a pressure that differs from that at the meter.
    fn pressure_enters(&self) -> bool {
        let at_reference = match self.model.reference.kind {
            ReferenceKind::Weighing => false,
            ReferenceKind::VolumetricTank => true,
            ReferenceKind::MasterMeter => self.has(Q::Pressure),
        };
        at_reference || self.has(Q::LinePressureStart)
    }

    fn liquid(&self) -> Result<()> {
        let reference = &self.model.reference;
        let of_site = |q: Quantity| self.model.site.has(q);
        let computed = match &reference.liquid {
            LiquidChange::Computed(liquid) => Some(liquid),
            LiquidChange::Stated => None,
        };
        if reference.kind == ReferenceKind::Weighing
            && computed.is_none()
            && !self.has(Q::LiquidDensity)
        {
            let needed = "density of the liquid at the meter, since that of the site's liquid is \
                          not computed";
            return Err(self.missing(Q::LiquidDensity, needed));
        }
        if computed.is_some() && self.has(Q::LiquidExpansion) {
            let found = "a coefficient for a liquid whose density is computed";
            let allowed = "liquid_expansion with liquid.kind = \"stated\" only";
            return Err(self.conflict(Q::LiquidExpansion, found, allowed));
        }
        let with_pressure = computed.is_some_and(|liquid| liquid.needs_pressure());
        if with_pressure && self.has(Q::LiquidCompressibility) {
            let found = "a coefficient for a liquid whose density is computed from its pressure";
            let allowed = "liquid_compressibility for other liquids only";
            return Err(self.conflict(Q::LiquidCompressibility, found, allowed));
        }
        let tank = reference.kind == ReferenceKind::VolumetricTank;
        let warm = self.has(Q::Temperature) || self.has(Q::LineTemperatureStart);
        if warm && computed.is_none() && !self.has(Q::LiquidExpansion) {
            let needed = "coefficient of volume expansion of the liquid, since its density is not \
                          computed";
            return Err(self.missing(Q::LiquidExpansion, needed));
        }
        if !of_site(Quantity::Temperature) && (warm || tank) {
            return Err(Error::Missing {
                field: "liquid.temperature".to_owned(),
                needed: "temperature of the liquid at the meter, in the site file".to_owned(),
            });
        }
        if self.pressure_enters() && !with_pressure {
            if !self.has(Q::LiquidCompressibility) {
                let needed = "compressibility of the liquid between the pressures of meter and \
                              reference, such as \"0.5 1/GPa\"";
                return Err(self.missing(Q::LiquidCompressibility, needed));
            }
            if !of_site(Quantity::Pressure) {
                return Err(Error::Missing {
                    field: "liquid.absolute_pressure".to_owned(),
                    needed: "absolute pressure of the liquid at the meter, in the site file"
                        .to_owned(),
                });
            }
        }
        Ok(())
    }

    /// A volume of pipe in which nothing changes would be read and then forgotten.
    fn line(&self) -> Result<()> {
        let changes = self.has(Q::LineTemperatureStart) || self.has(Q::LinePressureStart);
        if self.has(Q::LineVolume) && !changes {
            let found = "a line without temperatures or pressures at start and end, so that it \
                         would have no effect";
            let allowed = "line_volume with line_temperature_start and _end, or line_pressure_start \
                           and _end";
            return Err(self.conflict(Q::LineVolume, found, allowed));
        }
        let partners = [
            (Q::LineExpansion, Q::LineTemperatureStart),
            (Q::LineCompliance, Q::LinePressureStart),
        ];
        for (q, partner) in partners {
            if self.has(q) && !self.has(partner) {
                let found = format!(
                    "stated without {}, so that it would have no effect",
                    partner.key()
                );
                return Err(self.conflict(
                    q,
                    &found,
                    &format!("{} with {}", q.key(), partner.key()),
                ));
            }
        }
        Ok(())
    }

    /// The liquid must be one at the reference and in the line, and the air must be that of a room.
    fn states(&self) -> Result<()> {
        let (reference, values) = (&self.model.reference, &self.sides.values);
        let meter = self.sides.at_meter.state;
        if let LiquidChange::Computed(liquid) = &reference.liquid {
            let (temperature, pressure) = reference.conditions(values);
            let of = |q: Q| self.has(q).then(|| values.get(q));
            let line = [
                (of(Q::LineTemperatureStart), of(Q::LinePressureStart)),
                (of(Q::LineTemperatureEnd), of(Q::LinePressureEnd)),
            ];
            let states = [(temperature, pressure)].into_iter().chain(line);
            for (temperature, pressure) in states {
                if temperature.is_some() || pressure.is_some() {
                    liquid.check(&State {
                        temperature: temperature.unwrap_or(meter.temperature),
                        pressure: pressure.unwrap_or(meter.pressure),
                        content: meter.content,
                    })?;
                }
            }
        }
        if self.has(Q::AirTemperature) {
            let of = |q: Q| values.get(q);
            check_air(
                of(Q::AirTemperature),
                of(Q::AirPressure),
                of(Q::AirHumidity),
            )?;
        }
        Ok(())
    }

    fn numbers(&self) -> Result<()> {
        let steps = &self.sides.reference;
        let run = self.run.number;
        let positive = |value: f64, what: &str, unit: &str| {
            let inside = value > 0.0 && value.is_finite();
            Error::range(inside, format!("run[{run}] {what}"), value, unit, "above 0")
        };
        if self.model.reference.kind == ReferenceKind::Weighing {
            positive(steps.mass, "mass", "kg")?;
        }
        positive(steps.volume_at_reference, "volume at the reference", "m3")?;
        positive(
            steps.duration,
            "duration without the error of the diverter",
            "s",
        )?;
        positive(steps.volume_flow, "flow by the reference", "m3/s")?;
        positive(self.sides.indicated, "flow by the meter", "m3/s")
    }
}
