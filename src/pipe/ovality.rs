//! A pipe that is not round, taken as an ellipse, and a bore that is not in the middle.

use crate::error::{Error, Result};
use crate::scalar::Scalar;
use std::f64::consts::PI;

/// Terms of the series of the perimeter: enough for every ellipse up to 3 to 1.
const TERMS: u32 = 24;

/// Ovality from the largest and the smallest diameter: their difference over their mean.
///
/// Standards divide by the nominal diameter; that differs in second order only.
pub fn ovality<S: Scalar>(largest: S, smallest: S) -> S {
    (largest - smallest) * 2.0 / (largest + smallest)
}

/// Area in m2 of an ellipse from its largest and smallest diameter in m: `A = (pi / 4) a b`.
pub fn ellipse_area<S: Scalar>(largest: S, smallest: S) -> S {
    largest * smallest * (PI / 4.0)
}

/// Perimeter in m of an ellipse from its largest and smallest diameter in m.
///
/// ```text
/// P = (pi / 2) (a + b) sum_n binomial(1/2, n)^2 h^n,   h = ((a - b) / (a + b))^2
/// ```
///
/// summed to machine precision up to a ratio of 3 to 1.
///
/// # Source
/// Series of Gauss and Kummer; tested against the integral.
///
/// # Example
/// ```
/// let circle: f64 = flowdoubt::pipe::ellipse_perimeter(0.2, 0.2);
/// assert!((circle - 0.2 * std::f64::consts::PI).abs() < 1e-15);
/// ```
pub fn ellipse_perimeter<S: Scalar>(largest: S, smallest: S) -> S {
    (largest + smallest) * (PI / 2.0) * perimeter_series(shape(largest, smallest))
}

/// Mean of the largest and the smallest diameter in m of an ellipse whose circumference is that of
/// a circle of `diameter` in m: `(a + b) / 2 = d / sum_n binomial(1/2, n)^2 h^n`, `h = o^2/4`.
///
/// # Source
/// As for [`ellipse_perimeter`].
pub fn mean_diameter_of_circle<S: Scalar>(diameter: S, ovality: S) -> S {
    diameter / perimeter_series(ovality * ovality * 0.25)
}

/// `h = ((a - b) / (a + b))^2`, a quarter of the ovality squared.
fn shape<S: Scalar>(largest: S, smallest: S) -> S {
    ((largest - smallest) / (largest + smallest)).powi(2)
}

/// `sum_n binomial(1/2, n)^2 h^n` by Horner's rule.
fn perimeter_series<S: Scalar>(h: S) -> S {
    (0..TERMS).rev().fold(S::constant(1.0), |sum, n| {
        let n = f64::from(n);
        let ratio = (n - 0.5) / (n + 1.0);
        sum * h * (ratio * ratio) + 1.0
    })
}

/// Relative error of the area when an oval pipe is taken as the circle of its mean diameter:
/// `A_circle / A - 1 = h / (1 - h)` with `h = o^2/4`, `o` the ovality. Never negative.
pub fn area_error_of_mean_diameter<S: Scalar>(largest: S, smallest: S) -> S {
    let h = shape(largest, smallest);
    h / (-h + 1.0)
}

/// Relative error of the area when an oval pipe is taken as the circle of its circumference:
/// `A_circle / A - 1`, in lowest order `3 o^2 / 8` with the ovality `o`. Never negative, since the
/// circle has the largest area of all shapes of a perimeter.
///
/// # Example
/// ```
/// // an ovality of 2 % makes the area 0.015 % too large
/// let error: f64 = flowdoubt::pipe::area_error_of_circumference(0.202, 0.198);
/// assert!((error - 1.5e-4).abs() < 1e-7);
/// ```
pub fn area_error_of_circumference<S: Scalar>(largest: S, smallest: S) -> S {
    let h = shape(largest, smallest);
    perimeter_series(h).powi(2) / (-h + 1.0) - 1.0
}

/// What a calliper reads on an oval pipe, in m, when its jaws close in the direction `angle` in
/// radians from the largest diameter: `w = sqrt(a^2 cos^2 + b^2 sin^2)`.
///
/// # Source
/// Support function of the ellipse.
pub fn ellipse_width<S: Scalar>(largest: S, smallest: S, angle: S) -> S {
    ((largest * angle.cos()).powi(2) + (smallest * angle.sin()).powi(2)).sqrt()
}

/// Length in m of the diameter of an ellipse in the direction `angle` in radians from the largest:
/// `D = a b / sqrt(a^2 sin^2 + b^2 cos^2)`. What a sound path in that direction crosses.
///
/// # Source
/// Polar equation of the ellipse about its centre.
pub fn ellipse_diameter<S: Scalar>(largest: S, smallest: S, angle: S) -> S {
    let across = (largest * angle.sin()).powi(2) + (smallest * angle.cos()).powi(2);
    largest * smallest / across.sqrt()
}

/// Says what is wrong with the diameters of an ellipse.
///
/// # Errors
/// A diameter is not positive and finite, the largest is below the smallest, or it is more than
/// three times the smallest.
pub fn check_ellipse(largest: f64, smallest: f64) -> Result<()> {
    let positive = smallest > 0.0 && smallest.is_finite();
    Error::range(
        positive,
        "pipe.smallest_diameter",
        smallest,
        "m",
        "positive and finite",
    )?;
    let allowed = format!("{smallest} m (the smallest diameter) to three times that");
    let oval = largest >= smallest && largest <= 3.0 * smallest;
    Error::range(oval, "pipe.largest_diameter", largest, "m", allowed)
}

/// A sound path through an eccentric bore.
///
/// Both sensors sit on a diameter of the *outside*. Where the bore is not in the middle, the plane
/// of the path misses the centre of the bore.
#[derive(Debug, Clone, Copy)]
pub struct EccentricPath<S> {
    /// Distance in m of the path from the centre of the bore, with sign.
    pub offset: S,
    /// Length in m across the bore: `D sqrt(1 - (2 offset / D)^2)`.
    pub chord: S,
    /// Wall in m under the sensor at `angle`.
    pub near_wall: S,
    /// Wall in m on the opposite side.
    pub far_wall: S,
}

impl<S: Scalar> EccentricPath<S> {
    /// The path in the direction `angle` (radians, from where the wall is thickest) through a round
    /// bore whose centre lies `eccentricity` off that of the outside.
    ///
    /// ```text
    /// offset = delta sin(angle),  chord = D sqrt(1 - (2 offset / D)^2)
    /// near wall = d/2 + delta cos(angle) - chord/2,  far wall = d/2 - delta cos(angle) - chord/2
    /// ```
    ///
    /// One reading is wrong by up to delta, so a bore from it by 2 delta; the mean of two opposite
    /// readings is wrong in second order only. Diameters and eccentricity in m.
    ///
    /// # Source
    /// Plane geometry of two circles.
    pub fn new(outside_diameter: S, inside_diameter: S, eccentricity: S, angle: S) -> Self {
        let offset = eccentricity * angle.sin();
        let along = eccentricity * angle.cos();
        let chord = (inside_diameter.powi(2) - offset.powi(2) * 4.0).sqrt();
        let rest = (outside_diameter - chord) * 0.5;
        EccentricPath {
            offset,
            chord,
            near_wall: rest + along,
            far_wall: rest - along,
        }
    }
}
