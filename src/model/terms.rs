//! The value of every quantity of a site, from its inputs.

use super::Quantity;
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
}

/// The values of all quantities: the sum of their terms, or the default value.
pub(super) struct Values<S> {
    named: [S; COUNT],
    /// Thickness and sound speed of each further layer, in turn.
    of_layers: SmallVec<[S; 8]>,
}

impl Terms {
    pub(super) fn new(of: Vec<Quantity>) -> Terms {
        let count = of.iter().map(|q| q.index() + 1).fold(COUNT, usize::max);
        let mut stated = vec![false; count];
        let first = of
            .iter()
            .map(|q| !std::mem::replace(&mut stated[q.index()], true))
            .collect();
        Terms { of, first, stated }
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
        };
        for ((&q, &first), &term) in self.of.iter().zip(&self.first).zip(x) {
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
