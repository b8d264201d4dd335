//! Reproducible random numbers: the draw for trial `i` of an input depends on the seed, on `i`
//! and on the name of the input only. So a new input leaves the draws of the others alone, and
//! any block of trials can be made anywhere.

use super::philox::{GROUP_DRAWS, philox, round_keys, uniform, uniforms};
use crate::scalar::InstructionSet;
use rand::rand_core::{Infallible, TryRng, utils};

/// The random numbers of one input quantity.
///
/// The seed is the key of [`philox`], and a counter is made of the number of a pair of trials and of
/// the hash of the input's name: the four words of a counter make the draws of both trials. It is a
/// generator of package `rand` as well.
///
/// # Example
/// ```
/// use flowdoubt::montecarlo::Stream;
/// let mut stream = Stream::new(1, "pipe.wall");
/// let first = stream.next_uniform();
/// stream.seek(0);
/// assert_eq!(stream.next_uniform(), first);
/// ```
#[derive(Debug, Clone)]
pub struct Stream {
    key: u64,
    stream: u64,
    /// The trial of the next draw.
    next: u64,
}

impl Stream {
    /// The stream of the input called `name`.
    pub fn new(seed: u64, name: &str) -> Stream {
        Stream {
            key: seed,
            stream: fnv1a(name.as_bytes()),
            next: 0,
        }
    }

    /// Moves to the draw of trial `trial`.
    pub fn seek(&mut self, trial: u64) {
        self.next = trial;
    }

    /// The next draw, uniform over the 2^52 midpoints of equal parts of (0, 1); never 0 or 1.
    pub fn next_uniform(&mut self) -> f64 {
        uniform(self.next_bits())
    }

    fn next_bits(&mut self) -> u64 {
        let (counter, key) = (self.next / 2, self.key);
        let half = |bits: u64| [bits as u32, (bits >> 32) as u32];
        let ([a, b], [c, d]) = (half(counter), half(self.stream));
        let words = philox([a, b, c, d], half(key));
        let pair = if self.next.is_multiple_of(2) { 0 } else { 2 };
        self.next = self.next.wrapping_add(1);
        u64::from(words[pair]) | (u64::from(words[pair + 1]) << 32)
    }

    /// The draws of trials `start..start + column.len()`, as [`Stream::next_uniform`] gives them.
    pub fn fill(&self, set: InstructionSet, start: u64, column: &mut [f64]) {
        // an odd start begins with the second draw of its counter
        let lead = (start % 2) as usize;
        let (head, rest) = column.split_at_mut(lead.min(column.len()));
        if let [draw] = head {
            let mut stream = self.clone();
            stream.seek(start);
            *draw = stream.next_uniform();
        }
        let mut counter = start.div_ceil(2);
        let keys = round_keys(self.key);
        set.run(
            #[inline(always)]
            || {
                let mut groups = rest.chunks_exact_mut(GROUP_DRAWS);
                for group in &mut groups {
                    uniforms(&keys, self.stream, counter, group);
                    counter = counter.wrapping_add(GROUP_DRAWS as u64 / 2);
                }
                let last = groups.into_remainder();
                if !last.is_empty() {
                    let mut draws = [0.0; GROUP_DRAWS];
                    uniforms(&keys, self.stream, counter, &mut draws);
                    last.copy_from_slice(&draws[..last.len()]);
                }
            },
        );
    }
}

impl TryRng for Stream {
    type Error = Infallible;

    fn try_next_u32(&mut self) -> Result<u32, Infallible> {
        Ok(self.next_bits() as u32)
    }
    fn try_next_u64(&mut self) -> Result<u64, Infallible> {
        Ok(self.next_bits())
    }
    fn try_fill_bytes(&mut self, bytes: &mut [u8]) -> Result<(), Infallible> {
        utils::fill_bytes_via_next_word(bytes, || self.try_next_u64())
    }
}

/// The 64-bit FNV-1a hash (G. Fowler, L. C. Noll, K.-P. Vo; RFC 9923), which turns a name into a
/// stream number the same way for ever.
pub(super) fn fnv1a(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}
