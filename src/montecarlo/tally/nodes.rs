//! Sums of a run as a binary tree over its leaves, so that any cut of the run into parts gives the
//! same bits.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::ops::Range;

/// The sums of leaves `first..first + leaves`, of which the number is a power of two and divides
/// `first`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Node {
    pub leaves: u64,
    pub sums: Vec<f64>,
}

/// Nodes by their first leaf. Two that are halves of a larger one become that one at once, the left
/// half first. So the additions made, and their order, are those of one tree over the whole run,
/// whichever part was added first; and of so many leaves no more nodes are left than twice the
/// binary digits of their number, for each part without a hole.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Nodes(BTreeMap<u64, Node>);

impl Nodes {
    pub fn add(&mut self, mut first: u64, mut node: Node) {
        loop {
            let (size, is_left) = (node.leaves, (first / node.leaves).is_multiple_of(2));
            let sibling = if is_left { first + size } else { first - size };
            let halves = matches!(self.0.get(&sibling), Some(s) if s.leaves == size);
            let Some(other) = halves.then(|| self.0.remove(&sibling)).flatten() else {
                self.0.insert(first, node);
                return;
            };
            let (mut left, right) = if is_left {
                (node, other)
            } else {
                (other, node)
            };
            for (sum, other) in left.sums.iter_mut().zip(&right.sums) {
                *sum += other;
            }
            left.leaves = 2 * size;
            first = first.min(sibling);
            node = left;
        }
    }

    pub fn merge(&mut self, other: Nodes) {
        for (first, node) in other.0 {
            self.add(first, node);
        }
    }

    /// The leaves held, without those in between that are not.
    pub fn ranges(&self) -> Vec<Range<u64>> {
        let mut ranges: Vec<Range<u64>> = Vec::new();
        for (first, node) in &self.0 {
            let end = first + node.leaves;
            match ranges.last_mut() {
                Some(last) if last.end == *first => last.end = end,
                _ => ranges.push(*first..end),
            }
        }
        ranges
    }

    /// Whether every node is where one of its size can be and has so many sums.
    pub fn are_sound(&self, leaves: u64, sums: usize) -> bool {
        let mut end = 0;
        self.0.iter().all(|(first, node)| {
            let fits = node.leaves.is_power_of_two()
                && first.is_multiple_of(node.leaves)
                && *first >= end
                && node.leaves <= leaves
                && *first < leaves
                && node.sums.len() == sums;
            end = first.saturating_add(node.leaves);
            fits && end <= leaves
        })
    }

    /// The sums of all nodes, from left to right.
    pub fn total(&self, sums: usize) -> Vec<f64> {
        let mut total = vec![0.0; sums];
        for node in self.0.values() {
            for (sum, other) in total.iter_mut().zip(&node.sums) {
                *sum += other;
            }
        }
        total
    }

    /// Number of nodes.
    pub fn len(&self) -> usize {
        self.0.len()
    }
}
