//! The values of the trials by rank. An interval needs few ranks, and for few ranks a table of
//! counts is quicker than sorting: of a run of a million trials of the demonstration site with its
//! comparison with first order and both intervals, selecting each rank anew would take 8 to 9 % more
//! time, and sorting 28 % more (medians of 40 runs in turn, one and two threads).

use crate::parallel;
use crate::scalar::InstructionSet;
use once_cell::race::OnceBox;
use std::ops::Range;

/// Values, in the order of the trials, whose order by size is found when it is asked for.
#[derive(Debug, Clone)]
pub(super) struct Values {
    values: Vec<f64>,
    bins: OnceBox<Bins>,
    sorted: OnceBox<Vec<f64>>,
}

impl PartialEq for Values {
    fn eq(&self, other: &Self) -> bool {
        self.values == other.values
    }
}

/// Values worked on by one thread.
const CHUNK: usize = 1 << 14;
/// Counts that are held side by side at most, give or take one.
const MOST_COUNTS: usize = 256;
/// Bins that the counts are kept in.
const BINS: usize = 1 << 11;
/// How far the bins reach, in spreads.
const REACH: f64 = 6.0;
/// Added to a number below it, it leaves an integer in the lowest bits.
const TWO_52: f64 = 4_503_599_627_370_496.0;

/// The instruction set for counts and sums, which do not depend on it.
fn instruction_set() -> InstructionSet {
    InstructionSet::chosen().unwrap_or(InstructionSet::Baseline)
}

/// How many values lie below each of equally wide bins; the outermost hold all that is farther out.
#[derive(Debug, Clone)]
struct Bins {
    low: f64,
    bins_per_unit: f64,
    /// The number of values below each bin, and below the end of all.
    below: Vec<usize>,
}

impl Bins {
    /// Bins about the middle of the values; any middle and spread give the same ranks, but some
    /// take longer.
    fn new(values: &[f64], middle: f64, spread: f64) -> Bins {
        let reach = REACH * spread;
        let mut bins = Bins {
            low: middle - reach,
            bins_per_unit: (0.5 * BINS as f64 / reach).min(f64::MAX),
            below: vec![0],
        };
        let set = instruction_set();
        // each piece has counts of its own until they are added
        let size = CHUNK.max(values.len() / MOST_COUNTS);
        let parts = parallel::chunks(values, size, |chunk| {
            let mut counts = vec![0; BINS];
            set.run(
                #[inline(always)]
                || bins.count(chunk, &mut counts),
            );
            counts
        });
        let mut counts = vec![0_usize; BINS];
        for part in parts {
            counts.iter_mut().zip(part).for_each(|(a, b)| *a += b);
        }
        bins.below.extend(counts.iter().scan(0, |below, count| {
            *below += count;
            Some(*below)
        }));
        bins
    }

    /// Where a value lies: the number of its bin and [`TWO_52`], which leaves that number in the lowest
    /// bits. A larger value is never lower; what is not a number is in the first bin.
    #[inline(always)]
    fn place(&self, x: f64) -> f64 {
        ((x - self.low) * self.bins_per_unit)
            .max(0.0)
            .min((BINS - 1) as f64)
            + TWO_52
    }

    /// Adds the values of a chunk to the counts of their bins.
    #[inline(always)]
    fn count(&self, chunk: &[f64], counts: &mut [usize]) {
        let (groups, rest) = chunk.as_chunks::<GROUP>();
        for group in groups {
            // all places first, which is done in vectors
            for place in group.map(|x| self.place(x)) {
                counts[place.to_bits() as usize % BINS] += 1;
            }
        }
        for x in rest {
            counts[self.place(*x).to_bits() as usize % BINS] += 1;
        }
    }

    /// The bins that hold the values of these ranks.
    fn of_ranks(&self, ranks: &Range<usize>) -> Range<usize> {
        let bin = |rank: usize| self.below.partition_point(|below| *below <= rank) - 1;
        bin(ranks.start)..bin(ranks.end - 1) + 1
    }

    /// The values of a chunk that are in these bins.
    #[inline(always)]
    fn select(&self, chunk: &[f64], wanted: &Range<usize>, selected: &mut Vec<f64>) {
        let [start, end] = [wanted.start, wanted.end].map(|bin| bin as f64 + TWO_52);
        let holds = |x: f64| {
            let place = self.place(x);
            (place >= start) & (place < end)
        };
        // most groups have none, which is seen without looking at each value alone
        for group in chunk.chunks(GROUP) {
            let any = group.iter().fold(false, |any, x| any | holds(*x));
            if any {
                selected.extend(group.iter().copied().filter(|x| holds(*x)));
            }
        }
    }
}

impl Values {
    pub fn new(values: Vec<f64>) -> Values {
        Values {
            values,
            bins: OnceBox::new(),
            sorted: OnceBox::new(),
        }
    }

    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// All values in ascending order.
    pub fn sorted(&self) -> &[f64] {
        self.sorted.get_or_init(|| {
            let mut sorted = self.values.clone();
            parallel::sort(&mut sorted);
            Box::new(sorted)
        })
    }

