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

use super::fit::Fit;
use super::instructions::{Argument, Joined, Operation, Program, Step};
use super::recording::{Binary, Series, Unary};
use crate::scalar::math::{self, Aligned, Cosine, Sine, Split, Tangent};
use crate::scalar::{InstructionSet, Scalar};
use std::cell::RefCell;
use std::ops::Range;

/// Numbers in a slot: few enough for the slots of a model to stay in the fastest cache, enough to
/// forget the cost of choosing the loop.
const WIDTH: usize = math::CHUNK;

type Lanes = [f64; WIDTH];

/// The numbers that a program works on.
pub(super) struct Slots {
    slots: Vec<Box<Aligned<Lanes>>>,
    /// Takes the next result, so that no loop need fear to write on its own arguments.
    spare: Box<Aligned<Lanes>>,
}

thread_local! {
    /// Slots kept from block to block.
    static SLOTS: RefCell<Vec<Box<Aligned<Lanes>>>> = RefCell::default();
}

/// An argument at hand.
#[derive(Clone, Copy)]
enum Operand<'a> {
    Lanes(&'a Lanes),
    Constant(f64),
}

/// Where arguments are.
struct Numbers<'a> {
    slots: &'a [Box<Aligned<Lanes>>],
    inputs: &'a [&'a Lanes],
}

impl<'a> Numbers<'a> {
    #[inline(always)]
    fn at(&self, argument: Argument) -> Operand<'a> {
        match argument {
            Argument::Slot(slot) => Operand::Lanes(&self.slots[slot as usize].0),
            Argument::Input(input) => Operand::Lanes(self.inputs[input as usize]),
            Argument::Constant(value) => Operand::Constant(value),
        }
    }
}

impl Slots {
    /// At least so many, with numbers of no meaning.
    pub fn take(count: usize) -> Slots {
        let fresh = || Box::new(Aligned([1.0; WIDTH]));
        let mut slots = SLOTS.take();
        let spare = slots.pop().unwrap_or_else(fresh);
        if slots.len() < count {
            slots.resize_with(count, fresh);
        }
        Slots { slots, spare }
    }

    /// Leaves them to the next program on this thread.
    pub fn give_back(mut self) {
        self.slots.push(self.spare);
        SLOTS.set(self.slots);
    }

    #[inline(always)]
    pub fn evaluate(
        &mut self,
        set: InstructionSet,
        program: &Program,
        x: &[&[f64]],
        size: usize,
        results: &mut (Vec<Vec<f64>>, Vec<usize>),
    ) {
        let mut inputs: Vec<&Lanes> = Vec::with_capacity(program.inputs.len());
        let mut whole = 0;
        while whole + WIDTH <= size {
            inputs.clear();
            let lanes = |input: &usize| x[*input][whole..].first_chunk();
            inputs.extend(program.inputs.iter().filter_map(lanes));
            self.evaluate_lanes(set, program, &inputs);
            self.hand_over(program, &inputs, results, whole..whole + WIDTH);
            whole += WIDTH;
        }
        if whole < size {
            let count = size - whole;
            let padded: Vec<Lanes> = program
                .inputs
                .iter()
                .map(|input| {
                    // numbers left over take the way of the others
                    let mut lanes = [x[*input][whole]; WIDTH];
                    lanes[..count].copy_from_slice(&x[*input][whole..size]);
                    lanes
                })
                .collect();
            let inputs: Vec<&Lanes> = padded.iter().collect();
            self.evaluate_lanes(set, program, &inputs);
            self.hand_over(program, &inputs, results, whole..size);
        }
    }

    /// Adds the results of the numbers at these places to the columns, and the places where they do
    /// not hold to the others.
    #[inline(always)]
    fn hand_over(
        &self,
        program: &Program,
        inputs: &[&Lanes],
        (columns, unusual): &mut (Vec<Vec<f64>>, Vec<usize>),
        places: Range<usize>,
    ) {
        let slots = &self.slots;
        let numbers = Numbers { slots, inputs };
        let count = places.len();
        for (column, output) in columns.iter_mut().zip(&program.outputs) {
            match numbers.at(*output) {
                Operand::Lanes(lanes) => column.extend_from_slice(&lanes[..count]),
                Operand::Constant(value) => column.resize(column.len() + count, value),
            }
        }
        let condition = program.condition.map(|condition| numbers.at(condition));
        if let Some(condition) = condition.filter(|condition| !everywhere(*condition)) {
            let lanes = places.enumerate();
            unusual.extend(
                lanes
                    .filter(|(i, _)| at(condition, *i) == 0.0)
                    .map(|(_, place)| place),
            );
        }
    }

