//! The generator behind every draw: Philox4x32-10.

/// Counters whose rounds run side by side in vector registers.
const GROUP: usize = 16;
/// Draws of a group: each counter gives two.
pub(super) const GROUP_DRAWS: usize = 2 * GROUP;

const MULTIPLIERS: [u64; 2] = [0xd251_1f53, 0xcd9e_8d57];
const KEY_STEPS: [u32; 2] = [0x9e37_79b9, 0xbb67_ae85];
const ROUNDS: u32 = 10;
const LOW: u64 = 0xffff_ffff;

/// The four words of each of `N` counters, word by word, each in the lower half of its 64 bits.
type Words<const N: usize> = [[u64; N]; 4];

/// Replaces the counters by the random words for `key`.
#[inline(always)]
fn rounds<const N: usize>(words: &mut Words<N>, mut key: [u32; 2]) {
    let [a, b, c, d] = words;
    for _ in 0..ROUNDS {
        for i in 0..N {
            let (left, right) = (a[i] * MULTIPLIERS[0], c[i] * MULTIPLIERS[1]);
            a[i] = (right >> 32) ^ b[i] ^ u64::from(key[0]);
            c[i] = (left >> 32) ^ d[i] ^ u64::from(key[1]);
            b[i] = right & LOW;
            d[i] = left & LOW;
        }
        for (word, step) in key.iter_mut().zip(KEY_STEPS) {
            *word = word.wrapping_add(step);
        }
    }
}

/// Four random words of 32 bits for a counter and a key.
///
/// # Source
/// J. K. Salmon, M. A. Moraes, R. O. Dror and D. E. Shaw, *Parallel random numbers: as easy as
/// 1, 2, 3*, SC11 (2011).
///
/// # Example
/// ```
/// // the known answer that its authors publish for the digits of pi
/// let counter = [0x243f_6a88, 0x85a3_08d3, 0x1319_8a2e, 0x0370_7344];
/// let words = flowdoubt::montecarlo::philox(counter, [0xa409_3822, 0x299f_31d0]);
/// assert_eq!(words, [0xd16c_fe09, 0x94fd_cceb, 0x5001_e420, 0x2412_6ea1]);
/// ```
pub fn philox(counter: [u32; 4], key: [u32; 2]) -> [u32; 4] {
    let mut words = counter.map(|word| [u64::from(word)]);
    rounds::<1>(&mut words, key);
    words.map(|[word]| word as u32)
}

/// 64 bits as a number, uniform over the 2^52 midpoints of equal parts of (0, 1); never 0 or 1.
#[inline(always)]
pub(super) fn uniform(bits: u64) -> f64 {
    // the upper 52 bits as the fraction of a number from 1 to 2, exactly
    let above_one = f64::from_bits((bits >> 12) | 1.0_f64.to_bits());
    above_one - (1.0 - f64::EPSILON / 2.0)
}

/// Both draws of each counter from `first` on, in order.
#[inline(always)]
pub(super) fn uniforms(key: u64, stream: u64, first: u64) -> [f64; GROUP_DRAWS] {
    let counters: [u64; GROUP] = std::array::from_fn(|i| first.wrapping_add(i as u64));
    let mut words: Words<GROUP> = [
        counters.map(|counter| counter & LOW),
        counters.map(|counter| counter >> 32),
        [stream & LOW; GROUP],
        [stream >> 32; GROUP],
    ];
    rounds(&mut words, [key as u32, (key >> 32) as u32]);
    let mut draws = [0.0; GROUP_DRAWS];
    for i in 0..GROUP {
        draws[2 * i] = uniform(words[0][i] | (words[1][i] << 32));
        draws[2 * i + 1] = uniform(words[2][i] | (words[3][i] << 32));
    }
    draws
}
