//! The scatter of readings about the course of what is read, and over how many of them it lasts.

use super::variance_inflation;
use crate::error::{Error, Result};
use crate::scalar::Scalar;
use std::ops::Range;

/// Second differences from which a scatter is judged, at least.
const FEWEST: usize = 10;

/// Blocks of a scale beside each other from which its level is judged, at least.
const FEWEST_BLOCKS: usize = 16;

/// Probability that a normal deviate is within one standard deviation.
const WITHIN: f64 = 0.682_689_492_137_085_9;

/// Degrees of freedom of a level for each block of its scale; by simulation, 0.2 to 0.5.
const DOF_FOR_EACH: f64 = 0.25;

/// Growth from scale to scale up to which a level counts as the same, but for chance.
const FLAT: f64 = 1.25;

/// Growth beyond which the course of the flow rules: damped noise grows fourfold at most, a smooth
/// course by thirty-two.
const COURSE: f64 = 4.5;

/// Share of the noise at zero frequency that a scale must see for stated damping to be applied.
const SEEN: f64 = 0.5;

/// What one scale tells: blocks of so many readings.
#[derive(Debug, Clone, Copy)]
struct Level {
    readings: usize,
    /// Spectral density of the noise at this scale: the variance of the mean of a block times its
    /// readings.
    density: f64,
    blocks: usize,
}

/// The scatter of readings about a course that changes slowly against it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct AboutCourse {
    /// Standard deviation of a single reading about the course.
    pub standard_deviation: f64,
    /// Degrees of freedom of the scatter.
    pub dof: f64,
    /// Readings that count as one independent reading in a mean or a sum, 1 or more: by what the
    /// variance of the mean of many exceeds that of as many independent ones.
    pub readings_for_one: f64,
    /// Whether scatter and course could be told apart.
    pub told: bool,
}

impl AboutCourse {
    /// The scatter of `values`, in their unit, of which the `stretches` are ranges without a gap.
    ///
    /// Means of blocks of `m` readings beside each other have the second differences
    /// `d = x_1 - 2 x_2 + x_3`, which are zero for a course on a straight line, and
    ///
    /// ```text
    /// S_m = m q_m^2 / 6,   q_m: 68.27 % of |d| are not larger
    /// ```
    /// is the spectral density of the noise at that scale. It is the same at all scales for readings
    /// that are independent of each other; readings that are damped have a level that rises with `m`
    /// to a plateau, and the course makes it rise steeply beyond. The plateau is the first place
    /// where the level stays the same over three scales, each twice the one before; what is left of
    /// its rise is added once more. Where there is none, the level before the steep rise is taken,
    /// which may be too large or too small, and `told` is false. The quantile in place of the mean
    /// square bears with steps of the course and with spikes.
    ///
    /// `damping` has the autocorrelation coefficients of known damping, from lag one on: the level
    /// at the first scale that sees half of such noise, over the share that it sees, is a lower
    /// bound.
    ///
    /// The standard deviation of a single reading adds up what all scales hold,
    /// `s^2 = (sum_{m = 1, 2, 4, ...} S_m / m + S / m_last) / 2`.
    ///
    /// # Errors
    /// Fewer than ten second differences, from which nothing can be judged; the error names `field`.
    ///
    /// # Source
    /// Differences in place of deviations: J. von Neumann, R. H. Kent, H. R. Bellinson, B. I. Hart,
    /// Ann. Math. Statist. 12 (1941) 153. Second differences of the means of blocks are those of the
    /// Hadamard variance of clocks (R. A. Baugh, Proc. 25th Annual Symposium on Frequency Control
    /// (1971) 222, from memory). The quantile and the rule for the plateau are our choice, from
    /// simulated flows.
    pub fn of(
        values: &[f64],
        stretches: &[Range<usize>],
        damping: Option<&[f64]>,
        field: &str,
    ) -> Result<AboutCourse> {
        let levels = levels(values, stretches);
        let differences = levels.first().map_or(0, |level| level.blocks);
        if differences < FEWEST {
            return Err(Error::Missing {
                field: field.to_owned(),
                needed: format!(
                    "the standard deviation of single readings, stated: {differences} differences \
                     of rows that follow each other do not tell it, {FEWEST} or more would"
                ),
            });
        }
        let (place, told) = plateau(&levels);
        let last = levels[place];
        let mut density = last.density;
        if let (true, Some(before)) = (told, place.checked_sub(1)) {
            let before = levels[before].density;
            density = if density > before {
                2.0 * density - before
            } else {
                (density * before).sqrt()
            };
        }
        let mut blocks = last.blocks;
        let known = damping.filter(|rho| rho.first().is_some_and(|rho| *rho > 0.01));
        if let Some(rho) = known {
            let sees = |level: &&Level| share_seen(level.readings, rho) >= SEEN;
            let level = levels.iter().find(sees).unwrap_or(&last);
            let stated = level.density / share_seen(level.readings, rho);
            if stated > density {
                (density, blocks) = (stated, level.blocks);
            }
        }
        let held = levels[..=place].iter();
        let held: f64 = held
            .map(|level| level.density / level.readings as f64)
            .sum();
        let variance = 0.5 * (held + density / last.readings as f64);
        Ok(AboutCourse {
            standard_deviation: variance.sqrt(),
            dof: DOF_FOR_EACH * blocks as f64,
            readings_for_one: if variance > 0.0 {
                (density / variance).max(1.0)
            } else {
                1.0
            },
            told: told || known.is_some(),
        })
    }
}

