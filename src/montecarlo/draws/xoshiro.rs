//! The generator behind every draw: xoshiro256+.

/// The next 64 random bits of a state that is not all zero, whose words are wherever they are: those of
/// generators side by side stand word by word. The lowest ones are weaker than the
/// others: each is a linear function of earlier ones. No draw uses the lowest twelve.
///
/// # Source
/// D. Blackman and S. Vigna, *Scrambled linear pseudorandom number generators*, ACM Trans. Math.
/// Softw. 47 (2021) 36.
#[inline(always)]
pub(super) fn next(a: &mut u64, b: &mut u64, c: &mut u64, d: &mut u64) -> u64 {
    let result = a.wrapping_add(*d);
    let shifted = *b << 17;
    *c ^= *a;
    *d ^= *b;
    *b ^= *c;
    *a ^= *d;
    *c ^= shifted;
    *d = d.rotate_left(45);
    result
}
