//! Bins fixed beforehand by a pilot, narrow where values are dense, in which the values of any
//! number of trials are counted.

use serde::{Deserialize, Serialize};

/// The bins of one output.
///
/// Inner bins lie in segments between order statistics of the pilot, equally wide within a segment.
/// Beyond the pilot's smallest and largest value they widen for ever, so that no finite number is
/// left out. A value of which the pilot has several has a bin of its own.
///
/// A bin is named by its place: inner bins count from 0, the upper ones go on from there, the lower
/// ones are negative. Places ascend with the values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Grid {
    segments: Vec<Segment>,
    /// The end of the last segment, which does not belong to it.
    end: f64,
    /// Width of the first bin beyond the inner ones: below and above.
    outer_width: [f64; 2],
}

/// Bins of equal width.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Segment {
    low: f64,
    /// The start of the next segment.
    high: f64,
    width: f64,
    /// The place of the first bin.
    first: u32,
    bins: u32,
}

/// A bin should be narrower than the sampling error of a quantile by this factor.
const FINENESS: f64 = 10.0;
/// How much narrower still, since the pilot knows the density to about 1/8 only.
const MARGIN: f64 = 2.0;
/// The same where the pilot has few values.
const MARGIN_OF_FEW: f64 = 8.0;
/// Values of the pilot in a segment.
const IN_SEGMENT: usize = 64;
/// A spacing that takes more than this share of a segment is a gap. By chance the largest of 64
/// spacings does so in one segment of a million.
const GAP: f64 = 0.25;
/// Values beside a gap whose spread tells how far into it others may lie.
const NEIGHBOURS: usize = 8;
/// Where half of a segment's values lie in less than this share of it, the segment is parted. By
/// chance half of 64 values do so in one segment of ten thousand.
const LOPSIDED: f64 = 0.25;
/// Outer bins of a width before the width doubles.
const OUTER_BINS: u64 = 1 << 12;
/// Bits of a number below those that name an outer bin.
const OUTER_SHIFT: u32 = 52 - 12;

impl Grid {
    /// The bins for so many trials, from the values of a pilot in ascending order, one or more.
    pub fn of_pilot(sorted: &[f64], trials: u64) -> Grid {
        let bounds = bounds(sorted);
        let n = sorted.len() as f64;
        let mut first = 0;
        let pairs = bounds.iter().zip(&bounds[1..]);
        let segments = pairs.map(|(&low, &high)| {
            let bins = bins_in(low, high, sorted, trials as f64);
            let segment = Segment {
                low,
                high,
                width: (high - low) / f64::from(bins),
                first,
                bins,
            };
            first += bins;
            segment
        });
        let segments: Vec<Segment> = segments.collect();
        let last = sorted.len() - 1;
        let reach = IN_SEGMENT.min(last);
        let spread = [
            sorted[reach] - sorted[0],
            sorted[last] - sorted[last - reach],
        ];
        let ends = [bounds[0], bounds[bounds.len() - 1]];
        let range = ends[1] - ends[0];
        let outer_width = [0, 1].map(|side| {
            // the tail of 64 values spans about four of the lengths over which it falls by e
            let fall = 0.25 * spread[side] / (FINENESS * MARGIN_OF_FEW);
            let wanted = fall * (n / trials as f64).min(1.0).sqrt();
            let coarsest = if range.is_finite() { range } else { 0.0 };
            let fallback = (coarsest * 1e-9).max(ends[side].abs() * 1e-12);
            let width = if wanted > 0.0 && wanted.is_finite() {
                wanted
            } else {
                fallback
            };
            width.max(4.0 * ulp(ends[side])).max(f64::MIN_POSITIVE)
        });
        Grid {
            segments,
            end: ends[1],
            outer_width,
        }
    }

    /// Number of inner bins.
    pub fn inner(&self) -> usize {
        self.segments
            .last()
            .map_or(0, |s| (s.first + s.bins) as usize)
    }

