//! A generator of random numbers written a second time, for tests of the first and for readings that
//! scatter.

/// Philox4x32-10 as its authors describe it, a round and a word at a time.
pub fn philox(counter: [u32; 4], key: [u32; 2]) -> [u32; 4] {
    let ([mut a, mut b, mut c, mut d], [mut first, mut second]) = (counter, key);
    for _ in 0..10 {
        let (left, right) = (u64::from(a) * 0xd251_1f53, u64::from(c) * 0xcd9e_8d57);
        (a, b, c, d) = (
            (right >> 32) as u32 ^ b ^ first,
            right as u32,
            (left >> 32) as u32 ^ d ^ second,
            left as u32,
        );
        first = first.wrapping_add(0x9e37_79b9);
        second = second.wrapping_add(0xbb67_ae85);
    }
    [a, b, c, d]
}
