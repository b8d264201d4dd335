//! The scalar that notes what is done with it.

use super::fit::Fit;
use super::functions::{Condition, Function, function_of};
use crate::scalar::operators::assignments_and_sums;
use crate::scalar::{ChebyshevTable, Scalar, SmoothFunction};
use rustc_hash::{FxBuildHasher, FxHashMap};
use std::cell::RefCell;
use std::ops::{Add, Div, Mul, Neg, Range, Sub};

/// A function of one number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Unary {
    Neg,
    Sqrt,
    Exp,
    Ln,
    Sin,
    Cos,
    Tan,
    Asin,
    Atan,
    Abs,
}

/// A function of two numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Binary {
    Add,
    Sub,
    Mul,
    Div,
    Powf,
    /// 1 where the first is less than the second, else 0.
    Less,
    Min,
    Max,
}

/// A noted operation on the results of earlier ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Node {
    Input(usize),
    /// The bits of a constant.
    Constant(u64),
    Unary(Unary, u32),
    Binary(Binary, u32, u32),
    /// Condition, value where it is not 0, value where it is 0.
    Select(u32, u32, u32),
    /// The Chebyshev series of a number among those of the recording, at a number.
    Series(u32, u32),
    /// The bivariate series of a number among those of the recording, at two numbers.
    Surface(u32, u32, u32),
    /// The fit of a number among those of the recording, at a number.
    Fit(u32, u32),
    /// The fit of a number among those of the recording, at two numbers.
    BivariateFit(u32, u32, u32),
    /// A condition where a number is in the box of the fit, else 0.
    Inside(u32, u32, u32),
    /// A condition where two numbers are in the box of the fit, else 0.
    BivariateInside(u32, u32, u32, u32),
}

/// Operations that are needed only where a condition is 0.
#[derive(Debug, Clone)]
pub(super) struct Rare {
    pub condition: u32,
    pub places: Range<u32>,
}

/// Coefficients of a series in one or two variables.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Series {
    pub coefficients: Vec<f64>,
    /// Coefficients in a row.
    pub columns: usize,
}

/// What has been noted on this thread.
#[derive(Default)]
pub(super) struct Recording {
    pub nodes: Vec<Node>,
    places: FxHashMap<Node, u32>,
    /// In the order in which they end.
    pub rare: Vec<Rare>,
    pub series: Vec<Series>,
    /// What the model has called a function of few numbers, in the order in which it did.
    pub functions: Vec<Function>,
    /// Whether only what is usual is noted, and under what conditions it is: fits of functions, in
    /// their order, in place of those that have one; of a choice the usual side.
    pub usual: Option<Vec<Option<Fit>>>,
    /// Where what has been noted holds: where all of these do.
    pub conditions: Vec<Condition>,
    /// The fits that have been noted.
    pub fits: Vec<Fit>,
    /// Whether one of these functions is being noted.
    pub inside_function: bool,
    /// Whether a number was asked for: then the model may depend on it.
    pub value_asked: bool,
    /// Whether all numbers are taken to be finite, so that zero times any is zero.
    finite: bool,
}

/// Operations for which there is room from the start.
const ROOM: usize = 1024;

thread_local! {
    pub(super) static RECORDING: RefCell<Recording> = RefCell::default();
}

/// Runs `model` with a recording of its own; see [`super::Program::record_finite`] for `finite`,
/// and [`super::FittedProgram`] for what is `usual`, with fits of the functions of the model.
pub(super) fn record<R>(
    finite: bool,
    usual: Option<Vec<Option<Fit>>>,
    model: impl FnOnce() -> R,
) -> (R, Recording) {
    let own = Recording {
        nodes: Vec::with_capacity(ROOM),
        places: FxHashMap::with_capacity_and_hasher(ROOM, FxBuildHasher),
        finite,
        usual,
        ..Recording::default()
    };
    let outer = RECORDING.replace(own);
    let result = model();
    (result, RECORDING.replace(outer))
}

impl Recording {
    /// The place of an operation; the same operation is noted once.
    pub fn place(&mut self, node: Node) -> u32 {
        *self.places.entry(node).or_insert_with(|| {
            self.nodes.push(node);
            (self.nodes.len() - 1) as u32
        })
    }

    fn series(&mut self, coefficients: &[f64], columns: usize) -> u32 {
        let series = Series {
            coefficients: coefficients.to_vec(),
            columns,
        };
        let known = self.series.iter().position(|s| *s == series);
        known.unwrap_or_else(|| {
            self.series.push(series);
            self.series.len() - 1
        }) as u32
    }

    /// The places of the outputs, if what was recorded holds for all numbers.
    pub fn places(&self, outputs: &[Recorded]) -> Option<Vec<u32>> {
        let foreign = outputs.iter().any(|y| y.0 as usize >= self.nodes.len());
        let sound = !self.value_asked && !foreign;
        sound.then(|| outputs.iter().map(|y| y.0).collect())
    }

