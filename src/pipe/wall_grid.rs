//! Readings of a thickness gauge on a grid: rings along the pipe, positions round it.

use crate::error::{Error, Result};
use std::f64::consts::PI;

/// What a grid of wall readings says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallGrid {
    /// Number of readings.
    pub readings: usize,
    /// Mean wall in m.
    pub mean: f64,
    /// Smallest reading in m.
    pub smallest: f64,
    /// Largest reading in m.
    pub largest: f64,
    /// Standard deviation of all readings in m; `None` with a single reading.
    pub standard_deviation: Option<f64>,
    /// The part that goes once round the pipe; `None` with fewer than three positions.
    pub eccentric: Option<Eccentric>,
}

/// The part of the wall that varies as `delta cos(theta - direction)`: the bore lies off the centre
/// of the outside by `delta`, away from `direction`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eccentric {
    /// Distance `delta` in m of the two centres.
    pub eccentricity: f64,
    /// Where the wall is thickest, radians from the first position, -pi to pi.
    pub direction: f64,
    /// Standard deviation in m of what is left; `None` when nothing is left to judge by.
    pub residual: Option<f64>,
}

impl WallGrid {
    /// Summary of `readings` in m, shape `(rings, positions)`: in each ring the same number of
    /// positions, spaced evenly round the pipe and counted from the same line.
    ///
    /// ```text
    /// e(theta) = mean + delta cos(theta - direction) + rest
    /// ```
    ///
    /// Least squares with evenly spaced positions are the first Fourier coefficients of all rings
    /// together. An eccentricity that turns along the pipe, as in some seamless pipe, averages out
    /// and shows in the residual. The uncertainty of the mean is a matter of type A evaluation and
    /// of how the readings depend on each other; it is not `s / sqrt(n)` where a wall varies with
    /// place and sensors sit at one.
    ///
    /// # Errors
    /// There are no readings, rings differ in length, or a reading is not positive and finite.
    ///
    /// # Source
    /// Trigonometric least squares; the geometry, in lowest order of `delta / D`, of
    /// [`EccentricPath`](super::EccentricPath).
    ///
    /// # Example
    /// ```
    /// use flowdoubt::pipe::WallGrid;
    /// let grid = WallGrid::new(&[&[7.3e-3, 7.1e-3, 6.9e-3, 7.1e-3]])?;
    /// let eccentric = grid.eccentric.expect("four positions");
    /// assert!((grid.mean - 7.1e-3).abs() < 1e-15);
    /// assert!((eccentric.eccentricity - 0.2e-3).abs() < 1e-15);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn new<R: AsRef<[f64]>>(readings: &[R]) -> Result<WallGrid> {
        let positions = readings.first().map_or(0, |ring| ring.as_ref().len());
        if positions == 0 {
            return Err(Error::Missing {
                field: "pipe.wall_grid".to_owned(),
                needed: "one ring with one reading at least".to_owned(),
            });
        }
        for (i, ring) in readings.iter().enumerate() {
            let ring = ring.as_ref();
            if ring.len() != positions {
                return Err(Error::Length {
                    field: format!("pipe.wall_grid[{i}]"),
                    found: ring.len(),
                    allowed: format!("{positions}, as in the first ring"),
                });
            }
            for (j, wall) in ring.iter().enumerate() {
                Error::range(
                    *wall > 0.0 && wall.is_finite(),
                    format!("pipe.wall_grid[{i}][{j}]"),
                    *wall,
                    "m",
                    "positive and finite",
                )?;
            }
        }
        let all = || {
            let rings = readings.iter();
            rings.flat_map(|ring| ring.as_ref().iter().copied().enumerate())
        };
        let count = (readings.len() * positions) as f64;
        let mean = all().map(|(_, wall)| wall).sum::<f64>() / count;
        let deviation = |freedom: f64, fitted: &dyn Fn(usize) -> f64| {
            let squares =
                all().map(|(j, wall)| (wall - mean - fitted(j)) * (wall - mean - fitted(j)));
            (freedom > 0.0).then(|| (squares.sum::<f64>() / freedom).sqrt())
        };
        let angle = |j: usize| 2.0 * PI * j as f64 / positions as f64;
        let eccentric = (positions >= 3).then(|| {
            let part = |wave: fn(f64) -> f64| {
                let terms = all().map(|(j, wall)| (wall - mean) * wave(angle(j)));
                2.0 * terms.sum::<f64>() / count
            };
            let (cosine, sine) = (part(libm::cos), part(libm::sin));
            let fitted = |j: usize| cosine * libm::cos(angle(j)) + sine * libm::sin(angle(j));
            Eccentric {
                eccentricity: libm::hypot(cosine, sine),
                direction: libm::atan2(sine, cosine),
                residual: deviation(count - 3.0, &fitted),
            }
        });
        Ok(WallGrid {
            readings: readings.len() * positions,
            mean,
            smallest: all().map(|(_, wall)| wall).fold(f64::INFINITY, f64::min),
            largest: all().map(|(_, wall)| wall).fold(0.0, f64::max),
            standard_deviation: deviation(count - 1.0, &|_| 0.0),
            eccentric,
        })
    }
}
