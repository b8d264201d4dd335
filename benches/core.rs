//! Speed of the core; `benches/README.md` says which question each bench answers.

use criterion::{Criterion, criterion_group, criterion_main};
use flowdoubt::evaluate::{Evaluation, Log, Readings, SeriesOptions, Times};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::scalar::{Dual, Scalar};
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{MeasurementModel, propagate};
use std::hint::black_box;

fn demo() -> (Site, Readings, Evaluation) {
    let file = |name: &str| format!("{}/notebooks/demo/{name}", env!("CARGO_MANIFEST_DIR"));
    let site = Site::load(file("site.toml")).expect("the demonstration site");
    let readings = Readings::from_csv(file("readings.csv")).expect("its readings");
    let evaluation = site.evaluate(&readings).expect("its evaluation");
    (site, readings, evaluation)
}

fn model(c: &mut Criterion) {
    let (_, _, evaluation) = demo();
    let x = evaluation.inputs.estimates();
    let seeded: Vec<Dual<f64, 8>> = x.iter().map(|v| Dual::constant(*v)).collect();
    let mut group = c.benchmark_group("model");
    group.bench_function("f64", |b| {
        b.iter(|| evaluation.model.evaluate(black_box(&x)))
    });
    group.bench_function("dual of 8", |b| {
        b.iter(|| evaluation.model.evaluate(black_box(&seeded)));
    });
    group.finish();
}

fn budget(c: &mut Criterion) {
    let (site, readings, evaluation) = demo();
    let mut group = c.benchmark_group("budget");
    group.bench_function("propagate", |b| {
        b.iter(|| propagate(&evaluation.model, black_box(&evaluation.inputs)));
    });
    group.bench_function("evaluate", |b| {
        b.iter(|| site.evaluate(black_box(&readings)))
    });
    group.finish();
}

fn monte_carlo(c: &mut Criterion) {
    let (_, _, evaluation) = demo();
    let run = MonteCarlo {
        trials: 20_480,
        ..MonteCarlo::default()
    };
    let mut group = c.benchmark_group("monte carlo");
    group.sample_size(10);
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let pool = pool.expect("threads");
        group.bench_function(format!("20480 trials, {threads} threads"), |b| {
            b.iter(|| pool.install(|| evaluation.monte_carlo(black_box(run))));
        });
        // enough for the pilot to be a small part of it
        let long = MonteCarlo {
            trials: 1_000_000,
            ..run
        };
        let (model, inputs) = (&evaluation.model, &evaluation.inputs);
        group.bench_function(format!("tally of 1000000 trials, {threads} threads"), |b| {
            b.iter(|| pool.install(|| long.tally(model, black_box(inputs))));
        });
    }
    group.finish();
}

/// A log of so many rows about the readings of the demonstration.
fn log(rows: usize) -> Log {
    let wave = |base: f64, size: f64, period: usize| -> Vec<f64> {
        let at = |row: usize| (row * 7919 % period) as f64 / period as f64 - 0.5;
        (0..rows).map(|row| base + size * at(row)).collect()
    };
    let columns = [
        ("time_difference_ns", wave(780.0, 400.0, 100_003)),
        ("transit_time_us", wave(610.7, 0.2, 30_011)),
        ("temperature_degC", wave(8.1, 2.0, 70_001)),
    ];
    let columns = columns.iter().map(|(name, values)| (*name, &values[..]));
    Log::from_columns(columns, Times::Interval(60.0)).expect("a log")
}

fn series(c: &mut Criterion) {
    let (site, _, _) = demo();
    let log = log(100_000);
    let mut group = c.benchmark_group("series");
    group.sample_size(10);
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let pool = pool.expect("threads");
        group.bench_function(format!("100000 rows, {threads} threads"), |b| {
            b.iter(|| {
                pool.install(|| site.evaluate_series(black_box(&log), SeriesOptions::default()))
            });
        });
    }
    group.finish();
}

criterion_group!(benches, model, budget, monte_carlo, series);
criterion_main!(benches);
