//! Elementary functions of `f64` with the same bits on every machine.
//!
//! Each function is one branch-free piece of arithmetic: both sides of a choice are computed and
//! one is selected. So a loop over an array becomes vector instructions of whatever width the
//! processor has, and each element has the bits of the plain call. No fused multiply-add, no
//! tables, no platform library.
//!
//! The error is below 1 ulp (unit in the last place) over the whole range of doubles, subnormals
//! included; largest errors found, in ulp, against 1e5 values of mpmath each by
//! `tests/golden/generate/elementary.py`:
//!
//! | `exp` | `ln` | `sin` | `cos` | `tan` | `asin` | `atan` | `powf` | normal quantile |
//! |---|---|---|---|---|---|---|---|---|
//! | 0.84 | 0.80 | 0.66 | 0.73 | 0.89 | 0.79 | 0.85 | 0.84 | 0.94 |
//!
//! Where an argument is so rare and so costly that no block should pay for it (angles above 1e6
//! rad, the outer tails of the normal quantile), a function has two parts, see [`Split`].

mod double_double;
mod exponential;
mod inverse_trigonometric;
mod large_angle;
mod normal_quantile;
mod normal_quantile_fit;
mod power;
mod trigonometric;

use super::InstructionSet;
pub use exponential::{exp, exp_m1, ln, split_normal_number};
pub use inverse_trigonometric::{asin, atan};
pub use normal_quantile::NormalQuantile;
pub use power::powf;
pub use trigonometric::{Cosine, Sine, Tangent};

/// A function of which rare arguments need other arithmetic than the usual ones.
pub trait Split {
    /// Whether `x` is an argument for [`Split::usual`].
    fn is_usual(x: f64) -> bool;
    /// The function, branch-free, at usual arguments; anything at others.
    fn usual(x: f64) -> f64;
    /// The function at all other arguments.
    fn rare(x: f64) -> f64;

    /// The function at any argument.
    #[inline(always)]
    fn at(x: f64) -> f64 {
        if Self::is_usual(x) {
            Self::usual(x)
        } else {
            Self::rare(x)
        }
    }
}

/// Begins with a line of the cache. A vector that lies in two lines costs as much as two, and one in
/// two pages of memory many times as much; a local array of this kind aligns as well what a
/// compiler moves out of registers.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
pub struct Aligned<T>(pub T);

/// Numbers at a time: a fixed count is what lets the compiler make vector instructions.
pub const CHUNK: usize = 128;

/// Replaces each `x` by `f(x)`; `f` must be branch-free.
#[inline(always)]
pub fn map(set: InstructionSet, values: &mut [f64], f: impl Fn(f64) -> f64) {
    in_chunks(
        set,
        values,
        #[inline(always)]
        |chunk| {
            for x in chunk {
                *x = f(*x);
            }
        },
    );
}

/// Replaces each `x` by `then(F(x))`; `then` must be branch-free.
#[inline(always)]
pub fn map_split<F: Split>(set: InstructionSet, values: &mut [f64], then: impl Fn(f64) -> f64) {
    in_chunks(
        set,
        values,
        #[inline(always)]
        |chunk| {
            let arguments = *chunk;
            for x in chunk.iter_mut() {
                *x = F::usual(*x);
            }
            for i in 0..CHUNK {
                if !F::is_usual(arguments[i]) {
                    chunk[i] = F::rare(arguments[i]);
                }
            }
            for x in chunk {
                *x = then(*x);
            }
        },
    );
}

/// Applies `work` to all values, a chunk at a time; the last one is filled up with 1/2.
#[inline(always)]
pub fn in_chunks(set: InstructionSet, values: &mut [f64], work: impl Fn(&mut [f64; CHUNK])) {
    set.run(
        #[inline(always)]
        || {
            let (chunks, rest) = values.as_chunks_mut::<CHUNK>();
            for chunk in chunks {
                work(chunk);
            }
            if !rest.is_empty() {
                let mut chunk = [0.5; CHUNK];
                chunk[..rest.len()].copy_from_slice(rest);
                work(&mut chunk);
                rest.copy_from_slice(&chunk[..rest.len()]);
            }
        },
    );
}

/// Horner's rule; coefficients from the constant term upwards.
#[inline(always)]
pub fn polynomial<const N: usize>(coefficients: &[f64; N], x: f64) -> f64 {
    let mut sum = coefficients[N - 1];
    for k in (0..N - 1).rev() {
        sum = sum * x + coefficients[k];
    }
    sum
}

/// Numbers whose rounds of a recurrence run side by side, which hides how long each takes.
pub const SIDE_BY_SIDE: usize = 32;

/// The same polynomial in each of several numbers by Horner's rule; coefficients from the constant
/// term upwards.
#[inline(always)]
pub fn horner<const N: usize>(coefficients: &[f64], x: &[f64; N]) -> [f64; N] {
    let Some((last, others)) = coefficients.split_last() else {
        return [0.0; N];
    };
    let mut sum = [*last; N];
    for c in others.iter().rev() {
        for i in 0..N {
            sum[i] = sum[i] * x[i] + c;
        }
    }
    sum
}

/// Replaces each number of a chunk by the polynomial there, as [`horner`] has it.
// A function of its own for every length: what is around it and a known length both lead compilers
// to use up the registers that the loop needs.
#[inline(never)]
pub fn horner_chunk(set: InstructionSet, coefficients: &[f64], values: &mut [f64; CHUNK]) {
    set.run(
        #[inline(always)]
        || {
            for group in values.as_chunks_mut::<SIDE_BY_SIDE>().0 {
                *group = horner(coefficients, group);
            }
        },
    );
}

/// A polynomial as four of the fourth power, which the processor evaluates at once; coefficients from
/// the constant term upwards.
#[inline(always)]
pub fn polynomial_by_fours<const N: usize>(coefficients: &[f64; N], x: f64) -> f64 {
    let square = x * x;
    let fourth = square * square;
    let mut sums = [0.0; 4];
    for k in (0..N).rev() {
        sums[k % 4] = sums[k % 4] * fourth + coefficients[k];
    }
    (sums[0] + sums[1] * x) + (sums[2] + sums[3] * x) * square
}
