//! A liquid given by a table over temperature: an oil, a brine, a glycol from its data sheet.
//!
//! Between the rows every property is interpolated by a [`MonotoneCubic`], viscosity in its
//! logarithm because it falls by a nearly constant share per kelvin. Nothing is extrapolated.
//! Pressure has no part in it: the table is one of the pressure on site.

use crate::error::{Error, Result};
use crate::scalar::{MonotoneCubic, Scalar};

/// How well the values of a column are known: a standard uncertainty common to all rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ColumnUncertainty {
    /// In the unit of the column.
    Absolute(f64),
    /// As a share of the value, without unit.
    Relative(f64),
}

/// One property, row by row, with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// The values, in SI units, one for each temperature.
    pub values: Vec<f64>,
    /// Their uncertainty.
    pub uncertainty: ColumnUncertainty,
}

/// The viscosity of a table, as its source gives it.
#[derive(Debug, Clone, PartialEq)]
pub enum ViscosityColumn {
    /// Dynamic viscosity, in Pa s.
    Dynamic(Column),
    /// Kinematic viscosity, in m2/s.
    Kinematic(Column),
}

/// A property of a liquid that a table holds.
#[derive(Debug, Clone, PartialEq)]
struct Curve {
    /// Through the values, or through their logarithms.
    curve: MonotoneCubic,
    uncertainty: ColumnUncertainty,
}

/// A liquid whose properties are interpolated in a table.
///
/// # Example
/// ```
/// use flowdoubt::liquid::tabulated::{Column, ColumnUncertainty, TabulatedLiquid, ViscosityColumn};
/// let column = |values: [f64; 3]| Column {
///     values: values.to_vec(),
///     uncertainty: ColumnUncertainty::Relative(0.01),
/// };
/// let oil = TabulatedLiquid::new(
///     &[293.15, 313.15, 333.15],
///     &column([1460.0, 1390.0, 1320.0]),
///     &column([870.0, 856.0, 842.0]),
///     &ViscosityColumn::Kinematic(column([100e-6, 40e-6, 20e-6])),
/// )?;
/// oil.check(303.15)?;
/// assert!((oil.sound_speed(303.15) - 1425.0_f64).abs() < 1e-9); // halfway along a straight line
/// assert!((oil.kinematic_viscosity(313.15) - 40e-6_f64).abs() < 1e-18);
/// assert!((oil.sound_speed_uncertainty(313.15) - 13.9).abs() < 1e-9);
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct TabulatedLiquid {
    sound_speed: Curve,
    density: Curve,
    ln_viscosity: Curve,
    viscosity_is_dynamic: bool,
}

impl TabulatedLiquid {
    /// A liquid from columns over `temperatures` in K: sound speed in m/s, density in kg/m3 and
    /// viscosity.
    ///
    /// # Errors
    /// Fewer than two rows; columns of different length; temperatures that do not rise from row to
    /// row; a value that is not positive and finite; an uncertainty that is negative or not finite. The
    /// error names the column and the row, counted from 1.
    pub fn new(
        temperatures: &[f64],
        sound_speed: &Column,
        density: &Column,
        viscosity: &ViscosityColumn,
    ) -> Result<Self> {
        check_temperatures(temperatures)?;
        let (name, unit, column) = match viscosity {
            ViscosityColumn::Dynamic(column) => ("dynamic viscosity", "Pa s", column),
            ViscosityColumn::Kinematic(column) => ("kinematic viscosity", "m2/s", column),
        };
        let plain = |value: f64| value;
        Ok(Self {
            sound_speed: Curve::new("sound speed", "m/s", temperatures, sound_speed, plain)?,
            density: Curve::new("density", "kg/m3", temperatures, density, plain)?,
            ln_viscosity: Curve::new(name, unit, temperatures, column, Scalar::ln)?,
            viscosity_is_dynamic: matches!(viscosity, ViscosityColumn::Dynamic(_)),
        })
    }

    /// The lowest and the highest temperature of the table, in K.
    pub fn temperature_range(&self) -> [f64; 2] {
        self.sound_speed.curve.range()
    }

    /// Refuses a temperature in K outside the table.
    ///
    /// # Errors
    /// A temperature below that of the first row or above that of the last.
    pub fn check(&self, temperature: f64) -> Result<()> {
        let [low, high] = self.temperature_range();
        let inside = (low..=high).contains(&temperature);
        let allowed =
            || format!("{low} to {high} K, the range of the table; nothing is extrapolated");
        Error::range_told_by(inside, "liquid temperature", temperature, "K", allowed)
    }

    /// Sound speed in m/s at `temperature` in K; NaN outside the table.
    pub fn sound_speed<S: Scalar>(&self, temperature: S) -> S {
        self.sound_speed.curve.at(temperature)
    }

