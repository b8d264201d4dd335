//! The layers between wedge and liquid, from outside to inside, each by name.

use super::choices::OutsideLayer;
use super::terms::{Terms, Values};
use super::{Choices, Quantity};
use crate::acoustics::Layer;
use crate::scalar::Scalar;
use smallvec::SmallVec;

/// A layer that the ray crosses on both sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LayerName {
    Couplant,
    Wall,
    Liner,
    /// A further layer inside wall and liner, counted from 0 in the order of the file.
    Further(u16),
    /// A further layer outside the wall, in the same count.
    Outside(u16),
}

/// The layers that a path crosses on one side. Few pipes have more than four.
pub(super) type Layers<S> = SmallVec<[Layer<S>; 4]>;

impl LayerName {
    /// The layers of a site, from outside to inside.
    pub(super) fn of(choices: &Choices, terms: &Terms) -> impl Iterator<Item = LayerName> {
        let couplant = terms
            .have(Quantity::Couplant)
            .then_some(LayerName::Couplant);
        let liner = terms.have(Quantity::Liner).then_some(LayerName::Liner);
        let left = |layer: &OutsideLayer| layer.under_sensors;
        couplant
            .into_iter()
            .chain(LayerName::outside(choices, left))
            .chain([LayerName::Wall])
            .chain(liner)
            .chain(LayerName::inside(choices))
    }

    /// The further layers inside wall and liner.
    fn inside(choices: &Choices) -> impl Iterator<Item = LayerName> {
        let all = choices.layers.iter().zip(0..);
        all.filter_map(|(layer, n)| layer.outside.is_none().then_some(LayerName::Further(n)))
    }

    /// The layers outside the wall of which something holds.
    pub(super) fn outside(
        choices: &Choices,
        holds: impl Fn(&OutsideLayer) -> bool,
    ) -> impl Iterator<Item = LayerName> {
        let all = choices.layers.iter().zip(0..);
        all.filter_map(move |(layer, n)| {
            let outside = layer.outside.as_ref()?;
            holds(outside).then_some(LayerName::Outside(n))
        })
    }

    /// Whether it lies inside the wall, so that it narrows the bore.
    pub(super) fn is_lining(self) -> bool {
        matches!(self, LayerName::Liner | LayerName::Further(_))
    }

    pub(super) fn thickness(self) -> Quantity {
        match self {
            LayerName::Couplant => Quantity::Couplant,
            LayerName::Wall => Quantity::Wall,
            LayerName::Liner => Quantity::Liner,
            LayerName::Further(n) | LayerName::Outside(n) => Quantity::LayerThickness(n),
        }
    }

    pub(super) fn sound_speed(self) -> Quantity {
        match self {
            LayerName::Couplant => Quantity::CouplantSoundSpeed,
            LayerName::Wall => Quantity::WallSoundSpeed,
            LayerName::Liner => Quantity::LinerSoundSpeed,
            LayerName::Further(n) | LayerName::Outside(n) => Quantity::LayerSoundSpeed(n),
        }
    }

    /// What people call it.
    pub(super) fn in_words(self, choices: &Choices) -> &str {
        match self {
            LayerName::Couplant => "couplant",
            LayerName::Wall => "wall",
            LayerName::Liner => "liner",
            LayerName::Further(n) | LayerName::Outside(n) => choices
                .layers
                .get(usize::from(n))
                .map_or("layer", |layer| &layer.name),
        }
    }

    /// The layer with what is stated of it; `wall` is that in operation.
    pub(super) fn layer<S: Scalar>(self, values: &Values<S>, wall: Layer<S>) -> Layer<S> {
        match self {
            LayerName::Wall => wall,
            other => Layer {
                thickness: values.of(other.thickness()),
                sound_speed: values.of(other.sound_speed()),
            },
        }
    }
}