    /// The values of two ranges of ranks, from 0, each in ascending order; ranges of ranks that
    /// there are, and not empty. `middle` and `spread` say roughly where the values are.
    pub fn ranks(&self, ranges: [Range<usize>; 2], middle: f64, spread: f64) -> [Vec<f64>; 2] {
        if let Some(sorted) = self.sorted.get() {
            return ranges.map(|ranks| sorted[ranks].to_vec());
        }
        if self.values.len() <= CHUNK {
            let mut values = self.values.clone();
            return ranges.map(|ranks| ranks_of_few(&mut values, ranks));
        }
        self.ranks_by_bins(&ranges, middle, spread)
    }

    fn ranks_by_bins(&self, ranges: &[Range<usize>; 2], middle: f64, spread: f64) -> [Vec<f64>; 2] {
        let bins = || Box::new(Bins::new(&self.values, middle, spread));
        let bins = self.bins.get_or_init(bins);
        let wanted = ranges.each_ref().map(|ranks| bins.of_ranks(ranks));
        let set = instruction_set();
        let parts: Vec<[Vec<f64>; 2]> = parallel::chunks(&self.values, CHUNK, |chunk| {
            let mut near = [const { Vec::new() }; 2];
            set.run(
                #[inline(always)]
                || {
                    for (near, wanted) in near.iter_mut().zip(&wanted) {
                        bins.select(chunk, wanted, near);
                    }
                },
            );
            near
        });
        std::array::from_fn(|i| {
            let near = parts.iter().flat_map(|part| &part[i]);
            let mut near: Vec<f64> = near.copied().collect();
            parallel::sort(&mut near);
            let below = bins.below[wanted[i].start];
            near[ranges[i].start - below..ranges[i].end - below].to_vec()
        })
    }

    /// The mean of the values, and the sum of the squares of their deviations from it.
    pub fn mean_and_squares(&self) -> (f64, f64) {
        let first = self.values.first().copied().unwrap_or(f64::NAN);
        // near enough to the mean for sums of deviations from it to lose no digits
        let seen = &self.values[..self.values.len().min(FIRST)];
        let shift = first + sums_by_lanes(seen, first)[0] / seen.len() as f64;
        let set = instruction_set();
        let parts = parallel::chunks(&self.values, CHUNK, |chunk| {
            set.run(
                #[inline(always)]
                || sums_by_lanes(chunk, shift),
            )
        });
        let [sum, squares] = parts
            .iter()
            .fold([0.0, 0.0], |[s, q], part| [s + part[0], q + part[1]]);
        let offset = sum / self.values.len() as f64;
        (shift + offset, (squares - sum * offset).max(0.0))
    }
}

/// The values of a range of ranks, in ascending order; the values change places.
fn ranks_of_few(values: &mut [f64], ranks: Range<usize>) -> Vec<f64> {
    values.select_nth_unstable_by(ranks.start, f64::total_cmp);
    let from_start = &mut values[ranks.start..];
    from_start.select_nth_unstable_by(ranks.len() - 1, f64::total_cmp);
    let mut wanted = from_start[..ranks.len()].to_vec();
    wanted.sort_unstable_by(f64::total_cmp);
    wanted
}

/// Values that are looked through together.
const GROUP: usize = 32;
/// Sums that run side by side, which keeps rounding small besides.
const LANES: usize = 16;
/// Values whose mean is near enough to that of all.
const FIRST: usize = 1024;

/// The sums of the deviations from `shift` and of their squares.
#[inline(always)]
fn sums_by_lanes(values: &[f64], shift: f64) -> [f64; 2] {
    let (groups, rest) = values.as_chunks::<LANES>();
    let [mut sums, mut squares] = [[0.0; LANES]; 2];
    for group in groups {
        for lane in 0..LANES {
            let deviation = group[lane] - shift;
            sums[lane] += deviation;
            squares[lane] += deviation * deviation;
        }
    }
    for (lane, x) in rest.iter().enumerate() {
        let deviation = x - shift;
        sums[lane] += deviation;
        squares[lane] += deviation * deviation;
    }
    [sums, squares].map(|lanes| lanes.iter().sum())
}

#[cfg(test)]
mod tests {
    use super::Values;
    use proptest::prelude::*;

    const ODD: [f64; 6] = [0.0, -0.0, 7.0, 1e308, -1e308, f64::MIN_POSITIVE];

    proptest! {
        #[test]
        fn ranks_are_those_of_sorting(
            values in proptest::collection::vec(
                prop_oneof![-1e3..1e3_f64, proptest::sample::select(&ODD[..])],
                1..300,
            ),
            ends in proptest::array::uniform2((0..300_usize, 0..300_usize)),
            middle in -10.0..10.0_f64,
            spread in prop_oneof![0.0..300.0_f64, proptest::sample::select(&[0.0, 1e308, f64::NAN][..])],
        ) {
            let count = values.len();
            let ranges = ends.map(|(a, b)| {
                let (a, b) = (a % count, b % count);
                a.min(b)..a.max(b) + 1
            });
            let by_bins = Values::new(values.clone()).ranks_by_bins(&ranges, middle, spread);
            let few = Values::new(values.clone()).ranks(ranges.clone(), middle, spread);
            let mut sorted = values;
            sorted.sort_by(f64::total_cmp);
            let bits = |values: &[f64]| values.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
            for (i, ranks) in ranges.into_iter().enumerate() {
                prop_assert_eq!(bits(&by_bins[i]), bits(&sorted[ranks.clone()]));
                prop_assert_eq!(bits(&few[i]), bits(&sorted[ranks]));
            }
        }
    }
}
