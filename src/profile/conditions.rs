//! What the profile factor depends on besides Reynolds number, roughness and laws.

use super::transition::{TRANSITION_REYNOLDS, intermittency};
use crate::error::{Error, Result};
use crate::scalar::Scalar;

/// Profile factor of laminar flow, exactly: area mean 1/2, path mean 2/3 of the axial velocity.
pub const LAMINAR_FACTOR: f64 = 0.75;

/// The path of the sound, and what is known of transition and friction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions<S> {
    /// Distance of the path from the axis over the radius, 0 to below 1; `None` for a diametral path,
    /// which is cheaper than an offset of zero.
    pub offset: Option<S>,
    /// Width of the beam over the diameter, across the pipe and the path; `None` for a thin
    /// beam. Offset and width together stay below 1.
    pub beam: Option<S>,
    /// Reynolds number at which the flow is turbulent half of the time; `None` for
    /// [`TRANSITION_REYNOLDS`].
    pub transition_reynolds: Option<S>,
    /// True friction factor over that of the law; `None` for one.
    pub friction_ratio: Option<S>,
}

/// Nodes and weights of Gauss and Legendre from -1 to 1: of the three chords that stand for a beam
/// through the axis, between it and its edge, and of the five that stand for one beside it.
///
/// # Source
/// M. Abramowitz and I. A. Stegun, *Handbook of Mathematical Functions*, table 25.4.
const THREE: [(f64, f64); 3] = [
    (-0.774_596_669_241_483_4, 5.0 / 9.0),
    (0.0, 8.0 / 9.0),
    (0.774_596_669_241_483_4, 5.0 / 9.0),
];
const FIVE: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.0, 128.0 / 225.0),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.906_179_845_938_664, 0.236_926_885_056_189_08),
];

impl<S> Conditions<S> {
    /// A thin beam through the axis.
    pub fn diameter() -> Self {
        Conditions {
            offset: None,
            beam: None,
            transition_reynolds: None,
            friction_ratio: None,
        }
    }

    /// Which of them are given.
    pub(super) fn given(&self) -> Conditions<()> {
        Conditions {
            offset: self.offset.as_ref().map(|_| ()),
            beam: self.beam.as_ref().map(|_| ()),
            transition_reynolds: self.transition_reynolds.as_ref().map(|_| ()),
            friction_ratio: self.friction_ratio.as_ref().map(|_| ()),
        }
    }

    /// A thin beam beside the axis.
    pub fn chord(offset: S) -> Self {
        Conditions {
            offset: Some(offset),
            ..Conditions::diameter()
        }
    }
}

impl<S: Scalar> Conditions<S> {
    /// Whether the path is a diameter and nothing else.
    pub(super) fn is_thin_diameter(&self) -> bool {
        self.offset.is_none() && self.beam.is_none()
    }

    /// The mean of a function of the offset over the chords of the beam, each of the same weight;
    /// `None` for a thin diametral path, which needs none.
    pub(super) fn mean_over_chords(&self, f: impl Fn(S) -> S) -> Option<S> {
        let mean = |nodes: &[(f64, f64)], middle: S, half: S| {
            let sum = |sum: S, (at, weight): &(f64, f64)| {
                sum + f((middle + half * *at).abs()) * (0.5 * weight)
            };
            nodes.iter().fold(S::constant(0.0), sum)
        };
        match (self.offset, self.beam) {
            (None, None) => None,
            (Some(offset), None) => Some(f(offset)),
            (None, Some(beam)) => Some(mean(&THREE, beam * 0.5, beam * 0.5)),
            (Some(offset), Some(beam)) => Some(mean(&FIVE, offset, beam)),
        }
    }

    /// The factor of laminar flow: the mean of `1 - h^2` over the beam is exact.
    pub(super) fn laminar_factor(&self) -> S {
        let zero = S::constant(0.0);
        let square = |x: Option<S>| x.map_or(zero, |x| x * x);
        if self.is_thin_diameter() {
            return S::constant(LAMINAR_FACTOR);
        }
        S::constant(LAMINAR_FACTOR) / (-(square(self.offset) + square(self.beam) / 3.0) + 1.0)
    }

    /// Share of time in which the flow is turbulent.
    pub(super) fn intermittency(&self, reynolds: S) -> S {
        let at = self.transition_reynolds;
        intermittency(reynolds, at.unwrap_or(S::constant(TRANSITION_REYNOLDS)))
    }
}

/// Refuses a beam wider than the pipe, or one that reaches past its wall.
///
/// `offset` is over the radius, `beam` the width over the diameter.
///
/// # Errors
/// A width outside 0 to 0.9, or one that reaches, with the offset, beyond 0.95 of the radius; the
/// error names `field`.
pub fn check_beam(offset: f64, beam: f64, field: &str) -> Result<()> {
    let inside = (0.0..=0.9).contains(&beam) && offset + beam <= 0.95;
    let allowed = "0 to 0.9, and 0.95 at most together with the offset of the path in radii";
    Error::range(inside, field, beam, "", allowed)
}

/// Refuses a ratio of friction factors outside 0.5 to 2: then it is another pipe.
///
/// # Errors
/// Outside that range; the error names `field`.
pub fn check_friction_ratio(ratio: f64, field: &str) -> Result<()> {
    let inside = (0.5..=2.0).contains(&ratio);
    Error::range(inside, field, ratio, "", "0.5 to 2")
}
