//! Sobol points, scrambled: numbers that fill the unit cube more evenly than random ones.

use crate::error::{Error, Result};
use crate::montecarlo::draws::{Stream, uniform};
use once_cell::race::OnceBox;
use rand::Rng;
use sobol::Sobol;
use sobol::params::JoeKuoD6;

/// Dimensions for which direction numbers are at hand.
pub(in crate::montecarlo) const MOST_DIMENSIONS: usize = 100;
/// Bits of a coordinate.
const BITS: usize = 52;

/// Direction numbers of the points before they are scrambled, by dimension.
fn plain() -> &'static [Vec<u64>] {
    static PLAIN: OnceBox<Vec<Vec<u64>>> = OnceBox::new();
    let numbers = || Sobol::<u64>::init_direction_vals(MOST_DIMENSIONS, BITS, &JoeKuoD6::minimal());
    PLAIN.get_or_init(|| Box::new(numbers()))
}

/// The points of one replicate: a random linear scramble of the digits and a random digital shift,
/// which keep the evenness of the points and make every coordinate uniform.
///
/// # Source
/// I. M. Sobol 1967, with direction numbers of S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008)
/// 2635; scrambled after J. Matousek, J. Complexity 14 (1998) 527.
#[derive(Debug, Clone)]
pub struct SobolPoints {
    /// By dimension, sums of the scrambled direction numbers 0 to `k`.
    sums: Vec<Vec<u64>>,
    shifts: Vec<u64>,
}

impl SobolPoints {
    /// The first points of replicate number `replicate` in so many dimensions; other numbers of
    /// points or dimensions begin with the same.
    ///
    /// # Errors
    /// More than 100 dimensions, more than 2^51 points.
    pub fn new(dimensions: usize, points: u64, seed: u64, replicate: u64) -> Result<SobolPoints> {
        let inside = dimensions <= MOST_DIMENSIONS;
        let field = "inputs of a run with Sobol points";
        Error::range(inside, field, dimensions as f64, "", "up to 100")?;
        let inside = points < 1 << BITS;
        Error::range(inside, "points", points as f64, "", "up to 2^51")?;
        // one more than their numbers have digits, for the step beyond the last point
        let count = (u64::BITS - points.leading_zeros()) as usize + 1;
        let count = count.min(BITS);
        let mut random = Stream::new(seed, "scrambling of Sobol points");
        // no two replicates share a draw: each coordinate needs one for the shift and one a digit
        random.seek(replicate * (MOST_DIMENSIONS * (BITS + 1)) as u64);
        let mut row = || -> [u64; MOST_DIMENSIONS] { std::array::from_fn(|_| random.next_u64()) };
        let shifts = row()[..dimensions].to_vec();
        let rows: Vec<_> = (0..count).map(|_| row()).collect();
        let sums = plain()[..dimensions]
            .iter()
            .enumerate()
            .map(|(i, directions)| {
                // a digit of the point counts in its own place, and at random in those after it
                let digit = |k: usize| (rows[k][i] & (u64::MAX >> k)) | 1 << (63 - k);
                let scrambled = |mut number: u64| {
                    let mut sum = 0;
                    while number != 0 {
                        let k = number.leading_zeros() as usize;
                        sum ^= digit(k);
                        number ^= 1 << (63 - k);
                    }
                    sum
                };
                let sums = directions[..count].iter().scan(0, |sum, direction| {
                    *sum ^= scrambled(*direction);
                    Some(*sum)
                });
                sums.collect()
            });
        Ok(SobolPoints {
            sums: sums.collect(),
            shifts,
        })
    }

    /// Coordinate `dimension` of the points `start..start + column.len()`, strictly between 0 and 1.
    ///
    /// # Panics
    /// If there is no such dimension or point.
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
            digits ^= sums[lowest_ones];
        }
    }
}
