//! The profile factor from laminar to turbulent flow, at a given Reynolds number.

use super::FrictionLaw;
use super::law::ProfileLaw;
use super::turbulent::{self, factor_on};
use crate::error::{Error, Result};
use crate::scalar::Scalar;
use serde::Serialize;

/// Profile factor of laminar flow, exactly: area mean 1/2, path mean 2/3 of the axial velocity.
pub const LAMINAR_FACTOR: f64 = 0.75;

/// Reynolds numbers at which the transition from laminar flow begins and ends.
///
/// # Source
/// Common practice without a single source; the limits of V. Gnielinski's interpolation, Int. J.
/// Heat Mass Transfer 63 (2013) 134 (from memory).
pub const TRANSITION: [f64; 2] = [2300.0, 4000.0];

/// Largest Reynolds number and relative roughness of validity.
const MOST_REYNOLDS: f64 = 1e8;
const MOST_ROUGHNESS: f64 = 0.05;

/// The state of the flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Regime {
    /// Below the transition.
    Laminar,
    /// Neither laminar nor turbulent all the time.
    Transition,
    /// Above the transition.
    Turbulent,
}

impl Regime {
    /// The state at a Reynolds number.
    pub fn at(reynolds: f64) -> Regime {
        match reynolds {
            r if r <= TRANSITION[0] => Regime::Laminar,
            r if r < TRANSITION[1] => Regime::Transition,
            _ => Regime::Turbulent,
        }
    }

    /// The state in one word.
    pub fn in_words(self) -> &'static str {
        match self {
            Regime::Laminar => "laminar",
            Regime::Transition => "transition",
            Regime::Turbulent => "turbulent",
        }
    }
}

/// Refuses a Reynolds number or relative roughness outside the validity of the laws.
///
/// # Errors
/// Reynolds number outside 0 to 1e8, relative roughness outside 0 to 0.05.
pub fn check(reynolds: f64, relative_roughness: f64) -> Result<()> {
    let inside = (0.0..=MOST_REYNOLDS).contains(&reynolds);
    Error::range(inside, "Reynolds number", reynolds, "", "0 to 1e8")?;
    let inside = (0.0..=MOST_ROUGHNESS).contains(&relative_roughness);
    let field = "relative roughness";
    Error::range(inside, field, relative_roughness, "", "0 to 0.05")
}

/// Refuses a Reynolds number or relative roughness for which there is no turbulent friction.
///
/// # Errors
/// Reynolds number outside 2300 to 1e8, relative roughness outside 0 to 0.05.
pub fn check_turbulent(reynolds: f64, relative_roughness: f64) -> Result<()> {
    check(reynolds, relative_roughness)?;
    let allowed = "2300 to 1e8: a friction law of turbulent flow";
    Error::range(
        reynolds >= TRANSITION[0],
        "Reynolds number",
        reynolds,
        "",
        allowed,
    )
}

/// Share of time in which the flow is turbulent, `gamma`.
///
/// A polynomial of fifth degree in the Reynolds number over the transition, with zero slope and
/// curvature at both ends; the shape between the limits is our own choice, and the doubt of the
/// share is an input of its own there.
pub fn intermittency<S: Scalar>(reynolds: S) -> S {
    let [begin, end] = TRANSITION;
    let x = (reynolds - begin) / (end - begin);
    let x = x.max(S::constant(0.0)).min(S::constant(1.0));
    x * x * x * (x * (x * 6.0 - 15.0) + 10.0)
}

/// Refuses what lies outside the validity of a profile law and a friction law.
///
/// # Errors
/// As [`check`], [`ProfileLaw::check`] and [`FrictionLaw::check`].
pub fn check_laws(
    reynolds: f64,
    relative_roughness: f64,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> Result<()> {
    check(reynolds, relative_roughness)?;
    law.check(reynolds)?;
    friction.check(reynolds, relative_roughness)
}

/// Refuses a relative radius, or a distance from the axis over the radius, outside the pipe.
///
/// # Errors
/// Outside 0 to 1, or 1 itself; the error names `field`.
pub fn check_radius(radius: f64, field: &str) -> Result<()> {
    let inside = (0.0..1.0).contains(&radius);
    Error::range(inside, field, radius, "", "0 to below 1")
}

/// Largest offset of a chord whose factor is solved together with the flow. Farther out the factor
/// falls so steeply in the transition that Newton's method goes astray; no sensors are mounted there.
pub const MOST_OFFSET: f64 = 0.7;

/// Refuses an offset outside the range of [`factor_for_chord_velocity`](super::factor_for_chord_velocity).
///
/// # Errors
/// Outside 0 to 0.7; the error names `field`.
pub fn check_offset(offset: f64, field: &str) -> Result<()> {
    let inside = (0.0..=MOST_OFFSET).contains(&offset);
    Error::range(inside, field, offset, "", "0 to 0.7")
}

/// Profile factor `k`: area mean velocity over the mean on a diametral path.
///
/// ```text
/// 1/k = (1 - gamma) / (3/4) + gamma / k_turbulent
/// ```
/// In the transition the flow is laminar and turbulent in turn at the same flow rate, so the path
/// means, and with them the reciprocals of `k`, mix by the share of time.
///
/// Two or more diametral paths, as crossed planes are, have the same factor in developed flow; so
/// has the mean of their velocities.
///
/// `reynolds >= 0`; the laws hold in the range that [`check_laws`] states in words.
pub fn correction_factor<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let path = SoundPath::diameter();
    factor_of(&path, reynolds, relative_roughness, law, friction)
}

