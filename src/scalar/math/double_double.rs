//! Sums and products of two doubles as a leading and a trailing double.
//!
//! # Source
//! T. J. Dekker, Numer. Math. 18 (1971) 224; D. E. Knuth, *The Art of Computer Programming* 2,
//! 4.2.2.

/// An unevaluated sum of two doubles, the second much smaller than the first.
#[derive(Clone, Copy)]
pub struct DoubleDouble {
    pub hi: f64,
    pub lo: f64,
}

/// `a + b` exactly, for any two numbers.
#[inline(always)]
pub fn two_sum(a: f64, b: f64) -> DoubleDouble {
    let hi = a + b;
    let b_part = hi - a;
    let lo = (a - (hi - b_part)) + (b - b_part);
    DoubleDouble { hi, lo }
}

/// `a + b` exactly, where `|a| >= |b|` or `a` is zero.
#[inline(always)]
pub fn fast_two_sum(a: f64, b: f64) -> DoubleDouble {
    let hi = a + b;
    DoubleDouble {
        hi,
        lo: b - (hi - a),
    }
}

/// The upper 26 bits of a number and the rest.
#[inline(always)]
fn halves(a: f64) -> [f64; 2] {
    let upper = f64::from_bits(a.to_bits() & 0xffff_ffff_f800_0000);
    [upper, a - upper]
}

/// `a b` to 2^-104 of its size, unless the trailing part is subnormal.
#[inline(always)]
pub fn two_product(a: f64, b: f64) -> DoubleDouble {
    let hi = a * b;
    let ([a1, a2], [b1, b2]) = (halves(a), halves(b));
    let lo = ((a1 * b1 - hi) + a1 * b2 + a2 * b1) + a2 * b2;
    DoubleDouble { hi, lo }
}

impl DoubleDouble {
    /// The product of two, with an error of a few parts in 2^104.
    #[inline(always)]
    pub fn times(self, other: Self) -> Self {
        let p = two_product(self.hi, other.hi);
        fast_two_sum(p.hi, p.lo + (self.hi * other.lo + self.lo * other.hi))
    }

    /// The quotient of two, with an error of a few parts in 2^104.
    #[inline(always)]
    pub fn over(self, other: Self) -> Self {
        let quotient = self.hi / other.hi;
        let p = two_product(quotient, other.hi);
        let rest = ((self.hi - p.hi) - p.lo) + (self.lo - quotient * other.lo);
        fast_two_sum(quotient, rest / other.hi)
    }
}
