//! Distributions between exactly known limits: rectangular, triangular, trapezoidal, arcsine.

use super::law::Law;
use crate::scalar::math::map;
use crate::scalar::{InstructionSet, Scalar};
use std::f64::consts::PI;

/// The limits of a distribution.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    pub lower: f64,
    pub upper: f64,
}

impl Limits {
    fn width(self) -> f64 {
        self.upper - self.lower
    }
    fn middle(self) -> f64 {
        0.5 * (self.lower + self.upper)
    }
    fn hold(self, x: f64) -> bool {
        (self.lower..=self.upper).contains(&x)
    }
    /// `inside(x)` between the limits, 0 below and 1 above.
    fn cdf(self, x: f64, inside: impl Fn(f64) -> f64) -> f64 {
        if x <= self.lower {
            0.0
        } else if x >= self.upper {
            1.0
        } else {
            inside(x)
        }
    }
}

/// JCGM 101:2008, 6.4.2.
#[derive(Debug)]
pub(super) struct Rectangular(pub Limits);

impl Law for Rectangular {
    fn mean(&self) -> f64 {
        self.0.middle()
    }
    fn variance(&self) -> f64 {
        self.0.width() * self.0.width() / 12.0
    }
    fn density(&self, x: f64) -> Option<f64> {
        Some(if self.0.hold(x) {
            1.0 / self.0.width()
        } else {
            0.0
        })
    }
    fn cdf(&self, x: f64) -> f64 {
        self.0.cdf(x, |x| (x - self.0.lower) / self.0.width())
    }
    #[inline(always)]
    fn quantile(&self, p: f64) -> f64 {
        self.0.lower + self.0.width() * p
    }
}

/// JCGM 101:2008, 6.4.5.
#[derive(Debug)]
pub(super) struct Triangular(pub Limits);

impl Law for Triangular {
    fn mean(&self) -> f64 {
        self.0.middle()
    }
    fn variance(&self) -> f64 {
        self.0.width() * self.0.width() / 24.0
    }
    fn density(&self, x: f64) -> Option<f64> {
        let from_middle = 2.0 * (x - self.0.middle()).abs() / self.0.width();
        Some((2.0 / self.0.width()) * (1.0 - from_middle).max(0.0))
    }
    fn cdf(&self, x: f64) -> f64 {
        let square = |t: f64| 2.0 * t * t;
        self.0.cdf(x, |x| {
            if x <= self.0.middle() {
                square((x - self.0.lower) / self.0.width())
            } else {
                1.0 - square((self.0.upper - x) / self.0.width())
            }
        })
    }
    #[inline(always)]
    fn quantile(&self, p: f64) -> f64 {
        let from_limit = self.0.width() * (0.5 * p.min(1.0 - p)).sqrt();
        if p < 0.5 {
            self.0.lower + from_limit
        } else {
            self.0.upper - from_limit
        }
    }
    /// The sum of two rectangular draws (JCGM 101:2008, 6.4.5.4), which are the upper and the lower
    /// half of the 52 bits of a uniform number.
    fn draws(&self, set: InstructionSet, uniforms: &mut [f64]) {
        const PARTS: f64 = 67_108_864.0; // 2^26
        /// Added to a number up to 1, it rounds it to a whole number of parts.
        const ROUNDER: f64 = 1.5 * PARTS;
        let (lower, half) = (self.0.lower, 0.5 * self.0.width());
        map(
            set,
            uniforms,
            #[inline(always)]
            |u| {
                let half_part = 0.5 / PARTS;
                let upper_bits = ((u - half_part) + ROUNDER) - ROUNDER;
                let lower_bits = (u - upper_bits) * PARTS;
                lower + half * ((upper_bits + half_part) + lower_bits)
            },
        );
    }
}

/// JCGM 101:2008, 6.4.4: symmetric, the top `top_ratio` times as wide as the base.
#[derive(Debug)]
pub(super) struct Trapezoidal {
    pub limits: Limits,
    pub top_ratio: f64,
}

impl Trapezoidal {
    /// Width of one slope.
    fn slope_width(&self) -> f64 {
        0.5 * (1.0 - self.top_ratio) * self.limits.width()
    }
    fn height(&self) -> f64 {
        2.0 / ((1.0 + self.top_ratio) * self.limits.width())
    }
    /// The probability beyond a point of the lower half at distance `t` from its limit.
    fn tail(&self, t: f64) -> f64 {
        let slope = self.slope_width();
        if t < slope {
            0.5 * self.height() * t * t / slope
        } else {
            self.height() * (t - 0.5 * slope)
        }
    }
    fn tail_quantile(&self, p: f64) -> f64 {
        let slope = self.slope_width();
        if p < 0.5 * self.height() * slope {
            (2.0 * p * slope / self.height()).sqrt()
        } else {
            p / self.height() + 0.5 * slope
        }
    }
}

impl Law for Trapezoidal {
    fn mean(&self) -> f64 {
        self.limits.middle()
    }
    fn variance(&self) -> f64 {
        let width = self.limits.width();
        width * width * (1.0 + self.top_ratio * self.top_ratio) / 24.0
    }
    fn density(&self, x: f64) -> Option<f64> {
        let inwards = (x - self.limits.lower).min(self.limits.upper - x);
        if inwards < 0.0 {
            return Some(0.0);
        }
        let slope = self.slope_width();
        let share = if inwards < slope {
            inwards / slope
        } else {
            1.0
        };
        Some(self.height() * share)
    }
    fn cdf(&self, x: f64) -> f64 {
        self.limits.cdf(x, |x| {
            if x <= self.limits.middle() {
                self.tail(x - self.limits.lower)
            } else {
                1.0 - self.tail(self.limits.upper - x)
            }
        })
    }
    #[inline(always)]
    fn quantile(&self, p: f64) -> f64 {
        if p < 0.5 {
            self.limits.lower + self.tail_quantile(p)
        } else {
            self.limits.upper - self.tail_quantile(1.0 - p)
        }
    }
}

/// JCGM 101:2008, 6.4.6.
#[derive(Debug)]
pub(super) struct Arcsine(pub Limits);

impl Law for Arcsine {
    fn mean(&self) -> f64 {
        self.0.middle()
    }
    fn variance(&self) -> f64 {
        self.0.width() * self.0.width() / 8.0
    }
    fn density(&self, x: f64) -> Option<f64> {
        let product = (x - self.0.lower) * (self.0.upper - x);
        Some(if product >= 0.0 {
            1.0 / (PI * product.sqrt())
        } else {
            0.0
        })
    }
    fn cdf(&self, x: f64) -> f64 {
        self.0.cdf(x, |x| {
            libm::acos(2.0 * (self.0.middle() - x) / self.0.width()) / PI
        })
    }
    #[inline(always)]
    fn quantile(&self, p: f64) -> f64 {
        self.0.middle() - 0.5 * self.0.width() * Scalar::cos(PI * p)
    }
}
