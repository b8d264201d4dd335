//! The value of every quantity of a site, from its inputs.

use super::{Choices, FactorCurve, Quantity};
use crate::scalar::Scalar;
use smallvec::SmallVec;

/// Number of quantities that every site has.
const COUNT: usize = Quantity::ALL.len();

/// Which quantities the inputs are terms of.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Terms {
    /// The quantity to which each input is a term.
    pub(super) of: Vec<Quantity>,
    /// Whether an input is the first term of its quantity.
    first: Vec<bool>,
    /// Whether a quantity has a term, by its index.
    stated: Vec<bool>,
    /// Whether an input is the factor at a point of a curve, and no term of a sum.
    point: Vec<bool>,
}

/// The values of all quantities: the sum of their terms, or the default value.
pub(super) struct Values<S> {
    named: [S; COUNT],
    /// Thickness and sound speed of each further layer, in turn.
    of_layers: SmallVec<[S; 8]>,
    /// The factors at the points of the curves of calibration and in-situ calibration.
    at_points: [SmallVec<[S; 4]>; 2],
}

/// The place of a quantity with a curve among those that can have one.
fn curve_place(q: Quantity) -> Option<usize> {
    match q {
        Quantity::CalibrationFactor => Some(0),
        Quantity::InSituFactor => Some(1),
        _ => None,
    }
}

impl Terms {
    /// The first inputs of a quantity with a curve are its points; what follows is added to it.
    pub(super) fn new(of: Vec<Quantity>, choices: &Choices) -> Terms {
        let count = of.iter().map(|q| q.index() + 1).fold(COUNT, usize::max);
        let mut stated = vec![false; count];
        let mut left = [Quantity::CalibrationFactor, Quantity::InSituFactor]
            .map(|q| choices.curve_of(q).map_or(0, FactorCurve::points));
        let is_point = |q: &Quantity| {
            let left = curve_place(*q).map(|place| &mut left[place]);
            let own = left.filter(|left| **left > 0);
            own.map(|left| *left -= 1).is_some()
        };
        let point: Vec<bool> = of.iter().map(is_point).collect();
        let first = of
            .iter()
            .map(|q| !std::mem::replace(&mut stated[q.index()], true))
            .collect();
        Terms {
            of,
            first,
            stated,
            point,
        }
    }

    /// Whether anything is stated of a quantity.
    pub(super) fn have(&self, q: Quantity) -> bool {
        self.stated.get(q.index()).copied().unwrap_or(false)
    }

    /// The values at the inputs `x`, of a site with so many further layers.
    pub(super) fn values<S: Scalar>(&self, x: &[S], layers: usize) -> Values<S> {
        let nothing = S::constant(f64::NAN);
        let mut values = Values {
            named: std::array::from_fn(|i| S::constant(Quantity::ALL[i].default_value())),
            of_layers: SmallVec::from_elem(nothing, 2 * layers),
            at_points: [SmallVec::new(), SmallVec::new()],
        };
        let inputs = self.of.iter().zip(&self.first).zip(&self.point);
        for (((&q, &first), &point), &term) in inputs.zip(x) {
            if point && let Some(curve) = curve_place(q) {
                if first {
                    // what is added to the curve
                    values.named[q.index()] = S::constant(0.0);
                }
                values.at_points[curve].push(term);
                continue;
            }
            let Some(place) = values.place(q) else {
                continue; // not reached: the file has the layer
            };
            *place = if first { term } else { *place + term };
        }
        values
    }
}

impl<S: Scalar> Values<S> {
    fn place(&mut self, q: Quantity) -> Option<&mut S> {
        let index = q.index();
        match index.checked_sub(COUNT) {
            None => self.named.get_mut(index),
            Some(of_layer) => self.of_layers.get_mut(of_layer),
        }
    }

    /// A quantity with a curve at a place on it: the line between the points, and what is added.
    pub(super) fn on_curve(&self, q: Quantity, curve: &FactorCurve, place: S) -> S {
        let nothing = S::constant(f64::NAN); // not reached: only two quantities have a curve
        let points = curve_place(q).map(|n| &self.at_points[n]);
        let between = points.map_or(nothing, |points| curve.lines.at(place, points));
        between + self.of(q)
    }

    /// The value of a quantity; NaN for a layer that the site has not.
    pub(super) fn of(&self, q: Quantity) -> S {
        let index = q.index();
        let own = match index.checked_sub(COUNT) {
            None => self.named.get(index),
            Some(of_layer) => self.of_layers.get(of_layer),
        };
        own.copied().unwrap_or(S::constant(f64::NAN))
    }
}
