//! Speed of the draws; `benches/README.md` says which question each bench answers.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::InstructionSet;
use flowdoubt::uncertainty::Distribution;
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256Plus;
use std::hint::black_box;

/// Draws of a block of trials.
const SIZE: usize = 2048;

fn bits(c: &mut Criterion) {
    let mut group = c.benchmark_group("bits");
    group.throughput(Throughput::Elements(SIZE as u64));
    let mut column = vec![0.0; SIZE];
    for set in InstructionSet::available() {
        let stream = Stream::new(1, "pipe.wall");
        group.bench_function(format!("stream, {set:?}"), |b| {
            b.iter(|| stream.fill(set, 0, black_box(&mut column)));
        });
    }
    let mut words = vec![0; SIZE];
    let mut one = Xoshiro256Plus::seed_from_u64(1);
    group.bench_function("one xoshiro256+ of package rand_xoshiro", |b| {
        b.iter(|| {
            black_box(&mut words)
                .iter_mut()
                .for_each(|word| *word = one.next_u64());
        });
    });
    group.finish();
}

fn draws(c: &mut Criterion) {
    let distributions = [
        (
            "normal",
            Distribution::Normal {
                mean: 1.0,
                standard_deviation: 0.1,
            },
        ),
        (
            "Student's t",
            Distribution::StudentT {
                location: 1.0,
                scale: 0.1,
                dof: 30.0,
            },
        ),
        (
            "rectangular",
            Distribution::Rectangular {
                lower: 0.9,
                upper: 1.1,
            },
        ),
    ];
    let mut group = c.benchmark_group("draws");
    group.throughput(Throughput::Elements(SIZE as u64));
    let mut column = vec![0.0; SIZE];
    for set in InstructionSet::available() {
        for (name, distribution) in &distributions {
            let (sampler, stream) = (distribution.sampler(), Stream::new(1, name));
            group.bench_function(format!("{name} with its bits, {set:?}"), |b| {
                b.iter(|| {
                    stream.draw(set, &sampler, 0, black_box(&mut column));
                });
            });
        }
    }
    group.finish();
}

criterion_group!(benches, bits, draws);
criterion_main!(benches);
