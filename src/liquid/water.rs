//! Liquid water: density, sound speed and viscosity after IAPWS.
//!
//! Density and sound speed are those of IAPWS-95, evaluated through Chebyshev series in
//! temperature and pressure whose largest relative deviation from IAPWS-95 is 1.2e-10 and 9.3e-10
//! (see `water_fit.rs`), far below the uncertainty of the formulation. The industrial formulation
//! IF97 is no substitute: its sound speed is up to 2.9 m/s off.
//!
//! The formulations' own uncertainties are constants here, so that a budget can show them.

use super::water_fit::{DENSITY, PRESSURE_PA, SOUND_SPEED, TEMPERATURE_K};
use crate::error::{Error, Result};
use crate::scalar::{Scalar, SmoothFunction, chebyshev_surface};

/// Lowest and highest temperature of validity, in K: 0 to 230 degC.
pub const TEMPERATURE_RANGE_K: [f64; 2] = [273.15, 503.15];
/// Highest pressure of validity, in Pa.
pub const PRESSURE_MAX_PA: f64 = 10e6;

/// Relative expanded uncertainty (coverage factor 2) of the density of liquid water.
///
/// # Source
/// IAPWS R6-95(2018), figure 2: 0.0001 % near 0.1 MPa, 0.003 % over the rest of the range used
/// here. The larger one is taken. Figure read from memory.
pub const DENSITY_RELATIVE_UNCERTAINTY: f64 = 3e-5;

/// Relative expanded uncertainty (coverage factor 2) of the sound speed of liquid water.
///
/// # Source
/// IAPWS R6-95(2018), figure 3: 0.005 % near 0.1 MPa up to about 90 degC, 0.1 % above 100 degC or
/// so. Figure read from memory; see [`sound_speed_relative_uncertainty`].
pub const SOUND_SPEED_RELATIVE_UNCERTAINTY: [f64; 2] = [5e-5, 1e-3];

/// Temperature above which the larger of [`SOUND_SPEED_RELATIVE_UNCERTAINTY`] holds, in K.
const WARM_K: f64 = 373.15;

/// Relative expanded uncertainty (coverage factor 2) of the viscosity of liquid water.
///
/// # Source
/// IAPWS R12-08(2008), figure 1: 1 % for the liquid below 100 MPa; smaller near 0.1 MPa and
/// 20 degC. Figure read from memory.
pub const VISCOSITY_RELATIVE_UNCERTAINTY: f64 = 1e-2;

/// Refuses a state outside the validity of this module, or one that is not liquid.
///
/// Temperature in K, absolute pressure in Pa.
///
/// # Errors
/// Temperature or pressure out of range; pressure below saturation, where water boils.
pub fn check(temperature: f64, pressure: f64) -> Result<()> {
    check_temperature(temperature)?;
    let saturation = saturation_pressure(temperature);
    let inside = (saturation..=PRESSURE_MAX_PA).contains(&pressure);
    let allowed = || {
        format!(
            "from saturation, {saturation:.0} Pa at this temperature, below which water boils, to \
             {PRESSURE_MAX_PA} Pa absolute"
        )
    };
    Error::range_told_by(inside, "water pressure", pressure, "Pa", allowed)
}

/// Refuses a temperature in K outside the validity of this module.
///
/// # Errors
/// A temperature outside 273.15 to 503.15 K.
pub fn check_temperature(temperature: f64) -> Result<()> {
    let [low, high] = TEMPERATURE_RANGE_K;
    let inside = (low..=high).contains(&temperature);
    let allowed = || format!("0 to 230 degC ({low} to {high} K)");
    Error::range_told_by(inside, "water temperature", temperature, "K", allowed)
}