/// The levels of all scales of which there are blocks enough.
fn levels(values: &[f64], stretches: &[Range<usize>]) -> Vec<Level> {
    let mut levels = Vec::new();
    // sums up to each row, of deviations from the first of the stretch
    let mut sums = Vec::with_capacity(values.len() + stretches.len());
    let mut starts = Vec::with_capacity(stretches.len());
    for stretch in stretches {
        starts.push(sums.len());
        let own = &values[stretch.clone()];
        let mut sum = 0.0;
        sums.push(sum);
        for value in own {
            sum += value - own[0];
            sums.push(sum);
        }
    }
    let mut sizes = Vec::new();
    for readings in (0..).map(|k| 1_usize << k) {
        let blocks = |stretch: &Range<usize>| (stretch.len() / readings).saturating_sub(2);
        let blocks = stretches.iter().map(blocks).sum();
        if readings > 1 && blocks < FEWEST_BLOCKS || blocks == 0 {
            break;
        }
        sizes.clear();
        for (stretch, start) in stretches.iter().zip(&starts) {
            let sums = &sums[*start..=start + stretch.len()];
            let Some(end) = (stretch.len() + 1).checked_sub(3 * readings) else {
                continue;
            };
            // blocks that overlap tell a little more; four places in each are as good as all
            for i in (0..end).step_by((readings / 4).max(1)) {
                let [a, b, c, d] = [0, 1, 2, 3].map(|k| sums[i + k * readings]);
                sizes.push(((b - a) - 2.0 * (c - b) + (d - c)).abs());
            }
        }
        let mean = spread(&mut sizes) / readings as f64;
        levels.push(Level {
            readings,
            density: readings as f64 * mean * mean / 6.0,
            blocks,
        });
    }
    levels
}

/// The size that 68.27 % do not exceed; where that is zero, since readings have few digits, the root
/// of their mean square.
fn spread(sizes: &mut [f64]) -> f64 {
    let count = sizes.len() as f64;
    let place = (WITHIN * count).ceil() as usize - 1;
    let quantile = *sizes.select_nth_unstable_by(place, f64::total_cmp).1;
    if quantile > 0.0 {
        return quantile;
    }
    // the selection has moved them about: their order is not to touch the bits of the sum
    sizes.sort_unstable_by(f64::total_cmp);
    let squares: f64 = sizes.iter().map(|d| d * d).sum();
    (squares / count).sqrt()
}

/// The place of the plateau among the levels and whether there is one.
fn plateau(levels: &[Level]) -> (usize, bool) {
    let same = |i: usize| {
        let chance = Scalar::exp((4.0 / levels[i].blocks as f64).sqrt());
        levels[i].density <= FLAT * chance * levels[i - 1].density
    };
    for i in 2..levels.len() {
        if same(i - 1) && same(i) {
            return (i, true);
        }
    }
    let steep = |i: &usize| levels[*i].density > COURSE * levels[i - 1].density;
    let place = (1..levels.len()).find(steep).unwrap_or(levels.len()) - 1;
    // with one or two scales there is nothing to compare
    (place, levels.len() < 3 && place + 1 == levels.len())
}

/// The share of the density at zero frequency that second differences of the means of so many
/// readings see where noise has the autocorrelation `rho`, from lag one on.
fn share_seen(readings: usize, rho: &[f64]) -> f64 {
    let variance = |n: usize| variance_inflation(n, rho.len(), |k| rho[k - 1]) / n as f64;
    let [one, two, three] = [1, 2, 3].map(|blocks| variance(blocks * readings));
    // covariance of the means of blocks beside each other and one apart
    let next = 2.0 * two - one;
    let second = 0.5 * (9.0 * three - 3.0 * one - 4.0 * next);
    let whole = 1.0 + 2.0 * rho.iter().sum::<f64>();
    readings as f64 * (6.0 * one - 8.0 * next + 2.0 * second) / 6.0 / whole
}
