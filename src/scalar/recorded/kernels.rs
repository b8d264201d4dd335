//! The operations on blocks: one loop each, which the compiler turns into vector instructions of
//! the instruction set for which it is inlined.

#![allow(
    clippy::needless_range_loop,
    reason = "plain loops over several arrays at once"
)]
#![allow(
    clippy::vec_box,
    reason = "a result changes places with the spare by exchanging pointers"
)]

use super::Program;
use super::program::{Argument, Operation};
use super::recorder::{Binary, Unary};
use crate::scalar::math::{self, Cosine, Sine, Split, Tangent};

/// Numbers in a slot: few enough for the slots of a model to stay in the fastest cache, enough to
/// forget the cost of choosing the loop.
const WIDTH: usize = 128;

type Lanes = [f64; WIDTH];

/// An operation and the slot of its result, which is none of its arguments'.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub operation: Operation<Argument>,
    pub out: u32,
}

/// The numbers that a program works on.
pub(super) struct Slots {
    slots: Vec<Box<Lanes>>,
    /// Takes the next result, so that no loop need fear to write on its own arguments.
    spare: Box<Lanes>,
}

/// An argument at hand.
#[derive(Clone, Copy)]
enum Operand<'a> {
    Lanes(&'a Lanes),
    Constant(f64),
}

#[inline(always)]
fn operand(slots: &[Box<Lanes>], argument: Argument) -> Operand<'_> {
    match argument {
        Argument::Slot(slot) => Operand::Lanes(&slots[slot as usize]),
        Argument::Constant(value) => Operand::Constant(value),
    }
}

impl Slots {
    pub fn new(count: usize) -> Slots {
        Slots {
            slots: (0..count).map(|_| Box::new([1.0; WIDTH])).collect(),
            spare: Box::new([1.0; WIDTH]),
        }
    }

    #[inline(always)]
    pub fn evaluate(&mut self, program: &Program, x: &[&[f64]], columns: &mut [Vec<f64>]) {
        let size = columns.first().map_or(0, Vec::len);
        for start in (0..size).step_by(WIDTH) {
            let count = WIDTH.min(size - start);
            for (index, slot) in program.inputs.iter().enumerate() {
                if let Some(slot) = slot {
                    let lanes = &mut self.slots[*slot as usize];
                    lanes[..count].copy_from_slice(&x[index][start..start + count]);
                }
            }
            for step in &program.steps {
                apply(&step.operation, &self.slots, &mut self.spare);
                std::mem::swap(&mut self.spare, &mut self.slots[step.out as usize]);
            }
            for (column, output) in columns.iter_mut().zip(&program.outputs) {
                let column = &mut column[start..start + count];
                match operand(&self.slots, *output) {
                    Operand::Lanes(lanes) => column.copy_from_slice(&lanes[..count]),
                    Operand::Constant(value) => column.fill(value),
                }
            }
        }
    }
}

