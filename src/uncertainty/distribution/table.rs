//! Distributions given point by point: a density or a distribution function, straight between.

use super::Values;
use super::law::Law;

/// A piecewise linear density; a distribution function given by points is the special case of
/// pieces of constant density.
#[derive(Debug)]
pub(super) struct Table {
    pieces: Vec<Piece>,
    mean: f64,
    variance: f64,
}

/// One piece: from `x` over `width`, density from `left` to `right`, `below` the probability of
/// all pieces before it.
#[derive(Debug, Clone, Copy)]
struct Piece {
    x: f64,
    width: f64,
    left: f64,
    right: f64,
    below: f64,
}

impl Piece {
    fn mass(&self) -> f64 {
        0.5 * (self.left + self.right) * self.width
    }
    fn density(&self, x: f64) -> f64 {
        self.left + (self.right - self.left) * (x - self.x) / self.width
    }
    fn cdf(&self, x: f64) -> f64 {
        let t = x - self.x;
        self.below + t * 0.5 * (self.left + self.density(x))
    }
    /// The mean of `x - origin` and of its square over this piece, times its mass.
    fn moments(&self, origin: f64) -> [f64; 2] {
        // Simpson's rule is exact for polynomials of degree three
        let middle = 0.5 * (self.left + self.right);
        let (a, b) = (self.x - origin, self.x + self.width - origin);
        let m = 0.5 * (a + b);
        let rule = |f: &dyn Fn(f64) -> f64| {
            self.width / 6.0 * (self.left * f(a) + 4.0 * middle * f(m) + self.right * f(b))
        };
        [rule(&|v| v), rule(&|v| v * v)]
    }
    /// The point of this piece with probability `p` below it, counted from the first piece.
    fn quantile(&self, p: f64) -> f64 {
        let q = (p - self.below).max(0.0);
        let slope = (self.right - self.left) / self.width;
        // the root of slope t^2 / 2 + left t = q, in the form without cancellation
        let root = (self.left * self.left + 2.0 * slope * q).max(0.0).sqrt();
        if self.left + root == 0.0 {
            return self.x;
        }
        self.x + (2.0 * q / (self.left + root)).min(self.width)
    }
}

impl Table {
    /// From a density at increasing points; it is scaled to probability one.
    pub fn of_density(x: &Values, density: &Values) -> Table {
        let total: f64 = x
            .windows(2)
            .zip(density.windows(2))
            .map(|(x, d)| 0.5 * (d[0] + d[1]) * (x[1] - x[0]))
            .sum();
        let ordinates = density.windows(2);
        let scaled = ordinates.map(|d| [d[0] / total, d[1] / total]);
        Table::new(x, scaled)
    }

    /// From a distribution function at increasing points, which rises from 0 to 1.
    pub fn of_probability(x: &Values, probability: &Values) -> Table {
        let slopes = x.windows(2).zip(probability.windows(2)).map(|(x, p)| {
            let density = (p[1] - p[0]) / (x[1] - x[0]);
            [density, density]
        });
        Table::new(x, slopes)
    }

    fn new(x: &Values, densities: impl Iterator<Item = [f64; 2]>) -> Table {
        let mut below = 0.0;
        let mut pieces = Vec::new();
        for (x, [left, right]) in x.windows(2).zip(densities) {
            let piece = Piece {
                x: x[0],
                width: x[1] - x[0],
                left,
                right,
                below,
            };
            below += piece.mass();
            pieces.push(piece);
        }
        let origin = x.first().copied().unwrap_or(f64::NAN);
        let sum = |origin: f64, which: usize| -> f64 {
            pieces.iter().map(|p| p.moments(origin)[which]).sum()
        };
        let mean = origin + sum(origin, 0);
        let variance = sum(mean, 1);
        Table {
            pieces,
            mean,
            variance,
        }
    }

    /// The piece in which `x` lies; `None` outside the table.
    fn piece_at(&self, x: f64) -> Option<&Piece> {
        let last = self.pieces.last()?;
        if x > last.x + last.width {
            return None;
        }
        let after = self.pieces.partition_point(|p| p.x <= x);
        self.pieces.get(after.checked_sub(1)?)
    }
}

impl Law for Table {
    fn mean(&self) -> f64 {
        self.mean
    }
    fn variance(&self) -> f64 {
        self.variance
    }
    fn density(&self, x: f64) -> Option<f64> {
        Some(self.piece_at(x).map_or(0.0, |piece| piece.density(x)))
    }
    fn cdf(&self, x: f64) -> f64 {
        match self.piece_at(x) {
            Some(piece) => piece.cdf(x).clamp(0.0, 1.0),
            None if self.pieces.first().is_some_and(|first| x < first.x) => 0.0,
            None => 1.0,
        }
    }
    fn quantile(&self, p: f64) -> f64 {
        let after = self.pieces.partition_point(|piece| piece.below <= p);
        let piece = self.pieces.get(after.saturating_sub(1));
        piece.map_or(f64::NAN, |piece| piece.quantile(p))
    }
}