    /// Whether the bins follow each other without a hole; what comes from elsewhere may not.
    pub fn is_sound(&self) -> bool {
        let starts = |s: &Segment, first: u32, low: f64| s.first == first && s.low == low;
        let mut first = 0;
        let mut low = self.segments.first().map_or(f64::NAN, |s| s.low);
        for s in &self.segments {
            let sound = starts(s, first, low) && s.bins > 0 && s.low < s.high;
            if !sound {
                return false;
            }
            first = first.saturating_add(s.bins);
            low = s.high;
        }
        low == self.end && self.outer_width.iter().all(|w| *w > 0.0) && first < u32::MAX
    }

    /// The smallest and the largest value that a bin can hold.
    pub fn ends(&self, place: i64) -> (f64, f64) {
        let inner = self.inner() as i64;
        if place < 0 {
            let (near, far) = self.outer(0, (-1 - place) as u64);
            (-far, -near)
        } else if place >= inner {
            self.outer(1, (place - inner) as u64)
        } else {
            let after = self
                .segments
                .partition_point(|s| i64::from(s.first) <= place);
            let segment = &self.segments[after - 1];
            let bin = (place - i64::from(segment.first)) as u32;
            (segment.edge(bin), segment.edge(bin + 1).next_down())
        }
    }

    /// Start and end of an outer bin; below, of its mirror image.
    fn outer(&self, side: usize, bin: u64) -> (f64, f64) {
        let edge = |bin| self.outer_edge(side, bin);
        (edge(bin), edge(bin + 1).next_down())
    }

    fn outer_edge(&self, side: usize, bin: u64) -> f64 {
        let from = [-self.segments[0].low.next_down(), self.end][side];
        let steps = if bin < OUTER_BINS {
            bin as f64
        } else {
            let octaves = (OUTER_BINS as f64).to_bits() >> OUTER_SHIFT;
            let bits = (bin - OUTER_BINS + octaves).saturating_mul(1 << OUTER_SHIFT);
            f64::from_bits(bits.min(f64::INFINITY.to_bits()))
        };
        from + steps * self.outer_width[side]
    }

    fn outer_place(&self, side: usize, mirrored: f64) -> u64 {
        let from = self.outer_edge(side, 0);
        let steps = ((mirrored - from) / self.outer_width[side]).max(0.0);
        let mut bin = if steps < OUTER_BINS as f64 {
            steps as u64
        } else {
            let octaves = (OUTER_BINS as f64).to_bits() >> OUTER_SHIFT;
            OUTER_BINS + (steps.to_bits() >> OUTER_SHIFT) - octaves
        };
        // the edges decide, whatever the division was rounded to
        while bin > 0 && mirrored < self.outer_edge(side, bin) {
            bin -= 1;
        }
        while mirrored >= self.outer_edge(side, bin + 1) {
            bin += 1;
        }
        bin
    }
}

impl Segment {
    /// The start of bin `bin`; of the one after the last, the start of the next segment.
    fn edge(&self, bin: u32) -> f64 {
        if bin >= self.bins {
            self.high
        } else {
            self.inner_edge(bin).min(self.high)
        }
    }

    #[inline(always)]
    fn inner_edge(&self, bin: u32) -> f64 {
        self.low + f64::from(bin) * self.width
    }

    /// The place of a value of the segment. Values differ in it as they will: no branch could be
    /// foreseen.
    #[inline(always)]
    fn place(&self, value: f64) -> u32 {
        let last = self.bins - 1;
        let bin = (((value - self.low) / self.width) as u32).min(last);
        // the edges decide, whatever the division was rounded to: a bin is wide enough, two units in
        // the last place of its edges, for it to be off by one at most
        let before = (bin > 0) & (value < self.inner_edge(bin));
        let after = (bin < last) & (value >= self.inner_edge(bin + 1));
        self.first + bin - u32::from(before) + u32::from(after)
    }
}

