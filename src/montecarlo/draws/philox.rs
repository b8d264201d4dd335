//! The generator that gives every other one its start: Philox4x32-10.
//!
//! # Source
//! J. K. Salmon, M. A. Moraes, R. O. Dror and D. E. Shaw, *Parallel random numbers: as easy as
//! 1, 2, 3*, SC11 (2011).

const MULTIPLIERS: [u64; 2] = [0xd251_1f53, 0xcd9e_8d57];
const KEY_STEPS: [u32; 2] = [0x9e37_79b9, 0xbb67_ae85];
const ROUNDS: usize = 10;
const LOW: u64 = 0xffff_ffff;

/// Replaces counters, whose words are each in the lower half of 64 bits, by their random words.
/// What is in the upper halves counts for nothing.
#[inline(always)]
fn rounds<const LANES: usize>(counters: &mut [[u64; LANES]; 4], key: u64) {
    let mut key = [key as u32, (key >> 32) as u32];
    let [a, b, c, d] = counters;
    for _ in 0..ROUNDS {
        let [first, second] = key.map(u64::from);
        for i in 0..LANES {
            let (left, right) = ((a[i] & LOW) * MULTIPLIERS[0], (c[i] & LOW) * MULTIPLIERS[1]);
            a[i] = (right >> 32) ^ (b[i] ^ first);
            c[i] = (left >> 32) ^ (d[i] ^ second);
            b[i] = right;
            d[i] = left;
        }
        for (word, step) in key.iter_mut().zip(KEY_STEPS) {
            *word = word.wrapping_add(step);
        }
    }
}

/// Two words of 64 bits for each of the counters from `first` on; `stream` is the upper half of the
/// counters.
#[inline(always)]
pub(super) fn pairs<const LANES: usize>(key: u64, stream: u64, first: u64) -> [[u64; LANES]; 2] {
    let mut words = [[0; LANES]; 4];
    let [a, b, c, d] = &mut words;
    for i in 0..LANES {
        let counter = first.wrapping_add(i as u64);
        (a[i], b[i]) = (counter, counter >> 32);
        (c[i], d[i]) = (stream, stream >> 32);
    }
    rounds(&mut words, key);
    let [a, b, c, d] = words;
    let mut pairs = [[0; LANES]; 2];
    for i in 0..LANES {
        pairs[0][i] = (a[i] & LOW) | (b[i] << 32);
        pairs[1][i] = (c[i] & LOW) | (d[i] << 32);
    }
    pairs
}
