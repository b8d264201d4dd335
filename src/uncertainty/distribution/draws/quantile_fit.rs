//! Quantiles of a distribution symmetric about zero, fast enough for every trial.

use crate::scalar::chebyshev::polynomial_through;
use crate::scalar::math::{Aligned, CHUNK, SIDE_BY_SIDE, horner, horner_chunk, in_chunks, ln};
use crate::scalar::{InstructionSet, Scalar};

/// Largest distance of a probability from 1/2 that the near fit takes.
const NEAR: f64 = 0.475;
/// Terms of the near fit.
const NEAR_TERMS: usize = 12;
/// With it the quantile's singularity, at a distance of 1/2, and infinity are equally far from the
/// range of the variable of the near fit, on either side: `(r + 1)/(r - 1)` with
/// `r = sqrt(1/4 / (1/4 - NEAR^2))`.
const NEAR_SLOPE: f64 = 1.908_033_019_213_119;
/// Where the variable of the near fit has its pole, in squares of the distance.
const NEAR_POLE: f64 = 0.5 * NEAR * NEAR * (NEAR_SLOPE + 1.0);

/// Largest distance of a probability from 1/2 that the far fit takes; the rest is left to others.
const FAR: f64 = 0.499_99;
/// Terms of the far fit.
const FAR_TERMS: usize = 12;
/// `w` at the distances between which the far fit holds: `-ln(4 0.025 0.975)` and
/// `-ln(4 0.00001 0.99999)`.
const W: [f64; 2] = [2.327_902_900_978_335_6, 10.126_641_103_900_338];

/// Quantiles for probabilities of 0.00001 to 0.99999, fitted once for each distribution.
///
/// ```text
/// x = (p - 1/2) N(u),   u = (a s - c)/(c - s),   s = (p - 1/2)^2      from 0.025 to 0.975
/// x = (p - 1/2) F(w),   w = -ln(4 p (1 - p))                          beyond
/// ```
/// with polynomials `N` and `F` through the quantiles at Chebyshev points. The near fit needs no
/// logarithm, and one draw in twenty the other. The relative error is below 1e-8 for the normal
/// distribution and below 2e-7 for Student's t with more than 2 degrees of freedom, where chance
/// leaves 2e-5 of a standard uncertainty after 1e9 trials.
///
/// # Source
/// The variable `w`: M. B. Giles, *GPU Computing Gems* Jade edition 2011, chapter 10. The variable
/// `u` is our own.
#[derive(Clone, Copy, Debug)]
pub(in super::super) struct QuantileFit {
    near: [f64; NEAR_TERMS],
    far: [f64; FAR_TERMS],
}

/// The variable of the near fit, -1 to 1, where `square` is that of the distance.
#[inline(always)]
fn near_variable(square: f64) -> f64 {
    // the fraction (a s - c)/(c - s) in a form with less to do
    const NUMERATOR: f64 = (NEAR_SLOPE - 1.0) * NEAR_POLE;
    NUMERATOR / (NEAR_POLE - square) - NEAR_SLOPE
}

/// The variable of the far fit, -1 to 1.
#[inline(always)]
fn far_variable(p: f64) -> f64 {
    ln(4.0 * p * (1.0 - p)) * (-2.0 / (W[1] - W[0])) - (W[1] + W[0]) / (W[1] - W[0])
}

impl QuantileFit {
    /// The fit to `upper_quantile`, the quantile of the distribution as a function of the
    /// probability above it, up to 1/2.
    pub fn new(upper_quantile: impl Fn(f64) -> f64) -> QuantileFit {
        let near = |u: f64| {
            let square = NEAR_POLE * (u + 1.0) / (u + NEAR_SLOPE);
            let distance = square.sqrt();
            upper_quantile(0.5 - distance) / distance
        };
        let far = |x: f64| {
            // 4 p (1 - p) = exp(-w) gives the distance from 1/2 and what is left of it
            let fourfold = Scalar::exp(-0.5 * ((W[1] - W[0]) * x + (W[1] + W[0])));
            let distance = 0.5 * (1.0 - fourfold).sqrt();
            upper_quantile(0.25 * fourfold / (0.5 + distance)) / distance
        };
        QuantileFit {
            near: polynomial_through(near),
            far: polynomial_through(far),
        }
    }

