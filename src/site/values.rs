//! The value of every quantity of a site, from its inputs.

use super::Quantity;
use crate::acoustics::Layer;
use crate::scalar::Scalar;
use smallvec::SmallVec;

/// Number of quantities that every site has.
pub(super) const COUNT: usize = Quantity::ALL.len();

/// The layers that a path crosses on one side. Few pipes have more than four.
pub(super) type Layers<S> = SmallVec<[Layer<S>; 4]>;

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
    /// Layers inside wall and liner, from outside to inside.
    pub(super) layers: Layers<S>,
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

    pub(super) fn values<S: Scalar>(&self, x: &[S], layers: u16) -> Values<S> {
        let mut named = std::array::from_fn(|i| S::constant(Quantity::ALL[i].default_value()));
        let nothing = S::constant(f64::NAN);
        let mut inner: Layers<S> = SmallVec::from_elem(
            Layer {
                thickness: nothing,
                sound_speed: nothing,
            },
            usize::from(layers),
        );
        for ((&q, &first), &term) in self.of.iter().zip(&self.first).zip(x) {
            let place = match q {
                Quantity::LayerThickness(n) => {
                    inner.get_mut(usize::from(n)).map(|l| &mut l.thickness)
                }
                Quantity::LayerSoundSpeed(n) => {
                    inner.get_mut(usize::from(n)).map(|l| &mut l.sound_speed)
                }
                _ => named.get_mut(q.index()),
            };
            let Some(place) = place else { continue }; // not reached: the file has the layer
            *place = if first { term } else { *place + term };
        }
        Values {
            named,
            layers: inner,
        }
    }
}

impl<S: Scalar> Values<S> {
    /// The value of any quantity.
    pub(super) fn of_any(&self, q: Quantity) -> S {
        let layer = |n: u16| self.layers.get(usize::from(n)).copied();
        let found = match q {
            Quantity::LayerThickness(n) => layer(n).map(|l| l.thickness),
            Quantity::LayerSoundSpeed(n) => layer(n).map(|l| l.sound_speed),
            _ => None,
        };
        found.unwrap_or(self.of(q))
    }

    /// The value of a quantity that every site has; NaN for those of layers.
    pub(super) fn of(&self, q: Quantity) -> S {
        let own = self.named.get(q.index());
        own.copied().unwrap_or(S::constant(f64::NAN))
    }
}
