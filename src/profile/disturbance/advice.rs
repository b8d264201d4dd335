//! Advice: where to put the path, how much straight run is usual.

use super::{Fitting, Planes};
use crate::message::{Message, Told, message};
use std::f64::consts::FRAC_PI_2;

/// Where to put a path downstream of a fitting.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Recommendation {
    /// Angle between path plane and plane of the bend, in rad; `None` where any will do or none is
    /// better than another.
    pub orientation: Option<f64>,
    /// Number of planes.
    pub planes: Planes,
    /// Why, in words.
    pub reason: &'static str,
}

/// The orientation that the family of a fitting suggests. Close to a fitting two planes and a
/// reflected path are better than one plane at any orientation.
pub fn recommended_orientation(fitting: Fitting) -> Recommendation {
    let (orientation, planes, reason) = match fitting {
        Fitting::SingleBend | Fitting::TwoBendsInPlane => (
            Some(FRAC_PI_2),
            Planes::One,
            "across the plane of the bend, where the cells of secondary flow have no component \
             along the path and the even part of the distortion acts least, unless this puts sensors \
             on top or bottom of a horizontal pipe, where gas and deposits gather; a reflected path \
             cancels what cross flow is left",
        ),
        Fitting::TwoBendsOutOfPlane => (
            None,
            Planes::Two,
            "swirl turns the pattern, so no orientation is better than another: two planes at \
             right angles and a reflected path, or a straightener",
        ),
        Fitting::Pump => (
            None,
            Planes::Two,
            "swirl and asymmetry depend on the pump and its duty: two planes at right angles and a \
             reflected path, as far downstream as possible",
        ),
        Fitting::PartlyOpenValve => (
            None,
            Planes::Two,
            "the jet depends on kind and opening of the valve: two planes at right angles, or a \
             place upstream of the valve",
        ),
        Fitting::Reducer => (
            None,
            Planes::One,
            "the flattened core is round, so any orientation; across the plane of eccentricity \
             where the reducer is eccentric",
        ),
        Fitting::Enlargement => (
            None,
            Planes::Two,
            "the jet may lean to either side at random: two planes at right angles, or a place \
             upstream of the enlargement",
        ),
    };
    Recommendation {
        orientation,
        planes,
        reason,
    }
}

/// Straight runs that are usual around a path, in inside diameters.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct StraightRuns {
    /// Upstream, least and most.
    pub upstream: [f64; 2],
    /// Downstream.
    pub downstream: f64,
}

/// Straight runs of common practice, which has no source: 10 D upstream and 5 D downstream of
/// ordinary fittings, 20 to 30 D downstream of pumps and partly open valves. Two bends out of plane are
/// counted with the latter because of their swirl; that is our choice.
pub fn straight_runs(fitting: Fitting) -> StraightRuns {
    let upstream = match fitting {
        Fitting::SingleBend
        | Fitting::TwoBendsInPlane
        | Fitting::Reducer
        | Fitting::Enlargement => [10.0, 10.0],
        Fitting::TwoBendsOutOfPlane | Fitting::PartlyOpenValve | Fitting::Pump => [20.0, 30.0],
    };
    StraightRuns {
        upstream,
        downstream: 5.0,
    }
}

/// A caution where the straight run is shorter than common practice, else `None`.
///
/// `straight_run` in inside diameters.
pub fn caution(fitting: Fitting, straight_run: f64) -> Option<String> {
    caution_told(fitting, straight_run).map(|message| message.words())
}

/// As [`caution`], to be said in any language.
pub(crate) fn caution_told(fitting: Fitting, straight_run: f64) -> Option<Message> {
    let [least, most] = straight_runs(fitting).upstream;
    if straight_run >= least {
        return None;
    }
    let usual = if least < most {
        message!(
            "sentences.range",
            "{low} to {high}",
            low = least.to_string(),
            high = format!("{most} D"),
        )
        .into()
    } else {
        Told::Number(format!("{least} D"))
    };
    Some(message!(
        "warnings.short-straight-run",
        "straight run of {run} downstream of {fitting}, where common practice asks for {usual}: the \
         correction is a model with a large uncertainty; measure in two planes or farther downstream",
        run = format!("{straight_run:.1} D"),
        fitting = fitting.in_words(),
        usual = usual,
    ))
}