/// Profile factor of a path beside the axis: area mean velocity over the mean on a chord.
///
/// `offset` is the distance of the chord from the axis over the radius, 0 to below 1. In laminar
/// flow `k = 3/4 / (1 - offset^2)`. At an offset of zero the result has the bits of
/// [`correction_factor`].
///
/// # Example
/// ```
/// use flowdoubt::profile::{Exponent, FrictionLaw, ProfileLaw, chord_factor};
/// let law = ProfileLaw::Power(Exponent::Fixed { n: 7.0 });
/// let k = chord_factor(1e5, 0.0, 0.5, law, FrictionLaw::Colebrook);
/// assert!((k - 0.992_825_0_f64).abs() < 1e-7);
/// ```
pub fn chord_factor<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    offset: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let path = SoundPath::chord(offset);
    factor_of(&path, reynolds, relative_roughness, law, friction)
}

/// Profile factor for the mean of the velocities on several paths, such as crossed planes or
/// parallel chords of equal weight: `1/k` is the mean of the reciprocals.
pub fn mean_factor<S: Scalar, const N: usize>(
    reynolds: S,
    relative_roughness: S,
    offsets: [S; N],
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let zero = S::constant(0.0);
    let sum = offsets.into_iter().fold(zero, |sum, offset| {
        sum + chord_factor(reynolds, relative_roughness, offset, law, friction).recip()
    });
    sum.recip() * N as f64
}

/// Velocity `u` at the relative radius `radius` over the mean over the area: the profile that
/// [`correction_factor`] and [`chord_factor`] are the means of.
///
/// `0 <= radius < 1`. In the transition the profiles mix by intermittency. Turbulent laws mean
/// nothing within some hundredths of a radius from the wall: the logarithmic law goes to minus
/// infinity there, and a wake profile, whose friction is that of the friction law and not its own,
/// ends somewhat above or below zero.
pub fn velocity_shape<S: Scalar>(
    radius: S,
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let gamma = intermittency(reynolds);
    let laminar = (-(radius * radius) + 1.0) * 2.0;
    let reynolds = reynolds.max(S::constant(TRANSITION[0]));
    let turbulent = turbulent::velocity(radius, reynolds, relative_roughness, law, friction);
    (-gamma + 1.0) * laminar + gamma * turbulent
}

/// What the profile factor needs to know of a path besides the flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundPath<S> {
    /// Distance from the axis over the radius, 0 to below 1; `None` for a diametral path, which is
    /// cheaper than an offset of zero.
    pub offset: Option<S>,
    /// Doubt of the intermittency: what is added to the logarithm of its odds
    /// `gamma / (1 - gamma)`.
    pub intermittency_shift: Option<S>,
}

impl<S> SoundPath<S> {
    /// A path through the axis, with the model's own intermittency.
    pub fn diameter() -> Self {
        SoundPath {
            offset: None,
            intermittency_shift: None,
        }
    }

    /// A path beside the axis, with the model's own intermittency.
    pub fn chord(offset: S) -> Self {
        SoundPath {
            offset: Some(offset),
            intermittency_shift: None,
        }
    }
}

/// Profile factor of any path.
pub(super) fn factor_of<S: Scalar>(
    path: &SoundPath<S>,
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let gamma = intermittency(reynolds);
    let gamma = match path.intermittency_shift {
        Some(shift) => shifted(gamma, shift),
        None => gamma,
    };
    let turbulent = reynolds.max(S::constant(TRANSITION[0]));
    let turbulent = factor_on(path.offset, turbulent, relative_roughness, law, friction);
    let laminar = match path.offset {
        Some(h) => S::constant(LAMINAR_FACTOR) / (-(h * h) + 1.0),
        None => S::constant(LAMINAR_FACTOR),
    };
    ((-gamma + 1.0) / laminar + gamma / turbulent).recip()
}

/// A share whose odds are multiplied by `exp(shift)`; 0 and 1 stay what they are.
pub(super) fn shifted<S: Scalar>(share: S, shift: S) -> S {
    let odds = share * shift.exp();
    odds / (odds - share + 1.0)
}
