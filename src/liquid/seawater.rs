//! Sea water: density and sound speed after TEOS-10, viscosity after Sharqawy and others.
//!
//! Density and sound speed follow from the Gibbs function (see `seawater_gibbs.rs`), so they agree
//! with each other and, at salinity zero, with [`water`] within their uncertainties. Salinity is
//! the absolute salinity, mass of salt in mass of sea water; [`reference_salinity`] gives it from
//! practical salinity, which is what a conductivity meter shows.

use super::seawater_gibbs::gibbs_derivatives;
use super::water;
use crate::error::{Error, Result};
use crate::scalar::Scalar;

/// Lowest and highest temperature of validity, in K: 0 to 40 degC.
///
/// # Source
/// IAPWS SR7-09(2009) ends at 40 degC (from memory); sea water colder than 0 degC is left out.
pub const TEMPERATURE_RANGE_K: [f64; 2] = [273.15, 313.15];
/// Highest pressure of validity, in Pa: that of [`water`]. The formulation itself goes to 100 MPa.
pub const PRESSURE_MAX_PA: f64 = water::PRESSURE_MAX_PA;
/// Highest absolute salinity of validity, in kg/kg.
///
/// # Source
/// IAPWS R13-08(2008), oceanographic range. From memory.
pub const SALINITY_MAX_KG_KG: f64 = 0.042;

/// Relative expanded uncertainty (coverage factor 2) of the density of sea water.
///
/// # Source
/// IAPWS R13-08(2008): relative standard uncertainty 4e-6 near 0.1 MPa and 2e-5 under pressure,
/// both from memory. The larger one is taken. Sea salt of unusual composition is a matter of the
/// salinity: its uncertainty is up to 2.5e-5 kg/kg in the open ocean (from memory).
pub const DENSITY_RELATIVE_UNCERTAINTY: f64 = 4e-5;

/// Relative expanded uncertainty (coverage factor 2) of the sound speed in sea water.
///
/// # Source
/// The largest distance to C.-T. Chen and F. J. Millero, J. Acoust. Soc. Am. 62 (1977) 1129, in
/// the range of this module: 0.61 m/s, near 33 degC at 10 MPa; a test computes it. Up to 30 degC
/// and below 1 MPa they agree within 1.1e-4.
pub const SOUND_SPEED_RELATIVE_UNCERTAINTY: f64 = 4e-4;

/// Relative expanded uncertainty (coverage factor 2) of the viscosity of sea water.
///
/// # Source
/// M. H. Sharqawy, J. H. Lienhard V and S. M. Zubair, Desalin. Water Treat. 16 (2010) 354: 1.5 %,
/// without a coverage factor; 2 is assumed.
pub const VISCOSITY_RELATIVE_UNCERTAINTY: f64 = 1.5e-2;

/// Refuses a state outside the validity of this module, or one that may not be liquid.
///
/// Temperature in K, absolute pressure in Pa, absolute salinity in kg/kg.
///
/// # Errors
/// Temperature, pressure or salinity out of range. The lowest pressure is that at which pure water
/// boils; sea water boils at a pressure about 2 % lower.
pub fn check(temperature: f64, pressure: f64, salinity: f64) -> Result<()> {
    let [low, high] = TEMPERATURE_RANGE_K;
    let inside = (low..=high).contains(&temperature);
    let allowed = || format!("0 to 40 degC ({low} to {high} K)");
    Error::range_told_by(inside, "sea water temperature", temperature, "K", allowed)?;

    let saturation = water::saturation_pressure(temperature);
    let inside = (saturation..=PRESSURE_MAX_PA).contains(&pressure);
    let allowed = || {
        format!(
            "from {saturation:.0} Pa, at which water boils at this temperature, \
         to {PRESSURE_MAX_PA} Pa absolute"
        )
    };
    Error::range_told_by(inside, "sea water pressure", pressure, "Pa", allowed)?;

    let inside = (0.0..=SALINITY_MAX_KG_KG).contains(&salinity);
    let allowed = || format!("0 to {SALINITY_MAX_KG_KG} kg/kg (0 to 42 g/kg)");
    Error::range_told_by(inside, "sea water salinity", salinity, "kg/kg", allowed)
}

