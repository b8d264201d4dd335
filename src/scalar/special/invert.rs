//! The inverse of a distribution function, from the logarithm of its smaller tail.

/// The logarithm of a tail probability and its derivative.
pub(super) struct LogTail {
    pub value: f64,
    pub slope: f64,
}

/// Enough for bisection of the whole range of doubles.
const MOST_STEPS: usize = 300;

/// The argument in `low..high` at which an increasing `tail` has the logarithm `target`.
///
/// Newton's method, kept inside a bracket: a step that leaves it is replaced by bisection, or by
/// a step of growing length where the bracket is still open. The number of steps depends on the
/// argument, the operations do not depend on the machine.
pub(super) fn solve_log_tail(
    target: f64,
    start: f64,
    mut low: f64,
    mut high: f64,
    tail: impl Fn(f64) -> LogTail,
) -> f64 {
    let mut y = start.clamp(low.max(-740.0), high);
    let mut stride = 1.0;
    for _ in 0..MOST_STEPS {
        let LogTail { value, slope } = tail(y);
        let excess = value - target;
        if excess == 0.0 {
            return y;
        }
        if excess < 0.0 {
            low = y;
        } else {
            high = y;
        }
        let newton = y - excess / slope;
        let next = if newton > low && newton < high {
            newton
        } else if low.is_finite() && high.is_finite() {
            0.5 * (low + high)
        } else {
            stride *= 2.0;
            if excess < 0.0 { y + stride } else { y - stride }
        };
        let step = (next - y).abs();
        y = next;
        if step <= 2.0 * f64::EPSILON * y.abs().max(f64::MIN_POSITIVE) {
            break;
        }
    }
    y
}
