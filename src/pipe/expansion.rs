//! How a pipe grows between survey and operation: with temperature and with inside pressure.
//!
//! Small strains add, so the bore in operation is the surveyed bore times one plus the thermal and
//! the pressure strain. A pipe surveyed while hot and under pressure needs neither.

use crate::error::{Error, Result};
use crate::scalar::Scalar;
use serde::{Deserialize, Serialize};

/// A length in m of the pipe (circumference, diameter, wall or liner) after a change of
/// temperature: `L = L0 (1 + alpha dT)`.
///
/// A free, isotropic pipe keeps its shape, so all its lengths grow alike; the area grows by
/// `(1 + alpha dT)^2`. Not for a liner that sticks to another material.
///
/// **Units**: `length` in m, `coefficient` alpha in 1/K (mean over the temperature span),
/// `temperature_change` dT in K, operation less survey.
///
/// # Source
/// Definition of the mean coefficient of linear thermal expansion, as used in JCGM 100:2008, H.1.
///
/// # Example
/// ```
/// // 1 m of copper, 16.52e-6 /K, 10 K warmer
/// let length: f64 = flowdoubt::pipe::thermally_expanded(1.0, 16.52e-6, 10.0);
/// assert!((length - 1.000_165_2).abs() < 1e-12);
/// ```
pub fn thermally_expanded<S: Scalar>(length: S, coefficient: S, temperature_change: S) -> S {
    length * (coefficient * temperature_change + 1.0)
}

/// How the ends of a pipe take the thrust of the pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Ends {
    /// No axial stress: expansion joints or sliding couplings.
    Open,
    /// The wall carries the thrust on the ends: an unanchored line with bends or a blank flange.
    #[default]
    Closed,
    /// No axial strain: a long buried or anchored line.
    Anchored,
}

/// The elastic state of a pipe under inside pressure.
#[derive(Debug, Clone, Copy)]
pub struct Pressurised<S> {
    /// Outside diameter in m, without pressure.
    pub outside_diameter: S,
    /// Inside diameter of the load-bearing wall in m, without pressure.
    pub inside_diameter: S,
    /// Inside pressure less outside pressure in Pa; between two states, its change.
    pub pressure: S,
    /// Young's modulus in Pa.
    pub youngs_modulus: S,
    /// Poisson's ratio.
    pub poisson_ratio: S,
    /// How the ends take the thrust.
    pub ends: Ends,
}

/// Relative growth of the diameters of a pipe.
#[derive(Debug, Clone, Copy)]
#[non_exhaustive]
pub struct Strain<S> {
    /// Relative growth of the inside diameter.
    pub bore: S,
    /// Relative growth of the outside diameter, and so of the circumference.
    pub outside: S,
}

impl<S: Scalar> Pressurised<S> {
    /// Relative growth of bore and outside diameter under pressure, thick wall, linear elastic.
    ///
    /// ```text
    /// q = p D^2 / (d^2 - D^2)
    /// bore:     (1/E) ((1 - nu) q + (1 + nu) q d^2/D^2 - nu sigma_z)
    /// outside:  (1/E) (2 q - nu sigma_z)
    /// sigma_z = 0 (open), q (closed), 2 nu q (anchored)
    /// ```
    ///
    /// with outside diameter `d` and inside diameter `D`. For a thin wall `e` both become
    /// `p D (1 - nu/2) / (2 E e)` with closed ends. Not for viscoelastic plastics under lasting
    /// pressure, whose modulus falls with time.
    ///
    /// # Source
    /// Lame's solution of the thick-walled cylinder; S. Timoshenko and J. N. Goodier, Theory of
    /// Elasticity, axially symmetric stress (formulas from memory, derived again in the tests from
    /// equilibrium and Hooke's law).
    ///
    /// # Example
    /// ```
    /// use flowdoubt::pipe::{Ends, Pressurised};
    /// let strain = Pressurised {
    ///     outside_diameter: 0.1683,
    ///     inside_diameter: 0.15408,
    ///     pressure: 1e6,
    ///     youngs_modulus: 207e9,
    ///     poisson_ratio: 0.29,
    ///     ends: Ends::Closed,
    /// }
    /// .strain();
    /// assert!((strain.bore - 4.90e-5).abs() < 0.01e-5); // 10 bar: 0.005 % of the diameter
    /// ```
    pub fn strain(&self) -> Strain<S> {
        let nu = self.poisson_ratio;
        let bore_square = self.inside_diameter.powi(2);
        let square = self.outside_diameter.powi(2);
        let q = self.pressure * bore_square / (square - bore_square);
        let axial = match self.ends {
            Ends::Open => S::constant(0.0),
            Ends::Closed => q,
            Ends::Anchored => nu * q * 2.0,
        };
        let bore = (-nu + 1.0) * q + (nu + 1.0) * q * square / bore_square - nu * axial;
        let outside = q * 2.0 - nu * axial;
        Strain {
            bore: bore / self.youngs_modulus,
            outside: outside / self.youngs_modulus,
        }
    }
}

impl Pressurised<f64> {
    /// Says what is wrong with the numbers.
    ///
    /// # Errors
    /// A diameter or the modulus is not positive, the bore is not inside the pipe, Poisson's ratio
    /// is not between 0 and 0.5, a number is not finite, or the strain exceeds 5 %, beyond which
    /// no linear law holds.
    pub fn check(&self) -> Result<()> {
        let (d, bore) = (self.outside_diameter, self.inside_diameter);
        let positive = |x: f64| x > 0.0 && x.is_finite();
        Error::range(
            positive(d),
            "pipe.outside_diameter",
            d,
            "m",
            "positive and finite",
        )?;
        let allowed = format!("above 0 and below the outside diameter of {d} m");
        let inside = bore > 0.0 && bore < d;
        Error::range(inside, "pipe.inside_diameter", bore, "m", allowed)?;
        let modulus = self.youngs_modulus;
        Error::range(
            positive(modulus),
            "pipe.youngs_modulus",
            modulus,
            "Pa",
            "positive and finite",
        )?;
        let nu = self.poisson_ratio;
        let sound = (0.0..=0.5).contains(&nu);
        Error::range(sound, "pipe.poisson_ratio", nu, "", "0 to 0.5")?;
        let small = self.strain().bore.abs() <= 0.05;
        Error::range(
            small,
            "pipe.pressure",
            self.pressure,
            "Pa",
            "a pressure that widens the bore by 5 % at most",
        )
    }
}
