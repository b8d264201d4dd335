//! Reproducible random numbers: the draw for trial `i` of an input depends on the seed, on `i`
//! and on the name of the input only. So a new input leaves the draws of the others alone, and
//! any block of trials can be made anywhere.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha12Rng;

/// The random numbers of one input quantity.
///
/// # Source
/// ChaCha with 12 rounds (D. J. Bernstein 2008): the seed is the key, the input's name chooses
/// the stream, the trial is the position in the stream.
#[derive(Debug, Clone)]
pub struct Stream {
    generator: ChaCha12Rng,
}

/// Words of 32 bits that one draw takes from the generator.
const WORDS_PER_DRAW: u128 = 2;

impl Stream {
    /// The stream of the input called `name`.
    pub fn new(seed: u64, name: &str) -> Stream {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        let mut generator = ChaCha12Rng::from_seed(key);
        generator.set_stream(fnv1a(name));
        Stream { generator }
    }

    /// Moves to the draw of trial `trial`.
    pub fn seek(&mut self, trial: u64) {
        self.generator
            .set_word_pos(u128::from(trial) * WORDS_PER_DRAW);
    }

    /// The next draw, uniform over the 2^52 midpoints of equal parts of (0, 1); never 0 or 1.
    pub fn next_uniform(&mut self) -> f64 {
        const SCALE: f64 = 1.0 / (1_u64 << 52) as f64;
        ((self.generator.next_u64() >> 12) as f64 + 0.5) * SCALE
    }

    /// The draws of trials `start..start + column.len()`.
    pub fn fill(&self, start: u64, column: &mut [f64]) {
        let mut stream = self.clone();
        stream.seek(start);
        column.iter_mut().for_each(|u| *u = stream.next_uniform());
    }
}

/// The 64-bit FNV-1a hash (G. Fowler, L. C. Noll, K.-P. Vo; RFC 9923), which turns a name into a
/// stream number the same way for ever.
fn fnv1a(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}
