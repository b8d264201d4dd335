//! A calibration factor that is known point by point over the flow.

use crate::error::{Error, Result};
use crate::message::{Message, message};
use crate::scalar::PiecewiseLinear;
use crate::uncertainty::plain;
use crate::units::Unit;
use serde::{Deserialize, Serialize};

/// Over what a calibration factor is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// The volume flow, in m3/s.
    VolumeFlow,
    /// The Reynolds number.
    Reynolds,
}

/// What is done at a flow that lies beyond the points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Beyond {
    /// It is refused: nothing is known of the factor there. The default.
    #[default]
    Refused,
    /// The factor of the nearest point is held, and said so.
    Nearest,
}

/// A factor at points of flow or Reynolds number, with straight lines between. Where the points are,
/// it is known; their factors are inputs of the model, the first ones of their quantity.
///
/// The place on the curve is the flow (or its Reynolds number), taken as positive, that the meter
/// tells without this factor: that is what it indicates on a bench.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct FactorCurve {
    /// Over what.
    pub over: Over,
    /// The lines between the points.
    pub lines: PiecewiseLinear,
    /// What is done beyond them.
    pub beyond: Beyond,
}

impl FactorCurve {
    /// Number of points.
    pub fn points(&self) -> usize {
        self.lines.places().len()
    }

    /// The first and the last place.
    pub fn range(&self) -> [f64; 2] {
        let places = self.lines.places();
        [places[0], places[places.len() - 1]]
    }

    /// The place on the curve of a flow in m3/s with a Reynolds number.
    pub(crate) fn place<T>(&self, flow: T, reynolds: T) -> T {
        match self.over {
            Over::VolumeFlow => flow,
            Over::Reynolds => reynolds,
        }
    }

    /// Whether a place lies between the points.
    pub(crate) fn holds_at(&self, place: f64) -> bool {
        let [first, last] = self.range();
        (first..=last).contains(&place.abs())
    }

    /// Refuses a place beyond the points, unless the nearest is to be taken.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] with the range of the points.
    pub(crate) fn check(&self, field: &str, place: f64, flow_unit: &Unit) -> Result<()> {
        if self.beyond == Beyond::Nearest || self.holds_at(place) {
            return Ok(());
        }
        let (at, unit, range) = self.in_words(place, flow_unit);
        let allowed = format!(
            "{}, where the calibration has points; beyond = \"nearest\" holds the factor of \
             the nearest one",
            range.words()
        );
        Error::range(false, format!("{field}.point"), at, &unit, allowed)
    }

    /// A place in the unit shown, the unit, and the range of the points in words.
    pub(crate) fn in_words(&self, place: f64, flow_unit: &Unit) -> (f64, String, Message) {
        let [first, last] = self.range();
        match self.over {
            Over::VolumeFlow => {
                let shown = |si: f64| flow_unit.from_si(si);
                let symbol = flow_unit.symbol.to_string();
                let [low, high] = [first, last].map(|si| plain(shown(si)));
                let range = message!(
                    "sentences.range",
                    "{low} to {high}",
                    low = low,
                    high = format!("{high} {symbol}"),
                );
                (shown(place.abs()), symbol, range)
            }
            Over::Reynolds => {
                let range = message!(
                    "sentences.range_of_reynolds",
                    "Reynolds numbers {low} to {high}",
                    low = plain(first),
                    high = plain(last),
                );
                (place.abs(), String::new(), range)
            }
        }
    }
}
