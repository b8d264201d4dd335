//! What a recording leaves out.

use super::{Program, Recorded};
use crate::scalar::{Dual, InstructionSet, Scalar};

/// With finite numbers zero times any is zero: derivatives that are zero cost nothing, and the others
/// have the same bits.
#[test]
fn zeros_fall_away_where_numbers_are_finite() {
    fn model<S: Scalar>(x: &[S]) -> [S; 4] {
        let dual = |i: usize| Dual::<S, 3>::variable(x[i], i);
        let (a, b) = (dual(0), dual(1));
        let y = (a * a + 3.0).ln() / (b.exp() + 1.0) - a.sin() * 2.0 + Dual::constant(0.0);
        [y.value, y.gradient[0], y.gradient[1], y.gradient[2]]
    }
    let all = Program::record(3, |x| Some(model(x))).expect("a recording");
    let finite = Program::record_finite(3, |x| Some(model(x))).expect("a recording");
    assert!(finite.operations() + 10 < all.operations());
    let [x, y]: [Vec<f64>; 2] =
        [1.0, 3.0].map(|f| (0..300).map(|i| f * f64::from(i - 150) / 100.0).collect());
    let columns = [&x[..], &y, &y];
    for set in InstructionSet::available() {
        let (one, other) = (
            all.evaluate(set, &columns, 300),
            finite.evaluate(set, &columns, 300),
        );
        for (a, b) in one.iter().flatten().zip(other.iter().flatten()) {
            // a zero may have the other sign
            assert!(a.to_bits() == b.to_bits() || (*a == 0.0 && *b == 0.0));
        }
        assert!(other[3].iter().all(|slope| *slope == 0.0));
    }
}

#[test]
fn what_is_computed_twice_or_never_used_falls_away() {
    let program = Program::record(2, |x| {
        let _unused = x[1].exp();
        Some([x[0].ln() * 2.0, x[0].ln() * 3.0])
    });
    assert_eq!(program.expect("a recording").operations(), 3);
}

/// Of a constant only one way is noted.
#[test]
fn a_choice_of_a_constant_is_made_at_once() {
    fn model<S: Scalar>(x: S) -> S {
        let root = || (x * x + x.exp()).sqrt() + (x * 0.1).chebyshev_series(&[0.3, -0.2, 0.7]);
        S::choose(x.less_than(S::constant(1.0)), || x * x + 1.0, root)
    }
    let operations = |x: f64| {
        let recorded = |v: &[Recorded]| Some([v[0] + model(Recorded::constant(x))]);
        let program = Program::record(1, recorded).expect("a recording");
        program.operations()
    };
    assert_eq!((operations(0.5), operations(7.0)), (1, 1));
}

/// A model that looks at a number may do different things for different numbers.
#[test]
fn a_model_that_asks_for_values_is_not_recorded() {
    let asks = |x: &[Recorded]| x[0].value().map_or(Some([x[0]]), |_| None);
    assert!(Program::record(1, asks).is_none());
}
