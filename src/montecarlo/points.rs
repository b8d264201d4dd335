//! Sobol points, scrambled: numbers that fill the unit cube more evenly than random ones.

use super::Stream;
use super::philox::uniform;
use crate::error::{Error, Result};
use rand::Rng;
use sobol::Sobol;
use sobol::params::JoeKuoD6;
use std::sync::LazyLock;

/// Dimensions for which direction numbers are at hand.
pub(super) const MOST_DIMENSIONS: usize = 100;
/// Bits of a coordinate.
const BITS: usize = 52;

/// Direction numbers of the points before they are scrambled, by dimension.
static PLAIN: LazyLock<Vec<Vec<u64>>> = LazyLock::new(|| {
    Sobol::<u64>::init_direction_vals(MOST_DIMENSIONS, BITS, &JoeKuoD6::minimal())
});

/// The points of one replicate: a random linear scramble of the digits and a random digital shift,
/// which keep the evenness of the points and make every coordinate uniform.
///
/// # Source
/// I. M. Sobol 1967, with direction numbers of S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008)
/// 2635; scrambled after J. Matousek, J. Complexity 14 (1998) 527.
#[derive(Debug, Clone)]
pub struct SobolPoints {
    /// By dimension.
    directions: Vec<[u64; BITS]>,
    shifts: Vec<u64>,
}

impl SobolPoints {
    /// Replicate number `replicate` of the points in so many dimensions.
    ///
    /// # Errors
    /// More than 100 dimensions.
    pub fn new(dimensions: usize, seed: u64, replicate: u64) -> Result<SobolPoints> {
        let inside = dimensions <= MOST_DIMENSIONS;
        let field = "inputs of a run with Sobol points";
        Error::range(inside, field, dimensions as f64, "", "up to 100")?;
        let mut random = Stream::new(seed, "scrambling of Sobol points");
        // no two replicates share a draw: each needs one for each digit and one for the shift
        random.seek(replicate * (MOST_DIMENSIONS * (BITS + 1)) as u64);
        let mut points = SobolPoints {
            directions: Vec::with_capacity(dimensions),
            shifts: Vec::with_capacity(dimensions),
        };
        for directions in &PLAIN[..dimensions] {
            // digit i of the scrambled number is a random sum of its digits 0 to i, with digit i
            let rows: [u64; BITS] = std::array::from_fn(|i| {
                let own = 1 << (63 - i);
                let before = !(u64::MAX >> i);
                (random.next_u64() & before) | own
            });
            let scrambled = |number: u64| {
                let digits = rows.iter().enumerate();
                digits.fold(0_u64, |sum, (i, row)| {
                    sum | (u64::from((number & row).count_ones() & 1) << (63 - i))
                })
            };
            points.shifts.push(random.next_u64());
            points
                .directions
                .push(std::array::from_fn(|k| scrambled(directions[k])));
        }
        Ok(points)
    }

    /// Coordinate `dimension` of the points `start..start + column.len()`, strictly between 0 and 1.
    ///
    /// # Panics
    /// If there is no such dimension.
    pub fn fill(&self, dimension: usize, start: u64, column: &mut [f64]) {
        let directions = &self.directions[dimension];
        let mut digits = self.shifts[dimension];
        for (k, direction) in directions.iter().enumerate() {
            if start >> k & 1 == 1 {
                digits ^= direction;
            }
        }
        for (place, u) in column.iter_mut().enumerate() {
            *u = uniform(digits);
            // the next number differs in its lowest ones and the zero above them
            let point = start + place as u64;
            let changed = (point ^ (point + 1)).count_ones() as usize;
            digits = directions[..changed.min(BITS)]
                .iter()
                .fold(digits, |digits, direction| digits ^ direction);
        }
    }
}
