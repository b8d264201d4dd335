//! Rows whose time difference is off by whole periods of the carrier.

use super::Reason;
use super::quantile::quantile;

/// Scatter over a period above which nothing can be told.
const MOST_SCATTER: f64 = 0.03;
/// So many standard deviations of a difference of two readings are taken for a jump of whole periods.
const NEAR: f64 = 5.0;
/// Where more than one row in so many is off, the flow itself may come and go by whole periods.
const ONE_IN: usize = 10;
/// Rows below which nothing is said.
const FEWEST: usize = 10;

/// What was found of whole periods in the readings of a log.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Skipped {
    /// Places among the rows with their reasons, in order.
    pub(super) faults: Vec<(usize, Reason)>,
    /// Rows that are off and were kept, since there are too many of them.
    pub(super) kept: usize,
}

/// The places of `values` that lie whole periods from most others.
///
/// A meter that compares different waves of both signals changes by whole periods from one row to the
/// next, and is steady before and after. Such jumps are added up; the level with the most rows is taken
/// for the right one, so that the flow may take its course meanwhile.
pub(super) fn find(values: &[f64], period: f64) -> Skipped {
    let mut found = Skipped::default();
    if values.len() < FEWEST {
        return found;
    }
    let steps: Vec<f64> = values.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let mut sizes: Vec<f64> = steps.iter().map(|step| step.abs()).collect();
    let scatter = quantile(&mut sizes, 0.6827) / std::f64::consts::SQRT_2;
    if scatter > MOST_SCATTER * period {
        return found;
    }
    let near = (NEAR * std::f64::consts::SQRT_2 * scatter).max(0.01 * period);
    // whole periods of each step; none where it is neither small nor whole periods
    let whole: Vec<Option<f64>> = steps
        .iter()
        .map(|step| {
            let periods = (step / period).round();
            ((step - periods * period).abs() <= near).then_some(periods)
        })
        .collect();
    let steady = |place: Option<usize>| {
        let step = place.and_then(|place| whole.get(place));
        step.is_none_or(Option::is_some)
    };
    let mut level = 0.0;
    let mut levels = vec![level];
    for (place, periods) in whole.iter().enumerate() {
        if let Some(periods) = periods
            && steady(place.checked_sub(1))
            && steady(Some(place + 1))
        {
            level += periods;
        }
        levels.push(level);
    }
    let mut sorted = levels.clone();
    sorted.sort_by(f64::total_cmp);
    let runs = sorted.chunk_by(|a, b| a == b);
    let most = runs.max_by_key(|run| run.len()).and_then(|run| run.first());
    let Some(&usual) = most else { return found };
    let off = |(place, level): (usize, &f64)| {
        let periods = level - usual;
        (periods != 0.0).then_some((place, Reason::SkippedPeriod(periods as i32)))
    };
    let faults: Vec<(usize, Reason)> = levels.iter().enumerate().filter_map(off).collect();
    if faults.len() * ONE_IN > values.len() {
        found.kept = faults.len();
    } else {
        found.faults = faults;
    }
    found
}