/// Finds the segment of a value without a search, in most cases.
pub(super) struct Locator<'a> {
    grid: &'a Grid,
    low: f64,
    cells_in_unit: f64,
    /// The segment at the start of each cell.
    cells: Vec<u32>,
}

const CELLS: usize = 4096;

impl Locator<'_> {
    pub fn new(grid: &Grid) -> Locator<'_> {
        // cells are equally wide: leave out the tails, or heavy ones would stretch them
        let skipped = grid.segments.len() / 50;
        let low = grid.segments[skipped].low;
        let high = grid.segments[grid.segments.len() - 1 - skipped].high;
        let width = (high - low) / CELLS as f64;
        let segment = |x: f64| grid.segments.partition_point(|s| s.low <= x).max(1) - 1;
        let cells = (0..CELLS).map(|cell| segment(low + cell as f64 * width) as u32);
        Locator {
            grid,
            low,
            cells_in_unit: 1.0 / width,
            cells: cells.collect(),
        }
    }

    /// The place of the bin that holds a finite value.
    #[inline]
    pub fn place(&self, value: f64) -> i64 {
        let grid = self.grid;
        let segments = &grid.segments;
        if value < segments[0].low {
            return -1 - grid.outer_place(0, -value) as i64;
        }
        if value >= grid.end {
            return grid.inner() as i64 + grid.outer_place(1, value) as i64;
        }
        let cell = ((value - self.low) * self.cells_in_unit) as usize;
        let mut at = self.cells[cell.min(CELLS - 1)] as usize;
        // two steps without a branch, which no processor could foresee, are enough for most
        at += usize::from(value >= segments[at].high);
        at += usize::from(value >= segments[at].high);
        if !(value >= segments[at].low && value < segments[at].high) {
            at = segments.partition_point(|s| s.low <= value).max(1) - 1;
        }
        i64::from(segments[at].place(value))
    }
}

/// The distance to the next number away from zero.
fn ulp(x: f64) -> f64 {
    let x = x.abs();
    if x < f64::MAX {
        x.next_up() - x
    } else {
        x - x.next_down()
    }
}

/// The number of bins of a segment, as the denser half of the pilot's values in it asks for.
fn bins_in(low: f64, high: f64, sorted: &[f64], trials: f64) -> u32 {
    let width = high - low;
    let finest = width / (4.0 * ulp(low.abs().max(high.abs())));
    if !width.is_finite() || finest.is_nan() {
        return 1;
    }
    let below = |x: f64| sorted.partition_point(|v| *v < x);
    let (start, end, n) = (below(low), below(high), sorted.len() as f64);
    let count = end.saturating_sub(start);
    let margin = if count < IN_SEGMENT {
        MARGIN_OF_FEW
    } else {
        // the density may change within a segment, in a steep tail several times over
        let half = (sorted[start + count / 2] - low) / width;
        MARGIN * (0.5 / half.min(1.0 - half)).min(0.5 / LOPSIDED)
    };
    let tail = (start as f64).min(n - end as f64).max(0.5) / n;
    let sampling_error = (tail * (1.0 - tail) / trials).sqrt();
    // the standard error will be read from as many trials as lie within it on both sides
    let told_by = 2.0 * trials * sampling_error;
    let margin = margin * (1.0 + 3.0 / told_by.sqrt());
    let wanted = margin * FINENESS * ((count as f64).max(0.25) / n) / sampling_error;
    wanted.min(finest).ceil().max(1.0) as u32
}

