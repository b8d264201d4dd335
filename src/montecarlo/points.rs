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
    /// By dimension, sums of the direction numbers 0 to `k`.
    sums: Vec<[u64; BITS]>,
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
            sums: Vec::with_capacity(dimensions),
            shifts: Vec::with_capacity(dimensions),
        };
        for directions in &PLAIN[..dimensions] {
            // digit i of the scrambled number is a random sum of its digits 0 to i, with digit i
            let mut matrix = [0_u64; 64];
            for (i, row) in matrix[..BITS].iter_mut().enumerate() {
                let own = 1 << (63 - i);
                let before = !(u64::MAX >> i);
                *row = (random.next_u64() & before) | own;
            }
            // so the scrambled number is the sum of the columns that belong to its digits
            let columns = transposed(matrix);
            let scrambled = |mut number: u64| {
                let mut sum = 0;
                while number != 0 {
                    sum ^= columns[number.leading_zeros() as usize];
                    number &= !(1 << (63 - number.leading_zeros()));
                }
                sum
            };
            points.shifts.push(random.next_u64());
            let mut sum = 0;
            points.sums.push(std::array::from_fn(|k| {
                sum ^= scrambled(directions[k]);
                sum
            }));
        }
        Ok(points)
    }

    /// Coordinate `dimension` of the points `start..start + column.len()`, strictly between 0 and 1.
    ///
    /// # Panics
    /// If there is no such dimension.
    pub fn fill(&self, dimension: usize, start: u64, column: &mut [f64]) {
        let sums = &self.sums[dimension];
        let mut digits = self.shifts[dimension];
        // the direction numbers of the ones of `start`, each as what a sum adds to the one before
        let (mut ones, mut below) = (start, 0);
        for sum in sums {
            if ones & 1 == 1 {
                digits ^= sum ^ below;
            }
            (ones, below) = (ones >> 1, *sum);
        }
        for (place, u) in column.iter_mut().enumerate() {
            *u = uniform(digits);
            // the next number differs in its lowest ones and the zero above them
            let lowest_ones = (start + place as u64).trailing_ones() as usize;
            digits ^= sums[lowest_ones.min(BITS - 1)];
        }
    }
}

/// The transpose of a matrix of bits, whose rows have their first bit uppermost.
///
/// # Source
/// H. S. Warren, *Hacker's Delight*, 2nd ed. 2012, section 7-3 (from memory).
fn transposed(mut rows: [u64; 64]) -> [u64; 64] {
    // exchanges ever smaller squares off the diagonal
    let (mut size, mut mask) = (32, u64::MAX >> 32);
    while size > 0 {
        for i in (0..64).filter(|i| i & size == 0) {
            let exchanged = (rows[i] ^ (rows[i + size] >> size)) & mask;
            rows[i] ^= exchanged;
            rows[i + size] ^= exchanged << size;
        }
        size /= 2;
        mask ^= mask << size;
    }
    rows
}
