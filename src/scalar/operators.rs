//! Assignments and sums, which follow from the other operators of a scalar.

/// `x += y`, `x += 2.0` and the like, and sums of a scalar type that has the operators with itself and
/// with a number on the right.
macro_rules! assignments_and_sums {
    ([$($generics:tt)*] $scalar:ty) => {
        $crate::scalar::operators::assignments_and_sums! {
            @assignments [$($generics)*] $scalar;
            AddAssign, add_assign, Add, add;
            SubAssign, sub_assign, Sub, sub;
            MulAssign, mul_assign, Mul, mul;
            DivAssign, div_assign, Div, div;
        }

        impl<$($generics)*> std::iter::Sum for $scalar {
            fn sum<I: Iterator<Item = $scalar>>(numbers: I) -> $scalar {
                let sum = numbers.reduce(std::ops::Add::add);
                sum.unwrap_or_else(|| <$scalar as $crate::scalar::Scalar>::constant(0.0))
            }
        }
    };
    (@assignments $generics:tt $scalar:ty;
     $($assign:ident, $in_place:ident, $operator:ident, $method:ident;)*) => {$(
        $crate::scalar::operators::assignments_and_sums! {
            @with $generics $scalar, $scalar; $assign, $in_place, $operator, $method
        }
        $crate::scalar::operators::assignments_and_sums! {
            @with $generics $scalar, f64; $assign, $in_place, $operator, $method
        }
    )*};
    (@with [$($generics:tt)*] $scalar:ty, $other:ty;
     $assign:ident, $in_place:ident, $operator:ident, $method:ident) => {
        impl<$($generics)*> std::ops::$assign<$other> for $scalar {
            fn $in_place(&mut self, other: $other) {
                *self = std::ops::$operator::$method(*self, other);
            }
        }
    };
}
pub(crate) use assignments_and_sums;
