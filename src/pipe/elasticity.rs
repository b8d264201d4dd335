//! Elastic constants of a material from its sound speeds, and sound speeds at other temperatures.

use crate::scalar::Scalar;

/// The temperature in K at which sound speeds are tabulated.
pub const TABLE_TEMPERATURE: f64 = 293.15;

/// Poisson's ratio from the speeds in m/s of longitudinal and shear waves:
/// `nu = (cL^2 - 2 cS^2) / (2 (cL^2 - cS^2))`.
///
/// # Source
/// Isotropic linear elasticity; ASTM E494 states it for materials testing.
///
/// # Example
/// ```
/// let nu: f64 = flowdoubt::pipe::poisson_ratio(5900.0, 3230.0);
/// assert!((nu - 0.286).abs() < 5e-4);
/// ```
pub fn poisson_ratio<S: Scalar>(longitudinal_speed: S, shear_speed: S) -> S {
    let (l, s) = (longitudinal_speed.powi(2), shear_speed.powi(2));
    (l - s * 2.0) / ((l - s) * 2.0)
}

/// Young's modulus in Pa from the speeds in m/s of longitudinal and shear waves and the density in
/// kg/m3: `E = rho cS^2 (3 cL^2 - 4 cS^2) / (cL^2 - cS^2)`.
///
/// # Source
/// Isotropic linear elasticity; ASTM E494 states it for materials testing.
pub fn youngs_modulus<S: Scalar>(longitudinal_speed: S, shear_speed: S, density: S) -> S {
    let (l, s) = (longitudinal_speed.powi(2), shear_speed.powi(2));
    density * s * (l * 3.0 - s * 4.0) / (l - s)
}

/// Sound speed in m/s at `temperature` in K from that at [`TABLE_TEMPERATURE`] and its change in
/// m/s per K: `c(T) = c + (dc/dT) (T - 293.15 K)`. A straight line, so for some tens of kelvin.
pub fn sound_speed_at<S: Scalar>(speed: S, per_kelvin: S, temperature: S) -> S {
    speed + per_kelvin * (temperature - TABLE_TEMPERATURE)
}