#[inline(always)]
fn apply(operation: &Operation<Argument>, slots: &[Box<Lanes>], out: &mut Lanes) {
    match *operation {
        Operation::Unary(function, a) => {
            let a = operand(slots, a);
            match function {
                Unary::Neg => unary(out, a, |a| -a),
                Unary::Sqrt => unary(out, a, f64::sqrt),
                Unary::Exp => unary(out, a, math::exp),
                Unary::Ln => unary(out, a, math::ln),
                Unary::Asin => unary(out, a, math::asin),
                Unary::Atan => unary(out, a, math::atan),
                Unary::Sin => split::<Sine>(out, a),
                Unary::Cos => split::<Cosine>(out, a),
                Unary::Tan => split::<Tangent>(out, a),
            }
        }
        Operation::Binary(function, a, b) => {
            let (a, b) = (operand(slots, a), operand(slots, b));
            match function {
                Binary::Add => binary(out, a, b, |a, b| a + b),
                Binary::Sub => binary(out, a, b, |a, b| a - b),
                Binary::Mul => binary(out, a, b, |a, b| a * b),
                Binary::Div => binary(out, a, b, |a, b| a / b),
                Binary::Powf => binary(out, a, b, math::powf),
                Binary::Less => binary(out, a, b, |a, b| if a < b { 1.0 } else { 0.0 }),
            }
        }
        Operation::Select(condition, a, b) => {
            let pick = |c: f64, a: f64, b: f64| if c != 0.0 { a } else { b };
            ternary(out, condition, a, b, slots, pick);
        }
        Operation::ProductPlus(a, b, c) => ternary(out, a, b, c, slots, |a, b, c| a * b + c),
        Operation::ProductMinus(a, b, c) => ternary(out, a, b, c, slots, |a, b, c| a * b - c),
        Operation::MinusProduct(a, b, c) => ternary(out, a, b, c, slots, |a, b, c| c - a * b),
        Operation::Recurrence(a, b, c, d) => {
            let (a, b) = (operand(slots, a), operand(slots, b));
            let (c, d) = (operand(slots, c), operand(slots, d));
            match (a, b, c, d) {
                (Operand::Lanes(a), Operand::Lanes(b), Operand::Constant(c), Operand::Lanes(d)) => {
                    for i in 0..WIDTH {
                        out[i] = (c + a[i] * b[i]) - d[i];
                    }
                }
                _ => {
                    for (i, y) in out.iter_mut().enumerate() {
                        *y = (at(c, i) + at(a, i) * at(b, i)) - at(d, i);
                    }
                }
            }
        }
    }
}

#[inline(always)]
fn at(operand: Operand<'_>, i: usize) -> f64 {
    match operand {
        Operand::Lanes(lanes) => lanes[i],
        Operand::Constant(value) => value,
    }
}

#[inline(always)]
fn unary(out: &mut Lanes, a: Operand<'_>, f: impl Fn(f64) -> f64) {
    match a {
        Operand::Lanes(a) => {
            for i in 0..WIDTH {
                out[i] = f(a[i]);
            }
        }
        Operand::Constant(a) => out.fill(f(a)),
    }
}

/// The usual arithmetic for all, then the other for the rare arguments.
#[inline(always)]
fn split<F: Split>(out: &mut Lanes, a: Operand<'_>) {
    unary(out, a, F::usual);
    for (i, y) in out.iter_mut().enumerate() {
        let a = at(a, i);
        if !F::is_usual(a) {
            *y = F::rare(a);
        }
    }
}

#[inline(always)]
fn binary(out: &mut Lanes, a: Operand<'_>, b: Operand<'_>, f: impl Fn(f64, f64) -> f64) {
    match (a, b) {
        (Operand::Lanes(a), Operand::Lanes(b)) => {
            for i in 0..WIDTH {
                out[i] = f(a[i], b[i]);
            }
        }
        (Operand::Lanes(a), Operand::Constant(b)) => {
            for i in 0..WIDTH {
                out[i] = f(a[i], b);
            }
        }
        (Operand::Constant(a), Operand::Lanes(b)) => {
            for i in 0..WIDTH {
                out[i] = f(a, b[i]);
            }
        }
        (Operand::Constant(a), Operand::Constant(b)) => out.fill(f(a, b)),
    }
}

#[inline(always)]
fn ternary(
    out: &mut Lanes,
    a: Argument,
    b: Argument,
    c: Argument,
    slots: &[Box<Lanes>],
    f: impl Fn(f64, f64, f64) -> f64,
) {
    let (a, b, c) = (operand(slots, a), operand(slots, b), operand(slots, c));
    match (a, b, c) {
        (Operand::Lanes(a), Operand::Lanes(b), Operand::Lanes(c)) => {
            for i in 0..WIDTH {
                out[i] = f(a[i], b[i], c[i]);
            }
        }
        (Operand::Lanes(a), b, Operand::Constant(c)) => {
            binary(out, Operand::Lanes(a), b, |a, b| f(a, b, c))
        }
        (Operand::Lanes(a), Operand::Constant(b), Operand::Lanes(c)) => {
            for i in 0..WIDTH {
                out[i] = f(a[i], b, c[i]);
            }
        }
        (Operand::Constant(a), b, c) => binary(out, b, c, |b, c| f(a, b, c)),
    }
}
