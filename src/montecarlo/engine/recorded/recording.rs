//! What has been noted of a model, and how it is noted.

use super::fit::Fit;
use crate::scalar::Scalar;
use rustc_hash::{FxBuildHasher, FxHashMap};
use std::cell::RefCell;
use std::ops::Range;

/// On what something that has been noted holds.
#[derive(Debug, Clone)]
pub(super) enum Condition {
    /// A number that is not 0.
    NotZero(u32),
    /// Arguments in the box of the fit of that number.
    Inside(u32, Vec<u32>),
}

/// A result that depends on few numbers only.
#[derive(Debug, Clone)]
pub(super) struct Function {
    /// Those of its arguments that are not constants.
    pub arguments: Vec<u32>,
    /// Where its operations were noted.
    pub places: Range<u32>,
    pub result: u32,
}

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

    pub fn series(&mut self, coefficients: &[f64], columns: usize) -> u32 {
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

pub(super) fn unary(function: Unary, x: Recorded) -> Recorded {
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

pub(super) fn binary(function: Binary, a: Recorded, b: Recorded) -> Recorded {
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
        (Binary::Sub, (Some(0.0), None)) if finite => unary(Unary::Neg, b),
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
pub struct RecordedMask(pub(super) Recorded);

impl Recorded {
    pub(super) fn input(index: usize) -> Recorded {
        note(Node::Input(index))
    }
}

/// Notes operations that are needed only where the mask does not hold. What is noted among them is
/// not used by anything after them but their results.
pub(super) fn rarely<R>(mask: RecordedMask, rare: impl FnOnce() -> R) -> R {
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