    /// Takes every step of the program.
    #[inline(always)]
    fn evaluate_lanes(&mut self, set: InstructionSet, program: &Program, inputs: &[&Lanes]) {
        let mut steps = program.steps.iter();
        while let Some(step) = steps.next() {
            let slots = &self.slots;
            let numbers = Numbers { slots, inputs };
            match step {
                Step::Apply { operation, out } => {
                    apply(set, operation, program, &numbers, &mut self.spare.0);
                    std::mem::swap(&mut self.spare, &mut self.slots[*out as usize]);
                }
                Step::SkipWhereAll {
                    condition,
                    steps: n,
                } => {
                    if everywhere(numbers.at(*condition)) {
                        steps.nth(*n as usize - 1);
                    }
                }
            }
        }
    }
}

#[inline(always)]
fn apply(
    set: InstructionSet,
    operation: &Operation<Argument>,
    program: &Program,
    numbers: &Numbers<'_>,
    out: &mut Lanes,
) {
    let all = &program.series;
    match *operation {
        Operation::Fit(fit, x) => {
            let fit = &program.fits[fit as usize];
            fit_in_one(set, out, fit, numbers.at(x));
        }
        Operation::BivariateFit(fit, x, y) => {
            let fit = &program.fits[fit as usize];
            fit_in_two(set, out, fit, numbers.at(x), numbers.at(y));
        }
        Operation::Inside(fit, condition, x) => {
            let side = program.fits[fit as usize].sides[0];
            let pick = |c: f64, x: f64| if side.holds(x) { c } else { 0.0 };
            binary(out, numbers.at(condition), numbers.at(x), pick);
        }
        Operation::BivariateInside(fit, condition, x, y) => {
            let [side_x, side_y] = [0, 1].map(|i| program.fits[fit as usize].sides[i]);
            let pick = |c: f64, x: f64, y: f64| {
                if side_x.holds(x) & side_y.holds(y) {
                    c
                } else {
                    0.0
                }
            };
            ternary(out, condition, x, y, numbers, pick);
        }
        Operation::Series(series, x) => match numbers.at(x) {
            Operand::Lanes(x) => univariate(out, &all[series as usize], x),
            Operand::Constant(x) => {
                out.fill(x.chebyshev_series(&all[series as usize].coefficients))
            }
        },
        Operation::Surface(series, x, y) => {
            bivariate(out, &all[series as usize], numbers.at(x), numbers.at(y));
        }
        Operation::Unary(function, a) => {
            let a = numbers.at(a);
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
                Unary::Abs => unary(out, a, Scalar::abs),
            }
        }
        Operation::Binary(function, a, b) => {
            let (a, b) = (numbers.at(a), numbers.at(b));
            match function {
                Binary::Add => binary(out, a, b, |a, b| a + b),
                Binary::Sub => binary(out, a, b, |a, b| a - b),
                Binary::Mul => binary(out, a, b, |a, b| a * b),
                Binary::Div => binary(out, a, b, |a, b| a / b),
                Binary::Powf => binary(out, a, b, math::powf),
                Binary::Less => binary(out, a, b, |a, b| if a < b { 1.0 } else { 0.0 }),
                Binary::Min => binary(out, a, b, Scalar::min),
                Binary::Max => binary(out, a, b, Scalar::max),
            }
        }
        Operation::Select(condition, a, b) => {
            let pick = |c: f64, a: f64, b: f64| if c != 0.0 { a } else { b };
            ternary(out, condition, a, b, numbers, pick);
        }
        Operation::Joined(joined, a, b, c) => match joined {
            Joined::Plus => ternary(out, a, b, c, numbers, |a, b, c| a * b + c),
            Joined::Minus => ternary(out, a, b, c, numbers, |a, b, c| a * b - c),
            Joined::From => ternary(out, a, b, c, numbers, |a, b, c| c - a * b),
            Joined::Times => ternary(out, a, b, c, numbers, |a, b, c| a * b * c),
            Joined::Over => ternary(out, a, b, c, numbers, |a, b, c| a * b / c),
            Joined::Under => ternary(out, a, b, c, numbers, |a, b, c| c / (a * b)),
        },
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
    numbers: &Numbers<'_>,
    f: impl Fn(f64, f64, f64) -> f64,
) {
    let (a, b, c) = (numbers.at(a), numbers.at(b), numbers.at(c));
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

#[inline(always)]
fn everywhere(condition: Operand<'_>) -> bool {
    match condition {
        Operand::Lanes(lanes) => {
            let mut zeros = 0_u64;
            for lane in lanes {
                zeros += u64::from(*lane == 0.0);
            }
            zeros == 0
        }
        Operand::Constant(value) => value != 0.0,
    }
}

const GROUP: usize = math::SIDE_BY_SIDE;

/// `coefficient + factor b1 - b2`, the step of Clenshaw's recurrence, for a group.
#[inline(always)]
fn clenshaw_step(
    coefficient: impl Fn(usize) -> f64,
    factor: &[f64; GROUP],
    b1: &mut [f64; GROUP],
    b2: &mut [f64; GROUP],
) {
    for i in 0..GROUP {
        let b = (coefficient(i) + factor[i] * b1[i]) - b2[i];
        b2[i] = b1[i];
        b1[i] = b;
    }
}

/// The sum of the series at `x`, with the arithmetic of `clenshaw` in `chebyshev.rs`.
#[inline(always)]
fn clenshaw_group(coefficients: &[f64], x: &[f64; GROUP], twice: &[f64; GROUP]) -> [f64; GROUP] {
    let (mut b1, mut b2) = ([0.0; GROUP], [0.0; GROUP]);
    for k in (1..coefficients.len()).rev() {
        let c = coefficients[k];
        clenshaw_step(|_| c, twice, &mut b1, &mut b2);
    }
    let c = coefficients[0];
    clenshaw_step(|_| c, x, &mut b1, &mut b2);
    b1
}

#[inline(always)]
fn group_of(operand: Operand<'_>, start: usize) -> [f64; GROUP] {
    let mut group = [0.0; GROUP];
    match operand {
        Operand::Lanes(lanes) => group.copy_from_slice(&lanes[start..start + GROUP]),
        Operand::Constant(value) => group.fill(value),
    }
    group
}

#[inline(always)]
fn univariate(out: &mut Lanes, series: &Series, x: &Lanes) {
    for start in (0..WIDTH).step_by(GROUP) {
        let x = group_of(Operand::Lanes(x), start);
        let sum = clenshaw_group(&series.coefficients, &x, &x.map(|x| x * 2.0));
        out[start..start + GROUP].copy_from_slice(&sum);
    }
}

#[inline(always)]
fn bivariate(out: &mut Lanes, series: &Series, x: Operand<'_>, y: Operand<'_>) {
    for start in (0..WIDTH).step_by(GROUP) {
        let (x, y) = (group_of(x, start), group_of(y, start));
        let (twice_x, twice_y) = (x.map(|x| x * 2.0), y.map(|y| y * 2.0));
        let (mut b1, mut b2) = ([0.0; GROUP], [0.0; GROUP]);
        let rows = series.coefficients.chunks_exact(series.columns);
        for (k, row) in rows.enumerate().rev() {
            let row = clenshaw_group(row, &y, &twice_y);
            let factor = if k > 0 { &twice_x } else { &x };
            clenshaw_step(|i| row[i], factor, &mut b1, &mut b2);
        }
        out[start..start + GROUP].copy_from_slice(&b1);
    }
}

#[inline(always)]
fn fit_in_one(set: InstructionSet, out: &mut Lanes, fit: &Fit, x: Operand<'_>) {
    let side = fit.sides[0];
    unary(out, x, |x| side.unit(x));
    math::horner_chunk(set, &fit.polynomial.rows[0], out);
}

// Not inlined among the others, whose constants would take the registers of these loops.
#[inline(never)]
fn fit_in_two(set: InstructionSet, out: &mut Lanes, fit: &Fit, x: Operand<'_>, y: Operand<'_>) {
    set.run(
        #[inline(always)]
        || {
            let [mut x_units, mut y_units] = [Aligned([0.0; WIDTH]); 2];
            unary(&mut x_units.0, x, |x| fit.sides[0].unit(x));
            unary(&mut y_units.0, y, |y| fit.sides[1].unit(y));
            let groups = x_units.0.as_chunks::<GROUP>().0.iter();
            let groups = groups.zip(y_units.0.as_chunks::<GROUP>().0);
            for (sum, (x, y)) in out.as_chunks_mut::<GROUP>().0.iter_mut().zip(groups) {
                *sum = [0.0; GROUP];
                for row in fit.polynomial.rows.iter().rev() {
                    let row = math::horner(row, y);
                    for i in 0..GROUP {
                        sum[i] = sum[i] * x[i] + row[i];
                    }
                }
            }
        },
    );
}
