//! Gauss-Legendre nodes for integrals over the radius that stay inside a measurement model, where
//! the work must not depend on the point.

use once_cell::race::OnceBox;
use std::f64::consts::PI;

/// Number of nodes. With 64 the integrals over a wake profile are good to 1e-6 friction velocities
/// at the largest friction Reynolds number, and far better below.
const NODES: usize = 64;

/// A node between 0 and 1 and its weight.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    pub(super) at: f64,
    pub(super) weight: f64,
}

/// The nodes of the integral from 0 to 1.
pub(super) fn unit_interval() -> &'static [Node; NODES] {
    static NODES_OF_UNIT: OnceBox<[Node; NODES]> = OnceBox::new();
    NODES_OF_UNIT.get_or_init(|| Box::new(std::array::from_fn(node)))
}

/// The zeros of the Legendre polynomial by Newton's method from the usual guess; weights from its
/// slope.
///
/// # Source
/// M. Abramowitz and I. A. Stegun, *Handbook of Mathematical Functions*, 22.16.6, 25.4.29.
fn node(i: usize) -> Node {
    let count = NODES as f64;
    let mut x = -libm::cos(PI * (i as f64 + 0.75) / (count + 0.5));
    let mut slope = 1.0;
    for _ in 0..6 {
        let (mut before, mut value) = (1.0, x);
        for degree in 2..=NODES {
            let degree = degree as f64;
            let next = ((2.0 * degree - 1.0) * x * value - (degree - 1.0) * before) / degree;
            (before, value) = (value, next);
        }
        slope = count * (x * value - before) / (x * x - 1.0);
        x -= value / slope;
    }
    Node {
        at: 0.5 * (1.0 + x),
        weight: 1.0 / ((1.0 - x * x) * slope * slope),
    }
}
