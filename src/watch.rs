//! Work in batches, between which the caller looks on and may end it.

use crate::error::{Error, Result};
use crate::parallel;
use std::ops::{ControlFlow, Range};
use std::time::{Duration, Instant};

/// Looks on while a run goes on: called on the thread that started the run, between batches of
/// some 50 ms, with the number of trials (rows, points, sites) done so far. [`ControlFlow::Break`]
/// ends the run with [`Error::Cancelled`]; no work goes on after that.
///
/// The results do not depend on it.
pub type Watch<'a> = dyn FnMut(u64) -> ControlFlow<()> + 'a;

/// A watch that lets everything pass.
pub(crate) fn unwatched(_done: u64) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// Lets somebody who looks on end the work between two of its parts.
///
/// # Errors
/// [`Error::Cancelled`].
pub(crate) fn look(watch: &mut Watch<'_>, done: u64, trials: u64) -> Result<()> {
    match watch(done) {
        ControlFlow::Continue(()) => Ok(()),
        ControlFlow::Break(()) => Err(Error::Cancelled { done, trials }),
    }
}

/// How long a batch should take: an interrupt is heard within twice this time.
const BATCH: Duration = Duration::from_millis(50);
/// Results that are held at the same time at most.
const MOST_IN_BATCH: u64 = 1024;

/// How many times as large as the last one a batch is at most.
const MOST_GROWTH: f64 = 64.0;

/// What a run is cut into.
pub(crate) struct Units {
    /// The numbers of the units of work.
    pub range: Range<u64>,
    /// Trials (or rows) in a unit.
    pub trials: u64,
    /// Trials of all units, of which the last may have fewer.
    pub total: u64,
    /// Whether units may be worked on by several threads.
    pub parallel: bool,
}

impl Units {
    /// Applies `work` to every unit and hands the results over in order.
    pub fn work<T: Send>(
        &self,
        watch: &mut Watch<'_>,
        work: impl Fn(u64) -> Result<T> + Sync,
        mut take: impl FnMut(T),
    ) -> Result<()> {
        // threads are started when they are first asked for: do not ask unless needed
        let threads = if self.parallel {
            parallel::width() as u64
        } else {
            1
        };
        let mut batch = threads;
        let mut next = self.range.start;
        while next < self.range.end {
            let end = self.range.end.min(next + batch);
            let begun = Instant::now();
            if self.parallel {
                let results = parallel::map((end - next) as usize, |i| work(next + i as u64));
                for result in results {
                    take(result?);
                }
                // the time decides how much is done at once, and on nothing that comes out of it;
                // between batches threads wait for each other, so they are few
                let factor = (BATCH / 2).as_secs_f64() / begun.elapsed().as_secs_f64();
                let next_batch = (batch as f64 * factor.min(MOST_GROWTH)) as u64;
                batch = next_batch.clamp(threads, MOST_IN_BATCH.max(threads));
            } else {
                take(work(next)?);
            }
            next = end;
            let done = ((next - self.range.start) * self.trials).min(self.total);
            look(watch, done, self.total)?;
        }
        Ok(())
    }
}

/// Applies `work` to every number below `count` on all threads, with somebody who looks on; the
/// results are in order.
///
/// # Errors
/// [`Error::Cancelled`].
pub(crate) fn map_watched<T: Send>(
    count: usize,
    watch: &mut Watch<'_>,
    work: impl Fn(usize) -> T + Sync,
) -> Result<Vec<T>> {
    let units = Units {
        range: 0..count as u64,
        trials: 1,
        total: count as u64,
        parallel: count > 1,
    };
    let mut all = Vec::with_capacity(count);
    let one = |unit: u64| Ok(work(unit as usize));
    units.work(watch, one, |result| all.push(result))?;
    Ok(all)
}
