//! The scalar that notes what is done with it.

use super::functions::function_of;
use super::recording::{
    Binary, Condition, Node, RECORDING, Recorded, RecordedMask, Unary, binary, constant, note,
    rarely, unary,
};
use crate::scalar::operators::assignments_and_sums;
use crate::scalar::{ChebyshevTable, Scalar, SmoothFunction};
use std::ops::{Add, Div, Mul, Neg, Sub};

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
