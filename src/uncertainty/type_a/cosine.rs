//! The power spectrum of a series near frequency zero, from its first cosine terms.

use crate::error::Result;
use crate::scalar::Scalar;
use crate::watch::{Watch, look};
use std::cell::RefCell;
use std::f64::consts::PI;
use std::ops::Range;
use std::rc::Rc;

/// A series of which a term takes so long that somebody may end it in between.
const LONG: usize = 1 << 16;

/// Terms that are taken at first.
const FIRST: usize = 4;

/// Terms that are taken at most.
const MOST: usize = 256;

/// The upper tenth of the normal distribution begins at this deviate.
const UPPER_TENTH: f64 = 1.281_551_565_544_600_5;

/// The spectral density at zero: the variance of the mean times the number of readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Level {
    pub(super) density: f64,
    /// Cosine terms of which it is the mean.
    pub(super) terms: usize,
}

/// The level of a series; the rule is told with [`super::Autocorrelated::of`].
///
/// # Errors
/// [`Error::Cancelled`](crate::Error::Cancelled).
pub(super) fn level_at_zero(readings: &[f64], mean: f64, watch: &mut Watch<'_>) -> Result<Level> {
    let spectrum = Spectrum::of(readings, mean);
    let most = MOST.min(readings.len() - 1);
    let mut terms = FIRST.min(most);
    let mut low = spectrum.mean(1..terms + 1, watch)?;
    while terms < most {
        let next = (2 * terms).min(most);
        let further = (next - terms) as f64;
        let high = spectrum.mean(terms + 1..next + 1, watch)?;
        let spread = (2.0 / terms as f64 + 2.0 / further).sqrt();
        if high < low * Scalar::exp(-UPPER_TENTH * spread) {
            low += low - high;
            break;
        }
        low = (low * terms as f64 + high * further) / next as f64;
        terms = next;
    }
    Ok(Level {
        density: low,
        terms,
    })
}

/// The cosine transform of the second type, term by term as they are asked for.
struct Spectrum {
    deviations: Vec<f64>,
    /// `cos(pi m / 2n)` over a whole period.
    cosines: Rc<[f64]>,
}

impl Spectrum {
    fn of(readings: &[f64], mean: f64) -> Spectrum {
        Spectrum {
            deviations: readings.iter().map(|r| r - mean).collect(),
            cosines: cosines(readings.len()),
        }
    }

    fn square(&self, term: usize) -> f64 {
        let n = self.deviations.len();
        let period = self.cosines.len();
        let mut place = term;
        let mut sum = 0.0;
        for deviation in &self.deviations {
            sum += deviation * self.cosines[place];
            place += 2 * term;
            if place >= period {
                place -= period;
            }
        }
        2.0 * sum * sum / n as f64
    }

    fn mean(&self, terms: Range<usize>, watch: &mut Watch<'_>) -> Result<f64> {
        let (count, long) = (terms.len() as f64, self.deviations.len() > LONG);
        let squares = terms.map(|term| {
            if long {
                look(watch, 0, self.deviations.len() as u64)?;
            }
            Ok(self.square(term))
        });
        Ok(squares.sum::<Result<f64>>()? / count)
    }
}

/// Longest series whose table is kept, so that a thread holds 512 KiB at most.
const KEPT: usize = 1 << 14;

thread_local! {
    /// The table of the last series: those of one measurement are as long as each other, and the
    /// table takes longer than all else. Not shared, so that a forked process waits for nobody.
    static LAST: RefCell<Rc<[f64]>> = RefCell::new(Rc::new([]));
}

/// `cos(pi m / 2n)` over a whole period, `m` from 0.
fn cosines(n: usize) -> Rc<[f64]> {
    let table = || {
        let angle = PI / (2 * n) as f64;
        (0..4 * n).map(|m| Scalar::cos(angle * m as f64)).collect()
    };
    if n > KEPT {
        return table();
    }
    LAST.with_borrow_mut(|last| {
        if last.len() != 4 * n {
            *last = table();
        }
        Rc::clone(last)
    })
}
