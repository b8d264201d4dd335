//! What a unit that is not known may have been meant to be. A hint that leads to another quantity is
//! worse than none, so there is one only where the trade writes the unit so, or a letter slipped.

use super::Dimension::{self, *};

/// How units are written elsewhere, and what they are here.
const WRITTEN: &[(Dimension, &[&str], &str)] = &[
    (
        Temperature,
        &[
            "C", "c", "degc", "Celsius", "celsius", "\u{b0}c", "\u{2103}",
        ],
        "degC",
    ),
    (
        Temperature,
        &["F", "f", "degf", "Fahrenheit", "fahrenheit"],
        "degF",
    ),
    (
        Temperature,
        &["k", "\u{b0}K", "degK", "Kelvin", "kelvin"],
        "K",
    ),
    (
        VolumeFlow,
        &["l/m", "L/m", "lpm", "LPM", "l/mn", "L/mn", "slpm"],
        "L/min",
    ),
    (VolumeFlow, &["lps", "LPS", "l/sec"], "L/s"),
    (VolumeFlow, &["lph", "LPH", "l/hr", "L/hr"], "L/h"),
    (
        VolumeFlow,
        &[
            "m3/hr", "m3/hour", "cbm/h", "cmh", "CMH", "qm/h", "m3h", "M3/H", "M3/h",
        ],
        "m3/h",
    ),
    (VolumeFlow, &["m3s", "cumec", "cumecs", "m3/sec"], "m3/s"),
    (
        VolumeFlow,
        &["GPM", "usgpm", "USgpm", "USGPM", "gal/m"],
        "gal/min",
    ),
    (VolumeFlow, &["igpm", "IGPM"], "Imp gal/min"),
    (VolumeFlow, &["cfs", "CFS"], "ft3/s"),
    (Velocity, &["m/sec", "mps", "M/S"], "m/s"),
    (Velocity, &["fps", "FPS", "ft/sec"], "ft/s"),
    (Length, &["M", "meter", "metre", "meters", "metres"], "m"),
    (Length, &["MM", "Mm", "millimeter", "millimetre"], "mm"),
    (Length, &["inches", "IN", "In", "''", "\u{2033}"], "in"),
    (Length, &["feet", "foot", "FT", "'", "\u{2032}"], "ft"),
    (Length, &["micron", "microns", "mu"], "um"),
    (Time, &["sec", "S", "second", "seconds"], "s"),
    (Time, &["usec", "microsec", "mus", "US"], "us"),
    (Time, &["nsec", "NS", "nS"], "ns"),
    (Time, &["msec", "mS"], "ms"),
    (Time, &["hr", "hrs", "hour", "hours"], "h"),
    (Time, &["mn", "mins", "minutes"], "min"),
    (Pressure, &["Bar", "BAR"], "bar"),
    (Pressure, &["kpa", "KPa", "KPA"], "kPa"),
    (Pressure, &["Mpa", "MPA"], "MPa"),
    (Pressure, &["psia", "PSI"], "psi"),
    (Angle, &["degree", "degrees", "Deg"], "deg"),
    (KinematicViscosity, &["cst", "CST", "cSt."], "cSt"),
    (DynamicViscosity, &["cp", "CP", "mPas", "mPa*s"], "mPa s"),
    (Density, &["g/ml", "g/mL", "kg/L", "kg/l", "g/cc"], "g/cm3"),
    (Ratio, &["percent", "pct", "Percent"], "%"),
];

/// What is no unit of that quantity and is often written for one.
const EXPLAINED: &[(Dimension, &[&str], &str)] = &[
    (
        VolumeFlow,
        &["kg/s", "kg/h", "kg/min", "t/h", "t/d", "lb/h", "lb/min"],
        "that is a mass flow: divide it by the density of the liquid",
    ),
    (
        Pressure,
        &[
            "barg", "bar(g)", "bar g", "bar_g", "barG", "psig", "kPag", "kPa(g)", "MPa(g)", "mWC",
            "mH2O",
        ],
        "that is above the atmosphere: pressures here are absolute, so add that of the atmosphere, \
         about 1.01 bar",
    ),
    (
        Pressure,
        &["bara", "bar(a)", "bar a"],
        "pressures here are absolute: write bar",
    ),
];

/// Letters of a unit from which on a slip of one of them may be guessed; of quotients, since another
/// unit of time is one letter as well.
const LONG: usize = 3;
const LONG_QUOTIENT: usize = 4;

/// The hint for an unknown unit, where one helps.
pub(super) fn of_unit<'a>(
    symbol: &str,
    dimension: Dimension,
    units: impl Iterator<Item = &'a str>,
) -> Option<String> {
    let listed = |table: &[(Dimension, &[&str], &'static str)]| {
        let own = |row: &&(Dimension, &[&str], &str)| row.0 == dimension && row.1.contains(&symbol);
        table.iter().find(own).map(|row| row.2)
    };
    if let Some(words) = listed(EXPLAINED) {
        return Some(words.to_owned());
    }
    if let Some(unit) = listed(WRITTEN) {
        return Some(format!("did you mean {unit}?"));
    }
    let slip = |unit: &&str| {
        let fewest = if unit.contains('/') {
            LONG_QUOTIENT
        } else {
            LONG
        };
        let long = symbol.chars().count().min(unit.chars().count()) >= fewest;
        long && strsim::damerau_levenshtein(symbol, unit) == 1
    };
    let near: Vec<&str> = units.filter(slip).collect();
    // two that are as near are no hint
    let [unit] = near.as_slice() else { return None };
    Some(format!("did you mean {unit}?"))
}
