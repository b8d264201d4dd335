//! Lengths as an inch tape has them.

/// A length in m in inches to the nearest `1/parts`, as on a tape: `13 7/32 in`.
///
/// # Example
/// ```
/// use flowdoubt::mark_out::inch_fraction;
/// assert_eq!(inch_fraction(0.1, 32), "3 15/16 in");
/// assert_eq!(inch_fraction(0.0254, 16), "1 in");
/// assert_eq!(inch_fraction(-0.0127, 8), "-1/2 in");
/// ```
pub fn inch_fraction(length: f64, parts: u32) -> String {
    let parts = f64::from(parts);
    let count = (length.abs() / 0.0254 * parts).round();
    let whole = (count / parts).floor();
    let (mut over, mut under) = (count - whole * parts, parts);
    while over > 0.0 && over % 2.0 == 0.0 && under % 2.0 == 0.0 {
        (over, under) = (over / 2.0, under / 2.0);
    }
    let sign = if length < 0.0 && count > 0.0 { "-" } else { "" };
    match (whole > 0.0, over > 0.0) {
        (true, true) => format!("{sign}{whole} {over}/{under} in"),
        (false, true) => format!("{sign}{over}/{under} in"),
        _ => format!("{sign}{whole} in"),
    }
}
