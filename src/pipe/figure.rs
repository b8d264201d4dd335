//! Numbers of tables and handbooks: an estimate with a half-width, and where it comes from.

use serde::Deserialize;

/// An estimate and the half-width of the interval in which the value lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The middle of the interval.
    pub estimate: f64,
    /// Half of its width.
    pub half_width: f64,
}

impl Range {
    /// The interval from `lower` to `upper`.
    pub fn between(lower: f64, upper: f64) -> Range {
        Range {
            estimate: 0.5 * (lower + upper),
            half_width: 0.5 * (upper - lower),
        }
    }

    /// The lower limit.
    pub fn lower(&self) -> f64 {
        self.estimate - self.half_width
    }

    /// The upper limit.
    pub fn upper(&self) -> f64 {
        self.estimate + self.half_width
    }
}

/// How well the origin of a number is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Estimate and half-width follow from numbers read in the source that is named.
    Seen,
    /// The estimate was read in the source that is named; the half-width is a judgement.
    Judged,
    /// Written from memory; look it up before much depends on it.
    Memory,
}

/// A range and where it comes from.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Figure {
    /// Estimate and half-width.
    pub range: Range,
    /// The source in words.
    pub source: String,
    /// How well it is known.
    pub status: Status,
}
