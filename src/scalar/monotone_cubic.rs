//! Monotone piecewise cubic interpolation of a table.

use super::Scalar;

/// A curve through all points of a table that rises only where the table rises, and falls only
/// where it falls; twice differentiable inside the intervals and once at the points.
///
/// The slope at an inner point is the weighted harmonic mean of the slopes on both sides, and zero
/// where they differ in sign; at an end it is that of the parabola through three points, limited so
/// that no extremum appears. Two points give a straight line.
///
/// # Source
/// F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238; F. N. Fritsch and
/// J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300; end slopes after C. Moler, *Numerical
/// Computing with MATLAB*, SIAM 2004, section 3.6.
///
/// # Example
/// ```
/// use flowdoubt::scalar::MonotoneCubic;
/// let line = MonotoneCubic::new(&[0.0, 1.0, 3.0], &[1.0, 3.0, 7.0]);
/// assert!((line.at(2.0) - 5.0_f64).abs() < 1e-12);
/// assert!(line.at(3.5_f64).is_nan());
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct MonotoneCubic {
    /// One for each interval, in rising order.
    pieces: Vec<Piece>,
    /// The end of the last interval.
    end: f64,
}

/// The cubic `c0 + c1 s + c2 s^2 + c3 s^3` with `s = x - start`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    start: f64,
    coefficients: [f64; 4],
}

impl MonotoneCubic {
    /// The curve through the points `(x[i], y[i])`.
    ///
    /// # Panics
    /// If there are fewer than two points, `x` and `y` differ in length, `x` does not rise, or a
    /// number is not finite.
    pub fn new(x: &[f64], y: &[f64]) -> Self {
        assert!(x.len() >= 2 && x.len() == y.len(), "two points or more");
        assert!(x.windows(2).all(|x| x[0] < x[1]), "x must rise");
        assert!(x.iter().chain(y).all(|v| v.is_finite()), "finite numbers");
        let widths: Vec<f64> = x.windows(2).map(|x| x[1] - x[0]).collect();
        let secants: Vec<f64> = y
            .windows(2)
            .zip(&widths)
            .map(|(y, h)| (y[1] - y[0]) / h)
            .collect();
        let slopes = slopes(&widths, &secants);
        let pieces = (0..widths.len()).map(|k| {
            let (h, secant) = (widths[k], secants[k]);
            let (left, right) = (slopes[k], slopes[k + 1]);
            let square = (3.0 * secant - 2.0 * left - right) / h;
            let cube = (left + right - 2.0 * secant) / (h * h);
            Piece {
                start: x[k],
                coefficients: [y[k], left, square, cube],
            }
        });
        Self {
            pieces: pieces.collect(),
            end: x[x.len() - 1],
        }
    }

    /// The first and the last `x`.
    pub fn range(&self) -> [f64; 2] {
        [self.pieces[0].start, self.end]
    }

    /// The curve at `x`; NaN outside [`MonotoneCubic::range`].
    ///
    /// Derivatives are those of the cubic of the interval; at a point of the table the second
    /// derivative is that of the interval to its right.
    pub fn at<S: Scalar>(&self, x: S) -> S {
        let [start, end] = self.range().map(S::constant);
        let mut offset = start;
        let mut c = self.pieces[0].coefficients.map(S::constant);
        for piece in &self.pieces[1..] {
            let next = S::constant(piece.start);
            let before = x.less_than(next);
            offset = S::select(before, offset, next);
            let coefficients = piece.coefficients.map(S::constant);
            for (c, next) in c.iter_mut().zip(coefficients) {
                *c = S::select(before, *c, next);
            }
        }
        let s = x - offset;
        let inside = ((c[3] * s + c[2]) * s + c[1]) * s + c[0];
        let outside = S::constant(f64::NAN);
        let inside = S::select(x.less_than(start), outside, inside);
        S::select(end.less_than(x), outside, inside)
    }
}

/// The slope at every point, from the widths of the intervals and their secants.
fn slopes(widths: &[f64], secants: &[f64]) -> Vec<f64> {
    let last = widths.len() - 1;
    if last == 0 {
        return vec![secants[0]; 2];
    }
    let mut slopes = vec![end_slope([widths[0], widths[1]], [secants[0], secants[1]])];
    slopes.extend((0..last).map(|k| {
        let (before, after) = (secants[k], secants[k + 1]);
        if before * after <= 0.0 {
            return 0.0;
        }
        let weight = [
            2.0 * widths[k + 1] + widths[k],
            widths[k + 1] + 2.0 * widths[k],
        ];
        (weight[0] + weight[1]) / (weight[0] / before + weight[1] / after)
    }));
    let (widths, secants) = (
        [widths[last], widths[last - 1]],
        [secants[last], secants[last - 1]],
    );
    slopes.push(end_slope(widths, secants));
    slopes
}

/// The slope at an end, from the widths and secants of the outermost interval and of the next.
fn end_slope(widths: [f64; 2], secants: [f64; 2]) -> f64 {
    let total = widths[0] + widths[1];
    let parabola = ((widths[0] + total) * secants[0] - widths[0] * secants[1]) / total;
    if parabola * secants[0] <= 0.0 {
        0.0
    } else if secants[0] * secants[1] <= 0.0 && parabola.abs() > 3.0 * secants[0].abs() {
        3.0 * secants[0]
    } else {
        parabola
    }
}
