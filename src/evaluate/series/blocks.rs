//! Blocks of rows, evaluated on all threads.

use super::Log;
use super::periods::Share;
use super::rows::{BLOCK, Block, Rows};
use crate::error::Result;
use crate::watch::{Units, Watch};
use std::ops::Range;

/// The places of the rows of a block among the rows used.
pub(super) fn block_range(number: usize, rows: usize) -> Range<usize> {
    number * BLOCK..rows.min((number + 1) * BLOCK)
}

/// Rows that are used, with their weights in the total and their shares in periods.
pub(super) struct Weighted<'a> {
    pub(super) log: &'a Log,
    pub(super) used: &'a [usize],
    pub(super) weights: &'a [f64],
    pub(super) shares: &'a [Share],
}

/// The blocks of some numbers.
pub(super) fn some_blocks(
    rows: &Rows<'_>,
    weighted: &Weighted<'_>,
    numbers: &[usize],
    watch: &mut Watch<'_>,
) -> Result<Vec<Block>> {
    let used = weighted.used;
    let units = Units {
        range: 0..numbers.len() as u64,
        trials: BLOCK as u64,
        total: used.len() as u64,
        parallel: numbers.len() > 1,
    };
    let mut blocks = Vec::with_capacity(numbers.len());
    let one = |unit: u64| {
        let range = block_range(numbers[unit as usize], used.len());
        let shares = weighted.shares.iter().enumerate();
        let parts = shares.filter_map(|(number, share)| Some((number, share.at(range.clone())?)));
        let weights = &weighted.weights[range.clone()];
        Ok(rows.block(weighted.log, &used[range.clone()], weights, parts.collect()))
    };
    units.work(watch, one, |block| blocks.push(block))?;
    Ok(blocks)
}
