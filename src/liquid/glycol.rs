//! Aqueous solutions of ethylene and propylene glycol: density, viscosity, freezing temperature.
//!
//! **There is no sound speed here.** No published correlation over temperature and concentration
//! could be verified, and solutions in plant carry inhibitors besides. The sound speed of a glycol
//! solution must be measured on site or stated by the user with its uncertainty, for instance as
//! a [`TabulatedLiquid`](super::tabulated::TabulatedLiquid).

use crate::error::{Error, Result};
use crate::scalar::Scalar;

/// Highest mass fraction of glycol of the correlations.
pub const MASS_FRACTION_MAX: f64 = 0.6;
/// Highest temperature of the correlations, in K: 100 degC. The lowest is the freezing temperature.
pub const TEMPERATURE_MAX_K: f64 = 373.15;

/// Relative expanded uncertainty (coverage factor 2) of the density of a glycol solution.
///
/// # Source
/// Our judgement. Without glycol the correlations miss the density of water by up to 0.11 %; a
/// test shows it. The book's own figure has not been seen.
pub const DENSITY_RELATIVE_UNCERTAINTY: f64 = 5e-3;

/// Relative expanded uncertainty (coverage factor 2) of the viscosity of a glycol solution.
///
/// # Source
/// Our judgement. Without glycol the correlations miss the viscosity of water by up to 2 %; a test
/// shows it. The book's own figure has not been seen.
pub const VISCOSITY_RELATIVE_UNCERTAINTY: f64 = 5e-2;

/// A glycol.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Glycol {
    /// Ethylene glycol, 1,2-ethanediol.
    Ethylene,
    /// Propylene glycol, 1,2-propanediol.
    Propylene,
}

/// Coefficients by power of temperature (row) and of mass fraction (column), both less the mean.
type Coefficients = [[f64; 6]; 4];

/// The correlations of one glycol.
struct Correlation {
    /// Mean temperature, in K.
    mean_temperature_k: f64,
    /// Mean mass fraction.
    mean_mass_fraction: f64,
    /// Density, in kg/m3.
    density: Coefficients,
    /// Natural logarithm of the dynamic viscosity in mPa s.
    ln_viscosity: Coefficients,
    /// Freezing temperature, in K, by power of the mass fraction less its mean.
    freezing_k: [f64; 6],
}

/// Ethylene glycol after Melinder 2010.
const ETHYLENE: Correlation = Correlation {
    mean_temperature_k: 304.878,
    mean_mass_fraction: 0.308_462,
    density: [
        [1034.0, 131.1, 0.749, -106.2, -96.23, 489.1],
        [-0.4781, -0.6876, 0.7855, 1.229, -7.211, 0.0],
        [-2.692e-3, 4.805e-3, -3.995e-3, -1.153e-2, 0.0, 0.0],
        [4.725e-6, 1.690e-6, 4.982e-5, 0.0, 0.0, 0.0],
    ],
    ln_viscosity: [
        [0.4705, 2.471, 3.328e-2, 1.659, 3.089, -18.65],
        [-2.550e-2, -1.171e-2, 1.086e-2, 3.157e-3, 1.831e-2, 0.0],
        [1.782e-4, 1.052e-4, 1.051e-4, 4.063e-4, 0.0, 0.0],
        [-7.669e-7, -1.634e-6, -6.475e-6, 0.0, 0.0, 0.0],
    ],
    freezing_k: [257.9, -80.80, -133.4, -72.93, 100.6, 11.40],
};

/// Propylene glycol after Melinder 2010.
const PROPYLENE: Correlation = Correlation {
    mean_temperature_k: 305.8583,
    mean_mass_fraction: 0.307_031,
    density: [
        [1018.0, 76.04, -24.98, -155.0, -113.1, 234.2],
        [-0.5406, -0.9450, 0.2700, 2.829, -2.221, 0.0],
        [-2.666e-3, 5.541e-3, -4.018e-3, -7.175e-3, 0.0, 0.0],
        [1.347e-5, -1.343e-5, 3.376e-5, 0.0, 0.0, 0.0],
    ],
    ln_viscosity: [
        [0.6837, 3.328, 0.5453, -3.900, -1.587, 35.64],
        [-3.045e-2, -3.984e-2, -8.600e-4, 0.1054, 4.475e-2, 0.0],
        [2.525e-4, 4.332e-4, -1.593e-4, -1.589e-3, 0.0, 0.0],
        [-1.399e-6, -1.860e-6, -4.465e-7, 0.0, 0.0, 0.0],
    ],
    freezing_k: [259.9, -66.31, -109.4, -228.3, -340.9, 146.5],
};