/// A series of temperature and pressure.
struct Surface(&'static [[f64; 6]; 23]);

impl SmoothFunction<2> for Surface {
    fn at<S: Scalar>(&self, [temperature, pressure]: [S; 2]) -> S {
        chebyshev_surface(self.0, TEMPERATURE_K, PRESSURE_PA, temperature, pressure)
    }
}

/// Density of liquid water in kg/m3 at `temperature` in K and absolute `pressure` in Pa.
///
/// # Source
/// IAPWS R6-95(2018), through the series of `water_fit.rs`.
///
/// # Example
/// ```
/// let rho = flowdoubt::liquid::water::density(300.0, 99_241.8352);
/// assert!((rho - 996.556).abs() < 1e-6); // IAPWS R6-95, table 7
/// ```
pub fn density<S: Scalar>(temperature: S, pressure: S) -> S {
    S::function_of([temperature, pressure], &Surface(&DENSITY))
}

/// Sound speed in liquid water in m/s at `temperature` in K and absolute `pressure` in Pa.
///
/// # Source
/// IAPWS R6-95(2018), through the series of `water_fit.rs`.
///
/// # Example
/// ```
/// let c = flowdoubt::liquid::water::sound_speed(300.0, 99_241.8352);
/// assert!((c - 1501.51914).abs() < 1e-5); // IAPWS R6-95, table 7
/// ```
pub fn sound_speed<S: Scalar>(temperature: S, pressure: S) -> S {
    S::function_of([temperature, pressure], &Surface(&SOUND_SPEED))
}

/// Relative expanded uncertainty (coverage factor 2) of [`sound_speed`] at `temperature` in K.
pub fn sound_speed_relative_uncertainty(temperature: f64) -> f64 {
    SOUND_SPEED_RELATIVE_UNCERTAINTY[usize::from(temperature > WARM_K)]
}

/// Reference temperature of the viscosity equation: the critical temperature, in K.
const VISCOSITY_REFERENCE_K: f64 = 647.096;
/// Reference density of the viscosity equation: the critical density, in kg/m3.
const VISCOSITY_REFERENCE_KG_M3: f64 = 322.0;
/// Reference viscosity, in Pa s.
const VISCOSITY_REFERENCE_PA_S: f64 = 1e-6;

/// Coefficients of the viscosity in the dilute-gas limit (IAPWS R12-08, table 1).
const DILUTE: [f64; 4] = [1.677_52, 2.204_62, 0.636_656_4, -0.241_605];

/// Coefficients of the finite-density factor: power of `1/T - 1`, power of `rho - 1`, value
/// (IAPWS R12-08, table 2).
const FINITE_DENSITY: [(i32, i32, f64); 21] = [
    (0, 0, 5.200_94e-1),
    (1, 0, 8.508_95e-2),
    (2, 0, -1.083_74),
    (3, 0, -2.895_55e-1),
    (0, 1, 2.225_31e-1),
    (1, 1, 9.991_15e-1),
    (2, 1, 1.887_97),
    (3, 1, 1.266_13),
    (5, 1, 1.205_73e-1),
    (0, 2, -2.813_78e-1),
    (1, 2, -9.068_51e-1),
    (2, 2, -7.724_79e-1),
    (3, 2, -4.898_37e-1),
    (4, 2, -2.570_40e-1),
    (0, 3, 1.619_13e-1),
    (1, 3, 2.573_99e-1),
    (0, 4, -3.253_72e-2),
    (3, 4, 6.984_52e-2),
    (4, 5, 8.721_02e-3),
    (3, 6, -4.356_73e-3),
    (5, 6, -5.932_64e-4),
];

/// Dynamic viscosity of water in Pa s at `temperature` in K and `density` in kg/m3, without the
/// enhancement near the critical point.
///
/// # Source
/// IAPWS R12-08(2008), equations (10) to (12).
///
/// # Example
/// ```
/// let mu = flowdoubt::liquid::water::viscosity_at_density(298.15, 998.0);
/// assert!((mu - 889.735_100e-6).abs() < 1e-12); // IAPWS R12-08, table 4
/// ```
pub fn viscosity_at_density<S: Scalar>(temperature: S, density: S) -> S {
    S::function_of([temperature, density], &Viscosity)
}

/// See [`viscosity_at_density`].
struct Viscosity;

impl SmoothFunction<2> for Viscosity {
    fn at<S: Scalar>(&self, [temperature, density]: [S; 2]) -> S {
        let t = temperature / VISCOSITY_REFERENCE_K;
        let rho = density / VISCOSITY_REFERENCE_KG_M3;
        let inverse = t.recip();
        let dilute_sum = DILUTE
            .iter()
            .rev()
            .fold(S::constant(0.0), |sum, h| sum * inverse + *h);
        let dilute = t.sqrt() * 100.0 / dilute_sum;
        let (x, y) = (inverse - 1.0, rho - 1.0);
        let sum = FINITE_DENSITY
            .iter()
            .fold(S::constant(0.0), |sum, (i, j, h)| {
                sum + x.powi(*i) * y.powi(*j) * *h
            });
        dilute * (rho * sum).exp() * VISCOSITY_REFERENCE_PA_S
    }
}

/// Dynamic viscosity of liquid water in Pa s at `temperature` in K and absolute `pressure` in Pa.
///
/// # Source
/// IAPWS R12-08(2008) at the density of IAPWS R6-95(2018).
pub fn dynamic_viscosity<S: Scalar>(temperature: S, pressure: S) -> S {
    viscosity_at_density(temperature, density(temperature, pressure))
}

/// Kinematic viscosity of liquid water in m2/s at `temperature` in K and absolute `pressure` in
/// Pa: dynamic viscosity over density.
pub fn kinematic_viscosity<S: Scalar>(temperature: S, pressure: S) -> S {
    let density = density(temperature, pressure);
    viscosity_at_density(temperature, density) / density
}

/// Saturation pressure of water in Pa at `temperature` in K, up to the critical point.
///
/// # Source
/// IAPWS SR1-86(1992), equation (1) (W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993)
/// 783); deviation from IAPWS-95 below 0.01 %.
///
/// # Example
/// ```
/// let p = flowdoubt::liquid::water::saturation_pressure(373.1243_f64);
/// assert!((p - 101_325.0).abs() < 30.0);
/// ```
pub fn saturation_pressure<S: Scalar>(temperature: S) -> S {
    const CRITICAL_PRESSURE_PA: f64 = 22.064e6;
    let t = temperature / VISCOSITY_REFERENCE_K;
    let tau = -t + 1.0;
    let root = tau.sqrt();
    // powers 1, 1.5, 3, 3.5, 4 and 7.5 of tau
    let cube = tau * tau * tau;
    let sum = tau * -7.859_517_83
        + tau * root * 1.844_082_59
        + cube * -11.786_649_7
        + cube * root * 22.680_741_1
        + cube * tau * -15.961_871_9
        + cube * cube * tau * root * 1.801_225_02;
    (sum / t).exp() * CRITICAL_PRESSURE_PA
}