    /// Replaces each probability by `location + scale x`, with `x` the quantile; `outer` gives it
    /// where the fit does not hold.
    #[inline(always)]
    pub fn quantiles(
        &self,
        set: InstructionSet,
        values: &mut [f64],
        location: f64,
        scale: f64,
        outer: impl Fn(f64) -> f64,
    ) {
        let mut beyond = Beyond::default();
        for block in values.chunks_mut(BLOCK) {
            beyond.collect(set, block);
            self.near(set, block, location, scale);
            self.far(set, &beyond, block, location, scale, &outer);
        }
    }

    /// Replaces each probability by the near fit.
    fn near(&self, set: InstructionSet, values: &mut [f64], location: f64, scale: f64) {
        in_chunks(
            set,
            values,
            #[inline(always)]
            |chunk| {
                let mut aligned = Aligned([0.0; CHUNK]);
                let factors = &mut aligned.0;
                for i in 0..CHUNK {
                    factors[i] = near_variable((chunk[i] - 0.5) * (chunk[i] - 0.5));
                }
                horner_chunk(set, &self.near, factors);
                for i in 0..CHUNK {
                    chunk[i] = location + scale * ((chunk[i] - 0.5) * factors[i]);
                }
            },
        );
    }

    /// Puts the quantiles of probabilities beyond the near fit in their places.
    fn far(
        &self,
        set: InstructionSet,
        beyond: &Beyond,
        block: &mut [f64],
        location: f64,
        scale: f64,
        outer: impl Fn(f64) -> f64,
    ) {
        let groups = beyond.probabilities.as_chunks::<SIDE_BY_SIDE>().0.iter();
        let places = beyond.places[..beyond.count].chunks(SIDE_BY_SIDE);
        for (group, places) in groups.zip(places) {
            let factors = self.far_factors(set, group);
            for ((p, factor), place) in group.iter().zip(factors).zip(places) {
                let quantile = match (p - 0.5).abs() > FAR {
                    true => outer(*p),
                    false => (p - 0.5) * factor,
                };
                block[usize::from(*place)] = location + scale * quantile;
            }
        }
    }

    /// The values of the far fit.
    #[inline(never)]
    fn far_factors(&self, set: InstructionSet, group: &[f64; SIDE_BY_SIDE]) -> [f64; SIDE_BY_SIDE] {
        set.run(
            #[inline(always)]
            || {
                let mut variables = [0.0; SIDE_BY_SIDE];
                for i in 0..SIDE_BY_SIDE {
                    variables[i] = far_variable(group[i]);
                }
                horner(&self.far, &variables)
            },
        )
    }
}

/// Probabilities whose far ones are collected before they are worked on.
const BLOCK: usize = 8 * CHUNK;

/// Probabilities beyond the near fit, and their places in a block.
struct Beyond {
    probabilities: [f64; BLOCK],
    places: [u16; BLOCK],
    count: usize,
}

impl Default for Beyond {
    fn default() -> Self {
        Beyond {
            probabilities: [0.5; BLOCK],
            places: [0; BLOCK],
            count: 0,
        }
    }
}

impl Beyond {
    /// Finds those of a block.
    #[inline(never)]
    fn collect(&mut self, set: InstructionSet, block: &[f64]) {
        const WORD: usize = u64::BITS as usize;
        self.count = 0;
        set.run(
            #[inline(always)]
            || {
                let (words, rest) = block.as_chunks::<WORD>();
                for (number, word) in words.iter().enumerate() {
                    self.note(word, WORD * number);
                }
                let mut last = [0.5; WORD];
                last[..rest.len()].copy_from_slice(rest);
                self.note(&last, block.len() - rest.len());
            },
        );
    }

    /// Adds those of as many as a word has bits, which start at place `start`.
    #[inline(always)]
    fn note(&mut self, part: &[f64; u64::BITS as usize], start: usize) {
        let mut beyond = 0_u64;
        for (bit, p) in part.iter().enumerate() {
            beyond |= u64::from((p - 0.5).abs() > NEAR) << bit;
        }
        while beyond != 0 {
            let bit = beyond.trailing_zeros() as usize % part.len();
            self.probabilities[self.count % BLOCK] = part[bit];
            self.places[self.count % BLOCK] = (start + bit) as u16;
            self.count += 1;
            beyond &= beyond - 1;
        }
    }
}
