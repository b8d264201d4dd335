//! The generator of the draws.

use crate::support::philox::philox;
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::InstructionSet;
use flowdoubt::uncertainty::{Distribution, Sampler};
use proptest::prelude::*;
use rand::{Rng, RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256Plus;

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

/// The draw of a trial comes from the generator that the documentation says, xoshiro256+ as another
/// package has it, which holds itself to the sequence of its authors' program.
#[test]
fn a_draw_belongs_to_a_lane_of_a_page() {
    // FNV-1a of "a", RFC 9923 (from memory)
    let name = 0xaf63_dc4c_8601_ec8c_u64;
    let seed = 0x0123_4567_89ab_cdef_u64;
    let halves = |bits: u64| [bits as u32, (bits >> 32) as u32];
    for trial in [0, 15, 16, 2047, 2048, 0x7_0000_0005, 0x7_0000_0372_u64] {
        let (page, place) = (trial / 2048, trial % 2048);
        let (lane, steps) = (place % 16, place / 16);
        let words = |counter: u64| {
            let ([a, b], [c, d]) = (halves(counter), halves(name));
            let [a, b, c, d] = philox([a, b, c, d], halves(seed)).map(u64::from);
            [a | (b << 32), c | (d << 32)]
        };
        let ([a, b], [c, d]) = (words(32 * page + lane), words(32 * page + 16 + lane));
        let state = [a, b, c, d].map(u64::to_le_bytes).concat();
        let mut lane = Xoshiro256Plus::from_seed(state.try_into().expect("32 bytes"));
        let bits = (0..=steps).map(|_| lane.next_u64()).last().expect("a step");
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
        start in prop_oneof![0..4200_u64, Just(u64::from(u32::MAX) * 2 - 5), any::<u32>().prop_map(u64::from)],
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

fn normal(mean: f64, standard_deviation: f64) -> Sampler {
    let distribution = Distribution::Normal {
        mean,
        standard_deviation,
    };
    distribution.sampler()
}

proptest! {
    #[test]
    fn a_normal_draw_is_the_same_whichever_trials_are_drawn_with_it(
        seed: u64,
        start in prop_oneof![0..4200_u64, any::<u32>().prop_map(u64::from)],
        count in 0..700_usize,
    ) {
        let (stream, sampler) = (Stream::new(seed, "pipe.wall"), normal(2.0, 0.5));
        let first = start / 128 * 128;
        for set in InstructionSet::available() {
            let mut all = vec![0.0; 128 * 7];
            stream.draw(set, &sampler, first, &mut all);
            let mut part = vec![0.0; count];
            stream.draw(set, &sampler, start, &mut part);
            let offset = (start - first) as usize;
            prop_assert_eq!(&part, &all[offset..offset + count], "{:?}", set);
        }
    }
}

/// JCGM 101:2008, C.4 (G. E. P. Box and M. E. Muller, 1958), with the functions of package `libm`
/// and the signs that the documentation says.
#[test]
fn normal_draws_are_pairs_by_box_and_muller() {
    let (count, stream) = (128 * 500, Stream::new(5, "a"));
    let (mut uniforms, mut draws) = (vec![0.0; count], vec![0.0; count]);
    stream.fill(InstructionSet::Baseline, 0, &mut uniforms);
    stream.draw(InstructionSet::Baseline, &normal(0.0, 1.0), 0, &mut draws);
    let groups = uniforms.chunks_exact(128).zip(draws.chunks_exact(128));
    for (uniforms, draws) in groups {
        let ((u, v), (a, b)) = (uniforms.split_at(64), draws.split_at(64));
        for i in 0..64 {
            let radius = (-2.0 * libm::log(u[i])).sqrt();
            let angle = std::f64::consts::TAU * v[i];
            let differences = [
                a[i] + radius * libm::sin(angle),
                b[i] - radius * libm::cos(angle),
            ];
            for difference in differences {
                assert!(difference.abs() < 1e-8 * radius, "{difference} of {radius}");
            }
        }
    }
}

/// JCGM 101:2008, 6.4.5.4: the sum of two rectangular draws, which are the upper and the lower 26 of
/// the 52 bits.
#[test]
fn a_triangular_draw_is_the_sum_of_the_halves_of_its_bits() {
    let limits = Distribution::Triangular {
        lower: -1.0,
        upper: 3.0,
    };
    let (sampler, count) = (limits.sampler(), 100_000);
    let mut stream = Stream::new(5, "a");
    let mut draws = vec![0.0; count];
    stream.draw(InstructionSet::Baseline, &sampler, 0, &mut draws);
    for found in &draws {
        let bits = stream.next_u64() >> 12;
        let uniform = |bits: u64| (bits as f64 + 0.5) / (1_u64 << 26) as f64;
        let sum = uniform(bits >> 26) + uniform(bits % (1 << 26));
        assert_eq!(*found, -1.0 + 2.0 * sum);
    }
    // the outermost draws
    let first = 0.5_f64 / (1_u64 << 52) as f64;
    let mut ends = [first, 1.0 - first];
    sampler.draws(InstructionSet::Baseline, &mut ends);
    let part = 1.0 / (1_u64 << 26) as f64;
    assert_eq!(ends, [-1.0 + 2.0 * part, -1.0 + 2.0 * (2.0 - part)]);
    // distribution function by the fraction of draws below, five standard deviations
    for (x, p) in [(0.0, 0.125), (1.0, 0.5), (2.0, 0.875)] {
        let below = draws.iter().filter(|draw| **draw < x).count() as f64;
        let (n, standard_deviation) = (count as f64, (count as f64 * p * (1.0 - p)).sqrt());
        assert!((below - n * p).abs() < 5.0 * standard_deviation, "{below}");
    }
}

/// Means of powers up to the fourth, and of products within pairs, which vanish: each with a false
/// alarm below 1e-6 (fixed seeds: always or never).
#[test]
fn normal_draws_have_moments_and_pairs_are_independent() {
    let count = 1 << 20;
    let mut draws = vec![0.0; count];
    let (stream, set) = (Stream::new(1, "a"), InstructionSet::Baseline);
    stream.draw(set, &normal(0.0, 1.0), 0, &mut draws);
    let n = count as f64;
    let mean_of = |f: &dyn Fn(f64) -> f64| draws.iter().map(|z| f(*z)).sum::<f64>() / n;
    // five standard deviations; the variances of z, z^2, z^3, z^4 are 1, 2, 15, 96
    for (power, expected, variance) in [
        (1, 0.0, 1.0),
        (2, 1.0, 2.0),
        (3, 0.0, 15.0),
        (4, 3.0, 96.0_f64),
    ] {
        let found = mean_of(&|z| (0..power).map(|_| z).product());
        assert!(
            (found - expected).abs() < 5.0 * (variance / n).sqrt(),
            "{power}: {found}"
        );
    }
    let pairs: Vec<(f64, f64)> = draws
        .chunks_exact(128)
        .flat_map(|group| (0..64).map(|i| (group[i], group[i + 64])))
        .collect();
    let half = pairs.len() as f64;
    // products of a pair, of its squares and of one with the square of the other
    let product =
        |f: &dyn Fn(f64, f64) -> f64| pairs.iter().map(|(a, b)| f(*a, *b)).sum::<f64>() / half;
    let checks = [
        (product(&|a, b| a * b), 1.0),
        (product(&|a, b| (a * a - 1.0) * (b * b - 1.0)), 4.0),
        (product(&|a, b| a * (b * b - 1.0)), 2.0),
        (product(&|a, b| (a * a - 1.0) * b), 2.0_f64),
    ];
    for (found, variance) in checks {
        assert!(found.abs() < 5.0 * (variance / half).sqrt(), "{found}");
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
        column(1, "a", 2048),
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
