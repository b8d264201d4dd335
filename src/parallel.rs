//! Loops on all threads: the one place that decides which threads there are.
//!
//! A forked process has only the thread that forked; the others, which its memory still speaks of,
//! are gone. To hand them work is to wait for ever. So a process has threads of its own, started when
//! it first has work for them, and no result depends on how many there are. For the same reason
//! nothing here or elsewhere waits for what a thread of the process before may have held: a value that
//! is made once is a [`once_cell::race::OnceBox`], which several threads may make at the same time and
//! of which one stays, and what is kept for later is taken with `try_lock` or made anew.

#![allow(
    clippy::disallowed_methods,
    reason = "here the threads are those of the process"
)]

use once_cell::race::{OnceBool, OnceBox};
use rayon::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::error::Error;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The threads of a process.
enum Threads {
    /// The usual ones of `rayon`, or those of the pool that the caller stands in.
    Usual {
        /// Whether the system gives them, known when they are first wanted.
        given: OnceBool,
    },
    /// Those of a forked process.
    Own(ThreadPool),
    /// The system gives none: everything is done on the thread that asks.
    None,
}

/// A process, and one that was forked from it and had work for threads.
struct Process {
    id: u32,
    threads: Threads,
    // those of a process that is gone are never ended: that would wait for them
    forked: OnceBox<Process>,
}

impl Process {
    fn with(threads: Threads) -> Box<Process> {
        Box::new(Process {
            id: own_number(),
            threads,
            forked: OnceBox::new(),
        })
    }

    // starts nothing yet: a process forked meanwhile must find the number of this one
    fn first() -> Box<Process> {
        let given = OnceBool::new();
        Process::with(Threads::Usual { given })
    }

    fn forked() -> Box<Process> {
        let started = ThreadPoolBuilder::new().build();
        Process::with(started.map_or(Threads::None, Threads::Own))
    }
}

/// The number of this process. Where processes have none, none is forked.
fn own_number() -> u32 {
    if cfg!(target_family = "wasm") {
        0
    } else {
        std::process::id()
    }
}

/// Starts the usual threads; whether they run then.
fn usual_started() -> bool {
    match ThreadPoolBuilder::new().build_global() {
        Ok(()) => true,
        // without a source the error says that they run already
        Err(error) => error.source().is_none(),
    }
}

/// The threads of this process.
fn threads() -> &'static Threads {
    static FIRST: OnceBox<Process> = OnceBox::new();
    let own = own_number();
    let mut process = FIRST.get_or_init(Process::first);
    while process.id != own {
        process = process.forked.get_or_init(Process::forked);
    }
    match &process.threads {
        Threads::Usual { given } if !given.get_or_init(usual_started) => &Threads::None,
        threads => threads,
    }
}

/// Number of threads that work at the same time.
pub(crate) fn width() -> usize {
    match threads() {
        Threads::Usual { .. } => rayon::current_num_threads(),
        Threads::Own(pool) => pool.current_num_threads(),
        Threads::None => 1,
    }
}

/// Applies `work` to every number below `count`; the results are in order.
pub(crate) fn map<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
    if count < 2 {
        return (0..count).map(work).collect();
    }
    let on_all = || (0..count).into_par_iter().map(&work).collect();
    match threads() {
        Threads::Usual { .. } => on_all(),
        Threads::Own(pool) => pool.install(on_all),
        Threads::None => (0..count).map(work).collect(),
    }
}

/// Applies `work` to pieces of `size` values, of which the last may be shorter; the results are in
/// order.
pub(crate) fn chunks<V: Sync, T: Send>(
    values: &[V],
    size: usize,
    work: impl Fn(&[V]) -> T + Sync + Send,
) -> Vec<T> {
    let end = |start: usize| values.len().min(start + size);
    map(values.len().div_ceil(size), |piece| {
        work(&values[piece * size..end(piece * size)])
    })
}

/// Sorts in ascending order, NaN last.
pub(crate) fn sort(values: &mut [f64]) {
    match threads() {
        Threads::Usual { .. } => values.par_sort_unstable_by(f64::total_cmp),
        Threads::Own(pool) => pool.install(|| values.par_sort_unstable_by(f64::total_cmp)),
        Threads::None => values.sort_unstable_by(f64::total_cmp),
    }
}

/// What a lock holds. If a thread failed with it in its hand, the run has failed with it.
pub(crate) fn locked<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}
