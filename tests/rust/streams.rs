//! The generator of the draws.

use flowdoubt::montecarlo::{Stream, philox};
use flowdoubt::scalar::InstructionSet;
use proptest::prelude::*;
use rand::{Rng, RngExt};

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

/// The draw of a trial is made of the words that the documentation says.
#[test]
fn a_draw_is_half_of_a_counter() {
    // FNV-1a of "a", RFC 9923 (from memory)
    let name = 0xaf63_dc4c_8601_ec8c_u64;
    let (seed, trial) = (0x0123_4567_89ab_cdef_u64, 0x7_0000_0005_u64);
    let halves = |bits: u64| [bits as u32, (bits >> 32) as u32];
    let ([a, b], [c, d]) = (halves(trial / 2), halves(name));
    let words = philox([a, b, c, d], halves(seed)).map(u64::from);
    let bits = words[2] | (words[3] << 32);
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

proptest! {
    #[test]
    fn any_part_of_a_stream_is_what_single_draws_are(
        seed: u64,
        start in prop_oneof![0..200_u64, Just(u64::from(u32::MAX) * 2 - 5), any::<u32>().prop_map(u64::from)],
        count in 0..200_usize,
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
    for other in [column(1, "a", 1), column(1, "b", 0), column(2, "a", 0)] {
        let pairs = reference.iter().zip(&other);
        let product: f64 = pairs.map(|(a, b)| (a - 0.5) * (b - 0.5) * 12.0).sum();
        let correlation = product / count as f64;
        assert!(
            correlation.abs() < 5.0 / (count as f64).sqrt(),
            "{correlation}"
        );
    }
}
