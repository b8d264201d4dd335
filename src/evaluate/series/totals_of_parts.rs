//! Totals of periods and of directions of flow.

use super::periods::{Limits, Share};
use super::rows::{Block, Rows};
use super::sums::Sums;
use super::total::Scatter;
use super::{Gap, PeriodTotal, pulses_and_counters};
use crate::error::Result;
use crate::uncertainty::Budget;

/// The totals of the periods in which a row is used.
pub(super) fn period_totals(
    rows: &Rows<'_>,
    blocks: &[Block],
    limits: Vec<Limits>,
    shares: &[Share],
    scatter: &[Scatter],
    gaps: &[Gap],
) -> Result<Vec<PeriodTotal>> {
    let mut sums = vec![rows.no_sums(); limits.len()];
    for (number, own) in blocks.iter().flat_map(|block| &block.parts) {
        sums[*number].merge(own);
    }
    let mut totals = Vec::new();
    for ((limits, share), sums) in limits.into_iter().zip(shares).zip(sums) {
        if share.duration() > 0.0 {
            let within =
                |gap: &&Gap| gap.from_s >= limits.range.start && gap.to_s <= limits.range.end;
            let total = sums.budget(rows, scatter, gaps.iter().filter(within).count() + 1)?;
            let random = total.lines.iter().filter(|line| {
                let mut readings = rows.readings.iter();
                line.input.name() == pulses_and_counters::LINE
                    || readings
                        .any(|reading| reading.channel.quantity().path() == line.input.name())
            });
            let random: f64 = random
                .map(|line| line.contribution * line.contribution)
                .sum();
            totals.push(PeriodTotal {
                label: limits.label,
                limits: limits.range,
                duration: share.duration(),
                random_uncertainty: random.sqrt(),
                total,
            });
        }
    }
    Ok(totals)
}

/// The budgets of forward and of reverse flow, where they are asked for.
pub(super) fn directions(
    rows: &Rows<'_>,
    blocks: &[Block],
    scatter: &[Scatter],
    stretches: usize,
) -> Result<Option<[Budget; 2]>> {
    let mut sums = [rows.no_sums(), rows.no_sums()];
    for own in blocks {
        let Some(own) = &own.directions else {
            return Ok(None);
        };
        sums.iter_mut()
            .zip(own)
            .for_each(|(sum, own)| sum.merge(own));
    }
    let [forward, reverse] = sums.map(|sums| sums.budget(rows, scatter, stretches));
    Ok(Some([forward?, reverse?]))
}

/// The sums of all blocks, in their order.
pub(super) fn merged(blocks: &[Block]) -> Sums {
    let mut sums = blocks[0].sums.clone();
    blocks[1..].iter().for_each(|block| sums.merge(&block.sums));
    sums
}