impl Correlation {
    /// The double polynomial at a temperature in K and a mass fraction.
    fn at<S: Scalar>(&self, rows: &[[f64; 6]], temperature: S, mass_fraction: S) -> S {
        let t = temperature - self.mean_temperature_k;
        let x = mass_fraction - self.mean_mass_fraction;
        rows.iter().rev().fold(S::constant(0.0), |sum, row| {
            let inner = row
                .iter()
                .rev()
                .fold(S::constant(0.0), |sum, c| sum * x + *c);
            sum * t + inner
        })
    }
}

impl Glycol {
    /// The correlations of this glycol.
    fn correlation(self) -> &'static Correlation {
        match self {
            Glycol::Ethylene => &ETHYLENE,
            Glycol::Propylene => &PROPYLENE,
        }
    }

    /// Refuses a state outside the validity of the correlations: temperature in K and mass
    /// fraction of glycol in the solution.
    ///
    /// # Errors
    /// A mass fraction outside 0 to 0.6; a temperature below freezing or above 100 degC.
    pub fn check(self, temperature: f64, mass_fraction: f64) -> Result<()> {
        let inside = (0.0..=MASS_FRACTION_MAX).contains(&mass_fraction);
        let allowed = || format!("0 to {MASS_FRACTION_MAX}, as mass of glycol in mass of solution");
        Error::range_told_by(inside, "glycol mass fraction", mass_fraction, "1", allowed)?;
        let freezing = self.freezing_temperature(mass_fraction);
        let inside = (freezing..=TEMPERATURE_MAX_K).contains(&temperature);
        let allowed = || {
            format!(
                "from {:.2} degC ({freezing:.2} K), at which the solution begins to freeze, to 100 degC \
                 ({TEMPERATURE_MAX_K} K)",
                freezing - 273.15
            )
        };
        Error::range_told_by(inside, "glycol temperature", temperature, "K", allowed)
    }

    /// Density of the solution in kg/m3 at `temperature` in K and `mass_fraction` of glycol.
    ///
    /// # Source
    /// A. Melinder, *Properties of Secondary Working Fluids for Indirect Systems*, IIR 2010;
    /// coefficients as carried by CoolProp (fluids MEG and MPG), which the tests compare.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::liquid::glycol::Glycol;
    /// let rho: f64 = Glycol::Ethylene.density(293.15, 0.3);
    /// assert!((rho - 1038.05).abs() < 0.01);
    /// ```
    pub fn density<S: Scalar>(self, temperature: S, mass_fraction: S) -> S {
        let correlation = self.correlation();
        correlation.at(&correlation.density, temperature, mass_fraction)
    }

    /// Dynamic viscosity of the solution in Pa s at `temperature` in K and `mass_fraction` of
    /// glycol.
    ///
    /// # Source
    /// As for [`Glycol::density`].
    pub fn dynamic_viscosity<S: Scalar>(self, temperature: S, mass_fraction: S) -> S {
        let correlation = self.correlation();
        let ln = correlation.at(&correlation.ln_viscosity, temperature, mass_fraction);
        ln.exp() * 1e-3
    }

    /// Kinematic viscosity of the solution in m2/s at `temperature` in K and `mass_fraction` of
    /// glycol: dynamic viscosity over density.
    pub fn kinematic_viscosity<S: Scalar>(self, temperature: S, mass_fraction: S) -> S {
        let density = self.density(temperature, mass_fraction);
        self.dynamic_viscosity(temperature, mass_fraction) / density
    }

    /// Temperature in K at which a solution with `mass_fraction` of glycol begins to freeze.
    ///
    /// # Source
    /// As for [`Glycol::density`].
    pub fn freezing_temperature<S: Scalar>(self, mass_fraction: S) -> S {
        let correlation = self.correlation();
        let mean = S::constant(correlation.mean_temperature_k);
        correlation.at(&[correlation.freezing_k], mean, mass_fraction)
    }
}
