//! From rows to a total: the weight of each row in seconds, and the gaps between rows.

use super::{Gap, Gaps, Rule, SeriesOptions};
use std::ops::Range;

/// The volume that a row stands for is its flow times its weight.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Weights {
    /// In seconds, for each of the rows that are used.
    pub(super) of: Vec<f64>,
    /// Their sum: the time that the total covers.
    pub(super) duration: f64,
    pub(super) gaps: Vec<Gap>,
}

/// What decides for which time a row stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Timing<'a> {
    /// Time of each row of the log, in s.
    pub(super) seconds: &'a [f64],
    /// The usual step between rows, in s.
    pub(super) usual_step: f64,
    pub(super) options: &'a SeriesOptions,
    /// For counts, the time from which on each row counts, in s.
    pub(super) since: Option<&'a [f64]>,
}

impl Timing<'_> {
    /// The time from which on a row stands, for one that stands for the time before it.
    pub(super) fn begin(&self, before: Option<usize>, row: usize) -> f64 {
        if let Some(since) = self.since {
            return since[row];
        }
        let time = self.seconds[row];
        let begin = before.map(|before| self.seconds[before]);
        let longest = self.options.gap_factor * self.usual_step;
        let begin = begin.filter(|begin| time - begin <= longest);
        begin.unwrap_or(time - self.usual_step)
    }
}

impl Weights {
    /// The weights of the rows `used` of a log. Steps that are longer than the gap factor times the
    /// usual step are gaps.
    pub(super) fn of(timing: &Timing<'_>, used: &[usize]) -> Weights {
        let Timing {
            seconds,
            usual_step,
            options,
            ..
        } = *timing;
        if options.rule == Rule::Since {
            return Weights::since(timing, used);
        }
        let mut weights = Weights {
            of: vec![0.0; used.len()],
            duration: 0.0,
            gaps: Vec::new(),
        };
        for i in 1..used.len() {
            let (from, to) = (used[i - 1], used[i]);
            let step = seconds[to] - seconds[from];
            let halves = [0.5 * step, 0.5 * step];
            let whole = [step, 0.0];
            let gap = step > options.gap_factor * usual_step;
            let shares = match (gap, options.gaps, options.rule) {
                (false, _, Rule::Trapezoid) | (true, Gaps::Interpolate, _) => halves,
                (false, _, Rule::Hold | Rule::Since) | (true, Gaps::Hold, _) => whole,
                (true, Gaps::LeaveOut, Rule::Trapezoid) => [0.0, 0.0],
                // as every row, the one before the gap stands for the usual step that follows it
                (true, Gaps::LeaveOut, Rule::Hold | Rule::Since) => [usual_step, 0.0],
            };
            weights.of[i - 1] += shares[0];
            weights.of[i] += shares[1];
            if gap {
                weights.gaps.push(Gap {
                    from_row: from,
                    to_row: to,
                    from_s: seconds[from],
                    to_s: seconds[to],
                    filled_volume: 0.0,
                });
            }
        }
        if let (Rule::Hold, Some(last)) = (options.rule, weights.of.last_mut()) {
            *last += usual_step;
        }
        weights.duration = weights.of.iter().sum();
        weights
    }

    /// As [`Weights::of`], of rows that stand for the time before them.
    fn since(timing: &Timing<'_>, used: &[usize]) -> Weights {
        let mut weights = Weights {
            of: vec![0.0; used.len()],
            duration: 0.0,
            gaps: Vec::new(),
        };
        for (i, &row) in used.iter().enumerate() {
            let before = i.checked_sub(1).map(|i| used[i]);
            let begin = timing.begin(before, row);
            weights.of[i] += timing.seconds[row] - begin;
            let Some(from) = before.filter(|before| begin > timing.seconds[*before]) else {
                continue;
            };
            let step = begin - timing.seconds[from];
            match timing.options.gaps {
                Gaps::LeaveOut => {}
                Gaps::Hold => weights.of[i - 1] += step,
                Gaps::Interpolate => {
                    weights.of[i - 1] += 0.5 * step;
                    weights.of[i] += 0.5 * step;
                }
            }
            weights.gaps.push(Gap {
                from_row: from,
                to_row: row,
                from_s: timing.seconds[from],
                to_s: begin,
                filled_volume: 0.0,
            });
        }
        weights.duration = weights.of.iter().sum();
        weights
    }

    /// The places among the rows `used` of stretches without a gap.
    pub(super) fn stretches(&self, used: &[usize]) -> Vec<Range<usize>> {
        let mut after = self.gaps.iter().map(|gap| gap.to_row).peekable();
        let mut stretches = Vec::new();
        let mut start = 0;
        for (place, row) in used.iter().enumerate() {
            if after.next_if_eq(row).is_some() {
                stretches.push(start..place);
                start = place;
            }
        }
        stretches.push(start..used.len());
        stretches
    }

    /// The weights of all of the rows `used`, where those of the rows `valid` are known; 0 for the
    /// others.
    pub(super) fn at(&self, valid: &[usize], used: &[usize]) -> Vec<f64> {
        let mut known = valid.iter().zip(&self.of).peekable();
        let weight = |row: &usize| {
            let own = known.next_if(|(valid, _)| *valid == row);
            own.map_or(0.0, |(_, weight)| *weight)
        };
        used.iter().map(weight).collect()
    }
}

impl Gap {
    /// Notes what the gap adds to the total; `flow` has one value for each row of the log.
    pub(super) fn fill(&mut self, flow: &[f64], gaps: Gaps) {
        let (before, after) = (flow[self.from_row], flow[self.to_row]);
        self.filled_volume = match gaps {
            Gaps::LeaveOut => 0.0,
            Gaps::Hold => before * self.duration(),
            Gaps::Interpolate => 0.5 * (before + after) * self.duration(),
        };
    }
}
