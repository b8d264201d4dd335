//! The points of several replicates, one replicate after the other.

use super::SobolPoints;
use crate::error::Result;

/// Replicates of Sobol points, numbered through.
pub(in crate::montecarlo) struct Replicates {
    replicates: Vec<SobolPoints>,
    /// Points that are not mirror images of each other.
    part: u64,
    antithetic: bool,
}

impl Replicates {
    /// So many replicates of so many points each. If `antithetic`, the second half of a replicate
    /// is the first one mirrored at the middle of the cube.
    ///
    /// # Errors
    /// Those of [`SobolPoints::new`].
    pub fn new(
        dimensions: usize,
        points: u64,
        replicates: u64,
        antithetic: bool,
        seed: u64,
    ) -> Result<Replicates> {
        let part = if antithetic { points / 2 } else { points };
        let replicate = |number| SobolPoints::new(dimensions, part, seed, number);
        Ok(Replicates {
            replicates: (0..replicates).map(replicate).collect::<Result<_>>()?,
            part,
            antithetic,
        })
    }

    /// Coordinate `dimension` of the points `start..start + column.len()`.
    pub fn fill(&self, dimension: usize, start: u64, column: &mut [f64]) {
        let (mut next, mut rest) = (start, column);
        while !rest.is_empty() {
            let (number, offset) = (next / self.part, next % self.part);
            let count = (self.part - offset).min(rest.len() as u64);
            let (now, later) = rest.split_at_mut(count as usize);
            let halves = if self.antithetic { 2 } else { 1 };
            self.replicates[(number / halves) as usize].fill(dimension, offset, now);
            if self.antithetic && number % 2 == 1 {
                now.iter_mut().for_each(|u| *u = 1.0 - *u);
            }
            (next, rest) = (next + count, later);
        }
    }
}