/// The starts of all segments, and the end of the last.
fn bounds(sorted: &[f64]) -> Vec<f64> {
    let n = sorted.len();
    let mut ranks: Vec<usize> = (0..n).step_by(IN_SEGMENT).collect();
    let near_ends = (0..6).map(|k| 1_usize << k).filter(|r| *r < n);
    ranks.extend(near_ends.flat_map(|r| [r, n - 1 - r]));
    ranks.push(n - 1);
    ranks.sort_unstable();
    ranks.dedup();
    let mut marks: Vec<f64> = Vec::with_capacity(2 * ranks.len());
    for pair in ranks.windows(2) {
        refine(sorted, pair[0], pair[1], &mut marks);
    }
    marks.extend(ranks.iter().map(|r| sorted[*r]));
    // numbers of which the pilot has several are segments of their own
    let several = sorted.windows(2).filter(|pair| pair[0] == pair[1]);
    marks.extend(several.flat_map(|pair| [pair[0], pair[0].next_up()]));
    marks.push(sorted[n - 1].next_up());
    marks.sort_unstable_by(f64::total_cmp);
    // -0.0 and 0.0 are one number
    marks.dedup_by(|a, b| a == b);
    marks
}

/// Adds both sides of gaps between the ranks, and the middle one where the values lie to one side:
/// the density left and right of it is another.
fn refine(sorted: &[f64], start: usize, end: usize, marks: &mut Vec<f64>) {
    if end - start < 8 {
        return;
    }
    let width = sorted[end] - sorted[start];
    let spacing = |i: &usize| sorted[i + 1] - sorted[*i];
    let widest = (start..end).max_by(|a, b| spacing(a).total_cmp(&spacing(b)));
    let Some(i) = widest else { return };
    if spacing(&i) > GAP * width {
        let (low, high) = (sorted[i], sorted[i + 1]);
        marks.extend([low, high]);
        // trials reach some spacings further than the pilot into a gap
        let far = (sorted.len() - 1).min(i + 1 + NEIGHBOURS);
        let reach = (
            low + (low - sorted[i.saturating_sub(NEIGHBOURS)]),
            high - (sorted[far] - high),
        );
        if low < reach.0 && reach.0 < reach.1 && reach.1 < high {
            marks.extend([reach.0, reach.1]);
        }
        refine(sorted, start, i, marks);
        refine(sorted, i + 1, end, marks);
        return;
    }
    let middle = start + (end - start) / 2;
    let half = sorted[middle] - sorted[start];
    if half.min(width - half) < LOPSIDED * width {
        marks.push(sorted[middle]);
        refine(sorted, start, middle, marks);
        refine(sorted, middle, end, marks);
    }
}

#[cfg(test)]
mod tests {
    use super::{Grid, Locator};
    use crate::scalar::Scalar;
    use proptest::prelude::*;

    proptest! {
        /// Every number has the place of the bin that holds it: at and beside all edges, between
        /// and beyond them, for bins of few units in the last place too.
        #[test]
        fn the_edges_decide(
            middle in prop_oneof![Just(0.0), -1e3..1e3, Just(1e300), Just(1e-300)],
            exponent in -52..2,
            steps in prop::collection::vec(-1.0..1.0, 2..300),
            trials in 100_u64..1_000_000_000,
        ) {
            let middle: f64 = middle;
            let spread = f64::max(middle.abs(), f64::MIN_POSITIVE) * Scalar::powi(2.0, exponent);
            let mut pilot: Vec<f64> = steps.iter().map(|step| middle + spread * step).collect();
            pilot.sort_unstable_by(f64::total_cmp);
            let grid = Grid::of_pilot(&pilot, trials);
            let locator = Locator::new(&grid);
            let inner = grid.inner() as i64;
            let every = (inner / 200).max(1) as usize;
            let places = (-3..inner + 3).step_by(every).chain(inner - 3..inner + 3);
            for place in places {
                let (low, high) = grid.ends(place);
                // the width of bins among subnormal numbers is rounded, and the last may be empty
                prop_assert!(low <= high || low.abs() < f64::MIN_POSITIVE, "{low} {high}");
                let values = [low, high, low + 0.4 * (high - low)];
                for value in values.into_iter().filter(|_| low <= high) {
                    prop_assert_eq!(locator.place(value), place, "{}", value);
                }
            }
        }
    }
}
