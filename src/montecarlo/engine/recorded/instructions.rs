//! What a program is made of.

use super::fit::Fit;
use super::recording::{Binary, Series, Unary};

/// A model as a list of operations on blocks of numbers.
#[derive(Debug, Clone)]
pub struct Program {
    pub(super) steps: Vec<Step>,
    /// The inputs that are used.
    pub(super) inputs: Vec<usize>,
    pub(super) outputs: Vec<Argument>,
    /// What is 0 where the outputs do not hold; without it they hold everywhere.
    pub(super) condition: Option<Argument>,
    pub(super) slots: usize,
    pub(super) series: Vec<Series>,
    pub(super) fits: Vec<Fit>,
}

/// What an operation works on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Argument {
    Slot(u32),
    /// One of the inputs that are used.
    Input(u32),
    Constant(f64),
}

/// An operation on earlier results, before its result has a slot.
#[derive(Debug, Clone, Copy)]
pub(super) enum Operation<A> {
    Unary(Unary, A),
    Binary(Binary, A, A),
    Select(A, A, A),
    /// A product of two numbers and a third.
    Joined(Joined, A, A, A),
    /// The series of that number at one argument.
    Series(u32, A),
    /// The bivariate series of that number at two arguments.
    Surface(u32, A, A),
    /// The fit of that number at one argument.
    Fit(u32, A),
    /// The fit of that number at two arguments.
    BivariateFit(u32, A, A),
    /// The condition, where the argument is in the box of the fit of that number, else 0.
    Inside(u32, A, A),
    /// The condition, where both arguments are in the box of the fit of that number, else 0.
    BivariateInside(u32, A, A, A),
}

/// What is done with a product `a b` and a third number `c`; rounded twice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Joined {
    /// `a b + c`
    Plus,
    /// `a b - c`
    Minus,
    /// `c - a b`
    From,
    /// `(a b) c`
    Times,
    /// `(a b) / c`
    Over,
    /// `c / (a b)`
    Under,
}

impl<A: Copy> Operation<A> {
    pub(super) fn map<B>(self, mut f: impl FnMut(A) -> B) -> Operation<B> {
        match self {
            Operation::Unary(u, a) => Operation::Unary(u, f(a)),
            Operation::Binary(o, a, b) => Operation::Binary(o, f(a), f(b)),
            Operation::Select(a, b, c) => Operation::Select(f(a), f(b), f(c)),
            Operation::Joined(o, a, b, c) => Operation::Joined(o, f(a), f(b), f(c)),
            Operation::Series(series, a) => Operation::Series(series, f(a)),
            Operation::Surface(series, a, b) => Operation::Surface(series, f(a), f(b)),
            Operation::Fit(fit, a) => Operation::Fit(fit, f(a)),
            Operation::BivariateFit(fit, a, b) => Operation::BivariateFit(fit, f(a), f(b)),
            Operation::Inside(fit, c, a) => Operation::Inside(fit, f(c), f(a)),
            Operation::BivariateInside(fit, c, a, b) => {
                Operation::BivariateInside(fit, f(c), f(a), f(b))
            }
        }
    }
}

/// What a program does next.
#[derive(Debug, Clone)]
pub(super) enum Step {
    /// Applies an operation; the slot of its result is none of its arguments'.
    Apply {
        operation: Operation<Argument>,
        out: u32,
    },
    /// Goes past so many steps if the condition is nowhere 0.
    SkipWhereAll { condition: Argument, steps: u32 },
}
