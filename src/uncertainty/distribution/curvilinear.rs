//! Rectangular with inexactly known limits: the curvilinear trapezoid.

use super::law::Law;
use libm::log;

/// A half-width `W` that is itself rectangular over `half_width - uncertainty` to `half_width + uncertainty`,
/// and a value rectangular within `middle - W` to `middle + W`.
///
/// # Source
/// JCGM 101:2008, 6.4.3. The distribution function is the integral of the density given there.
#[derive(Debug)]
pub(super) struct CurvilinearTrapezoid {
    pub middle: f64,
    pub half_width: f64,
    /// The half-width `d` of the range in which each limit lies.
    pub uncertainty: f64,
}

impl CurvilinearTrapezoid {
    fn outer(&self) -> f64 {
        self.half_width + self.uncertainty
    }
    fn inner(&self) -> f64 {
        self.half_width - self.uncertainty
    }
    /// The probability beyond the distance `y` from the middle, on one side.
    ///
    /// ```text
    /// (m - s - y ln(m / s)) / (4 d),   m = w + d,   s = max(y, w - d)
    /// ```
    fn tail(&self, y: f64) -> f64 {
        let m = self.outer();
        if y >= m {
            return 0.0;
        }
        if y > self.inner() {
            return m * excess(1.0 - y / m) / (4.0 * self.uncertainty);
        }
        let sloped = y * log(m / self.inner());
        0.5 - if y > 0.0 {
            sloped / (4.0 * self.uncertainty)
        } else {
            0.0
        }
    }
    /// The distance from the middle with one-sided probability `p` beyond it.
    fn tail_quantile(&self, p: f64) -> f64 {
        let m = self.outer();
        let inner = self.inner();
        if inner > 0.0 && p >= self.tail(inner) {
            return (0.5 - p) * 4.0 * self.uncertainty / log(m / inner);
        }
        // Newton's method for excess(e) = q, which is convex and rising: monotone after one step
        let q = 4.0 * self.uncertainty * p / m;
        let mut e = (2.0 * q).sqrt().min(0.999);
        for _ in 0..60 {
            let slope = -libm::log1p(-e);
            let step = (excess(e) - q) / slope;
            let next = (e - step).clamp(0.5 * e, 0.5 * (1.0 + e));
            let moved = (next - e).abs();
            e = next;
            if moved <= f64::EPSILON * e {
                break;
            }
        }
        m * (1.0 - e)
    }
}

/// `e + (1 - e) ln(1 - e)`, by its series `sum e^k / (k (k - 1))` where the terms would cancel.
fn excess(e: f64) -> f64 {
    if e >= 1.0 {
        return 1.0;
    }
    if e > 0.1 {
        return e + (1.0 - e) * libm::log1p(-e);
    }
    (2..18).rev().map(f64::from).fold(0.0, |sum, k| {
        (sum + 1.0 / (k * (k - 1.0))) * if k > 2.0 { e } else { e * e }
    })
}

impl Law for CurvilinearTrapezoid {
    fn mean(&self) -> f64 {
        self.middle
    }
    fn variance(&self) -> f64 {
        self.half_width * self.half_width / 3.0 + self.uncertainty * self.uncertainty / 9.0
    }
    fn density(&self, x: f64) -> Option<f64> {
        let y = (x - self.middle).abs();
        if y >= self.outer() {
            return Some(0.0);
        }
        Some(log(self.outer() / y.max(self.inner())) / (4.0 * self.uncertainty))
    }
    fn cdf(&self, x: f64) -> f64 {
        let y = x - self.middle;
        if y < 0.0 {
            self.tail(-y)
        } else {
            1.0 - self.tail(y)
        }
    }
    fn quantile(&self, p: f64) -> f64 {
        if p < 0.5 {
            self.middle - self.tail_quantile(p)
        } else {
            self.middle + self.tail_quantile(1.0 - p)
        }
    }
}
