//! The units that are read, by dimension; the first of each is that of SI.

use super::{Dimension, Unit};
use std::borrow::Cow;
use std::f64::consts::PI;

/// A row of the table of units.
pub(super) struct Definition {
    pub(super) symbol: &'static str,
    pub(super) dimension: Dimension,
    pub(super) factor: f64,
    pub(super) offset: f64,
}

impl Definition {
    pub(super) fn unit(&self) -> Unit {
        Unit {
            symbol: Cow::Borrowed(self.symbol),
            factor: self.factor,
            offset: self.offset,
            si_symbol: Cow::Borrowed(self.dimension.si_symbol()),
        }
    }
}

const fn unit(symbol: &'static str, dimension: Dimension, factor: f64) -> Definition {
    Definition {
        symbol,
        dimension,
        factor,
        offset: 0.0,
    }
}

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
/// US liquid gallon: 231 cubic inches.
const US_GALLON: f64 = 231.0 * INCH * INCH * INCH;
/// Imperial gallon.
const IMPERIAL_GALLON: f64 = 4.546_09e-3;
const POUND: f64 = 0.453_592_37;
const POUND_FORCE_PER_SQUARE_INCH: f64 = POUND * 9.806_65 / (INCH * INCH);

/// All units; the first of each dimension is the SI unit.
pub(super) const UNITS: &[Definition] = &[
    unit("1", Dimension::Ratio, 1.0),
    unit("%", Dimension::Ratio, 1e-2),
    unit("ppm", Dimension::Ratio, 1e-6),
    unit("g/kg", Dimension::Ratio, 1e-3),
    unit("m", Dimension::Length, 1.0),
    unit("cm", Dimension::Length, 1e-2),
    unit("mm", Dimension::Length, 1e-3),
    unit("um", Dimension::Length, 1e-6),
    unit("in", Dimension::Length, INCH),
    unit("ft", Dimension::Length, FOOT),
    unit("s", Dimension::Time, 1.0),
    unit("ms", Dimension::Time, 1e-3),
    unit("us", Dimension::Time, 1e-6),
    unit("ns", Dimension::Time, 1e-9),
    unit("ps", Dimension::Time, 1e-12),
    unit("min", Dimension::Time, 60.0),
    unit("h", Dimension::Time, 3600.0),
    unit("day", Dimension::Time, 86_400.0),
    unit("m/s", Dimension::Velocity, 1.0),
    unit("mm/s", Dimension::Velocity, 1e-3),
    unit("ft/s", Dimension::Velocity, FOOT),
    unit("in/us", Dimension::Velocity, INCH / 1e-6),
    unit("km/s", Dimension::Velocity, 1e3),
    unit("m3/s", Dimension::VolumeFlow, 1.0),
    unit("m3/h", Dimension::VolumeFlow, 1.0 / 3600.0),
    unit("L/s", Dimension::VolumeFlow, 1e-3),
    unit("L/min", Dimension::VolumeFlow, 1e-3 / 60.0),
    unit("L/h", Dimension::VolumeFlow, 1e-3 / 3600.0),
    unit("gal/min", Dimension::VolumeFlow, US_GALLON / 60.0),
    unit("Imp gal/min", Dimension::VolumeFlow, IMPERIAL_GALLON / 60.0),
    unit("ft3/s", Dimension::VolumeFlow, FOOT * FOOT * FOOT),
    unit("K", Dimension::Temperature, 1.0),
    Definition {
        symbol: "degC",
        dimension: Dimension::Temperature,
        factor: 1.0,
        offset: 273.15,
    },
    Definition {
        symbol: "degF",
        dimension: Dimension::Temperature,
        factor: 5.0 / 9.0,
        offset: 459.67 * 5.0 / 9.0,
    },
    unit("Pa", Dimension::Pressure, 1.0),
    unit("kPa", Dimension::Pressure, 1e3),
    unit("MPa", Dimension::Pressure, 1e6),
    unit("GPa", Dimension::Pressure, 1e9),
    unit("bar", Dimension::Pressure, 1e5),
    unit("mbar", Dimension::Pressure, 1e2),
    unit("psi", Dimension::Pressure, POUND_FORCE_PER_SQUARE_INCH),
    unit("rad", Dimension::Angle, 1.0),
    unit("deg", Dimension::Angle, PI / 180.0),
    unit("kg/m3", Dimension::Density, 1.0),
    unit("g/cm3", Dimension::Density, 1e3),
    unit("Pa s", Dimension::DynamicViscosity, 1.0),
    unit("mPa s", Dimension::DynamicViscosity, 1e-3),
    unit("cP", Dimension::DynamicViscosity, 1e-3),
    unit("m2/s", Dimension::KinematicViscosity, 1.0),
    unit("mm2/s", Dimension::KinematicViscosity, 1e-6),
    unit("cSt", Dimension::KinematicViscosity, 1e-6),
    unit("D", Dimension::Diameters, 1.0),
    unit("1/K", Dimension::PerKelvin, 1.0),
    unit("ppm/K", Dimension::PerKelvin, 1e-6),
    unit("m/(s K)", Dimension::VelocityPerKelvin, 1.0),
    unit("s/m", Dimension::TimePerLength, 1.0),
    unit("ns/m", Dimension::TimePerLength, 1e-9),
    unit("ns/ft", Dimension::TimePerLength, 1e-9 / FOOT),
    unit("kg", Dimension::Mass, 1.0),
    unit("g", Dimension::Mass, 1e-3),
    unit("t", Dimension::Mass, 1e3),
    unit("lb", Dimension::Mass, POUND),
    unit("m3", Dimension::Volume, 1.0),
    unit("L", Dimension::Volume, 1e-3),
    unit("mL", Dimension::Volume, 1e-6),
    unit("gal", Dimension::Volume, US_GALLON),
    unit("Imp gal", Dimension::Volume, IMPERIAL_GALLON),
    unit("ft3", Dimension::Volume, FOOT * FOOT * FOOT),
    unit("m2", Dimension::Area, 1.0),
    unit("cm2", Dimension::Area, 1e-4),
    unit("mm2", Dimension::Area, 1e-6),
    unit("ft2", Dimension::Area, FOOT * FOOT),
    unit("1/Pa", Dimension::PerPressure, 1.0),
    unit("1/bar", Dimension::PerPressure, 1e-5),
    unit("1/MPa", Dimension::PerPressure, 1e-6),
    unit("1/GPa", Dimension::PerPressure, 1e-9),
    unit("ppm/bar", Dimension::PerPressure, 1e-11),
    unit("Hz", Dimension::Frequency, 1.0),
    unit("kHz", Dimension::Frequency, 1e3),
    unit("MHz", Dimension::Frequency, 1e6),
    unit("A", Dimension::Current, 1.0),
    unit("mA", Dimension::Current, 1e-3),
];

/// Other spellings of the symbols above.
pub(super) const SPELLINGS: &[(&str, &str)] = &[
    ("", "1"),
    ("µm", "um"),
    ("μm", "um"),
    ("inch", "in"),
    ("days", "day"),
    ("\"", "in"),
    ("µs", "us"),
    ("μs", "us"),
    ("m³/h", "m3/h"),
    ("m^3/h", "m3/h"),
    ("m³/s", "m3/s"),
    ("m^3/s", "m3/s"),
    ("l/s", "L/s"),
    ("l/min", "L/min"),
    ("l/h", "L/h"),
    ("l", "L"),
    ("ml", "mL"),
    ("m³", "m3"),
    ("m^3", "m3"),
    ("m²", "m2"),
    ("m^2", "m2"),
    ("US gal/min", "gal/min"),
    ("gpm", "gal/min"),
    ("°C", "degC"),
    ("°F", "degF"),
    ("°", "deg"),
    ("kg/m³", "kg/m3"),
    ("kg/m^3", "kg/m3"),
    ("Pa.s", "Pa s"),
    ("mPa.s", "mPa s"),
    ("m²/s", "m2/s"),
    ("mm²/s", "mm2/s"),
    ("m/s/K", "m/(s K)"),
];
