//! The generator behind every draw: Philox4x32-10.

/// Counters that are worked on together.
const GROUP: usize = 64;
/// Draws of a group: each counter gives two.
pub(super) const GROUP_DRAWS: usize = 2 * GROUP;

const MULTIPLIERS: [u64; 2] = [0xd251_1f53, 0xcd9e_8d57];
const KEY_STEPS: [u32; 2] = [0x9e37_79b9, 0xbb67_ae85];
const ROUNDS: usize = 10;
const LOW: u64 = 0xffff_ffff;

/// The four words of a counter, each in the lower half of its 64 bits; what is in the upper half
/// counts for nothing.
type Words = [u64; 4];

/// The key of each round.
pub(super) type RoundKeys = [[u64; 2]; ROUNDS];

/// The key of each round for a key of 64 bits.
pub(super) fn round_keys(key: u64) -> RoundKeys {
    let mut words = [key as u32, (key >> 32) as u32];
    std::array::from_fn(|_| {
        let now = words.map(u64::from);
        for (word, step) in words.iter_mut().zip(KEY_STEPS) {
            *word = word.wrapping_add(step);
        }
        now
    })
}

/// Replaces counters by their random words. Side by side the rounds of one need not wait for those
/// of another.
#[inline(always)]
fn rounds<const N: usize>(mut counters: [Words; N], keys: &RoundKeys) -> [Words; N] {
    for key in keys {
        for [a, b, c, d] in &mut counters {
            let (left, right) = ((*a & LOW) * MULTIPLIERS[0], (*c & LOW) * MULTIPLIERS[1]);
            *a = (right >> 32) ^ (*b ^ key[0]);
            *c = (left >> 32) ^ (*d ^ key[1]);
            *b = right;
            *d = left;
        }
    }
    counters
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
    let keys = round_keys(u64::from(key[0]) | (u64::from(key[1]) << 32));
    let [words] = rounds([counter.map(u64::from)], &keys);
    words.map(|word| word as u32)
}

/// 64 bits as a number, uniform over the 2^52 midpoints of equal parts of (0, 1); never 0 or 1.
#[inline(always)]
pub(super) fn uniform(bits: u64) -> f64 {
    // the upper 52 bits as the fraction of a number from 1 to 2, exactly
    let above_one = f64::from_bits((bits >> 12) | 1.0_f64.to_bits());
    above_one - (1.0 - f64::EPSILON / 2.0)
}

/// Both draws of each of [`GROUP`] counters from `first` on, in order; `draws` has room for them.
#[inline(always)]
pub(super) fn uniforms(keys: &RoundKeys, stream: u64, first: u64, draws: &mut [f64]) {
    const HALF: usize = GROUP / 2;
    let words = |counter: u64| [counter, counter >> 32, stream, stream >> 32];
    let join = |low: u64, high: u64| (low & LOW) | (high << 32);
    let (mut even, mut odd) = ([0; GROUP], [0; GROUP]);
    for i in 0..HALF {
        let counters = [i, i + HALF].map(|i| words(first.wrapping_add(i as u64)));
        let [[a, b, c, d], [e, f, g, h]] = rounds(counters, keys);
        even[i] = join(a, b);
        odd[i] = join(c, d);
        even[i + HALF] = join(e, f);
        odd[i + HALF] = join(g, h);
    }
    for i in 0..GROUP {
        draws[2 * i] = uniform(even[i]);
        draws[2 * i + 1] = uniform(odd[i]);
    }
}
