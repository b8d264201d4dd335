//! Sums over trials from which moments, covariances and correlations follow.

use crate::scalar::InstructionSet;
use crate::uncertainty::by_rows;
use serde::{Deserialize, Serialize};

/// The sums of values are those of `(value - origin) / scale`: they neither cancel nor overflow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Shift {
    pub origin: f64,
    /// A power of two, so that scaling rounds nothing.
    pub scale: f64,
}

impl Shift {
    /// The shift for values about `origin` that scatter by `spread`.
    pub fn new(origin: f64, spread: f64) -> Shift {
        let exponent = spread.to_bits() & f64::INFINITY.to_bits();
        let power = f64::from_bits(exponent);
        // neither 0 nor subnormal nor so large that its reciprocal is subnormal
        let usable = (1e-290..1e290).contains(&power);
        Shift {
            origin,
            scale: if usable { power } else { 1.0 },
        }
    }
}

/// How many sums belong to so many outputs and inputs, and where each lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Layout {
    pub outputs: usize,
    pub inputs: usize,
}

impl Layout {
    pub fn len(self) -> usize {
        let (m, n) = (self.outputs, self.inputs);
        4 * m + m * m.saturating_sub(1) / 2 + 2 * n + n * m
    }
    /// Sums of the powers 1 to 4 of an output.
    fn powers(self, output: usize) -> usize {
        4 * output
    }
    /// Sum of products of two outputs, `first > second`.
    fn pair(self, first: usize, second: usize) -> usize {
        4 * self.outputs + first * (first - 1) / 2 + second
    }
    /// Sums of the powers 1 and 2 of an input, and then of its products with all outputs.
    fn input(self, input: usize) -> usize {
        self.pair(self.outputs.max(1), 0) + input * (2 + self.outputs)
    }
}

/// Numbers that are summed side by side, then added in a fixed order.
const LANES: usize = 8;

/// Columns of one leaf, shifted and scaled; what is missing to a multiple of [`LANES`] is 0.
#[inline(always)]
fn shifted(column: &[f64], shift: Shift, target: &mut Vec<f64>) {
    let inverse = 1.0 / shift.scale;
    target.clear();
    target.extend(column.iter().map(|v| (v - shift.origin) * inverse));
    target.resize(column.len().next_multiple_of(LANES), 0.0);
}

#[inline(always)]
fn folded(lanes: [f64; LANES]) -> f64 {
    let [a, b, c, d, e, f, g, h] = lanes;
    ((a + b) + (c + d)) + ((e + f) + (g + h))
}

/// The sums of the powers 1 to 4.
#[inline(always)]
fn powers(d: &[f64]) -> [f64; 4] {
    let mut sums = [[0.0; LANES]; 4];
    for chunk in d.chunks_exact(LANES) {
        for lane in 0..LANES {
            let first = chunk[lane];
            let second = first * first;
            sums[0][lane] += first;
            sums[1][lane] += second;
            sums[2][lane] += second * first;
            sums[3][lane] += second * second;
        }
    }
    sums.map(folded)
}

/// The sums of the powers 1 and 2.
#[inline(always)]
fn two_powers(d: &[f64]) -> [f64; 2] {
    let mut sums = [[0.0; LANES]; 2];
    for chunk in d.chunks_exact(LANES) {
        for lane in 0..LANES {
            sums[0][lane] += chunk[lane];
            sums[1][lane] += chunk[lane] * chunk[lane];
        }
    }
    sums.map(folded)
}

#[inline(always)]
fn products(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; LANES];
    for (a, b) in a.chunks_exact(LANES).zip(b.chunks_exact(LANES)) {
        for lane in 0..LANES {
            sums[lane] += a[lane] * b[lane];
        }
    }
    folded(sums)
}

