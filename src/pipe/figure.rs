//! Numbers of tables and handbooks: an estimate with a half-width.

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
