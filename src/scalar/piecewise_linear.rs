//! Linear interpolation between values that are themselves uncertain.

use super::Scalar;

/// Straight lines between points, whose values may be anything that a model is evaluated with: at
/// places between, both neighbours share in value and derivatives. Beyond the ends the value is
/// that of the nearest point.
///
/// # Example
/// ```
/// use flowdoubt::scalar::PiecewiseLinear;
/// let lines = PiecewiseLinear::through(vec![1.0, 2.0, 4.0]).expect("places that rise");
/// assert_eq!(lines.at(3.0, &[5.0, 6.0, 8.0]), 7.0);
/// assert_eq!(lines.at(9.0, &[5.0, 6.0, 8.0]), 8.0);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PiecewiseLinear {
    places: Vec<f64>,
}

impl PiecewiseLinear {
    /// The lines between points at such places; `None` for fewer than two, or where they do not
    /// rise.
    pub fn through(places: Vec<f64>) -> Option<PiecewiseLinear> {
        let rise = places.windows(2).all(|pair| pair[0] < pair[1]);
        let finite = places.iter().all(|place| place.is_finite());
        (places.len() > 1 && rise && finite).then_some(PiecewiseLinear { places })
    }

    /// The places of the points.
    pub fn places(&self) -> &[f64] {
        &self.places
    }

    /// The number, counted from 0, of the point with which the line over `x` begins.
    pub fn line(&self, x: f64) -> usize {
        let within = &self.places[1..self.places.len() - 1];
        within.iter().take_while(|place| **place <= x).count()
    }

    /// The value at `x` from those of the points, as many as there are places.
    pub fn at<S: Scalar>(&self, x: S, values: &[S]) -> S {
        let constant = S::constant;
        let (first, last) = (self.places[0], self.places[self.places.len() - 1]);
        let x = x.max(constant(first)).min(constant(last));
        let lines = self.places.windows(2).zip(values.windows(2));
        let mut lines = lines.map(|(places, values)| {
            let share = (x - places[0]) / (places[1] - places[0]);
            (places[0], values[0] + (values[1] - values[0]) * share)
        });
        let Some((_, start)) = lines.next() else {
            return constant(f64::NAN); // not reached: there are two points or more
        };
        lines.fold(start, |before, (from, line)| {
            S::select(x.less_than(constant(from)), before, line)
        })
    }
}
