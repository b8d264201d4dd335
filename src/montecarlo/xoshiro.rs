//! The generator behind every draw: xoshiro256++.

/// A step of as many generators as there are lanes, side by side; `state` has word by word one for
/// each lane.
#[inline(always)]
pub(super) fn step<const LANES: usize>(state: &mut [[u64; LANES]; 4]) -> [u64; LANES] {
    let mut result = [0; LANES];
    let [a, b, c, d] = state;
    for i in 0..LANES {
        result[i] = a[i].wrapping_add(d[i]).rotate_left(23).wrapping_add(a[i]);
    }
    for i in 0..LANES {
        let shifted = b[i] << 17;
        c[i] ^= a[i];
        d[i] ^= b[i];
        b[i] ^= c[i];
        a[i] ^= d[i];
        c[i] ^= shifted;
        d[i] = d[i].rotate_left(45);
    }
    result
}

/// The next 64 random bits of a state that is not all zero.
///
/// # Source
/// D. Blackman and S. Vigna, *Scrambled linear pseudorandom number generators*, ACM Trans. Math.
/// Softw. 47 (2021) 36.
///
/// # Example
/// ```
/// let mut state = [1, 2, 3, 4];
/// // (1 + 4) 2^23 + 1
/// assert_eq!(flowdoubt::montecarlo::xoshiro(&mut state), 41_943_041);
/// ```
pub fn xoshiro(state: &mut [u64; 4]) -> u64 {
    let mut lanes = state.map(|word| [word]);
    let [result] = step(&mut lanes);
    *state = lanes.map(|[word]| word);
    result
}
