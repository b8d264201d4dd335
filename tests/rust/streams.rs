//! The generator of the draws.

use flowdoubt::montecarlo::{Stream, philox, xoshiro};
use flowdoubt::scalar::InstructionSet;
use proptest::prelude::*;
use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Known answers of Philox4x32-10 as its authors publish them with their library (file
/// `kat_vectors` of Random123; J. K. Salmon and others, SC11, 2011).
#[test]
fn philox_meets_its_known_answers() {
    let all = u32::MAX;
    let known = [
        (
            [0; 4],
            [0; 2],
            [0x6627_e8d5, 0xe169_c58d, 0xbc57_ac4c, 0x9b00_dbd8],
        ),
        (
            [all; 4],
            [all; 2],
            [0x408f_276d, 0x41c8_3b0e, 0xa20b_c7c6, 0x6d54_51fd],
        ),
        (
            [0x243f_6a88, 0x85a3_08d3, 0x1319_8a2e, 0x0370_7344],
            [0xa409_3822, 0x299f_31d0],
            [0xd16c_fe09, 0x94fd_cceb, 0x5001_e420, 0x2412_6ea1],
        ),
    ];
    for (counter, key, words) in known {
        assert_eq!(philox(counter, key), words);
    }
}

/// xoshiro256++ in another package, which holds itself to the sequence of its authors' program.
#[test]
fn xoshiro_is_that_of_package_rand_xoshiro() {
    let mut peer = Xoshiro256PlusPlus::seed_from_u64(7);
    // states to start from are numbers of the peer, as every state is reached in the end
    let mut state: [u64; 4] = std::array::from_fn(|_| peer.next_u64());
    let bytes: Vec<u8> = state.iter().flat_map(|word| word.to_le_bytes()).collect();
    let mut peer = Xoshiro256PlusPlus::from_seed(bytes.try_into().expect("32 bytes"));
    for _ in 0..1000 {
        assert_eq!(xoshiro(&mut state), peer.next_u64());
    }
}

/// The draw of a trial comes from the generator that the documentation says.
#[test]
fn a_draw_belongs_to_a_lane_of_a_page() {
    // FNV-1a of "a", RFC 9923 (from memory)
    let name = 0xaf63_dc4c_8601_ec8c_u64;
    let seed = 0x0123_4567_89ab_cdef_u64;
    let halves = |bits: u64| [bits as u32, (bits >> 32) as u32];
    for trial in [0, 15, 16, 1023, 1024, 0x7_0000_0005, 0x7_0000_0372_u64] {
        let (page, place) = (trial / 1024, trial % 1024);
        let (lane, steps) = (place % 16, place / 16);
        let words = |counter: u64| {
            let ([a, b], [c, d]) = (halves(counter), halves(name));
            let [a, b, c, d] = philox([a, b, c, d], halves(seed)).map(u64::from);
            [a | (b << 32), c | (d << 32)]
        };
        let ([a, b], [c, d]) = (words(32 * page + lane), words(32 * page + 16 + lane));
        let mut state = [a, b, c, d];
        let mut bits = xoshiro(&mut state);
        for _ in 0..steps {
            bits = xoshiro(&mut state);
        }
        let mut stream = Stream::new(seed, "a");
        stream.seek(trial);
        let expected = ((bits >> 12) as f64 + 0.5) / (1_u64 << 52) as f64;
        assert_eq!(stream.next_uniform(), expected);
        // and the generator gives the same bits to whoever else draws from it
        stream.seek(trial);
        assert_eq!(stream.next_u64(), bits);
        let die: u32 = stream.random_range(1..=6);
        assert!((1..=6).contains(&die));
    }
}

proptest! {
    #[test]
    fn any_part_of_a_stream_is_what_single_draws_are(
        seed: u64,
        start in prop_oneof![0..2100_u64, Just(u64::from(u32::MAX) * 2 - 5), any::<u32>().prop_map(u64::from)],
        count in 0..2100_usize,
    ) {
        let mut stream = Stream::new(seed, "pipe.wall");
        stream.seek(start);
        let expected: Vec<f64> = (0..count).map(|_| stream.next_uniform()).collect();
        for set in InstructionSet::available() {
            let mut column = vec![0.0; count];
            stream.fill(set, start, &mut column);
            prop_assert_eq!(&column, &expected, "{:?}", set);
        }
        prop_assert!(expected.iter().all(|u| *u > 0.0 && *u < 1.0));
    }
}

/// Uniform and independent between neighbours, between inputs and between seeds: chi-square of 64
/// cells and correlations, each with a false alarm below 1e-6 (fixed seeds: always or never).
#[test]
fn draws_are_uniform_and_independent() {
    let count = 200_000;
    let column = |seed, name: &str, start| {
        let mut column = vec![0.0; count];
        Stream::new(seed, name).fill(InstructionSet::Baseline, start, &mut column);
        column
    };
    let reference = column(1, "a", 0);
    let mut cells = [0.0; 64];
    for u in &reference {
        cells[(u * 64.0) as usize] += 1.0;
    }
    let expected = count as f64 / 64.0;
    let chi_square: f64 = cells
        .iter()
        .map(|c| (c - expected) * (c - expected) / expected)
        .sum();
    // quantiles of 5e-7 and 1 - 5e-7 with 63 degrees of freedom, by scipy.stats.chi2.ppf
    assert!((22.3..133.9).contains(&chi_square), "{chi_square}");
    // neighbours, the next step of a generator, the next page, another input, another seed
    for other in [
        column(1, "a", 1),
        column(1, "a", 16),
        column(1, "a", 1024),
        column(1, "b", 0),
        column(2, "a", 0),
    ] {
        let pairs = reference.iter().zip(&other);
        let product: f64 = pairs.map(|(a, b)| (a - 0.5) * (b - 0.5) * 12.0).sum();
        let correlation = product / count as f64;
        assert!(
            correlation.abs() < 5.0 / (count as f64).sqrt(),
            "{correlation}"
        );
    }
}
