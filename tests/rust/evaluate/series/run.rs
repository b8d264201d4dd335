//! Running a series: threads, watching, ending.

use super::{day, evaluated, minutes, site};
use flowdoubt::evaluate::SeriesOptions;
use std::ops::ControlFlow;

#[test]
fn bits_do_not_depend_on_threads() {
    let mut rows = day(5000);
    rows[2500] = [798.0, 20.0, 8.1];
    let of = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let pool = pool.expect("threads");
        pool.install(|| evaluated(&rows, SeriesOptions::default()))
    };
    let reference = of(1);
    let bits = |values: &[f64]| values.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
    for threads in [2, 7] {
        let other = of(threads);
        assert_eq!(other.total, reference.total, "{threads}");
        assert_eq!(bits(&other.flow), bits(&reference.flow));
        let pair = [&other, &reference].map(|series| bits(&series.standard_uncertainty));
        assert_eq!(pair[0], pair[1]);
    }
}

#[test]
fn a_series_can_be_watched_and_ended() {
    let mut seen = Vec::new();
    let mut watch = |done: u64| {
        seen.push(done);
        ControlFlow::Continue(())
    };
    let log = minutes(&day(3000));
    let options = SeriesOptions::default();
    let site = site();
    let watched = site.evaluate_series_watched(&log, options.clone(), &mut watch);
    assert!(watched.is_ok());
    assert_eq!(seen.last(), Some(&3000));
    let mut stop = |_| ControlFlow::Break(());
    let ended = site.evaluate_series_watched(&log, options, &mut stop);
    assert_eq!(ended.expect_err("ended").code(), "cancelled");
}
