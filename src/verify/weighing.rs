//! Weighing in air.

use crate::error::{Error, Result};
use crate::scalar::Scalar;

/// Mass over indication of a scale that was adjusted with weights of density `weight_density`:
///
/// ```text
/// m / I = (1 - rho_air / rho_weights) / (1 - rho_air / rho_liquid)
/// ```
///
/// Liquid that flows into a tank drives the air out whose place it takes, so its buoyancy is that of
/// its own volume. To first order this is `1 + rho_air (1/rho_liquid - 1/rho_weights)`, about 1.00106
/// for water.
///
/// **Units**: densities in kg/m3.
///
/// # Source
/// Archimedes' principle; ISO 4185:1980 has the first-order form (from memory). The conventional
/// densities are 8000 kg/m3 for weights and 1.2 kg/m3 for air, OIML D 28.
///
/// # Example
/// ```
/// let factor: f64 = flowdoubt::verify::buoyancy_factor(1.2, 8000.0, 998.2);
/// assert!((factor - 1.001_053).abs() < 1e-6);
/// ```
pub fn buoyancy_factor<S: Scalar>(air_density: S, weight_density: S, liquid_density: S) -> S {
    (-air_density / weight_density + 1.0) / (-air_density / liquid_density + 1.0)
}

/// Refuses densities for which [`buoyancy_factor`] says nothing.
///
/// # Errors
/// Air of negative density, weights or a liquid that are no denser than it.
pub fn check_densities(air: f64, weights: f64, liquid: f64) -> Result<()> {
    let inside = air >= 0.0 && air.is_finite();
    Error::range(inside, "air_density", air, "kg/m3", "0 or above")?;
    for (name, density) in [("weight_density", weights), ("liquid_density", liquid)] {
        let inside = density > air && density.is_finite();
        Error::range(inside, name, density, "kg/m3", "above that of the air")?;
    }
    Ok(())
}

/// Density of moist air in kg/m3 by the approximation formula of OIML R 111.
///
/// ```text
/// rho = (0.34848 p - 0.009 h exp(0.061 t)) / (273.15 + t),    p in hPa, h in %, t in degC
/// ```
///
/// **Units**: `temperature` in K, `pressure` in Pa, `relative_humidity` as a ratio.
/// **Range**: 900 to 1100 hPa, 10 to 30 degC, humidity up to 80 %; there within 3e-4 of the CIPM-2007
/// equation (the recommendation says 2e-4 of its forerunner, which is 6e-5 lower).
///
/// # Source
/// OIML R 111-1:2004, E.3, formula (E.3-1) (from memory; compared in the tests with the CIPM-2007
/// equation and with the virial equation of humid air in CoolProp).
///
/// # Example
/// ```
/// let rho: f64 = flowdoubt::verify::air_density(293.15, 101_325.0, 0.5);
/// assert!((rho - 1.1993).abs() < 1e-4);
/// ```
pub fn air_density<S: Scalar>(temperature: S, pressure: S, relative_humidity: S) -> S {
    let celsius = temperature - 273.15;
    let dry = pressure * (1e-2 * 0.34848);
    let moist = relative_humidity * 100.0 * 0.009 * (celsius * 0.061).exp();
    (dry - moist) / temperature
}

/// Refuses air for which [`air_density`] does not hold.
///
/// # Errors
/// A pressure, temperature or humidity outside the range of the formula.
pub fn check_air(temperature: f64, pressure: f64, relative_humidity: f64) -> Result<()> {
    let inside = (90_000.0..=110_000.0).contains(&pressure);
    let hectopascal = 1e-2 * pressure;
    let allowed = "900 to 1100 hPa, or a stated air_density";
    Error::range(inside, "air_pressure", hectopascal, "hPa", allowed)?;
    let celsius = temperature - 273.15;
    let inside = (10.0..=30.0).contains(&celsius);
    let allowed = "10 to 30 degC, or a stated air_density";
    Error::range(inside, "air_temperature", celsius, "degC", allowed)?;
    let inside = (0.0..=0.8).contains(&relative_humidity);
    let allowed = "0 to 0.8, or a stated air_density";
    Error::range(inside, "air_humidity", relative_humidity, "", allowed)
}

/// Error of a diverter in s, indicated less effective duration, from one long run and the sum of
/// `bursts` short ones.
///
/// With the same error `d` at every diversion, `m = q (t - d)` and `sum m_i = q' (sum t_i - n d)`,
/// where the flows `q` and `q'` are known but for a common factor.
///
/// **Units**: durations in s, masses in kg, `flow_ratio` is `q' / q`, as a meter in the line shows it.
///
/// # Source
/// ISO 4185:1980, annex A, first method (from memory); derived here without its approximations.
///
/// # Example
/// ```
/// // 10 kg/s, 0.02 s too long each time: 600 s in one, and in 20 bursts of 30 s
/// let d: f64 = flowdoubt::verify::diverter_error(600.0, 5999.8, 600.0, 5996.0, 20, 1.0);
/// assert!((d - 0.02).abs() < 1e-9);
/// ```
pub fn diverter_error<S: Scalar>(
    duration: S,
    mass: S,
    burst_duration: S,
    burst_mass: S,
    bursts: u32,
    flow_ratio: S,
) -> S {
    // r (T - n d) = s (t - d) with r = q'/q and s = sum m_i / m
    let ratio = burst_mass / mass;
    (ratio * duration - flow_ratio * burst_duration) / (ratio - flow_ratio * f64::from(bursts))
}

/// Refuses runs from which [`diverter_error`] cannot tell the error: durations, masses and flow ratio in
/// the order of its arguments.
///
/// # Errors
/// One that is not above 0; fewer bursts than 2.
pub fn check_bursts(stated: [f64; 5], bursts: u32) -> Result<()> {
    let names = [
        ("duration", "s"),
        ("mass", "kg"),
        ("burst_duration", "s"),
        ("burst_mass", "kg"),
        ("flow_ratio", ""),
    ];
    for ((name, unit), value) in names.into_iter().zip(stated) {
        let inside = value > 0.0 && value.is_finite();
        Error::range(inside, name, value, unit, "above 0")?;
    }
    Error::range(bursts >= 2, "bursts", f64::from(bursts), "", "2 or above")
}