    /// A function alone, with its arguments as inputs.
    pub fn alone(&self, function: &Function) -> Recording {
        let mut nodes = self.nodes[..=function.result as usize].to_vec();
        for (input, place) in function.arguments.iter().enumerate() {
            if let Some(node) = nodes.get_mut(*place as usize) {
                *node = Node::Input(input);
            }
        }
        let Range { start, end } = function.places;
        let own = |rare: &&Rare| start <= rare.places.start && rare.places.end <= end;
        Recording {
            nodes,
            rare: self.rare.iter().filter(own).cloned().collect(),
            series: self.series.clone(),
            ..Recording::default()
        }
    }

    pub fn constant(&self, place: u32) -> Option<f64> {
        match self.nodes.get(place as usize) {
            Some(Node::Constant(bits)) => Some(f64::from_bits(*bits)),
            _ => None,
        }
    }
}

pub(super) fn note(node: Node) -> Recorded {
    RECORDING.with_borrow_mut(|recording| Recorded(recording.place(node)))
}

pub(super) fn constant(value: f64) -> Recorded {
    note(Node::Constant(value.to_bits()))
}

impl Unary {
    fn of(self, x: f64) -> f64 {
        match self {
            Unary::Neg => -x,
            Unary::Sqrt => Scalar::sqrt(x),
            Unary::Exp => Scalar::exp(x),
            Unary::Ln => Scalar::ln(x),
            Unary::Sin => Scalar::sin(x),
            Unary::Cos => Scalar::cos(x),
            Unary::Tan => Scalar::tan(x),
            Unary::Asin => Scalar::asin(x),
            Unary::Atan => Scalar::atan(x),
            Unary::Abs => Scalar::abs(x),
        }
    }
}

impl Binary {
    fn of(self, a: f64, b: f64) -> f64 {
        match self {
            Binary::Add => a + b,
            Binary::Sub => a - b,
            Binary::Mul => a * b,
            Binary::Div => a / b,
            Binary::Powf => Scalar::powf(a, b),
            Binary::Less => f64::from(u8::from(a < b)),
            Binary::Min => Scalar::min(a, b),
            Binary::Max => Scalar::max(a, b),
        }
    }
}

fn unary(function: Unary, x: Recorded) -> Recorded {
    match RECORDING.with_borrow(|r| r.constant(x.0)) {
        Some(value) => constant(function.of(value)),
        None => note(Node::Unary(function, x.0)),
    }
}

/// What `x` is the negative of, if it has been noted as one.
fn negated(x: Recorded) -> Option<Recorded> {
    RECORDING.with_borrow(|r| match r.nodes.get(x.0 as usize) {
        Some(Node::Unary(Unary::Neg, of)) => Some(Recorded(*of)),
        _ => None,
    })
}

fn binary(function: Binary, a: Recorded, b: Recorded) -> Recorded {
    let (values, finite) =
        RECORDING.with_borrow(|r| ((r.constant(a.0), r.constant(b.0)), r.finite));
    // the same bits with one operation less
    match (function, negated(a), negated(b)) {
        (Binary::Add, Some(a), _) => return binary(Binary::Sub, b, a),
        (Binary::Add, _, Some(b)) => return binary(Binary::Sub, a, b),
        (Binary::Sub, _, Some(b)) => return binary(Binary::Add, a, b),
        _ => {}
    }
    match (function, values) {
        (_, (Some(x), Some(y))) => constant(function.of(x, y)),
        (Binary::Mul, (Some(0.0), None) | (None, Some(0.0))) if finite => constant(0.0),
        (Binary::Div, (Some(0.0), None)) if finite => constant(0.0),
        (Binary::Add, (Some(0.0), None)) if finite => b,
        (Binary::Add | Binary::Sub, (None, Some(0.0))) if finite => a,
        (Binary::Sub, (Some(0.0), None)) if finite => -b,
        // the only identities that hold for every double
        (Binary::Mul | Binary::Div, (None, Some(1.0))) => a,
        (Binary::Mul, (Some(1.0), None)) => b,
        _ => note(Node::Binary(function, a.0, b.0)),
    }
}

/// A number that notes what is done with it instead of doing it. See [`super::Program`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recorded(pub(super) u32);

/// A comparison that has been noted.
#[derive(Debug, Clone, Copy)]
pub struct RecordedMask(Recorded);

impl Recorded {
    pub(super) fn input(index: usize) -> Recorded {
        note(Node::Input(index))
    }
}

impl Neg for Recorded {
    type Output = Recorded;
    fn neg(self) -> Recorded {
        unary(Unary::Neg, self)
    }
}

macro_rules! operators {
    ($($trait:ident, $method:ident;)*) => {$(
        impl $trait for Recorded {
            type Output = Recorded;
            fn $method(self, other: Recorded) -> Recorded {
                binary(Binary::$trait, self, other)
            }
        }
        impl $trait<f64> for Recorded {
            type Output = Recorded;
            fn $method(self, other: f64) -> Recorded {
                binary(Binary::$trait, self, constant(other))
            }
        }
    )*};
}
operators! { Add, add; Sub, sub; Mul, mul; Div, div; }
assignments_and_sums! { [] Recorded }

impl Scalar for Recorded {
    type Real = Recorded;
    type Mask = RecordedMask;
    const ORDER: u32 = 0;

