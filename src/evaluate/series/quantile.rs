//! Quantiles of a few values, found by selection.

/// The value below or at which this share of the values is.
pub(in crate::evaluate) fn quantile(values: &mut [f64], share: f64) -> f64 {
    let place = ((share * values.len() as f64).ceil() as usize).clamp(1, values.len());
    *values.select_nth_unstable_by(place - 1, f64::total_cmp).1
}
