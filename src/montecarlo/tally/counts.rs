//! How many values each bin of one output holds.

use super::grid::Locator;
use crate::parallel::locked;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering::Relaxed};

/// Counts by place. Whole numbers may be added in any order and by any number of threads at once,
/// so one set of counts serves them all.
#[derive(Debug, Default)]
pub(super) struct Counts {
    inner: Vec<AtomicU64>,
    /// Few values lie beyond the range of the pilot.
    outer: Mutex<BTreeMap<i64, u64>>,
}

impl Counts {
    pub fn new(inner: usize) -> Counts {
        Counts {
            inner: (0..inner).map(|_| AtomicU64::new(0)).collect(),
            outer: Mutex::default(),
        }
    }

    /// Counts finite values.
    pub fn add(&self, locator: &Locator<'_>, values: &[f64]) {
        let mut run = (i64::MIN, 0);
        // all places first: then the counts, far apart in memory, are fetched side by side
        let places: Vec<i64> = values.iter().map(|value| locator.place(*value)).collect();
        for place in places {
            // outputs of few values would make threads wait for each other
            if place == run.0 {
                run.1 += 1;
            } else {
                self.add_at(run.0, run.1);
                run = (place, 1);
            }
        }
        self.add_at(run.0, run.1);
    }

    fn add_at(&self, place: i64, count: u64) {
        if count == 0 {
            return;
        }
        match usize::try_from(place).ok().and_then(|p| self.inner.get(p)) {
            Some(inner) => {
                inner.fetch_add(count, Relaxed);
            }
            None => {
                let mut outer = locked(&self.outer);
                *outer.entry(place).or_insert(0) += count;
            }
        }
    }

    /// Adds the counts of another part of the run.
    pub fn merge(&self, other: &Sparse) {
        let mut place = i64::MIN;
        for (step, count) in &other.0 {
            place = place.wrapping_add_unsigned(*step);
            self.add_at(place, *count);
        }
    }

    /// The bins that hold values, as place and count, in ascending order.
    pub fn filled(&self) -> impl Iterator<Item = (i64, u64)> + use<'_> {
        let outer = locked(&self.outer);
        let below: Vec<(i64, u64)> = outer.range(..0).map(|(p, c)| (*p, *c)).collect();
        let above: Vec<(i64, u64)> = outer.range(0..).map(|(p, c)| (*p, *c)).collect();
        let inner = self.inner.iter().enumerate();
        let inner = inner.map(|(place, count)| (place as i64, count.load(Relaxed)));
        let inner = inner.filter(|(_, count)| *count > 0);
        below.into_iter().chain(inner).chain(above)
    }

    pub fn sparse(&self) -> Sparse {
        let mut last = i64::MIN;
        let steps = self.filled().map(|(place, count)| {
            let step = place.abs_diff(last);
            last = place;
            (step, count)
        });
        Sparse(steps.collect())
    }

    /// Number of values.
    pub fn total(&self) -> u64 {
        self.filled().map(|(_, count)| count).sum()
    }

    /// Number of bins, filled or not, that take memory.
    pub fn bins(&self) -> usize {
        let outer = locked(&self.outer);
        self.inner.len() + outer.len()
    }
}

/// The filled bins alone: the step from the place before, and the count.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Sparse(Vec<(u64, u64)>);