    fn constant(value: f64) -> Recorded {
        constant(value)
    }
    fn from_real(real: Recorded) -> Recorded {
        real
    }
    fn real(self) -> Recorded {
        self
    }
    fn value(self) -> Option<f64> {
        RECORDING.with_borrow_mut(|recording| recording.value_asked = true);
        None
    }
    fn sqrt(self) -> Recorded {
        unary(Unary::Sqrt, self)
    }
    fn exp(self) -> Recorded {
        unary(Unary::Exp, self)
    }
    fn ln(self) -> Recorded {
        unary(Unary::Ln, self)
    }
    fn sin(self) -> Recorded {
        unary(Unary::Sin, self)
    }
    fn cos(self) -> Recorded {
        unary(Unary::Cos, self)
    }
    fn asin(self) -> Recorded {
        unary(Unary::Asin, self)
    }
    fn atan(self) -> Recorded {
        unary(Unary::Atan, self)
    }
    fn tan(self) -> Recorded {
        unary(Unary::Tan, self)
    }
    fn powf(self, exponent: Recorded) -> Recorded {
        binary(Binary::Powf, self, exponent)
    }
    // the multiplications of `f64`
    fn powi(self, exponent: i32) -> Recorded {
        let mut base = if exponent < 0 { self.recip() } else { self };
        let mut left = exponent.unsigned_abs();
        let mut power = constant(1.0);
        while left > 0 {
            if left & 1 == 1 {
                power *= base;
            }
            base = base * base;
            left >>= 1;
        }
        power
    }
    fn less_than(self, other: Recorded) -> RecordedMask {
        RecordedMask(binary(Binary::Less, self, other))
    }
    fn select(mask: RecordedMask, if_true: Recorded, if_false: Recorded) -> Recorded {
        match RECORDING.with_borrow(|r| r.constant(mask.0.0)) {
            Some(condition) if condition != 0.0 => if_true,
            Some(_) => if_false,
            None if if_true == if_false => if_true,
            None => note(Node::Select(mask.0.0, if_true.0, if_false.0)),
        }
    }
    fn abs(self) -> Recorded {
        unary(Unary::Abs, self)
    }
    fn min(self, other: Recorded) -> Recorded {
        binary(Binary::Min, self, other)
    }
    fn max(self, other: Recorded) -> Recorded {
        binary(Binary::Max, self, other)
    }
    fn holds(mask: RecordedMask) -> Option<bool> {
        let condition = RECORDING.with_borrow(|r| r.constant(mask.0.0));
        condition.map(|condition| condition != 0.0)
    }
    fn choose(
        mask: RecordedMask,
        usual: impl FnOnce() -> Recorded,
        rare: impl FnOnce() -> Recorded,
    ) -> Recorded {
        match Recorded::holds(mask) {
            Some(true) => usual(),
            Some(false) => rare(),
            None if RECORDING.with_borrow(|r| r.usual.is_some()) => {
                RECORDING.with_borrow_mut(|r| r.conditions.push(Condition::NotZero(mask.0.0)));
                usual()
            }
            None => {
                let usual = usual();
                Recorded::select(mask, usual, rarely(mask, rare))
            }
        }
    }
    fn rarely<R>(mask: RecordedMask, rare: impl FnOnce() -> R) -> R {
        rarely(mask, rare)
    }
    fn function_of<const N: usize>(
        arguments: [Recorded; N],
        function: &impl SmoothFunction<N>,
    ) -> Recorded {
        function_of(arguments, function)
    }
    fn chebyshev_series(self, coefficients: &[f64]) -> Recorded {
        if let Some(x) = RECORDING.with_borrow(|r| r.constant(self.0)) {
            return constant(x.chebyshev_series(coefficients));
        }
        let columns = coefficients.len();
        let series = RECORDING.with_borrow_mut(|r| r.series(coefficients, columns));
        note(Node::Series(series, self.0))
    }
    fn chebyshev_surface(table: &ChebyshevTable<'_>, x: Recorded, y: Recorded) -> Recorded {
        let values = RECORDING.with_borrow(|r| (r.constant(x.0), r.constant(y.0)));
        if let (Some(x), Some(y)) = values {
            return constant(f64::chebyshev_surface(table, x, y));
        }
        let (coefficients, columns) = (table.coefficients(), table.columns());
        let series = RECORDING.with_borrow_mut(|r| r.series(coefficients, columns));
        note(Node::Surface(series, x.0, y.0))
    }
}

/// Notes operations that are needed only where the mask does not hold. What is noted among them is
/// not used by anything after them but their results.
fn rarely<R>(mask: RecordedMask, rare: impl FnOnce() -> R) -> R {
    let start = RECORDING.with_borrow(|r| r.nodes.len());
    let result = rare();
    RECORDING.with_borrow_mut(|recording| {
        let Recording { nodes, places, .. } = recording;
        for node in &nodes[start..] {
            places.remove(node);
        }
        recording.rare.push(Rare {
            condition: mask.0.0,
            places: start as u32..recording.nodes.len() as u32,
        });
    });
    result
}