/// The sums of one leaf. `y` and `x` have one column of equal length for each output and input;
/// shifts are those of the outputs, then of the inputs.
pub(super) fn of_leaf(
    set: InstructionSet,
    y: &[&[f64]],
    x: &[&[f64]],
    shifts: &[Shift],
) -> Vec<f64> {
    let layout = Layout {
        outputs: y.len(),
        inputs: x.len(),
    };
    let mut sums = vec![0.0; layout.len()];
    set.run(
        #[inline(always)]
        || {
            let mut outputs = vec![Vec::new(); y.len()];
            for (k, (column, d)) in y.iter().zip(&mut outputs).enumerate() {
                shifted(column, shifts[k], d);
                let at = layout.powers(k);
                sums[at..at + 4].copy_from_slice(&powers(d));
            }
            for first in 1..y.len() {
                for second in 0..first {
                    sums[layout.pair(first, second)] = products(&outputs[first], &outputs[second]);
                }
            }
            let mut d = Vec::new();
            for (i, column) in x.iter().enumerate() {
                shifted(column, shifts[y.len() + i], &mut d);
                let at = layout.input(i);
                sums[at..at + 2].copy_from_slice(&two_powers(&d));
                for (k, output) in outputs.iter().enumerate() {
                    sums[at + 2 + k] = products(&d, output);
                }
            }
        },
    );
    sums
}

/// All sums of a run, ready to be asked.
pub(super) struct Moments<'a> {
    pub layout: Layout,
    pub count: f64,
    pub sums: &'a [f64],
    pub shifts: &'a [Shift],
}

impl Moments<'_> {
    /// The mean of an output, in its units.
    pub fn mean(&self, output: usize) -> f64 {
        let shift = self.shifts[output];
        shift.origin + shift.scale * (self.sums[self.layout.powers(output)] / self.count)
    }

    /// The central moments 2 to 4 of the shifted values of an output.
    pub fn central(&self, output: usize) -> [f64; 3] {
        let at = self.layout.powers(output);
        let [a, b, c, d] = [0, 1, 2, 3].map(|k| self.sums[at + k] / self.count);
        [
            (b - a * a).max(0.0),
            c - 3.0 * a * b + 2.0 * a * a * a,
            d - 4.0 * a * c + 6.0 * a * a * b - 3.0 * a * a * a * a,
        ]
    }

    /// The standard deviation of an output, in its units.
    pub fn standard_deviation(&self, output: usize) -> f64 {
        let [variance, ..] = self.central(output);
        self.shifts[output].scale * (variance * self.count / (self.count - 1.0)).sqrt()
    }

    /// The covariance matrix of the outputs by rows, in their units.
    pub fn covariance(&self) -> Vec<Vec<f64>> {
        let n = self.count;
        by_rows(self.layout.outputs, |i, j| {
            if i == j {
                let u = self.standard_deviation(i);
                return u * u;
            }
            let [first, second] = [i.max(j), i.min(j)];
            let [a, b] = [i, j].map(|k| self.sums[self.layout.powers(k)]);
            let product = self.sums[self.layout.pair(first, second)];
            let scale = self.shifts[i].scale * self.shifts[j].scale;
            scale * ((product - a * b / n) / (n - 1.0))
        })
    }

    /// The correlation coefficient of an output with an input; `None` where one of them does not
    /// vary.
    pub fn correlation(&self, output: usize, input: usize) -> Option<f64> {
        let n = self.count;
        let (of_y, of_x) = (self.layout.powers(output), self.layout.input(input));
        let [y, x] = [self.sums[of_y], self.sums[of_x]];
        let [yy, xx] = [
            self.sums[of_y + 1] - y * y / n,
            self.sums[of_x + 1] - x * x / n,
        ];
        let xy = self.sums[of_x + 2 + output] - x * y / n;
        let varies = yy > 0.0 && xx > 0.0;
        varies.then(|| (xy / (yy.sqrt() * xx.sqrt())).clamp(-1.0, 1.0))
    }
}
