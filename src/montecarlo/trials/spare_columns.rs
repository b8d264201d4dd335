//! Memory for the values of a run, kept for the next one: a system hands out fresh memory page by
//! page, which takes a tenth of the time of a run with a million trials.

use std::sync::{Mutex, MutexGuard};

/// Numbers that are kept at most: those of two million trials of one output.
const MOST: usize = 1 << 21;
/// Numbers below which a column is not worth keeping.
const LEAST: usize = 1 << 14;

/// What is kept, the latest last.
static SPARE: Mutex<Vec<Vec<f64>>> = Mutex::new(Vec::new());

/// What is kept, unless another thread has it in its hand. Nobody waits for it: a thread that a
/// forked process has not may hold it for ever.
fn spare() -> Option<MutexGuard<'static, Vec<Vec<f64>>>> {
    SPARE.try_lock().ok()
}

/// A kept column with room for so many numbers.
fn kept(count: usize) -> Option<Vec<f64>> {
    let mut spare = spare()?;
    // not one much too large, which its owner may keep for long
    let sizes = count.max(1)..=count.saturating_mul(2);
    let fits = spare
        .iter()
        .position(|kept| sizes.contains(&kept.capacity()))?;
    Some(spare.remove(fits))
}

/// A column of so many numbers, whatever they are.
pub(in crate::montecarlo) fn column(count: usize) -> Vec<f64> {
    match kept(count) {
        Some(mut kept) => {
            kept.resize(count, 0.0);
            kept
        }
        None => vec![0.0; count],
    }
}

/// Keeps a column that nobody needs any more, in place of the oldest ones if need be.
pub(in crate::montecarlo) fn give_back(column: Vec<f64>) {
    if !(LEAST..=MOST).contains(&column.capacity()) {
        return;
    }
    let Some(mut spare) = spare() else {
        return;
    };
    let room = MOST - column.capacity();
    while spare.iter().map(Vec::capacity).sum::<usize>() > room {
        spare.remove(0);
    }
    spare.push(column);
}

#[cfg(test)]
mod tests {
    use super::{LEAST, MOST, SPARE, column, give_back};

    #[test]
    fn what_is_given_back_is_found_again_and_no_more_is_kept_than_said() {
        for count in [5, LEAST, 3 * LEAST, MOST / 2, MOST, MOST + 1, 0] {
            let found = column(count);
            assert_eq!(found.len(), count);
            let memory = found.as_ptr();
            give_back(found);
            let kept: usize = SPARE.lock().expect("lock").iter().map(Vec::capacity).sum();
            assert!(kept <= MOST, "{kept}");
            if (LEAST..=MOST).contains(&count) {
                let smaller = column(count - 1);
                assert_eq!((smaller.len(), smaller.as_ptr()), (count - 1, memory));
                give_back(smaller);
            }
        }
    }
}