/// Absolute salinity in kg/kg of sea water of reference composition, from `practical_salinity`
/// (PSS-78, without unit).
///
/// # Source
/// F. J. Millero, R. Feistel, D. G. Wright and T. J. McDougall, Deep-Sea Res. I 55 (2008) 50:
/// 35.165 04 g/kg at practical salinity 35.
///
/// # Example
/// ```
/// let salinity = flowdoubt::liquid::seawater::reference_salinity(35.0);
/// assert_eq!(salinity, 0.035_165_04);
/// ```
pub fn reference_salinity<S: Scalar>(practical_salinity: S) -> S {
    practical_salinity / 35.0 * 0.035_165_04
}

/// Density of sea water in kg/m3 at `temperature` in K, absolute `pressure` in Pa and absolute
/// `salinity` in kg/kg: `1/g_p`.
///
/// # Source
/// IAPWS R13-08(2008) with IAPWS SR7-09(2009).
///
/// # Example
/// ```
/// let rho = flowdoubt::liquid::seawater::density(298.15, 101_325.0, 0.035_165_04);
/// assert!((rho - 1023.3436).abs() < 1e-4);
/// ```
pub fn density<S: Scalar>(temperature: S, pressure: S, salinity: S) -> S {
    gibbs_derivatives(temperature, pressure, salinity).p.recip()
}

/// Sound speed in sea water in m/s at `temperature` in K, absolute `pressure` in Pa and absolute
/// `salinity` in kg/kg.
///
/// ```text
/// c = g_p sqrt(g_TT / (g_Tp^2 - g_TT g_pp))
/// ```
///
/// # Source
/// IAPWS R13-08(2008) with IAPWS SR7-09(2009).
///
/// # Example
/// ```
/// let c = flowdoubt::liquid::seawater::sound_speed(298.15, 101_325.0, 0.035_165_04);
/// assert!((c - 1534.3571).abs() < 1e-4);
/// ```
pub fn sound_speed<S: Scalar>(temperature: S, pressure: S, salinity: S) -> S {
    let g = gibbs_derivatives(temperature, pressure, salinity);
    g.p * (g.tt / (g.tp * g.tp - g.tt * g.pp)).sqrt()
}

/// Dynamic viscosity of sea water in Pa s near 0.1 MPa, at `temperature` in K and absolute
/// `salinity` in kg/kg.
///
/// ```text
/// mu = mu_w (1 + A S + B S^2)      t in degC
/// mu_w = 4.2844e-5 + 1/(0.157 (t + 64.993)^2 - 91.296)
/// ```
///
/// Up to 10 MPa the viscosity of water changes by less than 1.2 %, so pressure is left out here.
///
/// # Source
/// M. H. Sharqawy, J. H. Lienhard V and S. M. Zubair, Desalin. Water Treat. 16 (2010) 354,
/// equations (22) and (23), 0 to 180 degC and 0 to 0.15 kg/kg.
///
/// # Example
/// ```
/// let mu = flowdoubt::liquid::seawater::dynamic_viscosity(298.15, 0.035);
/// assert!((mu - 0.959e-3).abs() < 1e-6);
/// ```
pub fn dynamic_viscosity<S: Scalar>(temperature: S, salinity: S) -> S {
    let t = temperature - 273.15;
    let warm = t + 64.993;
    let water = (warm * warm * 0.157 - 91.296).recip() + 4.2844e-5;
    let linear = (t * -9.52e-5 + 1.998e-2) * t + 1.541;
    let square = (t * 4.724e-4 - 7.561e-2) * t + 7.974;
    water * ((square * salinity + linear) * salinity + 1.0)
}

/// Kinematic viscosity of sea water in m2/s at `temperature` in K, absolute `pressure` in Pa and
/// absolute `salinity` in kg/kg: dynamic viscosity over density.
pub fn kinematic_viscosity<S: Scalar>(temperature: S, pressure: S, salinity: S) -> S {
    dynamic_viscosity(temperature, salinity) / density(temperature, pressure, salinity)
}