    /// Density in kg/m3 at `temperature` in K; NaN outside the table.
    pub fn density<S: Scalar>(&self, temperature: S) -> S {
        self.density.curve.at(temperature)
    }

    /// Dynamic viscosity in Pa s at `temperature` in K; NaN outside the table.
    pub fn dynamic_viscosity<S: Scalar>(&self, temperature: S) -> S {
        let viscosity = self.ln_viscosity.curve.at(temperature).exp();
        if self.viscosity_is_dynamic {
            viscosity
        } else {
            viscosity * self.density(temperature)
        }
    }

    /// Kinematic viscosity in m2/s at `temperature` in K; NaN outside the table.
    pub fn kinematic_viscosity<S: Scalar>(&self, temperature: S) -> S {
        self.kinematic_viscosity_at_density(temperature, self.density(temperature))
    }

    /// As [`Self::kinematic_viscosity`], with a `density` in kg/m3 that may be better known than
    /// that of the table; a table of kinematic viscosity has no use for it.
    pub fn kinematic_viscosity_at_density<S: Scalar>(&self, temperature: S, density: S) -> S {
        let viscosity = self.ln_viscosity.curve.at(temperature).exp();
        if self.viscosity_is_dynamic {
            viscosity / density
        } else {
            viscosity
        }
    }

    /// Standard uncertainty in m/s of the tabulated sound speed at `temperature` in K.
    ///
    /// It is that of the values of the table; interpolation adds its own where rows are far apart.
    pub fn sound_speed_uncertainty(&self, temperature: f64) -> f64 {
        let value = self.sound_speed(temperature);
        self.sound_speed.uncertainty.at(value)
    }

    /// Standard uncertainty in kg/m3 of the tabulated density at `temperature` in K.
    pub fn density_uncertainty(&self, temperature: f64) -> f64 {
        let value = self.density(temperature);
        self.density.uncertainty.at(value)
    }

    /// Standard uncertainty of the tabulated viscosity at `temperature` in K, as a share of it.
    ///
    /// It is that of the column given, dynamic or kinematic; the uncertainty of density is not in it.
    pub fn viscosity_relative_uncertainty(&self, temperature: f64) -> f64 {
        let value = libm::exp(self.ln_viscosity.curve.at(temperature));
        self.ln_viscosity.uncertainty.at(value) / value
    }
}

impl ColumnUncertainty {
    /// The standard uncertainty of `value`, in its unit.
    fn at(self, value: f64) -> f64 {
        match self {
            ColumnUncertainty::Absolute(uncertainty) => uncertainty,
            ColumnUncertainty::Relative(share) => share * value,
        }
    }
}

impl Curve {
    /// The curve through `form(value)` of a column, after its check.
    fn new(
        name: &str,
        unit: &str,
        temperatures: &[f64],
        column: &Column,
        form: impl Fn(f64) -> f64,
    ) -> Result<Self> {
        if column.values.len() != temperatures.len() {
            return Err(Error::Length {
                field: format!("liquid table: {name}"),
                found: column.values.len(),
                allowed: format!("{}, one for each temperature", temperatures.len()),
            });
        }
        for (index, &value) in column.values.iter().enumerate() {
            let inside = value.is_finite() && value > 0.0;
            Error::range(inside, row(name, index), value, unit, "finite and above 0")?;
        }
        let (uncertainty, unit) = match column.uncertainty {
            ColumnUncertainty::Absolute(uncertainty) => (uncertainty, unit),
            ColumnUncertainty::Relative(uncertainty) => (uncertainty, "1"),
        };
        let field = format!("liquid table: {name}, standard uncertainty");
        let inside = uncertainty.is_finite() && uncertainty >= 0.0;
        Error::range(inside, field, uncertainty, unit, "finite, 0 or above")?;
        let values: Vec<f64> = column.values.iter().copied().map(form).collect();
        Ok(Self {
            curve: MonotoneCubic::new(temperatures, &values),
            uncertainty: column.uncertainty,
        })
    }
}

/// The name of one value of the table.
fn row(name: &str, index: usize) -> String {
    format!("liquid table: {name}, row {}", index + 1)
}

/// Refuses temperatures that make no table.
fn check_temperatures(temperatures: &[f64]) -> Result<()> {
    if temperatures.len() < 2 {
        return Err(Error::Length {
            field: "liquid table: temperature".to_owned(),
            found: temperatures.len(),
            allowed: "2 or more; 2 give straight lines".to_owned(),
        });
    }
    let mut previous = 0.0;
    for (index, &temperature) in temperatures.iter().enumerate() {
        let inside = temperature.is_finite() && temperature > previous;
        let allowed = if index == 0 {
            "finite and above 0 K".to_owned()
        } else {
            format!("above {previous} K, the temperature of the row before")
        };
        Error::range(inside, row("temperature", index), temperature, "K", allowed)?;
        previous = temperature;
    }
    Ok(())
}
