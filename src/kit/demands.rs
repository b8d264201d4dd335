//! What a site demands of what is strapped on its pipe.

use crate::error::{Error, Result};
use crate::model::{Basis, Quantity};
use crate::site::Site;
use crate::units::{Dimension, quantity};
use jiff::civil::Date;

/// What is known of the day on site, besides the site file. Numbers are in SI units.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DayOnSite {
    /// Temperatures of the liquid in K that will be met; none for what the site file states.
    pub temperatures: Vec<f64>,
    /// Way in m from the sensors to the electronics.
    pub cable_run: Option<f64>,
    /// Length in m along the pipe that is free for the sensors.
    pub free_length: Option<f64>,
    /// How long the sensors stay, in s.
    pub duration: Option<f64>,
    /// The day, for certificates.
    pub date: Option<Date>,
}

impl DayOnSite {
    /// Reads a day as year, month and day.
    ///
    /// # Errors
    /// Text that is no day.
    pub fn day(text: &str) -> Result<Date> {
        let day: std::result::Result<Date, _> = text.trim().parse();
        day.map_err(|_| Error::WrongType {
            field: "date".to_owned(),
            found: format!("`{text}`"),
            allowed: "a day as year, month and day, such as \"2026-03-31\"".to_owned(),
        })
    }

    /// Reads a length or a time that is above 0.
    ///
    /// # Errors
    /// Text that is no quantity of that kind, a number that is not above 0.
    pub fn amount(text: &str, dimension: Dimension, field: &str) -> Result<f64> {
        let read = quantity(text, dimension, field)?;
        let shown = read.unit.from_si(read.si);
        Error::range(read.si > 0.0, field, shown, &read.unit.symbol, "above 0")?;
        Ok(read.si)
    }

    fn check(&self) -> Result<()> {
        let lengths = [
            ("cable_run", self.cable_run, "m"),
            ("free_length", self.free_length, "m"),
            ("duration", self.duration, "s"),
        ];
        for (field, value, unit) in lengths {
            let Some(value) = value else { continue };
            let possible = value > 0.0 && value <= MOST;
            Error::range(
                possible,
                field,
                value,
                unit,
                format!("above 0, to {MOST:e}"),
            )?;
        }
        Ok(())
    }
}

/// Larger than any length or time that anybody means.
const MOST: f64 = 1e12;

/// What the pipe, the liquid and the path of a site demand. Numbers are in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Demands {
    /// Outside diameter under the sensors.
    pub outside_diameter: f64,
    /// Outside circumference there.
    pub circumference: f64,
    /// Thickness of the wall alone.
    pub wall: f64,
    /// Material of the wall, where the site file names it.
    pub material: Option<String>,
    /// The lowest and the highest temperature of the surface; `None` where nobody states any.
    pub temperatures: Option<[f64; 2]>,
    /// The smallest and the largest spacing of the exit points over these temperatures.
    pub spacing: [f64; 2],
    /// Number of traverses.
    pub traverses: u32,
    /// Length of one sensor along the pipe, where the site states it.
    pub sensor_length: Option<f64>,
    /// What is read.
    pub basis: Basis,
    /// Absolute pressure of the liquid in Pa, where the site states it.
    pub pressure: Option<f64>,
    /// Delay of both cables together as the site states it, in s, with its standard uncertainty.
    pub cable_delay: Option<(f64, f64)>,
    /// What else is known of the day.
    pub day: DayOnSite,
}

impl Demands {
    /// Whether the sensors sit on opposite sides of the pipe.
    pub fn is_direct(&self) -> bool {
        !self.traverses.is_multiple_of(2)
    }
}

impl Site {
    /// What the site demands of what is strapped on its pipe.
    ///
    /// # Errors
    /// As [`Site::plan`] at rest: no sound path, a temperature that is missing or has no effect; a length
    /// or time that is not above 0.
    pub fn demands(&self, day: &DayOnSite) -> Result<Demands> {
        day.check()?;
        let temperatures: Vec<Option<f64>> = match day.temperatures.as_slice() {
            [] => vec![None],
            some => some.iter().copied().map(Some).collect(),
        };
        let mut found: Option<Demands> = None;
        for temperature in temperatures {
            let at = self.demands_at(temperature, day)?;
            found = Some(match found {
                None => at,
                Some(so_far) => so_far.widened(&at),
            });
        }
        found.ok_or_else(|| Error::Missing {
            field: "temperatures".to_owned(),
            needed: "one temperature or more".to_owned(),
        })
    }

    fn demands_at(&self, temperature: Option<f64>, day: &DayOnSite) -> Result<Demands> {
        let steps = self.steps_at_rest(temperature)?;
        let choices = self.skeleton.choices();
        let known = |q: Quantity| {
            let mut terms = self.stated.iter().filter(|(own, _)| *own == q).peekable();
            terms.peek()?;
            Some(terms.map(|(_, input)| input.estimate()).sum())
        };
        let liquid = temperature.or_else(|| known(Quantity::Temperature));
        let surface = known(Quantity::WallTemperature).or(liquid);
        Ok(Demands {
            outside_diameter: steps.surface_diameter,
            circumference: steps.circumference,
            wall: known(Quantity::Wall).unwrap_or_default(),
            material: self.wall_material.clone(),
            temperatures: surface.map(|kelvin| [kelvin; 2]),
            spacing: [steps.path.spacing; 2],
            traverses: choices.traverses,
            sensor_length: self.sensor_length,
            basis: choices.basis,
            pressure: known(Quantity::Pressure),
            cable_delay: self.cable_delay(),
            day: day.clone(),
        })
    }

    /// Delay of both cables together, where the site states it or their length.
    fn cable_delay(&self) -> Option<(f64, f64)> {
        let known = |q: Quantity| {
            let mut terms = self.stated.iter().filter(|(own, _)| *own == q).peekable();
            terms.peek()?;
            let (mut sum, mut variance) = (0.0, 0.0);
            for (_, input) in terms {
                sum += input.estimate();
                variance += input.standard_uncertainty() * input.standard_uncertainty();
            }
            Some((sum, variance.sqrt()))
        };
        let per_length = Quantity::CableDelayPerLength;
        known(Quantity::CableDelay).or_else(|| {
            let (length, u) = known(Quantity::CableLength)?;
            let (own, own_u) = known(per_length).unwrap_or((per_length.default_value(), 0.0));
            let spread = (length * own_u) * (length * own_u) + (own * u) * (own * u);
            Some((length * own, spread.sqrt()))
        })
    }
}

impl Demands {
    /// These, with those at another temperature.
    fn widened(self, other: &Demands) -> Demands {
        let both = |a: [f64; 2], b: [f64; 2]| [a[0].min(b[0]), a[1].max(b[1])];
        Demands {
            temperatures: self
                .temperatures
                .zip(other.temperatures)
                .map(|(a, b)| both(a, b)),
            spacing: both(self.spacing, other.spacing),
            ..self
        }
    }
}
